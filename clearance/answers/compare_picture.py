"""Before and after as a picture: two bars for each part, from nothing to its gap, with a tick where it must reach.

Every bar is as long as its number: right of the line for a gap, left of it for how far the part is inside. All are
drawn at one scale, the largest usual one at which the longest fits, and an axis in mm and inches stands beneath, so
that the picture can be measured with a rule. Names stand left of the longest bar.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from clearance.answers.compare import PartChange, Side
from clearance.geom.drawing import HIDDEN, OUTLINE, THIN, Drawing, Mark, Path, Text
from clearance.geom.profile import Line, Point
from clearance.units import MM_PER_INCH, both

ROOM_MM = 160.0
"""On the paper, from the deepest to the largest."""
SCALES = (1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50, 1 / 100, 1 / 1000)
ROW_MM = 18.0
BAR_MM = 5.0
_LEAST_TICK_MM = 14.0


def picture_of(rows: Sequence[PartChange], before: str, after: str) -> Drawing:
    """The bars, first part on top."""
    sides = [side for row in rows for side in (row.before, row.after) if side is not None]
    low = min([0.0, *(side.gap_mm for side in sides)])
    high = max([1.0, *(max(side.gap_mm, side.required_mm) for side in sides)])
    scale = next((s for s in SCALES if (high - low) * s <= ROOM_MM), SCALES[-1])
    foot = -ROW_MM * len(rows)
    marks: list[Mark] = [
        _word((0.0, 8.0), f"white: {before}"),
        _word((0.0, 3.0), f"grey: {after}; bars to scale 1:{1 / scale:g}, dashed: must keep"),
        _line((0.0, 0.0), (0.0, foot), OUTLINE),
        *_axis(low, high, scale, foot),
    ]
    for k, row in enumerate(rows):
        top = -ROW_MM * k - 3.0
        marks.append(_word((scale * low - 4.0, top - 6.0), row.part, align="right"))
        for side, at, shade in ((row.before, top - BAR_MM, 1.0), (row.after, top - 2 * BAR_MM - 1.0, 0.7)):
            if side is not None:
                marks += _bar(side, at, shade, scale)
    return Drawing(marks=tuple(marks))


def _bar(side: Side, low: float, shade: float, scale: float) -> list[Mark]:
    length, need = scale * side.gap_mm, scale * side.required_mm
    ring = [(0.0, low), (length, low), (length, low + BAR_MM), (0.0, low + BAR_MM)]
    sides = tuple(Line(start=a, end=b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True) if a != b)
    marks: list[Mark] = [Path(elements=sides, layer=OUTLINE, shade=shade)] if abs(length) > 0.05 else []
    marks.append(_line((need, low - 0.8), (need, low + BAR_MM + 0.8), HIDDEN))
    at = max(length, need, 0.0) + 2.0
    marks.append(_word((at, low + 1.2), f"{both(side.gap_mm)}, {side.verdict}"))
    return marks


def _axis(low: float, high: float, scale: float, foot: float) -> list[Mark]:
    """A line beneath with ticks in mm below and in inches above it, each in whole steps."""
    marks: list[Mark] = [_line((scale * low, foot), (scale * high, foot), THIN)]
    for unit_mm, unit, way in ((1.0, "mm", -1.0), (MM_PER_INCH, "in", 1.0)):
        step = _step(_LEAST_TICK_MM / scale / unit_mm)
        for n in range(math.ceil(low / unit_mm / step - 1e-9), math.floor(high / unit_mm / step + 1e-9) + 1):
            x = scale * n * step * unit_mm
            marks.append(_line((x, foot - 7.0), (x, foot - 7.0 + 1.5 * way), THIN))
            marks.append(_word((x, foot - (11.5 if way < 0 else 4.5)), f"{n * step:g} {unit}", align="centre"))
    marks.append(_line((scale * low, foot - 7.0), (scale * high, foot - 7.0), THIN))
    return marks


def _step(least: float) -> float:
    """The least of 1, 2, 5, 10, ... or a half that is no smaller."""
    power = 10.0 ** math.floor(math.log10(least))
    return next(k * power for k in (1.0, 2.0, 5.0, 10.0) if k * power >= least - 1e-12)


def _line(start: Point, end: Point, layer: str = THIN) -> Path:
    return Path(elements=(Line(start=start, end=end),), layer=layer)


def _word(at: Point, text: str, *, align: str = "left") -> Text:
    return Text(at=at, text=text, height_mm=2.8, align=align)
