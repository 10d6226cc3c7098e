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
_CHUNK = 32_000
"""Points x elements worked on at once: what stays in the processor's cache."""
_SHORT = 4_000
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
        self._ends = np.array([place for e in surfaces for place in (e.start, e.end)]).reshape(-1, 2)
        self._cells: Cells | None = None
        self._asked = 0

    def _lay_lines(self, lines: list[Line], corners: list[Corners]) -> None:
        start = np.array([e.start for e in lines]).reshape(-1, 2)
        along = np.array([e.end for e in lines]).reshape(-1, 2) - start
        length = np.hypot(along[:, 0], along[:, 1])
        along = along / length[:, None] if len(lines) else along
        self._line_table = np.stack([start[:, 0], start[:, 1], along[:, 0], along[:, 1], length])
        self._line_turn = np.array(corners).reshape(-1, 2)

    def _lay_arcs(self, arcs: list[Arc], corners: list[Corners]) -> None:
        centre = np.array([e.centre for e in arcs]).reshape(-1, 2)
        radius = np.array([e.radius_mm for e in arcs])
        half = np.array([abs(e.sweep_rad) / 2 for e in arcs])
        middle = np.array([e.start_rad + e.sweep_rad / 2 for e in arcs])
        # the end met first when turning anticlockwise from the middle, and the other
        ccw = np.array([e.ccw for e in arcs], dtype=bool)[:, None]
        start = np.array([e.start for e in arcs]).reshape(-1, 2)
        end = np.array([e.end for e in arcs]).reshape(-1, 2)
        left, right = np.where(ccw, end, start), np.where(ccw, start, end)
        facing = [np.cos(middle), np.sin(middle), np.cos(half)]
        self._arc_table = np.stack([*centre.T, radius, *facing, *left.T, *right.T])
        self._bulge = np.where(ccw[:, 0], 1.0, -1.0)
        self._arc_ends = np.stack([right, left], axis=1)
        turns = np.array(corners).reshape(-1, 2)
        self._arc_turn = np.where(ccw, turns, turns[:, ::-1])

    def support(self, across: Array, away: Array) -> Array:
        """How far a convex chain turned about its axis reaches along unit directions (n,): of what the plane proves.

        `across` is along the axis, `away` from it and not negative. Never less than the truth.
        """
        far = (self._ends @ np.stack([across, away])).max(axis=0)
        for cy, cr, radius, my, mr, half_cos in self._arc_table[:6].T:
            facing = across * my + away * mr >= half_cos - _SMOOTH
            round_mm = across * cy + away * cr + radius
            far = np.where(facing, np.maximum(far, round_mm), far)
        reached: Array = far
        return reached

    def near(self, y: Array, r: Array) -> Near:
        """The signed distance of points (y, r), its gradient, and the nearest element; y and r are (n,)."""
        best = self._best(y, r)
        distance, across, away = self._seen(y, r, best)
        norm = np.maximum(np.sqrt(across * across + away * away), 1e-300)
        return Near(distance=distance, across=across / norm, away=away / norm, element=self._which[best])

    def _best(self, y: Array, r: Array) -> np.ndarray:
        """(n,): the row of the nearest element: lines first, then arcs. Of several as near, the first."""
        count = len(y)
        if self._cells is None and self._asked < ENOUGH:
            self._asked += count
        elif count * len(self._which) > _SHORT:
            if self._cells is None:
                self._cells = Cells(self._ends, len(self._which), lambda y, r: np.sqrt(self._squares(y, r)))
            best, other, open_ = self._cells.of(y, r)
            two = np.flatnonzero(other >= 0)
            if len(two):
                one, two_y, two_r = best[two], y[two], r[two]
                nearer = self._square(two_y, two_r, other[two]) < self._square(two_y, two_r, one)
                best[two] = np.where(nearer, other[two], one)
            if len(open_):
                best[open_] = self._of_all(y[open_], r[open_])
            return best
        return self._of_all(y, r)

    def _of_all(self, y: Array, r: Array) -> np.ndarray:
        """The same, every element asked."""
        count = len(y)
        best = np.zeros(count, dtype=np.intp)
        step = max(64, _CHUNK // max(1, len(self._which)))
        for at in range(0, count, step):
            square = self._squares(y[at : at + step], r[at : at + step])
            least, own = square[0].copy(), best[at : at + step]
            for element in range(1, len(square)):
                nearer = square[element] < least
                np.copyto(own, element, where=nearer)
                np.minimum(least, square[element], out=least)
        return best

    def _squares(self, y: Array, r: Array) -> Array:
        """(elements, n): the square of the distance to each."""
        # one row of arrays to an element: long rows are what whole-array arithmetic is quick at
        lines = self._lines
        square = np.empty((len(self._which), len(y)))
        beyond, off = _of_lines(y, r, *(each[:, None] for each in self._line_table))
        square[:lines] = beyond * beyond + off * off
        square[lines:] = _of_arcs(y, r, *(each[:, None] for each in self._arc_table))[0]
        return square

    def _square(self, y: Array, r: Array, element: np.ndarray) -> Array:
        """(n,): the same for one element each."""
        square, lines = np.empty(len(y)), self._lines
        for rows, straight in _kinds(element < lines):
            own_y, own_r, own = y[rows], r[rows], element[rows]
            if straight:
                beyond, off = _of_lines(own_y, own_r, *self._line_table.take(own, axis=1))
                square[rows] = beyond * beyond + off * off
            else:
                square[rows] = _of_arcs(own_y, own_r, *self._arc_table.take(own - lines, axis=1))[0]
        return square

    def _seen(self, y: Array, r: Array, element: np.ndarray) -> tuple[Array, Array, Array]:
        """(n,) each: signed distance to one element each, and the way in which it grows, of any length."""
        kinds = _kinds(element < self._lines)
        if len(kinds) == 1:
            return self._seen_of(y, r, element, straight=kinds[0][1])
        distance, across, away = np.empty(len(y)), np.empty(len(y)), np.empty(len(y))
        for rows, straight in kinds:
            found = self._seen_of(y[rows], r[rows], element[rows], straight=straight)
            distance[rows], across[rows], away[rows] = found
        return distance, across, away

    def _seen_of(self, y: Array, r: Array, element: np.ndarray, *, straight: bool) -> tuple[Array, Array, Array]:
        return self._seen_of_lines(y, r, element) if straight else self._seen_of_arcs(y, r, element - self._lines)

    def _seen_of_lines(self, y: Array, r: Array, line: np.ndarray) -> tuple[Array, Array, Array]:
        table = self._line_table.take(line, axis=1)
        past, side = _of_lines(y, r, *table)
        step_y, step_r = table[2], table[3]
        size = np.sqrt(past * past + side * side)
        facing = np.where(side >= 0, 1.0, -1.0)
        i = np.flatnonzero(past)
        if len(i):
            # past an end: is that corner convex, or reflex?
            turn = self._line_turn[line[i], (past[i] > 0).astype(np.intp)]
            facing[i] = np.where(turn != 0.0, turn, facing[i])
        # foot to point, turned outward by the sign; on the surface itself, the normal
        across, away = facing * (past * step_y + side * step_r), facing * (past * step_r - side * step_y)
        i = np.flatnonzero(size < _ON_MM)
        if len(i):
            across[i], away[i] = step_r[i], -step_y[i]
        return facing * size, across, away

    def _seen_of_arcs(self, y: Array, r: Array, arc: np.ndarray) -> tuple[Array, Array, Array]:
        table = self._arc_table.take(arc, axis=1)
        square, vy, vr, out, ray = _of_arcs(y, r, *table)
        bulge = self._bulge[arc]
        size = np.sqrt(square)
        facing = bulge * np.where(out >= table[2], 1.0, -1.0)
        safe = np.maximum(out, 1e-300)
        across, away = bulge * (vy / safe), bulge * (vr / safe)
        i = np.flatnonzero(~ray)
        if len(i):
            own = table[:, i]
            leftward = (own[3] * vr[i] - own[4] * vy[i] >= 0.0).astype(np.intp)
            turn = self._arc_turn[arc[i], leftward]
            facing[i] = np.where(turn != 0.0, turn, facing[i])
            ends = self._arc_ends[arc[i], leftward]
            # beyond the arc's end, from the end; on it, along the ray still
            free = size[i] >= _ON_MM
            across[i] = np.where(free, facing[i] * (y[i] - ends[:, 0]), across[i])
            away[i] = np.where(free, facing[i] * (r[i] - ends[:, 1]), away[i])
        i = np.flatnonzero(out < _ON_MM)
        if len(i):
            centred = i[ray[i] | (size[i] < _ON_MM)]
            across[centred] = bulge[centred] * table[3][centred]
            away[centred] = bulge[centred] * table[4][centred]
        return facing * size, across, away


def _kinds(straight: np.ndarray) -> list[tuple[Any, bool]]:
    """The rows of lines and those of arcs, where there are any; all of them where there is one kind alone."""
    count = int(np.count_nonzero(straight))
    if count in (0, len(straight)):
        return [(slice(None), bool(count))]
    return [(np.flatnonzero(straight), True), (np.flatnonzero(~straight), False)]


def _of_lines(y: Array, r: Array, y0: Array, r0: Array, dy: Array, dr: Array, length: Array) -> tuple[Array, Array]:
    """How far places lie beyond the ends of lines, along them, and how far off to the right, which is outside."""
    ly, lr = y - y0, r - r0
    along = ly * dy + lr * dr
    # the foot of the perpendicular, kept between the ends
    beyond = along - np.minimum(np.maximum(along, 0.0), length)
    return beyond, ly * dr - lr * dy


def _of_arcs(
    y: Array,
    r: Array,
    cy: Array,
    cr: Array,
    radius: Array,
    my: Array,
    mr: Array,
    half_cos: Array,
    left_y: Array,
    left_r: Array,
    right_y: Array,
    right_r: Array,
) -> tuple[Array, Array, Array, Array, np.ndarray]:
    """The square of the distance to arcs; the place from the centre and how far that is; does the arc span its ray?

    Where it does, the distance is along the ray from the centre; else it is the end's on that side.
    """
    vy, vr = y - cy, r - cr
    reach = np.sqrt(vy * vy + vr * vr)
    spanned = vy * my + vr * mr >= reach * half_cos
    leftward = my * vr - mr * vy >= 0.0
    ty, tr = y - np.where(leftward, left_y, right_y), r - np.where(leftward, left_r, right_r)
    return np.where(spanned, (reach - radius) ** 2, ty * ty + tr * tr), vy, vr, reach, spanned


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
