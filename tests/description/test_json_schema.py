"""The JSON Schema is the language: an editor may take what the reader takes, and marks what it plainly does not."""

from __future__ import annotations

import copy
import tomllib
from pathlib import Path
from typing import Any

import jsonschema
import pytest
import test_docs_of_keys as docs
import whole_language

from clearance.description.json_schema import corner_file_schema
from clearance.suspension.kinds import KINDS

ROOT = Path(__file__).parents[2]
CORNERS = sorted((ROOT / "fixtures" / "corners").glob("*.toml"))
SCHEMA = corner_file_schema()
VALIDATOR = jsonschema.Draft202012Validator(SCHEMA)


def errors(tables: dict[str, Any]) -> list[str]:
    return [error.message for error in VALIDATOR.iter_errors(tables)]


def test_it_is_a_schema_and_stands_in_the_docs():
    """Where this fails: python docs/corner_file_tables.py, and read what changed."""
    jsonschema.Draft202012Validator.check_schema(SCHEMA)
    tables = docs.module(docs.DOCS / "corner_file_tables.py", "corner_file_tables")
    assert (docs.DOCS / "corner-file.schema.json").read_text(encoding="utf-8") == tables.schema_text()


@pytest.mark.parametrize("file", CORNERS, ids=lambda file: file.stem)
def test_every_shipped_corner_file_is_taken(file):
    assert errors(tomllib.loads(file.read_text(encoding="utf-8"))) == []


@pytest.mark.parametrize("kind", KINDS)
def test_every_key_of_the_language_is_taken(kind):
    assert errors(whole_language.tables(kind)) == []


LENGTHS = ["120 mm", "4 3/4 in", '4-3/4"', "-1/2 in", ".5 m", "12 cm", "2 ft", " 3 in. "]


@pytest.mark.parametrize("text", LENGTHS)
def test_a_length_is_taken_as_people_write_it(text):
    from clearance.units import length_mm

    length_mm(text)
    assert errors(changed(("part", 0, "inboard"), text)) == []


SLIPS = [
    (("wheel", "backspace"), 95),
    (("wheel", "backspace"), "95"),
    (("wheel", "backspace"), "95 furlongs"),
    (("wheel", "backspce"), "95 mm"),
    (("tire", "shape"), 3),
    (("part", 0, "kind"), "wal"),
    (("part", 0, "diameter"), "30 mm"),
    (("suspension", "kind"), "strait"),
    (("suspension", "front_eye"), ["1 mm", "2 mm", "3 mm"]),
    (("suspension", "droop"), "3 deg"),
    (("limits",), {"spacr": "3 mm"}),
    (("limits",), {"spacer": True}),
    (("sold",), {"camber": "1/8 in"}),
    (("chains",), {"class": "Z"}),
    (("corner",), "rear-lft"),
]


@pytest.mark.parametrize(("path", "value"), SLIPS, ids=str)
def test_a_slip_is_marked(path, value):
    assert errors(changed((), None)) == []
    assert errors(changed(path, value)) != []


@pytest.mark.parametrize("section", ["corner", "tire", "wheel", "suspension", "part"])
def test_what_is_missing_is_marked(section):
    tables = changed((), None)
    del tables[section]
    assert errors(tables) != []


def changed(path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    """The pickup with one thing written otherwise."""
    tables = copy.deepcopy(tomllib.loads((ROOT / "fixtures/corners/orchard-pickup-rear.toml").read_text("utf-8")))
    if path:
        inside: Any = tables
        for step in path[:-1]:
            inside = inside[step]
        inside[path[-1]] = value
    return tables
