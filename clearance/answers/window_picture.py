"""The window as a picture: rim width across, backspace up, the region that clears, and what binds each edge.

One inch of rim width or backspace is drawn 40 mm long, so that the picture can be measured with a rule.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence

from clearance.answers.window import End, OnWidth, Stretch, Window
from clearance.geom.drawing import HIDDEN, OUTLINE, THIN, Circle, Drawing, Mark, Path, Text
from clearance.geom.profile import Line, Point
from clearance.units import MM_PER_INCH

SCALE_MM = 40.0
"""Drawn, for one inch."""


def picture_of(window: Window) -> Drawing:
    """The window of every rim width; see the module."""
    rows = window.widths
    lows = [end.backspace_mm for row in rows for s in row.stretches for end in (s.least, s.most)]
    lows += [window.given_backspace_mm]
    low_in, high_in = _whole(min(lows), -1), _whole(max(lows), +1)
    left_in, right_in = rows[0].width_in - 0.5, rows[-1].width_in + 0.5
    marks: list[Mark] = [*_grid(left_in, right_in, low_in, high_in)]
    marks += _regions(rows)
    for row in rows:
        for stretch in row.stretches:
            marks += _bar(row, stretch)
        if not row.stretches:
            marks.append(_word((_x(row.width_in), _y((low_in + high_in) / 2 * MM_PER_INCH)), "nothing clears", turn=90))
    marks += _given(window)
    marks += _labels(rows, right_in, low_in)
    return Drawing(marks=tuple(marks))


def _x(width_in: float) -> float:
    return width_in * SCALE_MM


def _y(backspace_mm: float) -> float:
    return backspace_mm / MM_PER_INCH * SCALE_MM


def _whole(backspace_mm: float, way: int) -> float:
    """A quarter of an inch past the next half inch, away from the window."""
    halves = backspace_mm / MM_PER_INCH * 2
    return (math.ceil(halves) / 2 + 0.25) if way > 0 else (math.floor(halves) / 2 - 0.5)


def _line(start: Point, end: Point, layer: str) -> Path:
    return Path(elements=(Line(start=start, end=end),), layer=layer)


def _word(at: Point, text: str, *, align: str = "centre", turn: float = 0.0, height: float = 3.0) -> Text:
    return Text(at=at, text=text, height_mm=height, align=align, turn_deg=turn)


def _grid(left: float, right: float, low: float, high: float) -> list[Mark]:
    corners = [(_x(left), low * SCALE_MM), (_x(right), low * SCALE_MM)]
    corners += [(_x(right), high * SCALE_MM), (_x(left), high * SCALE_MM)]
    frame = tuple(Line(start=a, end=b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    marks: list[Mark] = [Path(elements=frame, layer=OUTLINE)]
    step = 0.5
    at = -(-low // step) * step
    while at <= high + 1e-9:
        y = at * SCALE_MM
        marks.append(_line((_x(left), y), (_x(right), y), THIN))
        marks.append(_word((_x(left) - 2, y - 1.2), f"{at * MM_PER_INCH:.1f} mm ({at:g} in)", align="right"))
        at += step
    middle = (low + high) / 2 * SCALE_MM
    marks.append(_word((_x(left) - 42, middle), "backspace", turn=90, height=3.5))
    marks.append(_word(((_x(left) + _x(right)) / 2, low * SCALE_MM - 12), "rim width", height=3.5))
    return marks


def _bar(row: OnWidth, stretch: Stretch) -> list[Mark]:
    half = 0.17 * SCALE_MM
    x, y0, y1 = _x(row.width_in), _y(stretch.least.backspace_mm), _y(stretch.most.backspace_mm)
    corners = [(x - half, y0), (x + half, y0), (x + half, y1), (x - half, y1)]
    sides = tuple(Line(start=a, end=b) for a, b in zip(corners, corners[1:] + corners[:1], strict=True))
    marks: list[Mark] = [Path(elements=sides, layer=OUTLINE, shade=0.85)]
    marks += [*_figure(x, y1, stretch.most, +1), *_figure(x, y0, stretch.least, -1)]
    return marks


def _figure(x: float, y: float, end: End, way: int) -> list[Mark]:
    """An end in millimetres and in inches, one over the other: a width is no wider than one of them."""
    inches = f"{end.backspace_mm / MM_PER_INCH:.2f} in" + (" (limit)" if end.at_limit else "")
    rows = (inches, f"{end.backspace_mm:.1f} mm") if way > 0 else (f"{end.backspace_mm:.1f} mm", inches)
    return [
        _word((x, y + (1.5 + 3.8 * k if way > 0 else -4.2 - 3.8 * k)), row, height=2.4) for k, row in enumerate(rows)
    ]


def _regions(rows: Sequence[OnWidth]) -> list[Mark]:
    """What clears between two rim widths, as if it ran straight from one to the other; pale, for it is not measured."""
    marks: list[Mark] = []
    for one, two in itertools.pairwise(rows):
        if len(one.stretches) != 1 or len(two.stretches) != 1:
            continue
        (a,), (b,) = one.stretches, two.stretches
        corners = [
            (_x(one.width_in), _y(a.least.backspace_mm)),
            (_x(two.width_in), _y(b.least.backspace_mm)),
            (_x(two.width_in), _y(b.most.backspace_mm)),
            (_x(one.width_in), _y(a.most.backspace_mm)),
        ]
        sides = tuple(Line(start=p, end=q) for p, q in zip(corners, corners[1:] + corners[:1], strict=True))
        marks.append(Path(elements=sides, layer=HIDDEN, shade=0.95))
    return marks


def _given(window: Window) -> list[Mark]:
    at = (_x(window.given_width_in), _y(window.given_backspace_mm))
    return [
        Circle(centre=at, radius_mm=1.8, layer=OUTLINE, shade=0.0),
        _word((at[0] + 8.5, at[1] - 1.2), "on order", align="left", height=2.6),
    ]


def _labels(rows: Sequence[OnWidth], right_in: float, low_in: float) -> list[Mark]:
    marks = [_width_label(row, low_in) for row in rows]
    for pick, words in (("most", "deeper is stopped by"), ("least", "shallower is stopped by")):
        ends = [(row, getattr(stretch, pick)) for row in rows for stretch in row.stretches]
        for k, (row, end) in enumerate(ends):
            what = _stopped_by(end)
            if k + 1 < len(ends) and _stopped_by(ends[k + 1][1]) == what:
                continue
            # one label for each run of widths that one part stops: at the run's last, or in the margin at the end
            if k + 1 == len(ends):
                marks.append(_word((_x(right_in) + 3, _y(end.backspace_mm)), f"{words}: {what}", align="left"))
            else:
                off = 9.8 if pick == "most" else -17.3
                marks.append(_word((_x(row.width_in), _y(end.backspace_mm) + off), f"up to here: {what}", height=2.4))
    return marks


def _width_label(row: OnWidth, low_in: float) -> Mark:
    """A width's words below its lowest stretch, or at the foot where it has none."""
    lowest = min((_y(s.least.backspace_mm) for s in row.stretches), default=None)
    height = low_in * SCALE_MM + 4.0 if lowest is None else lowest - 12.8
    return _word((_x(row.width_in), height), f"{row.width_in:g} in", height=3.0)


def _stopped_by(end: End) -> str:
    return "the limit of the search" if end.binds is None else end.binds.part
