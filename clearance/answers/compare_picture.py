"""Before and after as a picture: two bars for each part, from nothing to its gap, with a tick where it must reach.

A millimetre of gap is drawn a millimetre long, so that the picture can be measured with a rule; longer gaps than
`MOST_MM` are cut off and say so.
"""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.compare import PartChange, Side
from clearance.geom.drawing import HIDDEN, OUTLINE, THIN, Drawing, Mark, Path, Text
from clearance.geom.profile import Line, Point

MOST_MM = 120.0
ROW_MM = 18.0
BAR_MM = 5.0


def picture_of(rows: Sequence[PartChange], before: str, after: str) -> Drawing:
    """The bars, first part on top."""
    marks: list[Mark] = [
        _word((0.0, 8.0), f"white: {before}"),
        _word((0.0, 3.0), f"grey: {after}"),
        _line((0.0, 0.0), (0.0, -ROW_MM * len(rows)), OUTLINE),
    ]
    for k, row in enumerate(rows):
        top = -ROW_MM * k - 3.0
        marks.append(_word((-4.0, top - 6.0), row.part, align="right"))
        for side, low, shade in ((row.before, top - BAR_MM, 1.0), (row.after, top - 2 * BAR_MM - 1.0, 0.7)):
            if side is not None:
                marks += _bar(side, low, shade)
    return Drawing(marks=tuple(marks))


def _bar(side: Side, low: float, shade: float) -> list[Mark]:
    length = max(-MOST_MM / 2, min(MOST_MM, side.gap_mm))
    ring = [(0.0, low), (length, low), (length, low + BAR_MM), (0.0, low + BAR_MM)]
    sides = tuple(Line(start=a, end=b) for a, b in zip(ring, ring[1:] + ring[:1], strict=True) if a != b)
    cut = " (drawn short)" if length != side.gap_mm else ""
    need = min(side.required_mm, MOST_MM)
    marks: list[Mark] = [Path(elements=sides, layer=OUTLINE, shade=shade)] if abs(length) > 0.05 else []
    marks.append(_line((need, low - 0.8), (need, low + BAR_MM + 0.8), HIDDEN))
    at = max(length, need, 0.0) + 2.0
    marks.append(_word((at, low + 1.2), f"{side.gap_mm:.1f} mm, {side.verdict}{cut}"))
    return marks


def _line(start: Point, end: Point, layer: str = THIN) -> Path:
    return Path(elements=(Line(start=start, end=end),), layer=layer)


def _word(at: Point, text: str, *, align: str = "left") -> Text:
    return Text(at=at, text=text, height_mm=2.8, align=align)
