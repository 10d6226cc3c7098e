"""At which setting does a moving solid come nearest to a point?

A whole cycle is searched from settings spread over it, `stations`; from a setting that is nearly right, Newton's method
finds the least distance close by, to a few thousandths of a millimetre.

* smooth numbers - those that travel and steer; Newton's method is for them. Its second derivatives are differences of
                   first ones, which are exact
* play           - the last two numbers of a setting, where there are any. They only slide the solid, so they are taken
                   up towards the point at once, wherever the rest stands

A distance found here is that of a real setting, so never less than the least. That nothing lower exists is for
`bracket` to show. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.limit import Limit, kept_within
from clearance.geom.path import Path
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid

STATION_MM = 20.0
"""How far the solid moves from one station to the next."""
MOST_STATIONS = 800
_ROUNDS = 6
_GAIN_MM = 0.005
"""A step that promises less than this is not taken."""
_DIFFERENCE = 0.02
"""Step of a difference, over that from station to station."""
_PAIRS = 200_000
"""Points times stations worked on at once."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Found:
    """For n points, the setting at which the solid comes nearest."""

    distance: Array
    """(n,) signed."""
    normal: Array
    """(n, 3): the direction in which the distance grows."""
    settings: Array
    """(n, k)"""

    def take(self, rows: np.ndarray) -> Found:
        """These rows alone."""
        return Found(distance=self.distance[rows], normal=self.normal[rows], settings=self.settings[rows])

    def put(self, rows: np.ndarray, other: Found) -> None:
        """Another's rows in place of these."""
        self.distance[rows], self.normal[rows], self.settings[rows] = other.distance, other.normal, other.settings


