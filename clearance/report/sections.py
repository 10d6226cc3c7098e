"""Sections through the tightest places: tire, part and gap as one would see them with the car cut open there.

The cut is the plane that holds the spin axis, where the wheel stands at that moment, and the contact point. A solid of
revolution shows its exact outline there, and the shortest way to the part lies in that plane. The part is cut as it is.

* across  - along the axis; outboard is drawn to the left on a left corner, as one sees it from behind
* away    - from the axis, drawn upward whatever the clock says; a small dial shows which way it is on the car
* window  - the square around the place that is drawn
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np

from clearance.gap.found import Gap
from clearance.geom.drawing import (
    CENTRE,
    OUTLINE,
    THIN,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Path,
    Text,
    chain,
    drawing_of,
    line,
)
from clearance.geom.profile import Line, Point
from clearance.geom.revolve import Solid
from clearance.mockup.paths import posed
from clearance.pose import Array, Pose, rightward
from clearance.report.tubes import seen_in_blocks
from clearance.steady import steady
from clearance.suspension.position import HUB, Suspension
from clearance.units import both
from clearance.well.part import Part
from clearance.words.fold import wrapped

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

WINDOW_MM = 240.0
"""Side of the square that is drawn, in true millimetres."""
SIZE_MM = 96.0
"""Side of the picture."""
BAR_MM = 50.0
"""Length of the scale bar, in true millimetres."""
_ON_MM, _POINT_MM = 1e-7, 1e-6
"""Nearer to the plane than this a corner is in it; what is shorter is no line."""
_NEAR_MM = 1e-6
WORDS_MM = 3.4
"""Height of the words of the gap, whatever their number."""
WORD_LETTERS = 44
"""As many as go across the picture at that height; what is longer goes on in the next line."""


@steady
def section_drawing(mockup: MockUp, gap: Gap, part: Part, words: str) -> Drawing:
    """The place where a part comes closest, with the gap dimensioned as `words`."""
    pose = hub_pose(mockup.suspension, gap)
    flip = rightward(right_hand=mockup.right_hand)
    tire, seen = (in_section(pose, point) for point in (gap.on_tire_mm, gap.on_part_mm))
    centre = ((tire[0] + seen[0]) / 2, (tire[1] + seen[1]) / 2)
    scale = SIZE_MM / WINDOW_MM

    def paper(point: Point) -> Point:
        return flip * scale * (point[0] - centre[0]), scale * (point[1] - centre[1])

    marks: list[Mark] = [chain([paper(p) for p in solid_outline(mockup)], closed=True, shade=0.82)]
    segments = cut_segments(mockup.suspension, gap, part, pose)
    marks += [_heavy(paper(a), paper(b)) for a, b in segments]
    marks += _gap_marks(paper(tire), paper(seen), words, gap)
    inside = clipped(marks, SIZE_MM / 2)
    return drawing_of([*inside, *_frame(flip), *_dial(mockup, gap, flip)])


def hub_pose(suspension: Suspension, gap: Gap) -> Pose:
    """Where the hub stands at the witness, play taken up: one pose, without a leading axis."""
    row = gap.position.row()[None, :]
    pose = posed(suspension, row, HUB)
    play = np.array([gap.shift_mm[0], gap.shift_mm[1], 0.0])
    return Pose(origin_mm=pose.origin_mm[0] + play, turn=pose.turn[0])


def in_section(pose: Pose, point_mm: Array) -> Point:
    """A point of corner axes as (along the axis, away from it)."""
    x, y, z = pose.back(np.asarray(point_mm, dtype=float))
    return float(y), float(math.hypot(x, z))


def solid_outline(mockup: MockUp) -> list[Point]:
    """The outline of the tire and wheel as (along the axis, away from it)."""
    return list(_outline(mockup.solid))


@lru_cache(maxsize=8)
def _outline(solid: Solid) -> tuple[Point, ...]:
    # drawn once for every place that is drawn of the same wheel
    return tuple((float(y), float(r)) for y, r in solid.profile.outline(0.1))


def cut_segments(suspension: Suspension, gap: Gap, part: Part, pose: Pose) -> list[tuple[Point, Point]]:
    """Where the part's surface crosses the plane, as segments in (along the axis, away from it)."""
    place = pose.back(np.asarray(gap.on_tire_mm, dtype=float))
    radius = math.hypot(place[0], place[2]) or 1.0
    away = np.array([place[0] / radius, 0.0, place[2] / radius])
    normal = np.array([away[2], 0.0, -away[0]])
    # of a scan's many triangles few come near the plane at all
    pieces = []
    for seen in seen_in_blocks(part, suspension, gap.position.row()):
        triangles = pose.back(seen)
        sides = triangles @ normal
        pieces.append(triangles[(sides.min(axis=1) <= _NEAR_MM) & (sides.max(axis=1) >= -_NEAR_MM)])
    near = np.concatenate(pieces)
    return [(a, b) for a, b in _crossings(near, near @ normal, away) if max(a[1], b[1]) > 0]


