"""The picture of a comparison: bars that stand for their numbers."""

from __future__ import annotations

import math

import pytest

from clearance.answers.compare import PartChange, Side
from clearance.answers.compare_picture import SCALES, picture_of
from clearance.geom.drawing import OUTLINE, Path, Text, mark_bounds


def side(gap_mm: float, required_mm: float = 25.0) -> Side:
    verdict = "hits" if gap_mm < 0 else "clears" if gap_mm >= required_mm else "tight"
    return Side(gap_mm=gap_mm, required_mm=required_mm, verdict=verdict, position="", where="", region="")


def bars(drawn) -> list[float]:
    """Lengths of the bars, to the left below zero, in the order of the rows."""
    found = [m for m in drawn.marks if isinstance(m, Path) and m.layer == OUTLINE and m.shade is not None]
    return [x0 + x1 for x0, _, x1, _ in map(mark_bounds, found)]


@pytest.mark.parametrize("gaps", [(-67.0, -104.0), (12.0, 31.0), (-3.0, 900.0), (-0.4, 0.4), (-1500.0, 2.0)])
def test_bars_are_as_long_as_their_numbers_at_one_scale(gaps):
    drawn = picture_of([PartChange(part="lip", before=side(gaps[0]), after=side(gaps[1]))], "a", "b")
    scale = bars(drawn)[0] / gaps[0]
    assert min(abs(scale - s) for s in SCALES) < 1e-9
    assert bars(drawn) == pytest.approx([scale * gap for gap in gaps])


def test_no_bar_stands_on_a_name_and_the_axis_has_both_units():
    rows = [
        PartChange(part="upper left subframe bracket with bolts and clips", before=side(-67.0), after=side(-104.0)),
        PartChange(part="lip", before=side(12.0, 13.0), after=None),
    ]
    drawn = picture_of(rows, "a", "b")
    least = min(bars(drawn))
    names = [m for m in drawn.marks if isinstance(m, Text) and m.text in {row.part for row in rows}]
    assert len(names) == 2
    assert all(mark_bounds(name)[2] <= least for name in names)
    words = {m.text for m in drawn.marks if isinstance(m, Text)}
    assert {"0 mm", "-100 mm", "0 in", "-4 in"} <= words
    # a tick in inches stands where so many inches are
    ticks = {m.text: m.at[0] for m in drawn.marks if isinstance(m, Text) and m.text in ("-4 in", "-100 mm")}
    assert math.isclose(ticks["-4 in"] / ticks["-100 mm"], 101.6 / 100.0)
