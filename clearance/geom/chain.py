"""Signed distance from many points to one profile, in the half plane, by whole arrays.

The distance is exact: to every line and arc of the chain, the nearest taken. Its sign needs no counting of crossings:
where the nearest place lies within an element, the side of that element decides; where it is a corner, a convex corner
is only ever nearest from outside and a reflex one only from inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any, TypeVar

import numpy as np

from clearance.geom.cells import ENOUGH, Cells
from clearance.geom.profile import Arc, Array, Element, Line, Profile

_SMOOTH = 1e-7
"""Sine of a turn at a joint below which it counts as smooth, and the side of the element decides."""
_CHUNK = 8_000
"""Points x elements worked on at once: what stays in the processor's cache."""
_SHORT = 9_000
"""Up to so many points x elements all are asked sooner than a table is read."""
_ON_MM = 1e-9
"""Closer to the surface than this, the direction is the element's own normal, not a quotient of roundings."""


Corners = tuple[float, float]
"""Of an element: is its start, and its end, a convex corner (+1), a reflex one (-1), or smooth (0)?"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Near:
    """The nearest places of a chain to n points."""

    distance: Array
    """(n,) signed, negative inside."""
    across: Array
    """(n,) y component of the gradient: the unit direction in which the distance grows."""
    away: Array
    """(n,) r component of it."""
    element: np.ndarray
    """(n,) index of the nearest of the profile's `surfaces`."""


