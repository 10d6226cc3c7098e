"""Flat drawings in millimetres: what a pattern, a template and a page are made of.

x runs right and y up. A drawing is a bag of marks; every mark lies on a layer, and the layer says what it is for.

* cut, engrave, fold               - what a machine or a knife does along the mark
* outline, thin, centre, hidden, part - lines that are only looked at, by weight and dash
* whole, extreme, lock - the same: a part that is not cut, and a moving thing at an end of its travel and at its lock
* path      - a chain of lines and arcs, open or closed, optionally shaded
* dimension - a measured length with its extension lines, arrows and figure

Arcs stay arcs: nothing here is broken into chords until a writer or a boolean needs chords.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from clearance.geom.profile import Arc, Element, Line, Point
from clearance.units import inch_text, led_by

CUT = "cut"
ENGRAVE = "engrave"
FOLD = "fold"
OUTLINE = "outline"
THIN = "thin"
CENTRE = "centre"
HIDDEN = "hidden"
PART = "part"
WHOLE = "whole"
EXTREME = "extreme"
LOCK = "lock"

MACHINE_LAYERS = (CUT, ENGRAVE, FOLD)
"""What a cutting file may hold."""

PAPER_LAYERS = (*MACHINE_LAYERS, OUTLINE, THIN, CENTRE, HIDDEN, PART, WHOLE, EXTREME, LOCK)

Bounds = tuple[float, float, float, float]
"""Least x, least y, greatest x, greatest y."""

_Move = Callable[[Point], Point]
CHORD_MM = 0.05
_LETTER_WIDTH = 0.78
"""Mean width of a letter over its height, for bounds only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Path:
    """A chain of lines and arcs, end to start."""

    elements: tuple[Element, ...]
    layer: str = OUTLINE
    shade: float | None = None
    """Grey inside a closed chain: 0 black, 1 white; None leaves it clear."""

    @property
    def closed(self) -> bool:
        """Whether it ends where it starts."""
        return math.dist(self.elements[-1].end, self.elements[0].start) < 1e-6

    def points(self, chord_mm: float = CHORD_MM) -> npt.NDArray[np.float64]:
        """(n, 2) points along it, both ends included."""
        parts = [e.points(chord_mm)[:-1] for e in self.elements]
        return np.concatenate([*parts, np.array([self.elements[-1].end])])


@dataclass(frozen=True, slots=True, kw_only=True)
class Circle:
    """A whole circle."""

    centre: Point
    radius_mm: float
    layer: str = OUTLINE
    shade: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Text:
    """One line of writing; `at` is on its base line."""

    at: Point
    text: str
    height_mm: float = 3.5
    """Of a capital letter."""
    turn_deg: float = 0.0
    align: str = "left"
    """left, centre or right of `at`."""
    layer: str = THIN
    bold: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Dimension:
    """A length measured from `start` to `end`, its line `off_mm` to the left of that direction (negative: right)."""

    start: Point
    end: Point
    off_mm: float = 10.0
    text: str | None = None
    """None writes the length."""
    figure: Point | None = None
    """Where the figure stands, level, with a leader from the line; None puts it on the line, or beyond it."""
    height_mm: float = 3.0
    layer: str = THIN


Mark = Path | Circle | Text | Dimension


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """Marks, in millimetres."""

    marks: tuple[Mark, ...] = ()

    def __add__(self, other: Drawing) -> Drawing:
        return Drawing(marks=self.marks + other.marks)

    @property
    def bounds(self) -> Bounds:
        """Around every mark; a letter's width is estimated. All zero where there is no mark."""
        boxes = [mark_bounds(mark) for mark in self.marks]
        if not boxes:
            return (0.0, 0.0, 0.0, 0.0)
        table = np.array(boxes)
        low, high = table[:, :2].min(axis=0), table[:, 2:].max(axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])

    @property
    def plain(self) -> Drawing:
        """The same with every dimension drawn out as lines, arrows and text."""
        marks: list[Mark] = []
        for mark in self.marks:
            marks += dimension_marks(mark) if isinstance(mark, Dimension) else [mark]
        return Drawing(marks=tuple(marks))

    def led_by(self, first: str) -> Drawing:
        """The same with this unit first in its writing, "mm" or "in"; a figure without words becomes inches for "in".

        Ask it of a drawing at true size: a figure without words is measured from its marks.
        """
        if first != "in":
            return self
        return Drawing(marks=tuple(_inches_first(mark) for mark in self.marks))

    def moved(self, dx_mm: float, dy_mm: float) -> Drawing:
        """Shifted."""
        return self._through(lambda p: (p[0] + dx_mm, p[1] + dy_mm), 1.0, 0.0)

    def turned(self, turn_deg: float) -> Drawing:
        """Turned about (0, 0), positive to the left."""
        turn = math.radians(turn_deg)
        c, s = math.cos(turn), math.sin(turn)
        return self._through(lambda p: (c * p[0] - s * p[1], s * p[0] + c * p[1]), 1.0, turn_deg)

    def scaled(self, factor: float) -> Drawing:
        """Larger or smaller about (0, 0); figures of dimensions keep their true length."""
        return self._through(lambda p: (factor * p[0], factor * p[1]), factor, 0.0)

    def on(self, *layers: str) -> Drawing:
        """Only the marks on these layers."""
        return Drawing(marks=tuple(m for m in self.marks if m.layer in layers))

    def _through(self, move: _Move, factor: float, turn_deg: float) -> Drawing:
        return Drawing(marks=tuple(_moved_mark(m, move, factor, turn_deg) for m in self.marks))