def _crossings(triangles: Array, sides: Array, away: Array) -> list[tuple[Point, Point]]:
    """Where triangles (n, 3, 3) cross the plane where `sides` (n, 3) is zero: (along the axis, away from it) twice."""
    after = [1, 2, 0]
    # a corner in the plane is in it on every machine, whichever way its last digit fell
    sides = np.where(np.abs(sides) < _ON_MM, 0.0, sides)
    crossed = (sides < 0) != (sides[:, after] < 0)
    two = crossed.sum(axis=1) == 2
    triangles, sides, crossed = triangles[two], sides[two], crossed[two]
    # an edge that does not cross has a share that is not used
    rise = np.where(crossed, sides - sides[:, after], 1.0)
    share = (sides / rise)[:, :, None]
    places = triangles + share * (triangles[:, after] - triangles)
    first, last = crossed.argmax(axis=1), 2 - crossed[:, ::-1].argmax(axis=1)
    rows = np.arange(len(triangles))
    ends = [(p[:, 1].tolist(), [float(q @ away) for q in p]) for p in (places[rows, first], places[rows, last])]
    (ya, ra), (yb, rb) = ends
    found = [((a, b), (c, d)) for a, b, c, d in zip(ya, ra, yb, rb, strict=True)]
    return [(start, end) for start, end in found if math.dist(start, end) > _POINT_MM]


def _heavy(start: Point, end: Point) -> Path:
    return line(start, end, "cut")


def _gap_marks(tire: Point, seen: Point, words: str, gap: Gap) -> list[Mark]:
    """The gap as a dimension, with a ring around the place so that a small one is found."""
    length = math.dist(tire, seen)
    ring = max(4.0, 0.75 * length + 2.5)
    middle = ((tire[0] + seen[0]) / 2, (tire[1] + seen[1]) / 2)
    below = middle[1] > -8.0
    said = wrapped(words, WORD_LETTERS)
    row = 1.5 * WORDS_MM
    top = middle[1] - ring - 5.5 if below else middle[1] + ring + 2.5 + row * (len(said) - 1)
    marks: list[Mark] = [
        Circle(centre=middle, radius_mm=ring, layer="fold"),
        Circle(centre=tire, radius_mm=0.7, layer=OUTLINE, shade=0.0),
        Circle(centre=seen, radius_mm=0.7, layer=OUTLINE, shade=1.0),
        *(
            Text(at=(middle[0], top - row * k), text=part, height_mm=WORDS_MM, align="centre", bold=True)
            for k, part in enumerate(said)
        ),
    ]
    if length > 1.0:
        marks.insert(0, Dimension(start=tire, end=seen, off_mm=0.0, text=" "))
    return marks


