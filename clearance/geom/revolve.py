"""A solid of revolution: how far points are from it, and its mesh.

The axis is y. The distance from a point to the solid is a distance in the half plane (y, r) with r = hypot(x, z), so no
mesh is ever measured. Besides the true outline, a solid carries what proofs need:

* pieces - convex outlines whose union covers the solid. Off the solid, the least distance to a piece is a lower bound
of
           the distance to the solid, equal to it where the pieces fit exactly.
* hull   - one convex outline around everything, the axis included. The distance to the revolved hull is a convex
function of
           the point and never more than the distance to the solid, inside and out.

Lengths are millimetres; points are (n, 3) in the solid's own axes (hub axes for a wheel).
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from clearance.errors import ShapeError
from clearance.geom.chain import Chain
from clearance.geom.profile import Arc, Array, Element, Line, Point, Profile

_SAMPLE_CHORD_MM = 1e-4
"""How finely arcs are sampled to find which stretch of each lies on the hull."""
_DEEPEST_MM = 0.005
HULL_SLACK_MM = 2e-4
"""How far the hull found from samples may lie inside the true one."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Solid:
    """A profile turned about the y axis."""

    profile: Profile
    pieces: tuple[Profile, ...]
    """Convex profiles whose union covers the solid."""
    chain: Chain = field(init=False)
    """The outline, ready to be measured to."""
    piece_chains: tuple[Chain, ...] = field(init=False)
    _hull: list[Chain] = field(init=False, default_factory=list, repr=False)
    """Made when it is first asked for: most outlines of a long list are only looked at."""
    _reach: list[float] = field(init=False, default_factory=list, repr=False)
    """So is this, which everything that moves asks for."""

    def __post_init__(self) -> None:
        for piece in self.pieces:
            if not is_convex(piece):
                raise ShapeError("a piece of the solid's cover is not convex.")
        object.__setattr__(self, "chain", Chain(self.profile))
        object.__setattr__(self, "piece_chains", tuple(Chain(piece) for piece in self.pieces))

    @property
    def hull_chain(self) -> Chain:
        """The hull, ready to be measured to."""
        if not self._hull:
            self._hull.append(Chain(hull(self.profile)))
        return self._hull[0]

    @property
    def reach_mm(self) -> float:
        """Furthest point of the solid from the origin of its axes."""
        if not self._reach:
            outline = self.profile.outline(0.01)
            self._reach.append(float(np.hypot(outline[:, 0], outline[:, 1]).max()) + 0.01)
        return self._reach[0]

    def distance(self, points_mm: Array) -> Array:
        """Signed distance (n,) of points (n, 3), negative inside."""
        return self.chain.distance(points_mm[:, 1], np.hypot(points_mm[:, 0], points_mm[:, 2]))

    def nearest(self, points_mm: Array) -> tuple[Array, Array, Array, np.ndarray]:
        """Distance (n,), the nearest surface point (n, 3), outward normal there (n, 3), index into `profile.surfaces`
        (n,).

        A point on the axis is as near to a whole circle; the foot in the x, y plane is given.
        """
        radial = np.hypot(points_mm[:, 0], points_mm[:, 2])
        near = self.chain.near(points_mm[:, 1], radial)
        on_axis = radial < 1e-12
        safe = np.where(on_axis, 1.0, radial)
        away_x = np.where(on_axis, 1.0, points_mm[:, 0] / safe)
        away_z = np.where(on_axis, 0.0, points_mm[:, 2] / safe)
        normal = np.column_stack([near.away * away_x, near.across, near.away * away_z])
        return near.distance, points_mm - near.distance[:, None] * normal, normal, near.element

    def deepest_mm(self) -> float:
        """No point lies deeper inside than this, and some nearly do.

        The depth changes no faster than the place, so a square of the section holds nothing deeper than its middle and
        half its diagonal; squares that might are quartered until that is little.
        """
        least_y, greatest_y, _, greatest_r = self.profile.bounds
        half = max(greatest_y - least_y, greatest_r) / 2
        squares = np.array([[(least_y + greatest_y) / 2, half]])
        while True:
            depth = -self.chain.distance(squares[:, 0], np.abs(squares[:, 1]))
            reach = half * np.sqrt(2.0)
            deepest = float(depth.max())
            if reach < _DEEPEST_MM:
                return deepest + float(reach)
            squares = squares[depth + reach > deepest]
            half /= 2
            steps = half * np.array([[-1, -1], [-1, 1], [1, -1], [1, 1]])
            squares = (squares[:, None] + steps).reshape(-1, 2)

    def mesh(self, chord_mm: float) -> tuple[Array, np.ndarray]:
        """A watertight mesh: vertices (v, 3) and outward faces (t, 3), chords within `chord_mm` of the true surface."""
        ring = self.profile.outline(chord_mm)
        greatest = float(ring[:, 1].max())
        turns = max(12, int(np.ceil(np.pi / np.arccos(max(-1.0, 1.0 - chord_mm / greatest)))))
        return lathe(ring, turns)


def closed(solid: Solid) -> Solid:
    """A solid closed to its revolved convex hull: a disc, where it was a wheel."""
    outline = hull(solid.profile)
    return Solid(profile=outline, pieces=(outline,))


def is_convex(profile: Profile) -> bool:
    """Does the profile turn left all the way round?"""
    ring = profile.outline(1e-3)
    step = np.roll(ring, -1, axis=0) - ring
    step = step[np.hypot(step[:, 0], step[:, 1]) > 1e-9]
    step /= np.hypot(step[:, 0], step[:, 1])[:, None]
    following = np.roll(step, -1, axis=0)
    return bool(np.all(step[:, 0] * following[:, 1] - step[:, 1] * following[:, 0] > -1e-6))


