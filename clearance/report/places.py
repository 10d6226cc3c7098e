"""The tightest places on a sheet of their own: each cut open where the gap is seen at its true length.

The cut is the plane of `sections`: through the spin axis and the place, at the position where the part comes closest.
There the gap and the gap that must be kept are dimensions, larger than in the views and all at one scale. The figures
are those of the findings to the last digit; they stand beside the picture, each on a leader.

* along - the spin axis, as seen from behind: outboard to the left on a left corner
* off   - square to the axis, away from it, drawn upward wherever on the wheel the place is
"""

from __future__ import annotations

import math
import textwrap
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from clearance.gap.found import AT_EVERY, AT_OTHERS, Gap
from clearance.gap.rest import at_rest
from clearance.geom.drawing import (
    OUTLINE,
    PART,
    THIN,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Text,
    arrow,
    chain,
    drawing_of,
    rectangle,
)
from clearance.geom.profile import Point
from clearance.mockup.words import held_text, words_of
from clearance.pose import rightward
from clearance.report.findings import worst_first
from clearance.report.sections import clipped, cut_segments, hub_pose, in_section, solid_outline
from clearance.units import both
from clearance.words.fold import wrapped
from clearance.words.sentence import bracket_words

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

PLACES = 3
WINDOW_MM = 66.0
"""Side of a picture on the paper."""
PITCH_MM = 74.0
SCALES = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10)
"""ISO 5455."""
_LONGEST_MM = 24.0
"""On the paper: what is dimensioned is no longer, where a scale is to be had for it."""
_SHORTEST_MM = 0.05
_WORDS_AT = WINDOW_MM / 2 + 8.0
_LETTERS = 50


def shown_places(gaps: Sequence[Gap]) -> list[Gap]:
    """The tightest places that a picture can be made of, worst first."""
    return [gap for gap in worst_first(gaps)[:PLACES] if math.isfinite(gap.at_most_mm) and not gap.swallowed]


def scale_of(gaps: Sequence[Gap]) -> float:
    """The largest usual scale at which everything that is dimensioned stays within its picture."""
    longest = max((max(abs(gap.at_most_mm), gap.required_mm) for gap in gaps), default=1.0)
    return next((scale for scale in SCALES if longest * scale <= _LONGEST_MM), SCALES[-1])


def places_drawing(mockup: MockUp, gaps: Sequence[Gap], scale: float) -> Drawing:
    """The places under one another, in paper millimetres, the first on top; numbered as in the views."""
    drawn = Drawing()
    for number, gap in enumerate(worst_first(gaps)[:PLACES], start=1):
        if gap in shown_places(gaps):
            one = _place(mockup, at_rest(mockup, gap), number, scale)
            drawn += one.moved(0.0, -PITCH_MM * (number - 1))
    return drawn.led_by(mockup.units)


def gap_figure(gap: Gap) -> str:
    """The gap as its dimension says it: the words of the findings."""
    words = bracket_words(gap.at_least_mm, gap.at_most_mm, swallowed=gap.swallowed, narrow=gap.finished)
    return f"gap {words}"


def required_figure(gap: Gap) -> str:
    """The gap that must be kept as its dimension says it."""
    return f"required {both(gap.required_mm)}"


def _place(mockup: MockUp, gap: Gap, number: int, scale: float) -> Drawing:
    pose = hub_pose(mockup.suspension, gap)
    flip = rightward(right_hand=mockup.right_hand)
    tire, seen = (in_section(pose, point) for point in (gap.on_tire_mm, gap.on_part_mm))
    out = in_section(pose, np.asarray(gap.on_tire_mm) + np.asarray(gap.toward_part))

    def paper(point: Point) -> Point:
        return flip * scale * (point[0] - tire[0]), scale * (point[1] - tire[1])

    part = mockup.part(gap.part)
    cut = [chain([paper(p) for p in solid_outline(mockup)], closed=True, layer=OUTLINE, shade=0.88)]
    cut += [chain([paper(a), paper(b)], layer=PART) for a, b in cut_segments(mockup.suspension, gap, part, pose)]
    half = WINDOW_MM / 2
    marks: list[Mark] = [*clipped(cut, half), rectangle(-half, -half, WINDOW_MM, WINDOW_MM, THIN)]
    marks += _dimensions(gap, paper(tire), paper(seen), paper(out), scale)
    return drawing_of([*marks, *_ring(number), *_words(mockup, gap), *_ways(flip)])