def line(start: Point, end: Point, layer: str = OUTLINE) -> Path:
    """One straight stroke."""
    return Path(elements=(Line(start=start, end=end),), layer=layer)


def arc(centre: Point, radius_mm: float, from_deg: float, to_deg: float, layer: str = OUTLINE) -> Path:
    """A stroke along a circle from one direction to another, turning left where `to_deg` is the greater."""
    a, b = math.radians(from_deg), math.radians(to_deg)
    start = (centre[0] + radius_mm * math.cos(a), centre[1] + radius_mm * math.sin(a))
    end = (centre[0] + radius_mm * math.cos(b), centre[1] + radius_mm * math.sin(b))
    return Path(elements=(Arc(start=start, end=end, centre=centre, ccw=to_deg >= from_deg),), layer=layer)


def chain(points: npt.ArrayLike, *, closed: bool = False, layer: str = OUTLINE, shade: float | None = None) -> Path:
    """Straight strokes through (n, 2) points; closed adds the stroke from the last to the first."""
    ring = [(float(x), float(y)) for x, y in np.asarray(points, dtype=float)]
    ends = [*ring, ring[0]] if closed and math.dist(ring[0], ring[-1]) > 1e-9 else ring
    strokes = tuple(Line(start=a, end=b) for a, b in itertools.pairwise(ends))
    return Path(elements=strokes, layer=layer, shade=shade)


def rectangle(
    x_mm: float, y_mm: float, width_mm: float, height_mm: float, layer: str = OUTLINE, shade: float | None = None
) -> Path:
    """An upright rectangle from its lower left corner."""
    corners = [(x_mm, y_mm), (x_mm + width_mm, y_mm), (x_mm + width_mm, y_mm + height_mm), (x_mm, y_mm + height_mm)]
    return chain(corners, closed=True, layer=layer, shade=shade)


def arrow(at: Point, way: Point, length_mm: float, words: str, height_mm: float = 2.4, layer: str = THIN) -> list[Mark]:
    """An arrow from a point along a unit vector, with its word beyond the head."""
    (x, y), (u, v) = at, way
    tip = (x + length_mm * u, y + length_mm * v)
    head = max(0.25 * length_mm, 1.5)
    back = (tip[0] - head * u, tip[1] - head * v)
    side = 0.3 * head
    barbs = [(back[0] - side * v, back[1] + side * u), tip, (back[0] + side * v, back[1] - side * u)]
    off = 0.6 * height_mm
    beyond = (tip[0] + off * u, tip[1] + off * v - (0.5 * height_mm if abs(u) > abs(v) else 0.0))
    beyond = (beyond[0], beyond[1] - (height_mm if v < -0.5 else 0.0))
    align = "centre" if abs(v) >= abs(u) else ("left" if u > 0 else "right")
    return [
        line(at, tip, layer),
        chain(barbs, closed=True, layer=layer, shade=0.0),
        Text(at=beyond, text=words, height_mm=height_mm, align=align, layer=layer),
    ]


def mark_bounds(mark: Mark) -> Bounds:
    """Around one mark."""
    if isinstance(mark, Circle):
        (x, y), r = mark.centre, mark.radius_mm
        return x - r, y - r, x + r, y + r
    if isinstance(mark, Dimension):
        return Drawing(marks=tuple(dimension_marks(mark))).bounds
    if isinstance(mark, Path) and all(isinstance(element, Line) for element in mark.elements):
        return _bounds_of_strokes(mark)
    points = mark.points() if isinstance(mark, Path) else _text_corners(mark)
    low, high = points.min(axis=0), points.max(axis=0)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _bounds_of_strokes(path: Path) -> Bounds:
    across, up = zip(*(point for e in path.elements for point in (e.start, e.end)), strict=True)
    return float(min(across)), float(min(up)), float(max(across)), float(max(up))


