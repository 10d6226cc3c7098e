"""A list of what can be had, against walls whose gaps are a subtraction."""

from __future__ import annotations

import json
import random
from pathlib import Path

import pytest
from clearance_cli.main import run
from share import examples
from two_walls import INNER_MM, OUTER_MM
from two_walls import car as car_text

import clearance

ROOT = Path(__file__).parents[2]
WALLS = car_text(right=(164.0, 131.0))
SIZES = ("195/60R15", "205/65R15", "215/60R15", "225/60R15", "235/60R15", "225/50R16", "205/55R16", "P215/65R15")


@pytest.fixture(scope="module")
def car():
    return clearance.read_car(WALLS)


def listed(tmp_path: Path, rows: list[str], heading: str = "tire,width,offset,price") -> Path:
    file = tmp_path / "list.csv"
    file.write_text("\n".join([heading, *rows]) + "\n", encoding="utf-8")
    return file


def by_hand(section_mm: float, offset_mm: float) -> float:
    """What is left at the tighter of the nearest walls: 160 - 20 inboard at the left, 131 - 10 outboard at the right.

    A wheel that goes straight up and down without camber has its tire half a section to each side of the rim's middle,
    which stands one offset inboard of the hub's face.
    """
    return min(160.0 - INNER_MM - (section_mm / 2 + offset_mm), 131.0 - OUTER_MM - (section_mm / 2 - offset_mm))


def test_seeded_rows_are_what_a_subtraction_says(car, tmp_path):
    """The tire's section on its rim is that of the marking, which is tried elsewhere; the rest is by hand."""
    rng, many = random.Random(17), examples(60, 24)
    rows = [f"{rng.choice(SIZES)},{rng.choice((6.5, 7.0))} in,{rng.uniform(-25, 45):.1f} mm," for _ in range(many)]
    found = clearance.candidates(car, listed(tmp_path, rows), enough=500).value
    assert found.not_answered == ()
    assert found.not_reached == ()
    assert sorted(one.row.line for one in found.tried) == list(range(2, many + 2))
    clear = 0
    for one in found.tried:
        left = by_hand(one.section_mm, one.offset_mm)
        assert abs(left) > 0.01 or not one.certified
        assert one.clears == (left >= 0)
        assert one.corner == ("rear-left" if 2 * one.offset_mm > 19.0 else "rear-right")
        if one.certified:
            assert left - 0.06 <= one.spare_mm <= left + 0.01
        else:
            assert one.spare_mm >= left - 0.01  # at most that is left, and it is less than nothing
            assert one.spare_mm < 0
        clear += one.clears
    assert many / 12 < clear < many * 11 / 12
    assert [one.clears for one in found.tried] == [True] * clear + [False] * (many - clear)


ROWS = [
    "205/65R15,7 in,10 mm,90",
    "225/60R15,7 in,10 mm,70",
    "235/60R15,7 in,10 mm,",
    "195/60R15,6.5 in,10 mm,80",
    "195/60R15,6.5 in,200 mm,1",
]


@pytest.mark.parametrize(
    ("by", "lines"),
    [
        # diameters by hand: 15 x 25.4 + 2 x 0.65 x 205 = 647; 651; 663; 615
        ("fill", [4, 3, 2, 5]),
        ("rubber", [4, 3, 2, 5]),
        ("price", [3, 5, 2, 4]),
        # the narrowest leaves the most
        ("room", [5, 2, 3, 4]),
    ],
)
def test_what_matters_ranks_what_clears_and_what_does_not_comes_last(by, lines, car, tmp_path):
    found = clearance.candidates(car, listed(tmp_path, ROWS), by=by).value
    assert [one.row.line for one in found.tried] == [*lines, 6]
    assert [one.clears for one in found.tried] == [True] * 4 + [False]


def test_the_speedometer_ranks_by_what_is_on_the_car_now(tmp_path):
    """On it now: 195/60R15, 615 mm. 647 is 5.2 % more, 651 5.9 %, 663 7.8 %: rolling radii go as the diameters."""
    now = WALLS.replace("[corner.rear-left]\n", '[now]\nsize = "195/60R15"\n[corner.rear-left]\n', 1)
    found = clearance.candidates(clearance.read_car(now), listed(tmp_path, ROWS), by="speedometer").value
    assert [one.row.line for one in found.tried if one.clears] == [5, 2, 3, 4]
    percent = {one.row.line: 100 * one.swap.speed for one in found.tried}
    assert percent[2] == pytest.approx(100 * (647.0 / 615.0 - 1), abs=0.01)
    with pytest.raises(clearance.InputError, match=r"no \[now\]"):
        clearance.candidates(clearance.read_car(WALLS), listed(tmp_path, ROWS), by="speedometer")


def test_a_row_for_one_axle_is_put_on_that_axle_alone(car, tmp_path):
    file = listed(tmp_path, ["205/65R15,7 in,10 mm,rear", "205/65R15,7 in,10 mm,front"], "tire,width,offset,axle")
    found = clearance.candidates(car, file).value
    assert [one.row.line for one in found.tried] == [2]
    assert [(one.line, one.why) for one in found.not_answered] == [(3, "no corner of the front axle is described.")]