def clipped(marks: Sequence[Mark], half_mm: float) -> list[Mark]:
    """Paths cut at the window; everything else is near its middle."""
    from shapely.geometry import LineString, Polygon, box

    window = box(-half_mm, -half_mm, half_mm, half_mm)
    kept: list[Mark] = []
    for mark in marks:
        if not isinstance(mark, Path):
            kept.append(mark)
            continue
        if mark.shade is None and len(mark.elements) == 1 and isinstance(mark.elements[0], Line):
            # of the many short edges of a cut few cross the window's own
            where = _in_window((mark.elements[0].start, mark.elements[0].end), half_mm)
            if where is not None:
                kept += [mark] if where else []
                continue
        points = mark.points(0.05)
        if mark.shade is None:
            kept += [
                chain(list(p.coords), layer=mark.layer)
                for p in _pieces(LineString(points).intersection(window), "LineString")
            ]
            continue
        shaded = Polygon(points).buffer(0).intersection(window)
        kept += [chain(list(p.exterior.coords), layer=THIN, shade=mark.shade) for p in _pieces(shaded, "Polygon")]
        edge = LineString(points).intersection(window)
        kept += [chain(list(p.coords), layer=mark.layer) for p in _pieces(edge, "LineString")]
    return kept


def _in_window(points: Sequence[Point], half_mm: float) -> bool | None:
    """Whether a straight piece lies inside the window, or outside of it to one side; None where it must be cut."""
    (xa, ya), (xb, yb) = points
    if max(abs(xa), abs(ya), abs(xb), abs(yb)) < half_mm and (xa, ya) != (xb, yb):
        return True
    if min(xa, xb) > half_mm or max(xa, xb) < -half_mm or min(ya, yb) > half_mm or max(ya, yb) < -half_mm:
        return False
    return None


def _pieces(shape: Any, kind: str) -> list[Any]:
    pieces = getattr(shape, "geoms", [shape])
    return [piece for piece in pieces if piece.geom_type == kind and not piece.is_empty]


def _frame(flip: float) -> list[Mark]:
    half = SIZE_MM / 2
    left, right = ("inboard", "outboard") if flip > 0 else ("outboard", "inboard")
    low, long = (-half + 3.0, -half + 4.0), BAR_MM * SIZE_MM / WINDOW_MM
    return [
        chain([(low[0], low[1] + 1.5), low, (low[0] + long, low[1]), (low[0] + long, low[1] + 1.5)], layer=OUTLINE),
        Text(at=(low[0], low[1] + 2.4), text=both(BAR_MM, digits=0), height_mm=2.2),
        chain([(-half, -half), (half, -half), (half, half), (-half, half)], closed=True, layer=THIN),
        Text(at=(-half + 1.5, half - 4.0), text=f"< {left}", height_mm=2.4),
        Text(at=(half - 1.5, half - 4.0), text=f"{right} >", height_mm=2.4, align="right"),
    ]


def _dial(mockup: MockUp, gap: Gap, flip: float) -> list[Mark]:
    """The wheel from outboard, in the lower corner, with the place on it and the car's front marked."""
    radius, at = 8.0, (SIZE_MM / 2 - 11.0, -SIZE_MM / 2 + 13.0)
    pose = hub_pose(mockup.suspension, gap)
    x, _, z = pose.back(np.asarray(gap.on_tire_mm, dtype=float))
    # seen from outboard the front of a left corner is to the left, of a right one to the right
    share = radius / (mockup.tire.overall_diameter_mm / 2)
    spot = (at[0] + flip * x * share, at[1] + z * share)
    front = flip * (radius + 1.0)
    return [
        Circle(centre=at, radius_mm=radius, layer=OUTLINE, shade=1.0),
        Circle(centre=at, radius_mm=radius * 0.55, layer=THIN),
        line((at[0], at[1] - radius), (at[0], at[1] + radius), CENTRE),
        Circle(centre=spot, radius_mm=1.4, layer="fold", shade=0.0),
        Text(
            at=(at[0] + front * 0.2, at[1] - radius - 3.4),
            text="< front" if flip < 0 else "front >",
            height_mm=1.9,
            align="centre",
        ),
    ]
