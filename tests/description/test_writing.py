"""Writing is the inverse of reading: what is written reads back to what was meant, and nothing else in a file moves."""

import difflib
import tomllib
from pathlib import Path

import hypothesis.strategies as st
import pytest
import whole_language
from hypothesis import given, settings

from clearance.description import motion, values
from clearance.description.agreed import AgreedTables
from clearance.description.load import load, of_text
from clearance.description.numbers import numbers_in
from clearance.description.parts.kinds import PARTS
from clearance.description.refusal import Refusal
from clearance.description.schema import TireTable, WheelTable
from clearance.description.writing import Document, Sheet, corner_text, in_file
from clearance.errors import InputError
from clearance.suspension.kinds import KINDS

ROOT = Path(__file__).parents[2]
FILES = sorted((ROOT / "fixtures" / "corners").glob("*.toml"))
GOOD = Path(__file__).with_name("good.toml")


def lines_changed(before, after):
    rows = difflib.ndiff(before.splitlines(), after.splitlines())
    return [row for row in rows if row[:2] in ("+ ", "- ")]


@pytest.mark.parametrize("path", [*FILES, GOOD], ids=lambda path: path.stem)
def test_a_file_is_itself_until_it_is_changed(path):
    text = path.read_text(encoding="utf-8")
    assert Document(text).changed({}).text == text


@pytest.mark.parametrize("path", [*FILES, GOOD], ids=lambda path: path.stem)
def test_the_tables_of_a_file_written_anew_are_the_same_corner(path):
    tables = tomllib.loads(path.read_text(encoding="utf-8"))
    text = corner_text(tables)
    assert tomllib.loads(text) == tables
    again, first = of_text(text, path), load(path)
    assert repr(again.wheel) == repr(first.wheel)
    assert again.suspension.cycle == first.suspension.cycle
    assert [part.name for part in again.parts] == [part.name for part in first.parts]
    for one, other in zip(again.parts, first.parts, strict=True):
        assert (one.triangles_mm == other.triangles_mm).all()


@pytest.mark.parametrize("path", [*FILES, GOOD], ids=lambda path: path.stem)
def test_one_key_changed_is_one_line_changed(path):
    before = path.read_text(encoding="utf-8")
    after = Document(before).changed({"suspension.bump": 61.25}).text
    removed, added = lines_changed(before, after)
    assert removed.startswith("- bump = ")
    assert added.startswith('+ bump = "61.25 mm"')
    assert removed.partition("#")[2] == added.partition("#")[2], "the words beside the row are lost"
    assert load(path).suspension.cycle.bump_mm[0] == of_text(after, path).suspension.cycle.bump_mm[0]
    assert of_text(after, path).suspension.cycle.bump_mm[1] == 61.25


@given(st.floats(-60.0, 60.0), st.floats(0.5, 30.0))
@settings(max_examples=60, deadline=None)
def test_a_number_reads_back(offset, uncertainty):
    changes = {"wheel.offset": offset, "uncertainty.bump_travel": uncertainty, "wheel.backspace": None}
    text = Document(GOOD.read_text(encoding="utf-8")).changed(changes).text
    corner = of_text(text, GOOD)
    assert corner.wheel.offset_mm == pytest.approx(offset, rel=0, abs=1e-12)
    assert corner.terms.uncertainty.stated["bump_travel"] == pytest.approx(uncertainty, rel=0, abs=1e-12)


UNITS = {
    ("wheel", "width"): (7.5, "7.5 in"),
    ("wheel", "bolt_circle"): ((5, 114.3), "5 x 114.3 mm"),
    ("steering", "left"): (33.0, "33 deg"),
    ("load", "corner"): (520.0, "520 kg"),
    ("load", "speed"): (180.0, "180 km/h"),
    ("limits", "backspace"): ({"least": 90.0, "most": 120.0}, {"least": "90 mm", "most": "120 mm"}),
    ("limits", "lip_roll"): (False, False),
    ("limits", "rim_widths"): ((7.0, 7.5), ["7 in", "7.5 in"]),
    ("sold", "spacer"): ((3.0, 5.0), ["3 mm", "5 mm"]),
    ("uncertainty", "part"): ({"inner wall": 1.5}, {"inner wall": "1.5 mm"}),
    ("suspension", "shift"): ({"inboard": 6.0}, {"inboard": "6 mm"}),
    ("title",): ("A name", "A name"),
}


