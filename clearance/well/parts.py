"""Parts that a tape measure can describe: walls, plates, boxes and bars, as triangles.

Lengths are millimetres, angles degrees, points [ahead, outboard, above] in corner axes: from the centre of the hub's
wheel-mounting face at ride height. `tub` and `lip` have files of their own beside this one.

* wall  - an upright sheet, square to the hub's axis, some way inboard or outboard of the hub face
* plate - a flat sheet with three or four corners
* box   - a rail, a bracket, a tank: a rectangular block, turned or not
* bar   - a round tube or rod along points: a shock, an exhaust, a sway bar
* tag   - what every part says about itself, whatever its shape: its name, the gap that it must keep, what it rides on
* reach - half the side of a cube about the hub that holds the tire at every position, with room to spare

A sheet without bounds is cut to the reach. The answer is the same: the point of a flat sheet nearest to a point of the
tire is that point's foot on the sheet, and the foot of a point inside the cube is inside the cube.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clearance.errors import PartError
from clearance.plain import echoed
from clearance.pose import Array, read_only, rotation
from clearance.well.part import FarEnd, Part

Point3 = tuple[float, float, float]

BAR_PIECE_MM = 100.0
"""A bar's centre line is cut into pieces no longer than this, so that a search need not start from the whole bar."""

FLAT_MM = 0.5
"""A fourth corner this close to the plane of the other three is on it; it is below what a tape shows."""

_AXES = {"ahead": (1.0, 0.0, 0.0), "outboard": (0.0, 1.0, 0.0), "above": (0.0, 0.0, 1.0)}


@dataclass(frozen=True, slots=True, kw_only=True)
class Tag:
    """What every part says about itself, whatever its shape."""

    name: str
    required_mm: float = 0.0
    """The gap that it must keep."""
    required_from: str = "corner file"
    """Who says so."""
    rides_on: str = "body"
    """What it moves with."""
    thickness_mm: float = 0.0
    """Of the sheet behind the surface."""
    uncertainty_mm: float = 0.0
    """How far the surface may really be from where it is given."""


def tagged(
    tag: Tag,
    kind: str,
    triangles_mm: Array,
    *,
    name: str | None = None,
    skin_mm: float = 0.0,
    drawn_mm: float = 0.0,
    far_end: FarEnd | None = None,
    endless: tuple[str, ...] = (),
    notes: tuple[str, ...] = (),
) -> Part:
    """The part that these triangles (n, 3, 3) are, with what its tag says."""
    return Part(
        name=name or tag.name,
        kind=kind,
        triangles_mm=read_only(triangles_mm),
        required_mm=tag.required_mm,
        required_from=tag.required_from,
        rides_on=tag.rides_on,
        skin_mm=skin_mm,
        thickness_mm=tag.thickness_mm,
        uncertainty_mm=tag.uncertainty_mm,
        drawn_mm=drawn_mm,
        far_end=far_end,
        endless=endless,
        notes=notes,
    )


def wall(
    tag: Tag,
    *,
    reach_mm: float,
    inboard_mm: float | None = None,
    outboard_mm: float | None = None,
    ahead_mm: float | None = None,
    behind_mm: float | None = None,
    above_mm: float | None = None,
    below_mm: float | None = None,
) -> Part:
    """An upright sheet, square to the hub's axis, `inboard_mm` or `outboard_mm` of the hub face.

    `ahead_mm` and `above_mm` say how far it goes forward and up from the hub's centre, `behind_mm` and `below_mm` how
    far back and down. It has no bound where none is given, and is cut to the reach there.

    Raises PartError where both or neither side is given, or the bounds leave nothing.
    """
    if (inboard_mm is None) == (outboard_mm is None):
        raise PartError(
            "a wall stands on one side of the hub face: write inboard (toward the middle of the car) or outboard,"
            f" {'not both' if inboard_mm is not None else 'one of them'}.",
            key="inboard",
            also="outboard" if inboard_mm is not None else "",
        )
    y = -inboard_mm if inboard_mm is not None else float(outboard_mm or 0.0)
    back, front = span(behind_mm, ahead_mm, reach_mm, "behind", "ahead")
    low, high = span(below_mm, above_mm, reach_mm, "below", "above")
    bounds = {"ahead": ahead_mm, "behind": behind_mm, "above": above_mm, "below": below_mm}
    sheet = rectangle((back, y, low), (front - back, 0.0, 0.0), (0.0, 0.0, high - low))
    return tagged(tag, "wall", sheet, endless=tuple(side for side, bound in bounds.items() if bound is None))


