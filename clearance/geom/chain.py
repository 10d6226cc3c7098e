"""Signed distance from many points to one profile, in the half plane, by whole arrays.

The distance is exact: to every line and arc of the chain, the nearest taken. Its sign needs no counting of crossings:
where the nearest place lies within an element, the side of that element decides; where it is a corner, a convex corner
is only ever nearest from outside and a reflex one only from inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TypeVar

import numpy as np

from clearance.geom.profile import Arc, Array, Element, Line, Profile

_SMOOTH = 1e-7
"""Sine of a turn at a joint below which it counts as smooth, and the side of the element decides."""
_CHUNK = 32_000
"""Points x elements worked on at once: what stays in the processor's cache."""
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
        self._lay_arcs(arcs)
        self._lay_ends(arcs, [corner[i] for i in arc_at])
        self._ends = np.array([place for e in surfaces for place in (e.start, e.end)]).reshape(-1, 2)

    def _lay_lines(self, lines: list[Line], corners: list[Corners]) -> None:
        start = np.array([e.start for e in lines]).reshape(-1, 2)
        along = np.array([e.end for e in lines]).reshape(-1, 2) - start
        self._length = np.hypot(along[:, 0], along[:, 1])
        along = along / self._length[:, None] if len(lines) else along
        self._y0, self._r0, self._dy, self._dr = start[:, 0], start[:, 1], along[:, 0], along[:, 1]
        self._line_turn = np.array(corners).reshape(-1, 2)

    def _lay_arcs(self, arcs: list[Arc]) -> None:
        centre = np.array([e.centre for e in arcs]).reshape(-1, 2)
        self._cy, self._cr = centre[:, 0], centre[:, 1]
        self._radius = np.array([e.radius_mm for e in arcs])
        half = np.array([abs(e.sweep_rad) / 2 for e in arcs])
        middle = np.array([e.start_rad + e.sweep_rad / 2 for e in arcs])
        self._my, self._mr = np.cos(middle), np.sin(middle)
        self._half_cos = np.cos(half)
        self._bulge = np.array([1.0 if e.ccw else -1.0 for e in arcs])

    def _lay_ends(self, arcs: list[Arc], corners: list[Corners]) -> None:
        # the end met first when turning anticlockwise from the middle, and the other
        self._left = np.array([e.end if e.ccw else e.start for e in arcs]).reshape(-1, 2)
        self._right = np.array([e.start if e.ccw else e.end for e in arcs]).reshape(-1, 2)
        turns = [turn if e.ccw else turn[::-1] for turn, e in zip(corners, arcs, strict=True)]
        self._arc_turn = np.array(turns).reshape(-1, 2)

    def support(self, across: Array, away: Array) -> Array:
        """How far a convex chain turned about its axis reaches along unit directions (n,): of what the plane proves.

        `across` is along the axis, `away` from it and not negative. Never less than the truth.
        """
        far = (self._ends @ np.stack([across, away])).max(axis=0)
        for arc in range(len(self._radius)):
            facing = across * self._my[arc] + away * self._mr[arc] >= self._half_cos[arc] - _SMOOTH
            round_mm = across * self._cy[arc] + away * self._cr[arc] + self._radius[arc]
            far = np.where(facing, np.maximum(far, round_mm), far)
        reached: Array = far
        return reached

    def near(self, y: Array, r: Array) -> Near:
        """The signed distance of points (y, r), its gradient, and the nearest element; y and r are (n,)."""
        count = len(y)
        step = max(64, _CHUNK // max(1, len(self._which)))
        if count <= step:
            return self._near(y, r)
        distance, across, away = np.empty(count), np.empty(count), np.empty(count)
        element = np.empty(count, dtype=np.intp)
        for at in range(0, count, step):
            part = slice(at, at + step)
            found = self._near(y[part], r[part])
            distance[part], across[part], away[part] = found.distance, found.across, found.away
            element[part] = found.element
        return Near(distance=distance, across=across, away=away, element=element)

    def _near(self, y: Array, r: Array) -> Near:
        # one row of arrays to an element: long rows are what whole-array arithmetic is quick at
        count, lines = len(y), self._lines
        square = np.empty((len(self._which), count))
        # lines: the foot of the perpendicular, kept between the ends
        dy, dr = self._dy[:, None], self._dr[:, None]
        ly, lr = y - self._y0[:, None], r - self._r0[:, None]
        along = ly * dy + lr * dr
        beyond = along - np.minimum(np.maximum(along, 0.0), self._length[:, None])
        off = ly * dr - lr * dy  # positive on the right of the line, which is outside
        square[:lines] = beyond * beyond + off * off
        # arcs: along the ray from the centre where the arc spans it, else the end on that side
        vy, vr = y - self._cy[:, None], r - self._cr[:, None]
        my, mr = self._my[:, None], self._mr[:, None]
        reach = np.sqrt(vy * vy + vr * vr)
        spanned = vy * my + vr * mr >= reach * self._half_cos[:, None]
        leftward = my * vr - mr * vy >= 0.0
        left, right = self._left[:, :, None], self._right[:, :, None]
        ty, tr = y - np.where(leftward, left[:, 0], right[:, 0]), r - np.where(leftward, left[:, 1], right[:, 1])
        square[lines:] = np.where(spanned, (reach - self._radius[:, None]) ** 2, ty * ty + tr * tr)

        least, best = square[0].copy(), np.zeros(count, dtype=np.intp)
        for element in range(1, len(square)):
            nearer = square[element] < least
            np.copyto(best, element, where=nearer)
            np.minimum(least, square[element], out=least)
        size = np.sqrt(least)
        sign, across, away = np.empty(count), np.empty(count), np.empty(count)
        i = np.flatnonzero(best < lines)
        if len(i):
            j = best[i]
            past, side = beyond[j, i], off[j, i]
            turn = np.where(past > 0, self._line_turn[j, 1], np.where(past < 0, self._line_turn[j, 0], 0.0))
            facing = np.where(turn != 0.0, turn, np.where(side >= 0, 1.0, -1.0))
            sign[i] = facing
            # foot to point, turned outward by the sign; on the surface itself, the normal
            step_y, step_r = self._dy[j], self._dr[j]
            flush = size[i] < _ON_MM
            across[i] = np.where(flush, step_r, facing * (past * step_y + side * step_r))
            away[i] = np.where(flush, -step_y, facing * (past * step_r - side * step_y))
        i = np.flatnonzero(best >= lines)
        if len(i):
            j = best[i] - lines
            ray, out, bulge = spanned[j, i], reach[j, i], self._bulge[j]
            turn = np.where(ray, 0.0, np.where(leftward[j, i], self._arc_turn[j, 1], self._arc_turn[j, 0]))
            facing = np.where(turn != 0.0, turn, bulge * np.where(out >= self._radius[j], 1.0, -1.0))
            sign[i] = facing
            safe = np.maximum(out, 1e-300)
            centred = out < _ON_MM
            unit_y = np.where(centred, self._my[j], vy[j, i] / safe)
            unit_r = np.where(centred, self._mr[j], vr[j, i] / safe)
            use_ray = ray | (size[i] < _ON_MM)
            across[i] = np.where(use_ray, bulge * unit_y, facing * ty[j, i])
            away[i] = np.where(use_ray, bulge * unit_r, facing * tr[j, i])
        norm = np.maximum(np.sqrt(across * across + away * away), 1e-300)
        return Near(distance=sign * size, across=across / norm, away=away / norm, element=self._which[best])


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
