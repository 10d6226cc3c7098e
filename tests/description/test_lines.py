"""The line of every key, whatever way TOML lets it be written."""

from __future__ import annotations

import tomllib

import pytest

from clearance.description.lines import Path, line_of, lines_of, path_text

TEXT = '''# a comment with [brackets] and "quotes"
title = "a # in a text is no comment"
long = """
two lines
"""   # after
literal = \'\'\'
[not.a.table]
\'\'\'
[one] # after a header
a.b = 1
"quoted key" = { x = 1, y = [
    2,
    # between
    3,
] }
[[list]]
name = "first"
[[list]]
name = "second \\" ] }"
points = [["1", "2"],
          ["3", "4"]]
[list.inner]
z = 1979-05-27 07:32:00
[one.deep.table]
last = true
'''


@pytest.mark.parametrize(
    ("path", "line"),
    [
        (("title",), 2),
        (("long",), 3),
        (("literal",), 6),
        (("one",), 9),
        (("one", "a", "b"), 10),
        (("one", "quoted key", "x"), 11),
        (("one", "quoted key", "y", 0), 12),
        (("one", "quoted key", "y", 1), 14),
        (("list", 0), 16),
        (("list", 0, "name"), 17),
        (("list", 1), 18),
        (("list", 1, "name"), 19),
        (("list", 1, "points", 0, 1), 20),
        (("list", 1, "points", 1), 21),
        (("list", 1, "inner"), 22),
        (("list", 1, "inner", "z"), 23),
        (("one", "deep", "table", "last"), 25),
    ],
)
def test_the_line_of_a_key(path, line):
    assert lines_of(TEXT)[path] == line


def test_every_value_that_toml_reads_has_a_line():
    lines = lines_of(TEXT)

    def walk(value: object, path: Path) -> list[Path]:
        steps = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
        return [path, *(p for step, item in steps for p in walk(item, (*path, step)))]

    assert [path for path in walk(tomllib.loads(TEXT), ())[1:] if path not in lines] == []


def test_a_missing_key_is_looked_for_around_it():
    lines = lines_of(TEXT)
    assert line_of(lines, ("list", 1, "kind")) == 18
    assert line_of(lines, ("list", 1, "points", 0, 5)) == 20
    assert line_of(lines, ("nowhere", "at", "all")) == 1


def test_a_path_counts_from_one_as_people_do():
    assert path_text(("part", 0, "points", 2)) == "part[1].points[3]"
