"""Every number of the language has two pairs of ends, and what a careless person writes falls outside them."""

from __future__ import annotations

import re
import tomllib
import types
from pathlib import Path
from typing import Annotated, Any, Union, get_args, get_origin

import pytest
import whole_language as whole
from pydantic import BaseModel
from share import share

from clearance.description import schema
from clearance.description.agreed import AgreedTables
from clearance.description.load import load
from clearance.description.numbers import NumericKey, keys_of, keys_of_kind, numbers_in
from clearance.description.parts.kinds import PARTS
from clearance.description.refusal import Refusal
from clearance.description.whole import Description, described
from clearance.ends import families
from clearance.ends.ends import Circle, Ends, Number, Point
from clearance.errors import CornerFileError
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS
from clearance.units import ANGLE_UNITS, LENGTH_UNITS

ROOT = Path(__file__).parents[2]
CORNERS = ROOT / "fixtures" / "corners"
TOP = {"wheel": schema.WheelTable, "tire": schema.TireTable, "suspension": schema.TravelTable}
MODELS = TOP | {f"part {kind}": model for kind, model in PARTS.items()}


# ---- nothing is left out


def language() -> list[NumericKey]:
    keys = [key for name, model in MODELS.items() for key in keys_of(model, (name,))]
    keys += [key for name, kind in KINDS.items() for key in keys_of_kind(kind.keys, (name,))]
    keys += [*keys_of_kind(STEERING_KEYS, ("steering",)), *keys_of_kind(AXIS_KEYS, ("steering", "axis"))]
    return [*keys, *keys_of(AgreedTables)]


def scalars(key: NumericKey) -> list[Ends]:
    if isinstance(key.ends, Point):
        return list(key.ends.axes.values())
    if isinstance(key.ends, Circle):
        return [key.ends.studs, key.ends.diameter]
    assert isinstance(key.ends, Ends), f"{key.path} is a number without ends"
    return [key.ends]


def test_every_numeric_key_has_hard_and_usual_ends_from_somewhere():
    keys = language()
    assert len(keys) > 300
    for key in keys:
        for ends in scalars(key):
            low, high = ends.usual
            assert ends.least <= low < high <= ends.most, key.path
            assert ends.source, key.path


def leaves(annotation: Any, path: tuple[Any, ...], under_ends: bool = False) -> list[tuple[tuple[Any, ...], bool]]:
    """Every plain number of an annotation, whatever reads it, and whether something above it declares ends."""
    if get_origin(annotation) is Annotated:
        marks = annotation.__metadata__
        under_ends = under_ends or any(isinstance(mark, Ends | Point | Circle) for mark in marks)
        annotation = get_args(annotation)[0]
    if annotation in (int, float):
        return [(path, under_ends)]
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        found = []
        for name, field in annotation.model_fields.items():
            whole_one = Annotated[field.annotation, *field.metadata] if field.metadata else field.annotation
            found += leaves(whole_one, (*path, name))
        return found
    if get_origin(annotation) in (Union, types.UnionType, tuple):
        return [leaf for one in get_args(annotation) for leaf in leaves(one, path, under_ends)]
    return []


@pytest.mark.parametrize("name", MODELS)
def test_no_plain_number_of_a_table_escapes_the_declaration(name):
    """Looked for by its type and not by its reader, so a new reader cannot be forgotten either."""
    found = leaves(MODELS[name], (name,))
    assert found
    assert [path for path, under_ends in found if not under_ends] == []


def test_every_measure_in_the_sections_of_the_page_is_a_number_with_ends():
    """The block that documents the answers' sections names every key; what reads as a measure there has ends."""
    page = (ROOT / "docs" / "corner-file.md").read_text(encoding="utf-8")
    tables = tomllib.loads(re.findall(r"```toml\n(.*?)```", page, re.DOTALL)[-1])
    known = {number.path for number in numbers_in(AgreedTables, tables, ())}

    def measures(value: Any, path: tuple[Any, ...]) -> list[tuple[Any, ...]]:
        if isinstance(value, dict):
            return [found for key, item in value.items() for found in measures(item, (*path, key))]
        if isinstance(value, list):
            return [found for i, item in enumerate(value) for found in measures(item, (*path, i))]
        units = "|".join((*LENGTH_UNITS, *ANGLE_UNITS, "kg", "lb", "km/h", "%"))
        number = isinstance(value, int) and not isinstance(value, bool)
        measured = isinstance(value, str) and re.fullmatch(
            rf"-?[\d./ ]+ ?({re.escape(units)})".replace(r"\|", "|"), value
        )
        return [path] if number or measured else []

    assert len(known) > 50
    assert [path for path in measures(tables, ()) if path not in known] == []


# ---- what a careless person writes, tried on every number of every section


def numbers(kind: str) -> tuple[Number, ...]:
    return described(whole.tables(kind), title="every key").numbers


