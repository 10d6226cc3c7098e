"""Flat outlines: from profiles to polygons and back to chains of lines and true arcs. The door to shapely.

Lengths are millimetres. A polygon has no arcs, so an arc is broken into chords within `CHORD_MM` on the way in and
found again from its chords on the way out.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.geom.drawing import CUT, Circle, Mark, Path
from clearance.geom.letters import strokes_of, width_mm
from clearance.geom.profile import Arc, Element, Line, Point, Profile

Array = npt.NDArray[np.float64]
Shape = Any
"""A shapely geometry."""

CHORD_MM = 0.02
"""No chord further from its arc than this."""
_CORNER_RAD = 0.35
"""A turn between two chords larger than this is a corner."""
_ON_ARC_MM = 0.004
"""How far the corners of a run of chords may lie off the arc that is found through them."""


def polygon_of(profile: Profile, chord_mm: float = CHORD_MM) -> Shape:
    """The half section as a polygon in (y, r)."""
    from shapely import Polygon

    return Polygon(profile.outline(chord_mm))


def disc(radius_mm: float, centre: Point = (0.0, 0.0)) -> Shape:
    """A round polygon, its corners on the circle."""
    from shapely import Polygon

    return Polygon(np.array(centre) + round_points(radius_mm))


def round_points(radius_mm: float, chord_mm: float = CHORD_MM) -> Array:
    """(n, 2) corners on a circle, chords within `chord_mm`; n is a multiple of four, so the quarters are exact."""
    turn = math.acos(max(-1.0, 1.0 - chord_mm / radius_mm)) if radius_mm > chord_mm else math.pi / 4
    count = 4 * max(3, math.ceil(math.pi / turn / 4))
    angle = np.arange(count) * (2 * math.pi / count)
    return radius_mm * np.column_stack([np.cos(angle), np.sin(angle)])


def oblong(x0: float, y0: float, x1: float, y1: float) -> Shape:
    """An upright rectangle."""
    from shapely import box

    return box(x0, y0, x1, y1)


def on_circle(radius_mm: float, angle_deg: float) -> Point:
    """A point at a clockwise angle from straight up."""
    angle = math.radians(angle_deg)
    return radius_mm * math.sin(angle), radius_mm * math.cos(angle)


def wedge(from_deg: float, to_deg: float, reach_mm: float) -> Shape:
    """The sector between two clockwise angles from straight up, less than a whole turn."""
    from shapely import Polygon

    steps = max(3, math.ceil((to_deg - from_deg) / 15))
    # The straight outer edges must stay beyond the reach.
    beyond = reach_mm / math.cos(math.radians((to_deg - from_deg) / steps / 2)) + 1.0
    rim = [on_circle(beyond, from_deg + (to_deg - from_deg) * i / steps) for i in range(steps + 1)]
    return Polygon([(0.0, 0.0), *rim])


def parts_of(shape: Shape) -> list[Shape]:
    """The polygons of a geometry, lines and points left out, largest first, then by place."""
    polygons = [g for g in getattr(shape, "geoms", [shape]) if g.geom_type == "Polygon" and not g.is_empty]
    return sorted(polygons, key=lambda g: (-round(g.area, 3), *(round(c, 3) for c in g.bounds)))


def grown(shape: Shape, by_mm: float) -> Shape:
    """Offset outward (negative: inward), corners kept sharp."""
    return shape.buffer(by_mm, join_style="mitre", mitre_limit=4.0)


def grown_round(shape: Shape, by_mm: float) -> Shape:
    """Offset outward (negative: inward) with round corners: every point within the distance."""
    steps = max(8, math.ceil(math.pi / 4 / math.acos(1 - min(CHORD_MM / max(abs(by_mm), 1e-9), 1.0))))
    return shape.buffer(by_mm, quad_segs=steps)


def without_slivers(shape: Shape, wall_mm: float) -> Shape:
    """The shape without whatever is thinner than a wall; sharp corners stay."""
    from shapely import MultiPolygon

    # Growing back a hair more and cutting with the shape itself keeps the true outline.
    back = grown(grown(shape, -wall_mm / 2), wall_mm / 2 + 0.05)
    return MultiPolygon([g for g in parts_of(shape.intersection(back)) if g.area > 1.0])


def words(lines: Sequence[str], height_mm: float, pen_mm: float) -> Shape:
    """Writing as a shape, its lines under each other, centred on (0, 0), drawn with a round pen."""
    from shapely import LineString, MultiPolygon, union_all

    strokes = []
    for row, text in enumerate(lines):
        low = ((len(lines) - 1) / 2 - row) * 1.6 * height_mm - height_mm / 2
        left = -width_mm(text, height_mm) / 2
        strokes += [LineString(s + np.array([left, low])) for s in strokes_of(text, height_mm)]
    if not strokes:
        return MultiPolygon()
    return union_all([s.buffer(pen_mm / 2, quad_segs=4) for s in strokes])


def words_size(lines: Sequence[str], height_mm: float, pen_mm: float) -> tuple[float, float]:
    """Width and height of the box around the writing."""
    width = max(width_mm(text, height_mm) for text in lines)
    return width + pen_mm, ((len(lines) - 1) * 1.6 + 1.0) * height_mm + pen_mm


def place_for(region: Shape, width: float, height: float, step_mm: float = 4.0) -> Point | None:
    """The centre of an upright box inside a region, nearest to the region's middle; None where none fits."""
    from shapely import box, contains, prepare

    if region.is_empty or region.area < width * height:
        return None
    prepare(region)
    x0, y0, x1, y1 = region.bounds
    middle = region.centroid
    xs = np.arange(x0 + width / 2, x1 - width / 2 + 1e-9, step_mm)
    ys = np.arange(y0 + height / 2, y1 - height / 2 + 1e-9, step_mm)
    x, y = (a.ravel() for a in np.meshgrid(xs, ys, indexing="ij"))
    order = np.lexsort((y, x, np.round(np.hypot(x - middle.x, y - middle.y), 6)))
    for some in np.array_split(order, max(1, len(order) // 500)):
        held = contains(
            region, box(x[some] - width / 2, y[some] - height / 2, x[some] + width / 2, y[some] + height / 2)
        )
        if held.any():
            first = some[int(np.argmax(held))]
            return float(x[first]), float(y[first])
    return None


def marks_of(shape: Shape, layer: str = CUT, shade: float | None = None) -> list[Mark]:
    """The outlines of a shape as chains of lines and true arcs; a round hole becomes a circle."""
    marks: list[Mark] = []
    for part in parts_of(shape):
        for ring in (part.exterior, *part.interiors):
            marks.append(_mark_of(np.asarray(ring.coords)[:-1], layer, shade))
    return marks


def _mark_of(ring: Array, layer: str, shade: float | None) -> Mark:
    found = _whole_circle(ring)
    if found is not None:
        (x, y), radius = found
        return Circle(centre=(x, y), radius_mm=radius, layer=layer, shade=shade)
    return Path(elements=arcs_found(ring), layer=layer, shade=shade)


def _whole_circle(ring: Array) -> tuple[Point, float] | None:
    if len(ring) < 12:
        return None
    centre, radius = _circle_through(ring[0], ring[len(ring) // 3], ring[2 * len(ring) // 3])
    if radius is None or np.abs(np.hypot(*(ring - centre).T) - radius).max() > _ON_ARC_MM:
        return None
    middles = (ring + np.roll(ring, -1, axis=0)) / 2
    if (radius - np.hypot(*(middles - centre).T)).max() > 2.5 * CHORD_MM:
        return None
    return (float(centre[0]), float(centre[1])), float(radius)


def arcs_found(ring: Array) -> tuple[Element, ...]:
    """A closed ring of points as lines and arcs: runs of short chords on one circle become one arc."""
    ring = _from_a_corner(ring)
    points = np.vstack([ring, ring[:1]])
    elements: list[Element] = []
    at = 0
    while at < len(points) - 1:
        end = _arc_end(points, at)
        elements.append(_element(points, at, end))
        at = end
    return tuple(elements)


def _from_a_corner(ring: Array) -> Array:
    """The ring rotated to begin where it turns most, so that no arc is cut by the seam."""
    back, ahead = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    turn = np.abs(np.arctan2(back[:, 0] * ahead[:, 1] - back[:, 1] * ahead[:, 0], (back * ahead).sum(axis=1)))
    if turn.max() < _CORNER_RAD:
        # No corner: the longest straight stretch begins where an arc ends.
        return np.roll(ring, -int(np.argmax(np.round(np.hypot(*ahead.T), 6))), axis=0)
    return np.roll(ring, -int(np.argmax(np.round(turn, 6))), axis=0)


def _arc_end(points: Array, at: int) -> int:
    """The last point of the longest run from `at` that lies on one arc; the next point where there is none."""
    if not _on_one_arc(points, at, at + 3):
        return at + 1
    good, step = at + 3, 1
    while _on_one_arc(points, at, good + step):
        good, step = good + step, 2 * step
    while step >= 1:
        if _on_one_arc(points, at, good + step):
            good += step
        step //= 2
    return good


def _on_one_arc(points: Array, at: int, end: int) -> bool:
    if end >= len(points):
        return False
    run = points[at : end + 1]
    centre, radius = _circle_through(run[0], _middle(run), run[-1])
    if radius is None or radius > 1e5:
        return False
    if np.abs(np.hypot(*(run - centre).T) - radius).max() > _ON_ARC_MM:
        return False
    # The corners of an oblong lie on one circle too: the middles of the chords tell it from an arc.
    middles = (run[1:] + run[:-1]) / 2
    if (radius - np.hypot(*(middles - centre).T)).max() > 2.5 * CHORD_MM:
        return False
    step = run[1:] - run[:-1]
    cross = step[:-1, 0] * step[1:, 1] - step[:-1, 1] * step[1:, 0]
    swept = np.abs(np.arctan2(cross, (step[:-1] * step[1:]).sum(axis=1))).sum()
    return bool((np.all(cross > 0) or np.all(cross < 0)) and swept < 1.9 * math.pi)


def _middle(run: Array) -> Array:
    """The corner nearest to half way along a run: two corners may lie so close that they say nothing of the arc."""
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*(run[1:] - run[:-1]).T))])
    middle: Array = run[int(np.argmin(np.abs(along - along[-1] / 2)))]
    return middle


def _circle_through(a: Array, b: Array, c: Array) -> tuple[Array, float | None]:
    ab, ac = b - a, c - a
    cross = 2.0 * (ab[0] * ac[1] - ab[1] * ac[0])
    if abs(cross) < 1e-9:
        return a, None
    x = (ac[1] * (ab @ ab) - ab[1] * (ac @ ac)) / cross
    y = (ab[0] * (ac @ ac) - ac[0] * (ab @ ab)) / cross
    return a + np.array([x, y]), float(np.hypot(x, y))


def _element(points: Array, at: int, end: int) -> Element:
    start, stop = _point(points[at]), _point(points[end])
    if end == at + 1:
        return Line(start=start, end=stop)
    middle = _middle(points[at : end + 1])
    centre, _ = _circle_through(points[at], middle, points[end])
    ab, ac = middle - points[at], points[end] - points[at]
    return Arc(start=start, end=stop, centre=_point(centre), ccw=bool(ab[0] * ac[1] - ab[1] * ac[0] > 0))


def _point(p: Array) -> Point:
    return float(p[0]), float(p[1])
