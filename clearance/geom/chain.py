"""Signed distance from many points to one profile, in the half plane, by whole arrays.

The distance is exact: to every line and arc of the chain, the nearest taken. Its sign needs no counting of crossings:
where the nearest place lies within an element, the side of that element decides; where it is a corner, a convex corner
is only ever nearest from outside and a reflex one only from inside.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clearance.geom.profile import Arc, Array, Element, Line, Profile

_SMOOTH = 1e-7
"""Sine of a turn at a joint below which it counts as smooth, and the side of the element decides."""
_CHUNK = 32_000
"""Points x elements worked on at once: what stays in the processor's cache."""
_ON_MM = 1e-9
"""Closer to the surface than this, the direction is the element's own normal, not a quotient of roundings."""


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
        lines = [(i, e) for i, e in enumerate(surfaces) if isinstance(e, Line)]
        arcs = [(i, e) for i, e in enumerate(surfaces) if isinstance(e, Arc)]
        corner = _corners(profile, surfaces)
        self._which = np.array([i for i, _ in lines] + [i for i, _ in arcs])
        self._lines = len(lines)

        start = np.array([e.start for _, e in lines]).reshape(-1, 2)
        along = np.array([e.end for _, e in lines]).reshape(-1, 2) - start
        self._length = np.hypot(along[:, 0], along[:, 1])
        along = along / self._length[:, None] if len(lines) else along
        self._y0, self._r0, self._dy, self._dr = start[:, 0], start[:, 1], along[:, 0], along[:, 1]
        self._line_turn = np.array([corner[i] for i, _ in lines]).reshape(-1, 2)

        centre = np.array([e.centre for _, e in arcs]).reshape(-1, 2)
        self._cy, self._cr = centre[:, 0], centre[:, 1]
        self._radius = np.array([e.radius_mm for _, e in arcs])
        half = np.array([abs(e.sweep_rad) / 2 for _, e in arcs])
        middle = np.array([e.start_rad + e.sweep_rad / 2 for _, e in arcs])
        self._my, self._mr = np.cos(middle), np.sin(middle)
        self._half_cos = np.cos(half)
        self._bulge = np.array([1.0 if e.ccw else -1.0 for _, e in arcs])
        # the end met first when turning anticlockwise from the middle, and the other
        self._left = np.array([e.end if e.ccw else e.start for _, e in arcs]).reshape(-1, 2)
        self._right = np.array([e.start if e.ccw else e.end for _, e in arcs]).reshape(-1, 2)
        turns = [corner[i] if e.ccw else corner[i][::-1] for i, e in arcs]
        self._arc_turn = np.array(turns).reshape(-1, 2)

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
        rows = np.arange(len(y))
        # lines: the foot of the perpendicular, kept between the ends
        ly, lr = y[:, None] - self._y0, r[:, None] - self._r0
        along = ly * self._dy + lr * self._dr
        kept = np.clip(along, 0.0, self._length)
        beyond = along - kept
        off = ly * self._dr - lr * self._dy  # positive on the right of the line, which is outside
        line_square = beyond * beyond + off * off
        # arcs: along the ray from the centre where the arc spans it, else the end on that side
        vy, vr = y[:, None] - self._cy, r[:, None] - self._cr
        reach = np.sqrt(vy * vy + vr * vr)
        spanned = vy * self._my + vr * self._mr >= reach * self._half_cos
        leftward = self._my * vr - self._mr * vy >= 0.0
        ey = np.where(leftward, self._left[:, 0], self._right[:, 0])
        er = np.where(leftward, self._left[:, 1], self._right[:, 1])
        ty, tr = y[:, None] - ey, r[:, None] - er
        arc_square = np.where(spanned, (reach - self._radius) ** 2, ty * ty + tr * tr)

        square = np.concatenate([line_square, arc_square], axis=1)
        best = np.argmin(square, axis=1)
        size = np.sqrt(square[rows, best])
        sign = np.empty(len(y))
        across, away = np.empty(len(y)), np.empty(len(y))
        on_line = best < self._lines
        if on_line.any():
            i, j = rows[on_line], best[on_line]
            past = beyond[i, j]
            side = off[i, j]
            turn = np.where(past > 0, self._line_turn[j, 1], np.where(past < 0, self._line_turn[j, 0], 0.0))
            sign[i] = np.where(turn != 0.0, turn, np.where(side >= 0, 1.0, -1.0))
            # foot to point, turned outward by the sign; on the surface itself, the normal
            across[i] = sign[i] * (past * self._dy[j] + side * self._dr[j])
            away[i] = sign[i] * (past * self._dr[j] - side * self._dy[j])
            flush = size[i] < _ON_MM
            across[i] = np.where(flush, self._dr[j], across[i])
            away[i] = np.where(flush, -self._dy[j], away[i])
        if not on_line.all():
            i, j = rows[~on_line], best[~on_line] - self._lines
            ray = spanned[i, j]
            out = reach[i, j]
            bulge = self._bulge[j]
            turn = np.where(ray, 0.0, np.where(leftward[i, j], self._arc_turn[j, 1], self._arc_turn[j, 0]))
            side = bulge * np.where(out >= self._radius[j], 1.0, -1.0)
            sign[i] = np.where(turn != 0.0, turn, side)
            ray_y, ray_r = vy[i, j], vr[i, j]
            safe = np.maximum(out, 1e-300)
            centred = out < _ON_MM
            unit_y = np.where(centred, self._my[j], ray_y / safe)
            unit_r = np.where(centred, self._mr[j], ray_r / safe)
            use_ray = ray | (size[i] < _ON_MM)
            across[i] = np.where(use_ray, bulge * unit_y, sign[i] * ty[i, j])
            away[i] = np.where(use_ray, bulge * unit_r, sign[i] * tr[i, j])
        norm = np.maximum(np.hypot(across, away), 1e-300)
        return Near(distance=sign * size, across=across / norm, away=away / norm, element=self._which[best])


def _corners(profile: Profile, surfaces: tuple[Element, ...]) -> list[tuple[float, float]]:
    """For each surface: is its start, and its end, a convex corner (+1), a reflex one (-1), or smooth (0)?"""
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