def test_the_tables_that_are_tried_hold_every_numeric_key():
    """Names and places in lists are left out: what counts is that each key stands there once."""

    def plain(path: tuple[Any, ...]) -> tuple[Any, ...]:
        return tuple(step for step in path if not isinstance(step, int))

    tried = {plain(number.path) for kind in KINDS for number in numbers(kind)}
    for key in language():
        section, *rest = plain(key.path)
        where = {"steering": "steering"}.get(section, "suspension" if section in KINDS else section.split()[0])
        row = [step for step in rest if step not in _columns(section)]
        if rest[-1:] == ["*"]:
            row = ["laden"]
        found = [path for path in tried if path[0] == where and path[1 : 1 + len(row)] == tuple(row)]
        assert found, key.path


def _columns(kind: str) -> set[str]:
    return {column.name for key in (KINDS[kind].keys if kind in KINDS else ()) for column in key.columns}


def looked_at(tables: dict[str, Any]) -> tuple[Description | None, Refusal]:
    """The file read, or why not."""
    try:
        return described(tables, title="every key"), Refusal((), "")
    except Refusal as wrong:
        return None, wrong


def outcome(kind: str, number: Number, text: str | int) -> tuple[str, str]:
    """ "refused", "said" or "taken" where this is written instead, and the words."""
    tables = whole.tables(kind)
    table: Any = tables
    for step in number.path[:-1]:
        table = table[step]
    if number.path[-1] == "bolt_circle":
        studs = number.ends is families.STUDS
        text = f"{text} x 114.3 mm" if studs else f"5 x {text}"
    table[number.path[-1]] = text
    if number.path[-1] in ("least", "most"):
        # the two ends of a range must stay in order
        table |= {"least": text, "most": text}
    read, wrong = looked_at(tables)
    if read is None:
        # a list that cannot be read is refused as a whole, and a range by its first end
        at = wrong.path
        assert number.path[: len(at)] == at or at[:-1] == number.path[:-1], (number.path, text)
        return "refused", wrong.message
    (now,) = [n for n in read.numbers if n.path == number.path and n.ends is number.ends]
    return ("said", now.doubt) if now.doubt else ("taken", "")


def in_unit(value: float, ends: Ends, unit: str = "") -> str | int:
    """A value as a person writes it; `unit` instead of the one that it is kept in."""
    if ends.unit == "%":
        return f"{100 * value:.6f} %"
    if not ends.unit:
        return round(value) if ends is not families.SCAN_NUMBER else value
    return f"{value:.6f} {unit or ends.unit}"


def expected(value: float, ends: Ends) -> str:
    if not ends.least <= value <= ends.most:
        return "refused"
    return "taken" if ends.usual[0] <= value <= ends.usual[1] else "said"


def every_number() -> list[Any]:
    """Each number of each kind of suspension, and of the rest of the file once."""
    found, seen = [], set()
    for kind in KINDS:
        for number in numbers(kind):
            own = kind if number.path[0] == "suspension" else ""
            if (own, number.path, number.ends.what) not in seen:
                seen.add((own, number.path, number.ends.what))
                label = f"{own or 'every'}-{'.'.join(map(str, number.path))}-{number.ends.unit or 'count'}"
                found.append(pytest.param(kind, number, id=label))
    return found


@pytest.mark.parametrize(("kind", "number"), share(every_number(), 4))
def test_just_inside_is_taken_and_just_outside_is_refused_with_both_ends(kind, number):
    ends = number.ends
    step = 1.0 if not ends.unit and ends is not families.SCAN_NUMBER else 1e-3 * (ends.most - ends.least)
    for inside in (ends.least + step, ends.most - step):
        assert outcome(kind, number, in_unit(inside, ends))[0] == expected(inside, ends) != "refused"
    for outside in (ends.least - step, ends.most + step):
        text = in_unit(outside, ends)
        got, words = outcome(kind, number, text)
        assert got == "refused", text
        if outside < 0 <= ends.least and "without a sign" in words:
            assert str(text).lstrip("-") in words
        elif outside < 1 and ("more than zero" in words or "1 or more" in words):
            assert ends.least <= 1
        else:
            low, high = ends.span(ends.hard, str(text)).split(" to ")
            assert low in words
            assert high in words


SLIPS = {
    "ten times too large": lambda value, ends: (10 * value, ends.unit),
    "ten times too small": lambda value, ends: (value / 10, ends.unit),
    "the sign slipped": lambda value, ends: (-value, ends.unit),
    "inches taken for mm": lambda value, ends: (value / 25.4, ends.unit),
    "mm taken for inches": lambda value, ends: (25.4 * value, ends.unit),
}