class Nearest:
    """A solid on its path, ready to be asked; its stations are about `apart_mm` of movement apart."""

    def __init__(
        self, path: Path, solid: Solid, limits: tuple[Limit, ...] = (), *, apart_mm: float = STATION_MM
    ) -> None:
        self.path, self.solid, self.limits = path, solid, limits
        self.smooth = len(path.sizes)
        self.travel_mm = _travel_mm(path, solid.reach_mm)
        self.stations = self._spread(apart_mm)
        self.centre, self.axis = path.at(self.stations)
        width = path.box[:, 1] - path.box[:, 0]
        self.step: Array = width / (1 + np.floor(self.travel_mm / apart_mm))

    def _spread(self, apart_mm: float) -> Array:
        """Settings (m, k) over the cycle, its corners included, with play at its middle."""
        box = self.path.box
        while True:
            counts = [
                1 if low == high else 2 + int(t / apart_mm) for (low, high), t in zip(box, self.travel_mm, strict=True)
            ]
            counts[self.smooth :] = [1] * (len(counts) - self.smooth)
            if np.prod(counts) <= MOST_STATIONS or apart_mm > 1e6:
                break
            apart_mm *= 1.15
        lines = [
            np.linspace(low, high, count) if count > 1 else np.array([(low + high) / 2])
            for (low, high), count in zip(box, counts, strict=True)
        ]
        grid = np.array(np.meshgrid(*lines, indexing="ij")).reshape(len(lines), -1).T if lines else np.zeros((1, 0))
        for limit in self.limits:
            grid = grid[limit.allows(grid)]
        return np.ascontiguousarray(grid)

    def distance(self, points: Array, settings: Array) -> Array:
        """Signed distance (n,) from points (n, 3) to the solid at settings (n, k), row by row; exact."""
        return self.seen(points, *self.path.at(settings))[0]

    def among_stations(self, points: Array) -> Array:
        """(n, k): of all stations, the one that comes nearest to each point with its play at the middle."""
        best = np.full(len(points), np.inf)
        which = np.zeros(len(points), dtype=np.intp)
        count = max(1, _PAIRS // len(points))
        square = np.einsum("ij,ij->i", points, points)
        for at in range(0, len(self.stations), count):
            centre, axis = self.centre[at : at + count], self.axis[at : at + count]
            along = points @ axis.T - np.einsum("ij,ij->i", centre, axis)
            apart = square[:, None] - 2.0 * points @ centre.T + np.einsum("ij,ij->i", centre, centre)
            away = np.sqrt(np.maximum(apart - along**2, 0.0))
            distance = self.solid.chain.distance(along.ravel(), away.ravel()).reshape(along.shape)
            nearest = np.argmin(distance, axis=1)
            least = distance[np.arange(len(points)), nearest]
            which = np.where(least < best, at + nearest, which)
            best = np.minimum(best, least)
        return self.stations[which].copy()

    def look(self, points: Array, settings: Array) -> Found:
        """The distance at settings, with play taken up."""
        found, _ = self._look(points, settings)
        return found

    def settle(self, points: Array, settings: Array) -> Found:
        """The least distance of points (n, 3) that can be reached downhill from settings (n, k)."""
        found, slope = self._look(points, settings)
        if not self.smooth:
            return found
        step = self.step[: self.smooth]
        rows = np.arange(len(points))
        trust = np.ones(len(points))
        for _ in range(_ROUNDS):
            moved, gain = self._newton(points[rows], found.settings[rows], slope[rows] * step)
            size = np.abs(moved).max(axis=1)
            shorter = np.minimum(1.0, trust[rows] / np.maximum(size, 1e-12))
            worth = gain * shorter > _GAIN_MM
            if not worth.any():
                break
            rows, size, shorter = rows[worth], size[worth], shorter[worth]
            tried = found.settings[rows].copy()
            tried[:, : self.smooth] += moved[worth] * shorter[:, None] * step
            tried = kept_within(tried, self.path.box, self.limits)
            there, slope_there = self._look(points[rows], tried)
            better = there.distance < found.distance[rows]
            own = rows[better]
            found.distance[own], found.normal[own] = there.distance[better], there.normal[better]
            found.settings[own], slope[own] = there.settings[better], slope_there[better]
            trust[rows] = np.where(
                better, np.minimum(2.0 * trust[rows], 2.0), 0.25 * np.minimum(trust[rows], size * shorter)
            )
        return found

    def _newton(self, points: Array, settings: Array, slope: Array) -> tuple[Array, Array]:
        """A step (n, smooth) towards less distance, and what it promises to gain (n,); in units of the station's step.

        Numbers at an end of their range that want beyond it stay.
        """
        smooth, step = self.smooth, self.step[: self.smooth]
        low, high = self.path.box[:smooth].T
        by = np.where(settings[:, :smooth] + _DIFFERENCE * step <= high, _DIFFERENCE, -_DIFFERENCE)
        # all numbers at once, each a little ahead in rows of its own
        ahead = np.repeat(settings[None], smooth, axis=0)
        for i in range(smooth):
            ahead[i, :, i] += by[:, i] * step[i]
        slopes = self._slope(np.tile(points, (smooth, 1)), ahead.reshape(-1, settings.shape[1]))
        slopes = slopes.reshape(smooth, len(points), smooth) * step
        bend = np.moveaxis((slopes - slope) / by.T[:, :, None], 0, 2)
        bend = (bend + np.swapaxes(bend, 1, 2)) / 2
        held = ((settings[:, :smooth] <= low + 1e-9) & (slope > 0)) | (
            (settings[:, :smooth] >= high - 1e-9) & (slope < 0)
        )
        slope = np.where(held, 0.0, slope)
        free = ~held
        bend = bend * free[:, :, None] * free[:, None, :] + np.eye(smooth) * held[:, :, None]
        for limit in self.limits:
            slope, bend = self._along_limit(limit, settings, slope, bend)
        size, turn = np.linalg.eigh(bend)
        inward = np.einsum("nji,nj->ni", turn, slope) / np.maximum(np.abs(size), 1e-3)
        moved = -np.einsum("nij,nj->ni", turn, inward)
        return moved, -0.5 * np.einsum("ij,ij->i", slope, moved)

    def _along_limit(self, limit: Limit, settings: Array, slope: Array, bend: Array) -> tuple[Array, Array]:
        """Where two numbers are as far apart as they may be and want further, they only move together."""
        i, j = limit.one, limit.other
        apart = settings[:, i] - settings[:, j]
        wants = -np.sign(apart) * (slope[:, i] / self.step[i] - slope[:, j] / self.step[j])
        rows = np.flatnonzero((np.abs(apart) >= limit.most - 1e-9) & (wants > 0))
        if not len(rows):
            return slope, bend
        together = np.zeros(self.smooth)
        together[i], together[j] = 1.0 / self.step[i], 1.0 / self.step[j]
        keep = np.eye(self.smooth)
        keep[i, i] = keep[j, j] = 0.0
        keep += np.outer(together, together) / (together @ together)
        slope, bend = slope.copy(), bend.copy()
        slope[rows] = slope[rows] @ keep
        bend[rows] = keep @ bend[rows] @ keep + (np.eye(self.smooth) - keep)
        return slope, bend

    def _look(self, points: Array, settings: Array) -> tuple[Found, Array]:
        """The distance with play taken up, and how it changes with each smooth number (n, smooth)."""
        rates = self.path.rates(settings)
        settings = np.array(settings)
        centre = rates.centre
        distance, normal, across, along = self._taken_up(points, settings, centre, rates.axis, rates.centre_by)
        offset = points - centre
        lever = across[:, None] * offset - along[:, None] * normal
        slope = np.einsum("nki,ni->nk", rates.axis_by, lever) - np.einsum("nki,ni->nk", rates.centre_by, normal)
        return Found(distance=distance, normal=normal, settings=settings), slope[:, : self.smooth]

    def distances_at(self, points: Array, settings: Array) -> Array:
        """(m, n): the distance of points (n, 3) at settings (m, k), their play as it is."""
        count = len(points)
        centre, axis = self.path.at(settings)
        rows = np.repeat(np.arange(len(settings)), count)
        return self.seen(np.tile(points, (len(settings), 1)), centre[rows], axis[rows])[0].reshape(-1, count)

    def any_nearer(self, points: Array, settings: Array, level_mm: float) -> np.ndarray:
        """(m,): is some of points (n, 3) nearer than a level at settings (m, k), each with play taken up?"""
        distance = self.distances_at(points, settings)
        nearer: np.ndarray = np.any(distance < level_mm, axis=1)
        if self.path.slide is None:
            return nearer
        rates = self.path.rates(settings)
        # play brings no place nearer than it can slide the disc
        low, high = self.path.box[-2:].T
        room = np.maximum(high - settings[:, -2:], settings[:, -2:] - low)
        far = np.einsum("nk,nk->n", np.linalg.norm(rates.centre_by[:, self.smooth :], axis=2), room)
        row, point = np.nonzero((distance < level_mm + far[:, None]) & ~nearer[:, None])
        if len(row):
            own, centre = np.array(settings[row]), rates.centre[row]
            taken = self._taken_up(points[point], own, centre, rates.axis[row], rates.centre_by[row])[0]
            nearer[row[taken < level_mm]] = True
        return nearer

    def nearest_at(self, points: Array, setting: Array) -> int:
        """Which of points (n, 3) is nearest at a setting (k,), with play taken up."""
        return int(np.argmin(self.look(points, np.repeat(setting[None], len(points), axis=0)).distance))

    def _taken_up(
        self, points: Array, settings: Array, centre: Array, axis: Array, centre_by: Array
    ) -> tuple[Array, Array, Array, Array]:
        """What is `seen` of points once play is taken up towards them, in place in settings and centres."""
        distance, normal, across, along = self.seen(points, centre, axis)
        if self.path.slide is not None:
            way = centre_by[:, self.smooth :]
            for _ in range(2):
                if not self._take_up(points, settings, centre, axis, way, (distance, normal, across, along)):
                    break
        return distance, normal, across, along

    def _take_up(
        self,
        points: Array,
        settings: Array,
        centre: Array,
        axis: Array,
        way: Array,
        seen: tuple[Array, Array, Array, Array],
    ) -> bool:
        """Slide the hub towards points within its play, in place; was there anything to gain? `way` is (n, 2, 3)."""
        distance, normal = seen[:2]
        low, high = self.path.box[-2:].T
        by = np.where(np.einsum("nki,ni->nk", way, normal) > 0, high, low) - settings[:, -2:]
        rows = np.flatnonzero(np.abs(by).max(axis=1) > 1e-9)
        if not len(rows):
            return False
        by, way = by[rows], way[rows]
        start = centre[rows]
        new = list(self.seen(points[rows], start + np.einsum("nk,nki->ni", by, way), axis[rows]))
        # where the normal turns on the way, the least lies between
        before = np.einsum("nki,ni->nk", way, normal[rows])
        after = np.einsum("nki,ni->nk", way, new[1])
        turned = (before * after < 0) & (np.abs(by) > 1e-9)
        between = np.flatnonzero(turned.any(axis=1))
        if len(between):
            share = np.where(turned, before / np.where(turned, before - after, 1.0), 1.0)[between]
            short = by[between] * share
            part = start[between] + np.einsum("nk,nki->ni", short, way[between])
            there = self.seen(points[rows[between]], part, axis[rows[between]])
            nearer = there[0] < new[0][between]
            by[between[nearer]] = short[nearer]
            for one, other in zip(new, there, strict=True):
                one[between[nearer]] = other[nearer]
        better = new[0] < distance[rows]
        own = rows[better]
        settings[own, -2:] += by[better]
        centre[own] = start[better] + np.einsum("nk,nki->ni", by[better], way[better])
        for one, other in zip(seen, new, strict=True):
            one[own] = other[better]
        return bool(len(own))

    def _slope(self, points: Array, settings: Array) -> Array:
        rates = self.path.rates(settings)
        _, normal, across, along = self.seen(points, rates.centre, rates.axis)
        lever = across[:, None] * (points - rates.centre) - along[:, None] * normal
        slope: Array = np.einsum("nki,ni->nk", rates.axis_by, lever) - np.einsum("nki,ni->nk", rates.centre_by, normal)
        return slope[:, : self.smooth]

    def seen(self, points: Array, centre: Array, axis: Array) -> tuple[Array, Array, Array, Array]:
        """Distance (n,), its gradient (n, 3), the gradient's part along the axis (n,), and the place along it (n,)."""
        offset = points - centre
        along = np.einsum("ij,ij->i", offset, axis)
        off = offset - along[:, None] * axis
        away = np.sqrt(np.einsum("ij,ij->i", off, off))
        near = self.solid.chain.near(along, away)
        out = off / np.maximum(away, 1e-12)[:, None]
        return near.distance, near.across[:, None] * axis + near.away[:, None] * out, near.across, along


def _travel_mm(path: Path, reach_mm: float) -> Array:
    """(k,): about how far the furthest point of the solid moves over the range of each number."""
    middle = path.rates(path.box.mean(axis=1)[None])
    width = path.box[:, 1] - path.box[:, 0]
    speed = np.linalg.norm(middle.centre_by[0], axis=1) + reach_mm * np.linalg.norm(middle.axis_by[0], axis=1)
    travel: Array = speed * width
    return travel