class Chain:
    """A profile made ready for many questions."""

    def __init__(self, profile: Profile) -> None:
        surfaces = profile.surfaces
        self.surfaces = surfaces
        self.labels = tuple(e.label for e in surfaces)
        line_at, lines = _those(surfaces, Line)
        arc_at, arcs = _those(surfaces, Arc)
        corner = _corners(profile, surfaces)
        self._which = np.array(line_at + arc_at)
        self._lines = len(lines)
        self._lay_lines(lines, [corner[i] for i in line_at])
        self._lay_arcs(arcs, [corner[i] for i in arc_at])
        self._from = np.concatenate([self._line_start, self._arc_centre], axis=1)
        self._way = np.concatenate([self._line_way, self._arc_middle], axis=1)
        self._ends = np.array([place for e in surfaces for place in (e.start, e.end)]).reshape(-1, 2)
        self._cells: Cells | None = None
        self._asked = 0

    def _lay_lines(self, lines: list[Line], corners: list[Corners]) -> None:
        start = np.array([e.start for e in lines]).reshape(-1, 2)
        along = np.array([e.end for e in lines]).reshape(-1, 2) - start
        length = np.hypot(along[:, 0], along[:, 1])
        along = along / length[:, None] if len(lines) else along
        self._line_start, self._line_way, self._line_length = _rows(start), _rows(along), length
        # to the right, which is outside
        self._line_normal = np.stack([along[:, 1], -along[:, 0]])
        self._line_turn = np.array(corners).reshape(-1)

    def _lay_arcs(self, arcs: list[Arc], corners: list[Corners]) -> None:
        half = np.array([abs(e.sweep_rad) / 2 for e in arcs])
        middle = np.array([e.start_rad + e.sweep_rad / 2 for e in arcs])
        # the end met first when turning anticlockwise from the middle, and the other
        ccw = np.array([e.ccw for e in arcs], dtype=bool)[:, None]
        start = np.array([e.start for e in arcs]).reshape(-1, 2)
        end = np.array([e.end for e in arcs]).reshape(-1, 2)
        left, right = np.where(ccw, end, start), np.where(ccw, start, end)
        self._arc_centre = _rows(np.array([e.centre for e in arcs]).reshape(-1, 2))
        self._arc_radius = np.array([e.radius_mm for e in arcs])
        self._arc_middle, self._arc_half = np.stack([np.cos(middle), np.sin(middle)]), np.cos(half)
        # of each arc the end to the right of the middle's ray, then the one to the left
        self._arc_ends = _rows(np.stack([right, left], axis=1).reshape(-1, 2))
        self._bulge = np.where(ccw[:, 0], 1.0, -1.0)
        turns = np.array(corners).reshape(-1, 2)
        self._arc_turn = np.where(ccw, turns, turns[:, ::-1]).reshape(-1)

    def support(self, across: Array, away: Array) -> Array:
        """How far a convex chain turned about its axis reaches along unit directions (n,): of what the plane proves.

        `across` is along the axis, `away` from it and not negative. Never less than the truth.
        """
        far = (self._ends @ np.stack([across, away])).max(axis=0)
        arcs = zip(self._arc_centre.T, self._arc_radius, self._arc_middle.T, self._arc_half, strict=True)
        for (cy, cr), radius, (my, mr), half_cos in arcs:
            facing = across * my + away * mr >= half_cos - _SMOOTH
            round_mm = across * cy + away * cr + radius
            far = np.where(facing, np.maximum(far, round_mm), far)
        reached: Array = far
        return reached

    def near(self, y: Array, r: Array) -> Near:
        """The signed distance of points (y, r), its gradient, and the nearest element; y and r are (n,)."""
        place = _places(y, r)
        best = self._best(place)
        way = np.empty(place.shape)
        distance = self._seen(place, best, way)
        way /= np.maximum(_size(way), 1e-300)
        return Near(distance=distance, across=way[0], away=way[1], element=self._which[best])

    def distance(self, y: Array, r: Array) -> Array:
        """(n,): the signed distance alone, to the last digit as `near` has it."""
        place = _places(y, r)
        return self._seen(place, self._best(place))

    def _best(self, place: Array) -> np.ndarray:
        """(n,): the row of the element nearest to each place (2, n): lines first, then arcs. Of several as near, the
        first."""
        count = place.shape[1]
        if self._cells is None and self._asked < ENOUGH:
            self._asked += count
        elif count * len(self._which) > _SHORT:
            if self._cells is None:
                self._cells = Cells(self._ends, len(self._which), lambda y, r: np.sqrt(self._squares(_places(y, r))))
            best, other, open_ = self._cells.of(*place)
            two = np.flatnonzero(other >= 0)
            if len(two):
                one, own = best[two], place.take(two, axis=1)
                nearer = self._square(own, other[two]) < self._square(own, one)
                best[two] = np.where(nearer, other[two], one)
            if len(open_):
                best[open_] = self._of_all(place.take(open_, axis=1))
            return best
        return self._of_all(place)

    def _of_all(self, place: Array) -> np.ndarray:
        """The same, every element asked."""
        count = place.shape[1]
        step = max(64, _CHUNK // max(1, len(self._which)))
        if count <= step:
            best: np.ndarray = self._squares(place).argmin(axis=0)
            return best
        best = np.empty(count, dtype=np.intp)
        for at in range(0, count, step):
            best[at : at + step] = self._squares(place[:, at : at + step]).argmin(axis=0)
        return best

    def _squares(self, place: Array) -> Array:
        """(elements, n): the square of the distance to each."""
        # one row of arrays to an element: long rows are what whole-array arithmetic is quick at
        lines, place = self._lines, place[:, None]
        off = place - self._from[:, :, None]
        along, side = _along_and_side(off, self._way[:, :, None])
        square = np.empty(along.shape)
        beyond = _beyond(along[:lines], self._line_length[:, None])
        square[:lines] = beyond * beyond + side[:lines] ** 2
        reach, ends = _size(off[:, lines:]), self._arc_ends.reshape(2, -1, 2)[..., None]
        from_end = place - np.where(side[lines:] <= 0.0, ends[:, :, 1], ends[:, :, 0])
        spanned = along[lines:] >= reach * self._arc_half[:, None]
        square[lines:] = np.where(spanned, (reach - self._arc_radius[:, None]) ** 2, _square(from_end))
        return square

    def _square(self, place: Array, element: np.ndarray) -> Array:
        """(n,): the same for one element each."""
        square = np.empty(len(element))
        for rows, straight in _kinds(element < self._lines):
            own, at = element[rows], _taken(place, rows)
            off = at - self._from.take(own, axis=1)
            along, side = _along_and_side(off, self._way.take(own, axis=1))
            if straight:
                beyond = _beyond(along, self._line_length[own])
                square[rows] = beyond * beyond + side * side
            else:
                square[rows] = self._of_arcs(at, off, along, side, own - self._lines)[0]
        return square

    def _of_arcs(
        self, place: Array, off: Array, along: Array, side: Array, arc: np.ndarray
    ) -> tuple[Array, Array, np.ndarray, np.ndarray]:
        """The square of the distance to one arc each; how far the place is from the centre; does the arc span its ray?

        Where it does, the distance is along that ray; else it is that of the end on that side, which is the last.
        """
        end = 2 * arc + (side <= 0.0)
        reach = _size(off)
        spanned = along >= reach * self._arc_half[arc]
        beyond = reach - self._arc_radius[arc]
        square = np.where(spanned, beyond * beyond, _square(place - self._arc_ends.take(end, axis=1)))
        return square, reach, spanned, end

    def _seen(self, place: Array, element: np.ndarray, way: Array | None = None) -> Array:
        """(n,): signed distance to one element each; `way` (2, n) is filled with how it grows, of any length."""
        kinds = _kinds(element < self._lines)
        if len(kinds) == 1:
            return self._seen_of(place, element, way, straight=kinds[0][1])
        distance = np.empty(len(element))
        for rows, straight in kinds:
            own = None if way is None else np.empty((2, len(rows)))
            distance[rows] = self._seen_of(_taken(place, rows), element[rows], own, straight=straight)
            if way is not None and own is not None:
                way[0][rows], way[1][rows] = own
        return distance

    def _seen_of(self, place: Array, element: np.ndarray, way: Array | None, *, straight: bool) -> Array:
        off, ahead = place - self._from.take(element, axis=1), self._way.take(element, axis=1)
        along, side = _along_and_side(off, ahead)
        if straight:
            return self._seen_of_lines(along, side, ahead, element, way)
        return self._seen_of_arcs(place, off, along, side, ahead, element - self._lines, way)

    def _seen_of_lines(self, along: Array, side: Array, step: Array, line: np.ndarray, way: Array | None) -> Array:
        past = _beyond(along, self._line_length[line])
        size = np.sqrt(past * past + side * side)
        facing = _sign(side)
        (i,) = past.nonzero()
        if len(i):
            # past an end: is that corner convex, or reflex?
            turn = self._line_turn[2 * line[i] + (past[i] > 0)]
            facing[i] = np.where(turn != 0.0, turn, facing[i])
        signed: Array = facing * size
        if way is not None:
            # foot to point, turned outward by the sign; on the surface itself, the normal
            normal = self._line_normal.take(line, axis=1)
            way[:] = facing * (past * step + side * normal)
            (i,) = (size < _ON_MM).nonzero()
            if len(i):
                way[:, i] = normal[:, i]
        return signed

    def _seen_of_arcs(
        self, place: Array, off: Array, along: Array, side: Array, middle: Array, arc: np.ndarray, way: Array | None
    ) -> Array:
        square, out, spanned, end = self._of_arcs(place, off, along, side, arc)
        bulge, size = self._bulge[arc], np.sqrt(square)
        facing = bulge * _sign(out - self._arc_radius[arc])
        (i,) = (~spanned).nonzero()
        if len(i):
            turn = self._arc_turn[end[i]]
            facing[i] = np.where(turn != 0.0, turn, facing[i])
        signed: Array = facing * size
        if way is None:
            return signed
        way[:] = bulge * (off / np.maximum(out, 1e-300))
        if len(i):
            # beyond the arc's end, from the end; on it, along the ray still
            from_end = place.take(i, axis=1) - self._arc_ends.take(end[i], axis=1)
            way[:, i] = np.where(size[i] >= _ON_MM, facing[i] * from_end, way[:, i])
        (i,) = (out < _ON_MM).nonzero()
        if len(i):
            centred = i[spanned[i] | (size[i] < _ON_MM)]
            way[:, centred] = bulge[centred] * middle[:, centred]
        return signed


def _places(y: Array, r: Array) -> Array:
    """(2, n)"""
    place = np.empty((2, len(y)))
    place[0], place[1] = y, r
    return place


def _rows(places: Array) -> Array:
    """(2, n) of places (n, 2): whole-array arithmetic is quick at long rows."""
    return np.ascontiguousarray(places.T)


def _kinds(straight: np.ndarray) -> list[tuple[Any, bool]]:
    """The rows of lines and those of arcs, where there are any; all of them where there is one kind alone."""
    count = int(np.count_nonzero(straight))
    if count in (0, len(straight)):
        return [(slice(None), bool(count))]
    return [(straight.nonzero()[0], True), ((~straight).nonzero()[0], False)]


def _along_and_side(off: Array, way: Array) -> tuple[Array, Array]:
    """How far places (2, ...) lie along unit ways (2, ...), and how far to the right of them."""
    one, other = off * way, off * way[::-1]
    return one[0] + one[1], other[0] - other[1]


def _beyond(along: Array, length: Array) -> Array:
    """How far places lie beyond the ends of lines: from the foot of the perpendicular, kept between the ends."""
    beyond: Array = along - np.minimum(np.maximum(along, 0.0), length)
    return beyond


def _taken(place: Array, rows: Any) -> Array:
    """Some of places (2, n): rows, or a slice."""
    return place[:, rows] if isinstance(rows, slice) else place.take(rows, axis=1)


def _sign(number: Array) -> Array:
    """1.0, or -1.0 below zero."""
    # a negative zero and a zero make a zero
    sign: Array = np.copysign(1.0, number + 0.0)
    return sign


def _square(way: Array) -> Array:
    """The square of the length of (2, ...)."""
    each = way * way
    square: Array = each[0] + each[1]
    return square


def _size(way: Array) -> Array:
    """The length of (2, ...)."""
    size: Array = np.sqrt(_square(way))
    return size


Sort = TypeVar("Sort", Line, Arc)


def _those(surfaces: tuple[Element, ...], sort: type[Sort]) -> tuple[list[int], list[Sort]]:
    """The surfaces of one sort, and where each of them stands."""
    found = [(i, e) for i, e in enumerate(surfaces) if isinstance(e, sort)]
    return [i for i, _ in found], [e for _, e in found]


def _corners(profile: Profile, surfaces: tuple[Element, ...]) -> list[Corners]:
    """The corners of each surface.

    There is none where it meets the axis, which is no surface: what is nearest there is on the one side or the other.
    """
    own = {id(e) for e in surfaces}
    turn_at_end: dict[int, float] = {}
    turn_at_start: dict[int, float] = {}
    chain = [e for e in profile.elements if e.length_mm > 1e-6]
    for one, following in zip(chain, chain[1:] + chain[:1], strict=True):
        (ay, ar), (by, br) = _leaving(one), _entering(following)
        cross = ay * br - ar * by
        turn = math.copysign(1.0, cross)
        if abs(cross) < _SMOOTH:
            # straight on is smooth; straight back is the bottom of a crack, where rubber leaves the rim flange
            turn = 0.0 if ay * by + ar * br > 0 else -1.0
        if id(one) not in own or id(following) not in own:
            turn = 0.0
        turn_at_end[id(one)] = turn
        turn_at_start[id(following)] = turn
    return [(turn_at_start[id(e)], turn_at_end[id(e)]) for e in surfaces]


def _entering(element: Element) -> tuple[float, float]:
    """Unit direction of travel at the start."""
    return _direction(element, element.start)


def _leaving(element: Element) -> tuple[float, float]:
    """Unit direction of travel at the end."""
    return _direction(element, element.end)


def _direction(element: Element, at: tuple[float, float]) -> tuple[float, float]:
    if isinstance(element, Line):
        y, r = element.end[0] - element.start[0], element.end[1] - element.start[1]
    else:
        turn = 1.0 if element.ccw else -1.0
        y, r = -turn * (at[1] - element.centre[1]), turn * (at[0] - element.centre[0])
    size = math.hypot(y, r)
    return (y / size, r / size)
