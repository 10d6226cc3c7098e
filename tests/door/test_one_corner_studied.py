"""One corner over a grid of changes, and cars built within its tolerances, against the plain check and the budget."""

from __future__ import annotations

import csv
import io
import re
from dataclasses import replace

import pytest
from hostile.commands import CORNERS

import clearance
from clearance.answers.grid import Cell, Grid, Over
from clearance.answers.grid_picture import picture_of
from clearance.geom.drawing import HIDDEN, Path, Text


@pytest.fixture(scope="module")
def corner():
    """The pickup's corner with its lip alone, which is quick."""
    whole = clearance.load(CORNERS / "orchard-pickup-rear.toml")
    return replace(whole, parts=tuple(part for part in whole.parts if part.name == "lip"))


@pytest.fixture(scope="module")
def found(corner):
    return clearance.grid(corner, {"backspace": (60.0, 90.0), "bump_stop": (0.0, 20.0, 400.0)}, processes=1)


def test_each_cell_is_what_check_finds(corner, found):
    assert len(found.cells) == 6
    for cell in found.cells[:4]:
        backspace_mm, stop_mm = cell.at
        gap = clearance.check(clearance.changed(corner, backspace_mm=backspace_mm, bump_stop_mm=stop_mm)).gaps[0]
        # both brackets are true, so they meet
        assert cell.low_mm <= gap.at_most_mm - gap.required_mm
        assert cell.high_mm >= gap.at_least_mm - gap.required_mm
        assert cell.clears is (gap.verdict == "clears")
    # a stop that leaves no travel cannot be made: not told, and why
    assert [cell.clears for cell in found.cells[4:]] == [None, None]
    assert "no travel" in found.cells[5].why


def test_its_table_has_a_column_for_each_number_that_is_changed(found):
    files = clearance.grid_files(found)
    rows = list(csv.DictReader(io.StringIO(files["grid.csv"].decode())))
    assert [(row["backspace (mm)"], row["bump_stop (mm)"]) for row in rows][:3] == [
        ("60.0", "0.0"), ("90.0", "0.0"), ("60.0", "20.0"),
    ]  # fmt: skip
    assert "offset (mm)" not in rows[0]
    assert rows[5]["said"] == "not told"


def test_the_zero_line_stands_between_certified_cells_alone():
    """By hand: clears, does not, not told, in a row: one heavy side, and a broken one nowhere; then with the last two
    the other way round one broken side."""

    def drawn(*said: bool | None):
        ends = {True: (1.0, 1.1), False: (-1.1, -1.0), None: (-0.1, 0.1)}
        cells = [
            Cell(at=(float(k),), gap=None, low_mm=ends[one][0], high_mm=ends[one][1]) for k, one in enumerate(said)
        ]
        over = Over(name="backspace", values=tuple(float(k) for k in range(len(said))))
        marks = picture_of(Grid(overs=(over,), cells=tuple(cells))).marks
        heavy = [mark for mark in marks if isinstance(mark, Path) and mark.shade == 0.0]
        broken = [mark for mark in marks if isinstance(mark, Path) and mark.layer == HIDDEN]
        words = [mark.text for mark in marks if isinstance(mark, Text)]
        return len(heavy), len(broken), words

    heavy, broken, words = drawn(True, False, None)
    assert (heavy, broken) == (1, 0)
    assert {"+1.0", "-1.1", "?"} <= set(words)
    assert drawn(True, None, False)[:2] == (0, 1)
    assert drawn(True, True)[:2] == (0, 0)


def test_processes_change_no_byte(corner, found):
    again = clearance.grid(corner, {"backspace": (60.0, 90.0), "bump_stop": (0.0, 20.0, 400.0)}, processes=2)
    assert clearance.grid_files(again) == clearance.grid_files(found)


@pytest.mark.parametrize(
    ("over", "said"),
    [
        ({"backspce": (1.0,)}, "nothing that can be changed"),
        ({"backspace": (90.0,), "offset": (0.0,)}, "move the same wheel"),
        ({"backspace": ()}, "at least one value"),
        ({}, "one to 4 numbers"),
        ({"backspace": range(200), "raised": range(200)}, "more than"),
    ],
)
def test_what_is_no_grid_is_refused(corner, over, said):
    with pytest.raises(clearance.InputError, match=said):
        clearance.grid(corner, over)


def test_cars_within_their_tolerances_are_measured_and_held_against_the_budget(corner):
    found = clearance.sampled(corner, 6, processes=1)
    budget = clearance.budget(corner, rechecks=0)
    (one,), (part,) = found.parts, budget.parts
    assert one.worst_mm == part.worst_mm
    assert one.straight_mm == pytest.approx((part.gap_mm - part.likely_mm) / 2)
    # the spread of six draws is good to a factor of three
    assert one.straight_mm / 3 < one.spread_mm < 3 * one.straight_mm
    assert one.least_mm >= one.worst_mm
    for column, source in enumerate(found.sources):
        assert (found.draws[:, column] >= source.low).all()
        assert (found.draws[:, column] <= source.high).all()
    rows = list(csv.reader(io.StringIO(clearance.sampled_files(found)["sample.csv"].decode())))
    assert len(rows) == 7
    assert float(rows[1][-1]) == pytest.approx(found.at_least_mm[0, 0], abs=1e-3)
    below = replace(found.parts[0], worst_mm=found.parts[0].least_mm + 1.5)
    words = clearance.Answer(
        value=None, told=lambda: _page(corner, replace(found.value, parts=(below,))), plain=lambda: {}
    ).words()
    assert re.search(r"a car lies 1\.5 mm .* below the worst case", words)


def _page(corner, value):
    from clearance.words.sampled import page

    return page(corner, value, None)