def test_a_bad_row_is_named_by_line_and_column_and_the_others_are_answered(car, tmp_path):
    heading = "tire,width,backspace,offset,axle,price,overall_diameter"
    bad = [
        ("nonsense,7 in,4 in,,,,", "tire"),
        ("205/65R15,,4 in,,,,", "width"),
        ("205/65R15,7,4 in,,,,", "width"),
        ("205/65R15,12 in,4 in,,,,", "width"),
        ("205/65R15,7 in,,,,,", "backspace"),
        ("205/65R15,7 in,4 in,10 mm,,,", "backspace"),
        ("205/65R15,7 in,-4 in,,,,", "backspace"),
        ("205/65R15,7 in,,10 furlongs,,,", "offset"),
        ("205/65R15,7 in,4 in,,middle,,", "axle"),
        ("205/65R15,7 in,4 in,,,cheap,", "price"),
        ("205/65R15,7 in,4 in,,,nan,", "price"),
        ("205/65R15,7 in,4 in,,,,9 mm", "tire"),
    ]
    file = listed(
        tmp_path, ["205/65R15,7 in,4 in,,,,", *(row for row, _ in bad), "", "205/65R15,7 in,4 in,,,,"], heading
    )
    found = clearance.candidates(car, file).value
    assert [one.row.line for one in found.tried] == [2, 16]
    assert [(one.line, one.column) for one in found.not_answered] == [
        (line, column) for line, (_, column) in enumerate(bad, start=3)
    ]
    assert all(one.why for one in found.not_answered)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "no column `tire`"),
        ("tire,width\n", "there is no row"),
        ("tire,backspace\n205/65R15,4 in\n", "no column `width`"),
        ("tire,width,colour\n205/65R15,7 in,red\n", "colour"),
        ("tire,width,width\n", "two columns"),
        ("tire,width\n" + "205/65R15,7 in\n" * 20_001, "20,001 rows"),
    ],
)
def test_a_list_that_is_none_is_refused(text, words, tmp_path, capsys):
    corner, file = tmp_path / "car.toml", tmp_path / "list.csv"
    corner.write_text(WALLS, encoding="utf-8")
    file.write_text(text, encoding="utf-8")
    assert run(["candidates", str(corner), str(file)]) == 2
    heard = capsys.readouterr()
    assert heard.out == ""
    assert words in heard.err


@pytest.mark.slow
def test_ten_thousand_rows_are_answered(car, tmp_path):
    """One row in a thousand fits; the others are refused by a point, without a search."""
    rows = ["225/60R15,7 in,10 mm,"] * 3 + ["235/60R15,7 in,80 mm,"] * 9_997
    found = clearance.candidates(car, listed(tmp_path, rows)).value
    assert len(found.tried) == 10_000
    assert sum(one.clears for one in found.tried) == 3


def test_enough_stops_and_says_what_was_not_reached(car, tmp_path, capsys):
    found = clearance.candidates(car, listed(tmp_path, ROWS), enough=1).value
    assert [one.row.line for one in found.tried if one.clears] == [4]
    assert sorted(row.line for row in found.not_reached) == [2, 3, 5]


def test_as_a_user_asks(tmp_path, capsys):
    file = tmp_path / "car.toml"
    file.write_text(WALLS, encoding="utf-8")
    words = ["candidates", str(file), str(listed(tmp_path, [*ROWS, "nonsense,7 in,1 mm,"]))]
    assert run(words) == 0
    out = capsys.readouterr().out
    assert out.index("These clear") < out.index("These do not") < out.index("Not answered") < out.index("line 7, tire")
    assert run([*words, "--json", "--corner", "rear-right"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {row["corner"] for row in told["rows"]} == {"rear-right"}
    assert run([*words[:2], str(listed(tmp_path, ROWS[4:]))]) == 1
    assert "Nothing on the list clears" in capsys.readouterr().out


def test_a_row_of_another_length_and_a_wheel_that_cannot_be_cost_the_list_nothing(tmp_path):
    """A comma in a note, a row whose end was left off, one without its end of line, a backspace of 300 in."""
    from clearance.description.car import car_of_text

    file = tmp_path / "list.csv"
    rows = [
        "tire,width,backspace,axle,price,note",
        "205/65R15,7 in,4 in,,90,fits, he says",
        "205/65R15,7 in,4 in",
        "205/65R15,7 in,300 in,,90,",
        "205/65R15,7 in,4 in,front,90,",
        "205/65Q15,7 in,4 in,,90,",
        "205/65R15,7 in,4 in,,90",
    ]
    file.write_text("\n".join(rows), encoding="utf-8")
    found = clearance.candidates(car_of_text(WALLS, "walls.toml"), file).value
    assert sorted(one.row.line for one in found.tried) == [3, 7]
    assert [(one.line, one.column) for one in found.not_answered] == [
        (2, "note"), (4, "backspace"), (5, "axle"), (6, "tire"),
    ]  # fmt: skip
    assert "between quotation marks" in found.not_answered[0].why
    assert not any("\n" in one.why for one in found.not_answered)


def test_a_look_at_all_parts_at_once_is_the_look_at_each():
    """A tire at many offsets in the shipped wells, deep in the sheet and far from it: the same number, to the bit."""
    import numpy as np

    from clearance.answers.seen import seen_by_wheel
    from clearance.answers.seen_at_once import Outline, rings_of

    for name in ("orchard-pickup-rear", "heron-roadster-front"):
        corner = clearance.load(ROOT / "fixtures" / "corners" / f"{name}.toml")
        seen = seen_by_wheel(corner, within_mm=corner.solid.reach_mm + 120)
        solid, rings = corner.solid, rings_of(seen)
        outline = Outline(chain=solid.chain, bounds=solid.profile.bounds, reach_mm=solid.reach_mm)
        for offset_mm in np.linspace(-150, 150, 31):
            each = min(one.gap_mm(corner.solid.chain, offset_mm) - one.required_mm for one in seen)
            assert rings.spare_mm(outline, offset_mm) == each