def span(less_mm: float | None, more_mm: float | None, reach_mm: float, less: str, more: str) -> tuple[float, float]:
    """From `-less_mm` to `more_mm` along one axis, cut to the reach where a bound is not given.

    Where the one bound that is given lies outside the reach, the other is put twice the reach past it, so that the edge
    that the bound makes is still there. Raises PartError where nothing is left between the two.
    """
    low = -less_mm if less_mm is not None else None
    high = more_mm
    if low is None:
        low = -reach_mm if high is None else min(-reach_mm, high - 2 * reach_mm)
    if high is None:
        high = max(reach_mm, low + 2 * reach_mm)
    if low >= high:
        raise PartError(
            f"nothing is left between {less} {-low:g} mm and {more} {high:g} mm: {more} must reach further than {less}"
            " allows. Both are measured from the hub's centre, away from each other.",
            key=more,
            also=less,
        )
    return low, high


def rectangle(corner_mm: Sequence[float], along_mm: Sequence[float], up_mm: Sequence[float]) -> Array:
    """The two triangles (2, 3, 3) of a parallelogram with one corner and the two edges that leave it."""
    a, u, v = (np.asarray(row, dtype=float) for row in (corner_mm, along_mm, up_mm))
    return np.array([[a, a + u, a + u + v], [a, a + u + v, a + v]])


def plate(tag: Tag, *, corners_mm: Sequence[Point3]) -> Part:
    """A flat sheet with three or four corners, given in order around it.

    Raises PartError where there are not three or four, they lie on one line, a fourth is off the plane of the other
    three, or the edges cross.
    """
    ring = np.array(corners_mm, dtype=float).reshape(-1, 3)
    if len(ring) not in (3, 4):
        raise PartError(
            f"a plate has three or four corners; found {len(ring)}. Make other shapes from several plates.",
            key="corners",
        )
    _refuse_no_area(ring)
    if len(ring) == 3:
        return tagged(tag, "plate", ring[None])
    return tagged(tag, "plate", _quadrilateral(ring))


def _refuse_no_area(ring: Array) -> None:
    areas = [np.linalg.norm(np.cross(b - a, c - a)) / 2 for a, b, c in itertools.combinations(ring, 3)]
    if max(areas) < 1.0:
        raise PartError(
            "the plate has no area: its corners lie on one line, or two of them are the same point.", key="corners"
        )


def _quadrilateral(ring: Array) -> Array:
    # the plane is that of the diagonals, which no bend of the sheet can make parallel
    normal = np.cross(ring[2] - ring[0], ring[3] - ring[1])
    length = np.linalg.norm(normal)
    if length < 1e-9:
        raise PartError("the plate's corners are out of order: give them going around its edge.", key="corners")
    normal = normal / length
    off = abs(float(normal @ (ring[1] - ring[0])))
    if off > FLAT_MM:
        raise PartError(
            f"a plate is flat, but the fourth corner stands {off:.1f} mm off the plane of the others."
            " Correct it, or write two plates with three corners each.",
            key="corners",
        )
    turns = [
        float(normal @ np.cross(ring[(i + 1) % 4] - ring[i], ring[(i + 2) % 4] - ring[(i + 1) % 4])) for i in range(4)
    ]
    left = [t > 0 for t in turns]
    if sum(left) == 2:
        raise PartError(
            "the plate's edges cross each other: give its corners in order, going around its edge.", key="corners"
        )
    # of a dented sheet only the diagonal through the dent lies inside it
    start = (left.index(sum(left) == 1) + 1) % 4 if sum(left) in (1, 3) else 0
    a, b, c, d = (ring[(start + i) % 4] for i in range(4))
    return np.array([[a, b, c], [a, c, d]])


