"""The least distance of many points over all settings, for pictures.

This colours a scan. Distances are measured with the exact distance at real settings, so they are never
less than the truth; nothing here certifies anything: `bracket` does that.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from contextlib import nullcontext

import numpy as np

from clearance.geom.limit import Limit
from clearance.geom.path import Path
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid

Ints = np.ndarray
_THREADS = 2
_SLICE = 40_000
_AT_ONCE = 16_000
"""Points x settings that are asked together."""
_GROUP = 32
"""Neighbouring points that share the settings they try first."""
_NEIGHBOUR_MM = 60.0
"""Further from the middle of its group than this, a point is no neighbour."""
_NEIGHBOURS = 16
"""Neighbouring points that one of them tells which settings are worth a try."""
_ALONE = 2_000
"""Points whose every setting is tried together."""
_ROUNDING_MM = 1e-6


def least_over_path(
    points: Array,
    path: Path,
    solid: Solid,
    *,
    share: Array | None = None,
    limits: tuple[Limit, ...] = (),
    step_mm: float = 40.0,
    progress: Callable[[int, int], None] | None = None,
) -> Array:
    """The least distance (n,) from points (n, 3) to the solid over all settings of the path.

    Settings are tried on a grid, first for groups of neighbours and at the ends of every number, then about the best
    for every point, then at the bottom of a parabola through what was found. `share` (n,) is of the far move.
    """
    grid = _Grid(path, step_mm, limits)
    order = _neighbourly(points)
    least = np.empty(len(points))
    slices = [order[at : at + _SLICE] for at in range(0, len(points), _SLICE)]

    def work(rows: Ints) -> None:
        least[rows] = grid.least(points[rows], None if share is None else share[rows], solid)

    with ThreadPoolExecutor(_THREADS) if len(slices) > 1 else nullcontext() as pool:
        for done, _ in enumerate(map(work, slices) if pool is None else pool.map(work, slices), start=1):
            if progress is not None:
                progress(done, len(slices))
    return least


class _Grid:
    """A grid of settings with the hub at each, and how to step from one to its neighbours."""

    def __init__(self, path: Path, step_mm: float, limits: tuple[Limit, ...]) -> None:
        self.path, self.limits = path, limits
        smooth = len(path.sizes)
        counts = []
        for i in range(path.numbers):
            if i >= smooth:
                counts.append(2)
                continue
            line = np.repeat(path.box.mean(axis=1)[None], 9, axis=0)
            line[:, i] = np.linspace(path.box[i, 0], path.box[i, 1], 9)
            centre, axis = path.at(line)
            length = np.linalg.norm(np.diff(centre, axis=0), axis=1).sum()
            length += 350.0 * np.linalg.norm(np.diff(axis, axis=0), axis=1).sum()
            counts.append(int(np.clip(np.ceil(length / step_mm) + 1, 3, 15)))
        self.counts = np.array(counts, dtype=np.intp)
        lines = [np.linspace(path.box[i, 0], path.box[i, 1], counts[i]) for i in range(path.numbers)]
        mesh = np.meshgrid(*lines, indexing="ij")
        self.settings = np.array(mesh).reshape(path.numbers, -1).T if path.numbers else np.zeros((1, 0))
        self.strides = np.array([int(np.prod(self.counts[i + 1 :])) for i in range(path.numbers)], dtype=np.intp)
        self.centre, self.axis = path.at(self.settings)
        self.far = path.far_at(self.settings)
        self.step = np.array([line[1] - line[0] for line in lines])
        # every setting of travel and steering, with play at its middle: where to begin from
        self.first = np.arange(0, len(self.settings), int(np.prod(self.counts[smooth:])))
        middle = self.settings[self.first].copy()
        middle[:, smooth:] = path.box[smooth:].mean(axis=1)
        self.middle_centre, self.middle_axis = path.at(middle)
        self.middle_far = path.far_at(middle)
        self.slides = [self.centre[self.first + stride] - self.centre[self.first] for stride in self.strides[smooth:]]
        self.allowed = self._allowed(self.settings)

    def least(self, points: Array, share: Array | None, solid: Solid) -> Array:
        """(n,) for points that lie in the order of neighbours."""
        start, best = self._start(points, share, solid)
        at = start
        below = [np.empty(len(points)) for _ in range(self.path.numbers)]
        above = [np.empty(len(points)) for _ in range(self.path.numbers)]
        # downhill along every number until nothing is lower, with the neighbours' heights kept for a parabola
        rows = np.arange(len(points))
        for _ in range(4):
            stayed = at[rows].copy()
            for i in range(self.path.numbers):
                here, some = at[rows], None if share is None else share[rows]
                place = here // self.strides[i] % self.counts[i]
                down = np.where(place > 0, here - self.strides[i], here)
                up = np.where(place < self.counts[i] - 1, here + self.strides[i], here)
                below[i][rows] = self.distance(points[rows], some, down, solid)
                above[i][rows] = self.distance(points[rows], some, up, solid)
                height = np.minimum(below[i][rows], above[i][rows])
                better = height < best[rows] - 1e-9
                at[rows] = np.where(better, np.where(below[i][rows] < above[i][rows], down, up), here)
                best[rows] = np.minimum(best[rows], height)
            rows = rows[at[rows] != stayed]
            if not len(rows):
                break
        return self._bottom(points, share, at, best, below, above, solid)

    def _bottom(
        self,
        points: Array,
        share: Array | None,
        at: Ints,
        best: Array,
        below: list[Array],
        above: list[Array],
        solid: Solid,
    ) -> Array:
        """Try the bottom of the parabola through each point's neighbours, along all numbers at once."""
        if not self.path.numbers or not len(at):
            return best
        settings = self.settings[at].copy()
        for i in range(len(self.path.sizes)):
            bend = below[i] + above[i] - 2 * best
            bend = np.where(np.isfinite(bend), bend, 0.0)
            offset = np.where(
                bend > 1e-9, 0.5 * (_finite(below[i]) - _finite(above[i])) / np.where(bend > 1e-9, bend, 1.0), 0.0
            )
            settings[:, i] += np.clip(offset, -1.0, 1.0) * self.step[i]
        settings = np.clip(settings, self.path.box[:, 0], self.path.box[:, 1])
        centre, axis = self.path.at(settings)
        far = None if share is None else self.path.far_at(settings)
        there = _distance(points, share, centre, axis, far, solid)
        return np.minimum(best, np.where(self._allowed(settings), there, np.inf))

    def _start(self, points: Array, share: Array | None, solid: Solid) -> tuple[Ints, Array]:
        """Where each point begins, and its distance there: at the best grid setting of its group's middle point, or at
        the end of a travel where that is nearer.

        Between two ends there may be a place that is further from the wheel than both: of two neighbours each may go
        down another side of it.
        """
        size = min(_GROUP, max(1, len(points) // 400))
        middle = np.minimum(np.arange(0, len(points), size) + size // 2, len(points) - 1)
        group = np.arange(len(points)) // size
        middles, shares = points[middle], None if share is None else share[middle]
        first = self._best(middles, shares, solid)
        start = first[group]
        # the curve that the points are sorted along jumps: who stands far from the middle is asked alone
        off = points - middles[group]
        alone = np.flatnonzero(np.abs(off).max(axis=1) > _NEIGHBOUR_MM)
        if len(alone):
            start[alone] = self._best(points[alone], None if share is None else share[alone], solid)
        best = self.distance(points, share, start, solid)
        # at one setting two places that go the same way are no further apart in distance than in space
        apart = np.sqrt(np.einsum("ij,ij->i", off, off))
        begun, unlike = start.copy(), (start != first[group]) | (share is not None)
        for ends in itertools.product(*((0, count - 1) for count in self.counts[: len(self.path.sizes)])):
            there = self.distance(middles, shares, self._at_ends(first, ends), solid)
            near = np.flatnonzero((there[group] - apart < best + _ROUNDING_MM) | unlike)
            at, some = self._at_ends(begun[near], ends), None if share is None else share[near]
            found = self.distance(points[near], some, at, solid)
            nearer = found < best[near]
            start[near[nearer]], best[near[nearer]] = at[nearer], found[nearer]
        return start, best

    def _at_ends(self, at: Ints, ends: tuple[int, ...]) -> Ints:
        """The same settings (n,) with every travel at one of its ends."""
        for i, end in enumerate(ends):
            at = at + (end - at // self.strides[i] % self.counts[i]) * self.strides[i]
        return at

    def _best(self, points: Array, share: Array | None, solid: Solid) -> Ints:
        """The best grid setting of each point, every one of travel and steering tried with about what play gains."""
        start = np.empty(len(points), dtype=np.intp)
        for at in range(0, len(points), _ALONE):
            some = slice(at, at + _ALONE)
            start[some] = self.first[self._first_best(points[some], None if share is None else share[some], solid)]
        count = len(self.first)
        if len(self.settings) == count:
            return start
        plays = np.stack([start + i for i in range(len(self.settings) // count)])
        heights = [self.distance(points, share, at, solid) for at in plays]
        taken: Ints = plays[np.argmin(heights, axis=0), np.arange(len(points))]
        return taken

    def _first_best(self, points: Array, share: Array | None, solid: Solid) -> Ints:
        """The same among the settings with play at its middle; of several as near, the first."""
        worth = self._worth(points, solid) if share is None else np.ones((len(points), len(self.first)), dtype=bool)
        rows, at = worth.nonzero()
        found = np.empty(len(rows))
        for first in range(0, len(rows), _AT_ONCE):
            some = slice(first, first + _AT_ONCE)
            own = None if share is None else share[rows[some]]
            found[some] = self._with_play(points[rows[some]], own, at[some], solid)
        found[~self.allowed[self.first[at]]] = np.inf
        each = worth.sum(axis=1)
        least = np.minimum.reduceat(found, np.cumsum(each) - each)
        lowest = np.flatnonzero(found == np.repeat(least, each))[::-1]
        best = np.empty(len(points), dtype=np.intp)
        best[rows[lowest]] = at[lowest]
        return best

    def _worth(self, points: Array, solid: Solid) -> np.ndarray:
        """(n, settings): which settings can be the best for each point, by what the middle of its neighbours says.

        At one setting two places are no further apart in distance than in space, and play gains no more than its half.
        """
        group = np.arange(len(points)) // _NEIGHBOURS
        middles = points[np.minimum(np.arange(0, len(points), _NEIGHBOURS) + _NEIGHBOURS // 2, len(points) - 1)]
        rows, at = np.indices((len(middles), len(self.first))).reshape(2, -1)
        centre, axis = self.middle_centre.take(at, axis=0), self.middle_axis.take(at, axis=0)
        there = _distance(middles[rows], None, centre, axis, None, solid)
        there = np.where(self.allowed[self.first[at]], there, np.inf).reshape(len(middles), -1)
        apart = np.linalg.norm(points - middles[group], axis=1)[:, None]
        gained = sum((np.linalg.norm(slide, axis=1) for slide in self.slides), start=np.zeros(len(self.first))) / 2.0
        least = there.min(axis=1)[group][:, None]
        worth: np.ndarray = (there - gained)[group] - apart <= least + apart + _ROUNDING_MM
        return worth

    def _with_play(self, points: Array, share: Array | None, at: Ints, solid: Solid) -> Array:
        """(n,): about how near the solid comes at settings of travel and steering (n,), all of its play used."""
        centre, axis = self.middle_centre.take(at, axis=0), self.middle_axis.take(at, axis=0)
        offset = _offset(points, share, centre, None if share is None else self.middle_far[at])
        along = np.einsum("ij,ij->i", offset, axis)
        out = offset - along[:, None] * axis
        radial = np.sqrt(np.einsum("ij,ij->i", out, out))
        if not self.slides:
            return solid.chain.distance(along, radial)
        near = solid.chain.near(along, radial)
        found = near.distance
        normal = near.across[:, None] * axis + (near.away / np.maximum(radial, 1e-12))[:, None] * out
        for slide in self.slides:
            found = found - np.abs(np.einsum("ij,ij->i", normal, slide[at])) / 2.0
        return found

    def distance(self, points: Array, share: Array | None, at: Ints, solid: Solid) -> Array:
        """(n,) at grid settings (n,); infinite where a limit forbids the setting."""
        far = None if share is None else self.far[at]
        distance = _distance(points, share, self.centre.take(at, axis=0), self.axis.take(at, axis=0), far, solid)
        return distance if self.allowed.all() else np.where(self.allowed[at], distance, np.inf)

    def _allowed(self, settings: Array) -> np.ndarray:
        """Which settings (n, k) no limit forbids."""
        allowed = np.ones(len(settings), dtype=bool)
        for limit in self.limits:
            allowed &= limit.allows(settings)
        return allowed


def _finite(heights: Array) -> Array:
    return np.where(np.isfinite(heights), heights, 0.0)


def _distance(points: Array, share: Array | None, centre: Array, axis: Array, far: Array | None, solid: Solid) -> Array:
    offset = _offset(points, share, centre, far)
    along = np.einsum("ij,ij->i", offset, axis)
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
    return solid.chain.distance(along, radial)


def _offset(points: Array, share: Array | None, centre: Array, far: Array | None) -> Array:
    offset = points - centre
    return offset if share is None or far is None else offset + share[:, None] * far


def _neighbourly(points: Array) -> Ints:
    """An order in which neighbours stand together: Morton's curve, 64 cells to an axis."""
    low, high = points.min(axis=0), points.max(axis=0)
    cell = ((points - low) * (63.999 / np.maximum(high - low, 1e-9))).astype(np.int64)
    code = np.zeros(len(points), dtype=np.int64)
    for bit in range(6):
        for axis in range(3):
            code |= ((cell[:, axis] >> bit) & 1) << (3 * bit + axis)
    return np.argsort(code, kind="stable")