def _inches_first(mark: Mark) -> Mark:
    if isinstance(mark, Dimension):
        bare = mark.text is None
        text = inch_text(math.dist(mark.start, mark.end)) if bare else led_by(mark.text or "", "in")
        return replace(mark, text=text)
    return replace(mark, text=led_by(mark.text, "in")) if isinstance(mark, Text) else mark


def dimension_marks(dim: Dimension) -> list[Mark]:
    """A dimension drawn out: two extension lines, the dimension line with its arrows, the figure above it."""
    start, end = np.array(dim.start), np.array(dim.end)
    along = end - start
    length = float(np.hypot(*along))
    if length < 1e-9:
        return []
    along = along / length
    left = np.array([-along[1], along[0]])
    a, b = start + dim.off_mm * left, end + dim.off_mm * left
    beyond = math.copysign(1.5, dim.off_mm) * left
    arrow = min(2.5, length / 3)
    marks: list[Mark] = [line(_point(a), _point(b), dim.layer)]
    if abs(dim.off_mm) > 1e-9:
        marks += [line(dim.start, _point(a + beyond), dim.layer), line(dim.end, _point(b + beyond), dim.layer)]
    for tip, way in ((a, along), (b, -along)):
        barbs = [tip + arrow * way + 0.25 * arrow * left, tip, tip + arrow * way - 0.25 * arrow * left]
        marks.append(chain(barbs, layer=dim.layer))
    text = f"{length:.1f}" if dim.text is None else dim.text
    if dim.figure is not None:
        return [*marks, *_led_to(dim, dim.figure, (a + b) / 2, text)]
    turn = math.degrees(math.atan2(along[1], along[0]))
    # A figure is read from below or from the right of the sheet, never upside down.
    upright = turn if -90 < turn <= 90 else turn - math.copysign(180, turn)
    up = left if upright == turn else -left
    at, align = (a + b) / 2 + 1.0 * up, "centre"
    if _LETTER_WIDTH * dim.height_mm * len(text) > length + 2 * arrow:
        # no room between the arrows: beyond the end, level with the line
        at, align = b + 1.5 * along - 0.5 * dim.height_mm * up, "left" if upright == turn else "right"
    marks.append(
        Text(at=_point(at), text=text, height_mm=dim.height_mm, turn_deg=upright, align=align, layer=dim.layer)
    )
    return marks


def _led_to(dim: Dimension, at: Point, middle: npt.NDArray[np.float64], text: str) -> list[Mark]:
    """A figure that stands by itself, and the leader to it from the middle of its dimension's line."""
    right = at[0] >= middle[0]
    knee = (at[0] - 1.0 if right else at[0] + 1.0, at[1] + dim.height_mm / 2)
    return [
        chain([_point(middle), knee], layer=dim.layer),
        Text(at=at, text=text, height_mm=dim.height_mm, align="left" if right else "right", layer=dim.layer),
    ]


def drawing_of(marks: Iterable[Mark]) -> Drawing:
    """A drawing of these marks."""
    return Drawing(marks=tuple(marks))


def _point(p: npt.NDArray[np.float64]) -> Point:
    return float(p[0]), float(p[1])


def _text_corners(mark: Text) -> npt.NDArray[np.float64]:
    width = _LETTER_WIDTH * mark.height_mm * len(mark.text)
    left = {"left": 0.0, "centre": -width / 2, "right": -width}[mark.align]
    low, high = -0.3 * mark.height_mm, mark.height_mm
    box = np.array([(left, low), (left + width, low), (left + width, high), (left, high)])
    turn = math.radians(mark.turn_deg)
    c, s = math.cos(turn), math.sin(turn)
    corners: npt.NDArray[np.float64] = box @ np.array([[c, s], [-s, c]]) + np.array(mark.at)
    return corners


def _moved_element(e: Element, move: _Move) -> Element:
    if isinstance(e, Arc):
        return Arc(start=move(e.start), end=move(e.end), centre=move(e.centre), ccw=e.ccw, label=e.label)
    return Line(start=move(e.start), end=move(e.end), label=e.label)


def _moved_mark(mark: Mark, move: _Move, factor: float, turn_deg: float) -> Mark:
    if isinstance(mark, Path):
        return replace(mark, elements=tuple(_moved_element(e, move) for e in mark.elements))
    if isinstance(mark, Circle):
        return replace(mark, centre=move(mark.centre), radius_mm=mark.radius_mm * factor)
    if isinstance(mark, Text):
        return replace(mark, at=move(mark.at), turn_deg=mark.turn_deg + turn_deg, height_mm=mark.height_mm * factor)
    text = f"{math.dist(mark.start, mark.end):.1f}" if mark.text is None and factor != 1.0 else mark.text
    figure = None if mark.figure is None else move(mark.figure)
    off_mm = mark.off_mm * factor
    return replace(mark, start=move(mark.start), end=move(mark.end), off_mm=off_mm, text=text, figure=figure)