def box(
    tag: Tag,
    *,
    min_mm: Point3,
    max_mm: Point3,
    turn_about: str | None = None,
    turn_deg: float = 0.0,
    turn_through_mm: Point3 | None = None,
) -> Part:
    """A rectangular block between two opposite corners, then turned about an axis through its middle or a point.

    A positive turn about "ahead" lifts the outboard side, about "outboard" lowers the front, about "above" swings the
    front outboard.

    Raises PartError where a least number is not less than the greatest, or the axis is not one of the three.
    """
    low, high = np.array(min_mm, dtype=float), np.array(max_mm, dtype=float)
    for axis, least, most in zip(_AXES, low, high, strict=True):
        if least >= most:
            raise PartError(
                f"min is {least:g} mm {axis} and max is {most:g} mm: the first must be the smaller of the two.",
                key="max",
                also="min",
            )
    # the corners by bits: 1 ahead, 2 outboard, 4 above
    corners = np.array([[(high if bits >> i & 1 else low)[i] for i in range(3)] for bits in range(8)])
    if turn_about is not None:
        through = (low + high) / 2 if turn_through_mm is None else np.array(turn_through_mm, dtype=float)
        corners = _turned(corners, turn_about, turn_deg, through)
    quads = [(0, 2, 3, 1), (4, 5, 7, 6), (0, 1, 5, 4), (2, 6, 7, 3), (0, 4, 6, 2), (1, 3, 7, 5)]
    faces = [face for a, b, c, d in quads for face in ((a, b, c), (a, c, d))]
    return tagged(tag, "box", corners[np.array(faces)])


def _turned(corners: Array, about: str, turn_deg: float, through_mm: Array) -> Array:
    if about not in _AXES:
        raise PartError(f'{echoed(about)} is not an axis: write "ahead", "outboard" or "above".', key="turn.about")
    found: Array = (corners - through_mm) @ rotation(np.array(_AXES[about]), turn_deg).T + through_mm
    return found


def bar(tag: Tag, *, points_mm: Sequence[Point3], diameter_mm: float, far_frame: str | None = None) -> Part:
    """A round tube along points: its centre line, as triangles without area, with a skin of its radius.

    Its ends are rounded, so it reaches half a diameter past its first and last point. With a `far_frame` the first
    point rides on what the tag says and the last on `far_frame`, as the two eyes of a shock do; every point between is
    carried by both, in proportion to its way along the bar.

    Raises PartError for fewer than two points, two that are the same, or a diameter that is not positive.
    """
    chain = np.array(points_mm, dtype=float).reshape(-1, 3)
    if len(chain) < 2:
        raise PartError(f"a bar runs through two points or more; found {len(chain)}.", key="points")
    if diameter_mm <= 0:
        raise PartError(f"the diameter of a bar must be more than zero; found {diameter_mm:g} mm.", key="diameter")
    lengths = np.linalg.norm(np.diff(chain, axis=0), axis=1)
    if lengths.min() < 1e-3:
        twice = int(lengths.argmin()) + 1
        raise PartError(f"points {twice} and {twice + 1} of the bar are the same point: leave one out.", key="points")
    stations, way = _stations(chain, lengths)
    line = np.stack([stations[:-1], stations[1:], stations[1:]], axis=1)
    far_end = None
    notes: tuple[str, ...] = ()
    if far_frame is not None and far_frame != tag.rides_on:
        share = np.stack([way[:-1], way[1:], way[1:]], axis=1)
        far_end = FarEnd(frame=far_frame, point_mm=read_only(chain[-1]), share=read_only(share))
        notes = (f"between {tag.rides_on} and {far_frame}: the bar lengthens and shortens as the two move apart",)
    return tagged(tag, "bar", line, skin_mm=diameter_mm / 2, far_end=far_end, notes=notes)


def _stations(chain: Array, lengths: Array) -> tuple[Array, Array]:
    """Points (n, 3) along a chain, none further than a piece from the next, and their share (n,) of its length."""
    points = [chain[:1]]
    for start, end, length in zip(chain[:-1], chain[1:], lengths, strict=True):
        pieces = max(1, int(np.ceil(length / BAR_PIECE_MM)))
        along = np.linspace(0.0, 1.0, pieces + 1)[1:, None]
        points.append((1.0 - along) * start + along * end)
    stations = np.concatenate(points)
    way = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(stations, axis=0), axis=1))])
    return stations, way / way[-1]