@pytest.mark.parametrize("path", UNITS, ids=".".join)
def test_a_number_gets_the_unit_that_its_key_is_kept_in(path):
    value, shown = UNITS[path]
    assert in_file(value, path, {"suspension": {"kind": "straight"}}) == shown


def test_points_and_rows_of_a_kind_get_their_units():
    tables = {"suspension": {"kind": "table"}, "part": [{"kind": "lip"}, {"kind": "mesh"}]}
    assert in_file([[1.5, 2.0], [3.0, 4.0]], ("part", 0, "outline"), tables) == [["1.5 mm", "2 mm"], ["3 mm", "4 mm"]]
    assert in_file({"hub": [1.0, 2.0, 3.0]}, ("part", 1, "place"), tables) == {"hub": [1.0, 2.0, 3.0]}, (
        "points of a scan are in the scan's own numbers"
    )


@pytest.mark.parametrize("kind", KINDS)
def test_every_number_of_the_language_is_written_as_it_is_read(kind):
    """The whole language once, each key of it: a number, written, reads back to itself in every digit."""
    tables = whole_language.tables(kind)
    assert tomllib.loads(corner_text(tables)) == tables
    numbers = numbers_of(tables)
    assert len(numbers) > 150
    for number in numbers:
        if isinstance(at(tables, number.path), str) and " x " not in at(tables, number.path):
            shown = in_file(number.value, number.path, tables)
            assert values.OF_UNIT[number.ends.unit](shown) == pytest.approx(number.value, rel=1e-15, abs=0), number.path


def numbers_of(tables):
    moves = motion.read_motion(tables["suspension"], tables["steering"])
    found = [*numbers_in(WheelTable, tables["wheel"], ("wheel",)), *numbers_in(TireTable, tables["tire"], ("tire",))]
    found += moves.numbers
    for i, part in enumerate(tables["part"]):
        found += numbers_in(PARTS[part["kind"]], part, ("part", i))
    return [*found, *numbers_in(AgreedTables, {key: tables[key] for key in whole_language.SECTIONS}, ())]


def at(tables, path):
    for step in path:
        tables = tables[step]
    return tables


def test_a_number_without_an_end_is_refused():
    with pytest.raises(Refusal, match="no number that can be written"):
        in_file(float("nan"), ("wheel", "backspace"), {})


def test_a_part_goes_by_its_name():
    document = Document(GOOD.read_text(encoding="utf-8"))
    name = document.tables()["part"][0]["name"]
    changed = document.changed({("part", name, "required"): 12.0})
    assert changed.tables()["part"][0]["required"] == "12 mm"
    with pytest.raises(InputError, match="no part is called"):
        document.changed({("part", "attic", "required"): 12.0})


def test_a_part_more_and_a_part_less():
    document = Document(GOOD.read_text(encoding="utf-8"))
    more = document.with_part({"name": "tank", "kind": "wall", "inboard": 210.5})
    assert more.text.startswith(document.text), "what was there has moved"
    assert more.tables()["part"][-1] == {"name": "tank", "kind": "wall", "inboard": "210.5 mm"}
    assert more.without_part("tank").tables() == document.tables()
    with pytest.raises(InputError, match="is taken"):
        more.with_part({"name": "tank", "kind": "wall", "inboard": 1.0})


def test_a_section_that_is_missing_is_made():
    document = Document(GOOD.read_text(encoding="utf-8")).changed({"uncertainty.part": {"rail": 2.0}})
    assert document.tables()["uncertainty"]["part"]["rail"] == "2 mm"


def test_a_key_below_what_is_no_table_is_refused():
    with pytest.raises(InputError, match="cannot be set"):
        Document(GOOD.read_text(encoding="utf-8")).changed({"title.width": "3 in"})


def test_what_is_not_toml_is_refused():
    with pytest.raises(InputError, match="line 1"):
        Document("wheel = = 3")


@given(st.text(max_size=60))
def test_any_words_are_one_row_of_a_sheet(text):
    row = Sheet().row("title", text, "beside it").text()
    assert tomllib.loads(row) == {"title": text}
    assert row.count("\n") == 1