def hull(profile: Profile) -> Profile:
    """The convex outline around a profile and its mirror image across the axis, cut at the axis.

    Stretches of arcs that lie on the hull stay arcs.
    """
    points: list[Array] = []
    source: list[np.ndarray] = []
    for index, element in enumerate(profile.surfaces):
        along = element.points(_SAMPLE_CHORD_MM)
        points.append(along)
        source.append(np.full(len(along), index))
    ring, owner = np.concatenate(points), np.concatenate(source)
    least, greatest = ring[:, 0].min(), ring[:, 0].max()
    order = _upper_hull(ring, least, greatest)
    return Profile(elements=_hull_elements(ring, owner, order, profile, float(least), float(greatest)))


def _upper_hull(ring: Array, least: float, greatest: float) -> list[int]:
    """Indices of the points on the hull above the axis, from greatest y to least; flat sides run down to the axis."""
    order: list[int] = np.lexsort((ring[:, 1], -ring[:, 0])).tolist()
    # plain numbers: one at a time they are ten times as quick as an array's
    points: list[tuple[float, float]] = [(y, r) for y, r in ring.tolist()]
    kept: list[int] = []
    for i in order:
        # walking towards -y, keep only left turns
        while len(kept) >= 2 and _turn(points[kept[-2]], points[kept[-1]], points[i]) <= 0:
            kept.pop()
        kept.append(i)
    # of several points at the ends only the highest is on the hull: the sides go straight down from it
    while len(kept) > 1 and ring[kept[1], 0] >= greatest - 1e-12:
        kept.pop(0)
    while len(kept) > 1 and ring[kept[-2], 0] <= least + 1e-12:
        kept.pop()
    return kept


def _turn(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])


def _hull_elements(
    ring: Array, owner: np.ndarray, order: list[int], profile: Profile, least: float, greatest: float
) -> tuple[Element, ...]:
    surfaces = profile.surfaces

    def at(i: int) -> Point:
        return (float(ring[i, 0]), float(ring[i, 1]))

    elements: list[Element] = [
        Line(start=(least, 0.0), end=(greatest, 0.0)),
        Line(start=(greatest, 0.0), end=at(order[0])),
    ]
    which = _arcs_between(surfaces, owner[order], ring[order])
    i = 0
    while i < len(order) - 1:
        j = i + 1
        while which[i] >= 0 and j < len(order) - 1 and which[j] == which[i]:
            j += 1
        arc = surfaces[which[i]]
        if which[i] >= 0 and isinstance(arc, Arc):
            elements.append(Arc(start=at(order[i]), end=at(order[j]), centre=arc.centre, ccw=True))
        else:
            elements.append(Line(start=at(order[i]), end=at(order[j])))
        i = j
    elements.append(Line(start=at(order[-1]), end=(least, 0.0)))
    return tuple(e for e in elements if e.length_mm > 0)


def _arcs_between(surfaces: tuple[Element, ...], owner: np.ndarray, places: Array) -> list[int]:
    """Between each hull point and the next, the bulging arc that both lie on, one sample apart; -1 for a straight line.

    The next point's own arc counts where the first one's is none.
    """
    # what is no bulging arc is one that nothing lies on
    shape = np.array(
        [(*e.centre, e.radius_mm) if isinstance(e, Arc) and e.ccw else (0.0, 0.0, np.inf) for e in surfaces]
    )
    here, there = places[:-1], places[1:]
    apart = np.hypot(*(there - here).T)
    found = np.full(len(here), -1)
    for own in (owner[1:], owner[:-1]):
        y, r, radius = shape[own].T
        off = np.maximum(*(np.abs(np.hypot(p[:, 0] - y, p[:, 1] - r) - radius) for p in (here, there)))
        on_it = (off < 1e-7) & (apart < 2.1 * np.sqrt(2 * radius * _SAMPLE_CHORD_MM))
        found[on_it] = own[on_it]
    between: list[int] = found.tolist()
    return between


def lathe(ring: Array, turns: int) -> tuple[Array, np.ndarray]:
    """Turn a closed ring of (y, r) points about the axis; points on the axis become one vertex each."""
    angle = np.arange(turns) * (2 * np.pi / turns)
    on_axis = ring[:, 1] < 1e-9
    first = np.zeros(len(ring), dtype=np.intp)
    vertices: list[Array] = []
    count = 0
    for i, (y, r) in enumerate(ring):
        first[i] = count
        if on_axis[i]:
            vertices.append(np.array([[0.0, y, 0.0]]))
            count += 1
        else:
            vertices.append(np.column_stack([r * np.sin(angle), np.full(turns, y), r * np.cos(angle)]))
            count += turns
    return np.concatenate(vertices), np.concatenate(_around(first, on_axis, turns))


def _around(first: np.ndarray, on_axis: np.ndarray, turns: int) -> list[np.ndarray]:
    """The faces between each corner of a ring and the next; `first` is the first vertex of each corner."""
    here = np.arange(turns)
    there = (here + 1) % turns
    faces: list[np.ndarray] = []
    for i in range(len(first)):
        j = (i + 1) % len(first)
        if on_axis[i] and on_axis[j]:
            continue
        a, b = first[i] + (0 if on_axis[i] else here), first[i] + (0 if on_axis[i] else there)
        c, d = first[j] + (0 if on_axis[j] else here), first[j] + (0 if on_axis[j] else there)
        if not on_axis[i]:
            faces.append(np.column_stack(np.broadcast_arrays(a, c, b)))
        if not on_axis[j]:
            faces.append(np.column_stack(np.broadcast_arrays(b, c, d)))
    return faces