def _dimensions(gap: Gap, tire: Point, seen: Point, out: Point, scale: float) -> list[Mark]:
    """Gap and required gap, one on either side of the place, with their figures beside the picture."""
    way = np.subtract(out, tire)
    way = way / max(float(np.hypot(*way)), 1e-9)
    kept = tuple(np.asarray(tire) + gap.required_mm * scale * way)
    # the one whose line is higher on the paper has the higher figure, so that no leader crosses the other
    side = 9.0 if way[0] >= 0 else -9.0
    middle = {
        words: (tire[1] + end[1]) / 2 + off * way[0]
        for end, off, words in ((seen, side, "gap"), (kept, -side, "required"))
    }
    above = middle["gap"] >= middle["required"]
    marks: list[Mark] = []
    for end, off, level, words in (
        (seen, side, 7.0 if above else 1.5, gap_figure(gap)),
        (kept, -side, 1.5 if above else 7.0, required_figure(gap)),
    ):
        start: Point = tire
        if math.dist(start, end) < _SHORTEST_MM:
            marks.append(Text(at=(_WORDS_AT, level), text=words, height_mm=2.4))
            continue
        # inside, the same side of the picture: it is measured the other way
        turned = off if float(np.dot(np.subtract(end, start), way)) > 0 else -off
        figure = (_WORDS_AT, level)
        marks.append(
            Dimension(
                start=start, end=(float(end[0]), float(end[1])), off_mm=turned, text=words, figure=figure, height_mm=2.4
            )
        )
    return [*marks, Circle(centre=tire, radius_mm=0.6, shade=0.0), Circle(centre=seen, radius_mm=0.6, shade=1.0)]


def _ring(number: int) -> list[Mark]:
    at = (_WORDS_AT + 2.4, WINDOW_MM / 2 - 3.0)
    return [
        Circle(centre=at, radius_mm=2.4, layer=OUTLINE, shade=1.0),
        Text(at=(at[0], at[1] - 1.2), text=str(number), height_mm=2.4, align="centre", bold=True),
    ]


def _words(mockup: MockUp, gap: Gap) -> list[Mark]:
    """What it is above the figures, where and when it is below them."""
    half = WINDOW_MM / 2
    marks: list[Mark] = []
    y = half - 4.2
    named = textwrap.wrap(gap.part, 40, break_long_words=True)
    for row in [*named[:1], *(textwrap.shorten(" ".join(named[1:]), 40, placeholder=" ...") for _ in named[1:2])]:
        marks.append(Text(at=(_WORDS_AT + 7.0, y), text=row, height_mm=2.4, bold=True))
        y -= 4.0
    when = f"at {_when(mockup, gap)}"
    y = -6.0
    for text in (f"to the {gap.region}, {when}", gap.where, "black dot: tire and wheel; white dot: part"):
        for row in wrapped(text, _LETTERS):
            marks.append(Text(at=(_WORDS_AT, y), text=row, height_mm=2.0))
            y -= 3.2
    return marks


def _when(mockup: MockUp, gap: Gap) -> str:
    position = words_of(gap.position, mockup.suspension.cycle, right_hand=mockup.right_hand)
    return held_text(position, every=gap.held == AT_EVERY, others=gap.held == AT_OTHERS)


def _ways(flip: float) -> list[Mark]:
    at = (_WORDS_AT + 56.0, 12.5)
    return [
        *arrow(at, (flip, 0.0), 6.0, "OUTBOARD", 1.8),
        *arrow(at, (0.0, 1.0), 6.0, "OFF THE AXLE", 1.8),
    ]