@pytest.mark.parametrize("every", [5, pytest.param(1, marks=pytest.mark.slow)])
@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_that_lands_outside_is_refused_or_said_and_never_passed_over(slip, every):
    """What lands where is reckoned here from the four ends alone; the file is read as a whole each time."""
    tried = 0
    for kind, number in (row.values for row in every_number()[::every]):
        ends = number.ends
        if not ends.unit or ("in" in slip.split()[0] and ends.unit not in ("mm", "in")):
            continue
        value, _ = SLIPS[slip](number.value, ends)
        if value == number.value:
            continue
        got, words = outcome(kind, number, in_unit(value, ends))
        want = expected(value, ends)
        if want == "taken" and got == "refused":
            # a key that takes no sign refuses one, whatever the ends say
            assert value < 0
            assert "without a sign" in words or "below zero" in words
            continue
        assert got == want, (number.path, value)
        tried += 1
    assert tried > 150 / every


def test_most_slips_by_ten_and_by_a_unit_land_outside():
    """Ends that let everything through would pass every other test: 19 of 20 upward slips must be noticed."""
    rows = [(number, number.ends) for kind, number in (row.values for row in every_number()) if number.ends.unit]
    upward = [(n.value * factor, e) for n, e in rows for factor in (10, 25.4) if abs(n.value) > 0.1 * e.usual[1]]
    noticed = [expected(value, ends) != "taken" for value, ends in upward]
    assert sum(noticed) > 0.95 * len(noticed)


# ---- the words


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("-999 mm", "an offset of -999 mm: no road vehicle passes -200 mm to 200 mm. Check the number and its unit."),
        ("20 in", "an offset of 20 in: no road vehicle passes -7.87 in to 7.87 in."),
        ("20 in", 'Did you mean "20 mm"?'),
        ("2 ft", "no road vehicle passes -0.656 ft to 0.656 ft."),
    ],
)
def test_both_ends_are_said_in_the_unit_that_was_written(text, words):
    number = Number(path=("wheel", "offset"), text=text, value=_mm(text), ends=families.OFFSET)
    assert words in number.refusal


def _mm(text: str) -> float:
    size, unit = text.split()
    return float(size) * LENGTH_UNITS[unit]


def test_what_is_unusual_says_what_is_usual_and_what_the_sign_means():
    number = Number(path=("wheel", "offset"), text="-4 in", value=-101.6, ends=families.OFFSET)
    assert number.refusal == ""
    assert number.doubt == (
        "an offset of -4 in is unusual: -3.15 in to 3.15 in is usual. Check the number, its sign and its unit."
        ' A minus sign puts the wheel further outboard. Did you mean "-4 mm"?'
    )


@pytest.mark.parametrize(
    ("good", "bad", "key", "words"),
    [
        ('offset = "45 mm"', 'offset = "-999 mm"', "wheel.offset", "-200 mm to 200 mm"),
        ('bump = "68 mm"', 'bump = "39 in"', "suspension.bump", "0 in to 23.6 in"),
        ('camber = "-1 deg"', 'camber = "89 deg"', "suspension.camber", "-20 deg to 20 deg"),
        ('inboard = "2 mm"', 'inboard = "90 m"', "suspension.shift.inboard", "0 m to 0.06 m"),
        (
            'size = "205/55R16"',
            'size = "205/55R16"\noverall_diameter = "2.9 m"',
            "tire.overall_diameter",
            "0.38 m to 1.5 m",
        ),
        ('uncertainty = "2.7 mm"', 'uncertainty = "50 m"', "part[1].uncertainty", "0 m to 0.1 m"),
        ("5 x 112 mm", "5 x 500 mm", "wheel.bolt_circle", "70 mm to 350 mm"),
    ],
)
def test_what_was_accepted_without_a_word_is_refused(tmp_path, good, bad, key, words):
    """The list that began this."""
    text = (CORNERS / "scanned-well-rear.toml").read_text(encoding="utf-8")
    assert good in text
    file = tmp_path / "careless.toml"
    file.write_text(text.replace(good, bad, 1), encoding="utf-8")
    with pytest.raises(CornerFileError) as refused:
        load(file)
    assert refused.value.key == key
    assert words in refused.value.message


@pytest.mark.parametrize("file", sorted(CORNERS.glob("*.toml")), ids=lambda path: path.stem)
def test_nothing_of_a_shipped_corner_is_unusual(file):
    said = [words for words in load(file).warnings if words.startswith("line ")]
    if file.stem == "orchard-pickup-rear":  # a leaf-sprung axle taken straight, so that it is read in a minute
        assert "an axle from wheel to wheel tilts besides" in said.pop(0)
    assert said == []


def test_a_number_that_is_unusual_is_said_with_its_line(tmp_path):
    text = (
        (CORNERS / "orchard-pickup-rear.toml")
        .read_text(encoding="utf-8")
        .replace('bump = "3 1/2 in"', 'bump = "3.5 mm"')
    )
    file = tmp_path / "careless.toml"
    file.write_text(text, encoding="utf-8")
    line = text.splitlines().index(next(row for row in text.splitlines() if row.startswith("bump = "))) + 1
    assert load(file).warnings[0] == (
        f"line {line}, suspension.bump: a wheel's travel of 3.5 mm is unusual: 10 mm to 250 mm is usual. Check the"
        " number,"
        ' its sign and its unit. Did you mean "3.5 in"?'
    )
