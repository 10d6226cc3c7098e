"""What the shape of a part is made of: sheets between two edges, each with its own two numbers from 0 to 1.

* flat  - four corners a, b, c, d: from the edge a b to the edge d c. A triangle has d at a; a piece of a bar's middle
          line has c at b and d at a; all that is ever asked of a flat sheet is a plane one
* ruled - from one curve to another, as a rolled crown or the flange of an arch is
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from .moving import Array

Curve = Callable[[Array], Array]
"""Numbers (n,) from 0 to 1 to points (n, 3)."""

_SLIGHT = 1e-6

Place = Callable[[np.ndarray, Array, Array], Array]
"""Sheets and two numbers of each (n,) to where those points are (n, 3)."""


@dataclass(frozen=True, slots=True, eq=False)
class Ruled:
    """A sheet of straight lines from one curve to another."""

    low: Curve
    high: Curve


@dataclass(slots=True, eq=False)
class Surface:
    """The sheets of one part."""

    flats: Array = field(default_factory=lambda: np.zeros((0, 4, 3)))
    """(k, 4, 3)."""
    ruled: list[Ruled] = field(default_factory=list)
    shares: Array | None = None
    """(k, 2): of a bar between two frames, how far along it each piece starts and ends, from 0 to 1."""

    @property
    def count(self) -> int:
        """How many sheets."""
        return len(self.flats) + len(self.ruled)

    def points(self, sheet: np.ndarray, u: Array, v: Array) -> Array:
        """(n, 3): the points of these sheets with these numbers."""
        found = np.empty((len(sheet), 3))
        flat = sheet < len(self.flats)
        a, b, c, d = np.moveaxis(self.flats[sheet[flat]], 1, 0)
        x, y = u[flat, None], v[flat, None]
        found[flat] = (1.0 - y) * ((1.0 - x) * a + x * b) + y * ((1.0 - x) * d + x * c)
        for i, ruled in enumerate(self.ruled, start=len(self.flats)):
            here = sheet == i
            if here.any():
                found[here] = (1.0 - v[here, None]) * ruled.low(u[here]) + v[here, None] * ruled.high(u[here])
        return found

    def slopes(self, sheet: np.ndarray, u: Array, v: Array) -> tuple[Array, Array]:
        """(n, 3) twice: how the points change with each of the two numbers."""
        du, dv = (np.where(n > 0.5, -_SLIGHT, _SLIGHT) for n in (u, v))
        here = self.points(sheet, u, v)
        return (
            (self.points(sheet, u + du, v) - here) / du[:, None],
            (self.points(sheet, u, v + dv) - here) / dv[:, None],
        )

    def shares_of(self, sheet: np.ndarray, u: Array) -> Array:
        """(n,): how far along the bar, where it is one between two frames."""
        if self.shares is None:
            return np.zeros(len(sheet))
        start, end = self.shares[sheet].T
        return start + u * (end - start)

    def scattered(self, rng: np.random.Generator, count: int) -> tuple[np.ndarray, Array, Array]:
        """Points all over the sheets, on every one of them, edges and corners often: sheet and two numbers of each."""
        more = rng.choice(self.count, size=max(0, count - self.count), p=self._weights())
        sheet = np.concatenate([np.arange(self.count), more])
        return sheet, _with_ends(rng, len(sheet)), _with_ends(rng, len(sheet))

    def _weights(self) -> Array:
        """Larger sheets more often."""
        every = np.arange(self.count)
        half = np.full(self.count, 0.5)
        along, across = self.slopes(every, half, half)
        size = np.linalg.norm(along, axis=1) * (30.0 + np.linalg.norm(across, axis=1)) + 1.0
        weights: Array = size / size.sum()
        return weights

    def nearest(self, point: Array, place: Place) -> tuple[float, int, float, float]:
        """How far a point (3,) is from the sheets, where `place` says where each of their points is; and the nearest
        sheet and its numbers. What is straight stays straight where it is placed."""
        found = [_nearest_ruled(point, place, i) for i in range(len(self.flats), self.count)]
        if len(self.flats):
            every = np.arange(len(self.flats))
            none, one = np.zeros(len(every)), np.ones(len(every))
            a, b, c, d = (place(every, u, v) for u, v in ((none, none), (one, none), (one, one), (none, one)))
            halves = [nearest_of_triangles(point, a, b, c), nearest_of_triangles(point, a, c, d)]
            for weights, corners in zip(halves, ((a, b, c), (a, c, d)), strict=True):
                at = sum(weights[:, i, None] * corner for i, corner in enumerate(corners))
                apart = np.linalg.norm(at - point, axis=1)
                k = int(np.argmin(apart))
                second, third = weights[k, 1], weights[k, 2]
                # of the first half the corners are (0, 0), (1, 0), (1, 1), and of the second (0, 0), (1, 1), (0, 1)
                u = second + third if corners[1] is b else second
                v = third if corners[1] is b else second + third
                if np.allclose(a[k], d[k]):
                    u, v = second + third, third / max(second + third, 1e-12)
                found.append((float(apart[k]), k, float(u), float(v)))
        return min(found)


def nearest_of_triangles(point: Array, a: Array, b: Array, c: Array) -> Array:
    """(n, 3): the weights of the corners of triangles (n, 3) at their points nearest to a point; of any shape."""
    rows = np.arange(len(a))
    weights, apart = np.zeros((len(a), 3)), np.full(len(a), np.inf)
    u, v, w = b - a, c - a, point - a
    uu, uv, vv = (np.sum(x * y, axis=1) for x, y in ((u, u), (u, v), (v, v)))
    wu, wv = np.sum(w * u, axis=1), np.sum(w * v, axis=1)
    area = uu * vv - uv * uv
    flat = area > 1e-12 * uu * vv
    second = np.where(flat, (vv * wu - uv * wv) / np.where(flat, area, 1.0), -1.0)
    third = np.where(flat, (uu * wv - uv * wu) / np.where(flat, area, 1.0), -1.0)
    tries = [(np.stack([1.0 - second - third, second, third], axis=1), flat)]
    for i, (start, end) in enumerate(((a, b), (b, c), (c, a))):
        along = end - start
        way = np.sum((point - start) * along, axis=1) / np.maximum(np.sum(along * along, axis=1), 1e-300)
        edge = np.zeros((len(a), 3))
        edge[rows, i], edge[rows, (i + 1) % 3] = 1.0 - np.clip(way, 0.0, 1.0), np.clip(way, 0.0, 1.0)
        tries.append((edge, np.ones(len(a), dtype=bool)))
    for tried, counts in tries:
        at = tried[:, :1] * a + tried[:, 1:2] * b + tried[:, 2:] * c
        far = np.where(counts & (tried.min(axis=1) >= 0.0), np.linalg.norm(at - point, axis=1), np.inf)
        nearer = far < apart
        weights[nearer], apart = tried[nearer], np.minimum(far, apart)
    return weights


def _nearest_ruled(point: Array, place: Place, number: int) -> tuple[float, int, float, float]:
    """By the straight line at every step along the sheet, then at finer steps about the best."""
    u, best = np.linspace(0.0, 1.0, 401), (np.inf, number, 0.0, 0.0)
    step = u[1]
    for _ in range(30):
        sheet = np.full(len(u), number)
        low, high = place(sheet, u, np.zeros(len(u))), place(sheet, u, np.ones(len(u)))
        along = high - low
        v = np.sum((point - low) * along, axis=1) / np.maximum(np.sum(along * along, axis=1), 1e-300)
        v = np.clip(v, 0.0, 1.0)
        apart = np.linalg.norm(low + v[:, None] * along - point, axis=1)
        k = int(np.argmin(apart))
        best = min(best, (float(apart[k]), number, float(u[k]), float(v[k])))
        u = np.clip(best[2] + step * np.linspace(-1.0, 1.0, 9), 0.0, 1.0)
        step *= 0.4
    return best


def _with_ends(rng: np.random.Generator, count: int) -> Array:
    inside, choice = rng.random(count), rng.random(count)
    return np.where(choice < 0.2, 0.0, np.where(choice > 0.8, 1.0, inside))


def flats(*quads: Array) -> Surface:
    """Flat sheets, from their four corners each."""
    return Surface(flats=np.array(quads, dtype=float))


def triangles(corners: Array) -> Array:
    """(n, 4, 3): triangles (n, 3, 3) as flat sheets."""
    return corners[:, [0, 1, 2, 0]]
