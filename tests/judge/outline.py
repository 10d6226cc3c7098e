"""The tire on its wheel as one closed outline that turns about the axle: how far a place is from it, and on which side.

The outline lies in the half plane (y, r): y outboard from the mounting face, r away from the axle. Its pieces, straight
ones and arcs, come from the program; the distance to them does not. A place is inside where the outline, followed once
around, winds round it.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np

from .moving import Array, Moving

ON_AXIS_MM = 1e-6
_MAP_MM = 5.0
_MARGIN_MM = 120.0


class Outline:
    """A closed chain of straight pieces and arcs."""

    def __init__(self, pieces: Iterable[Any]) -> None:
        pieces = [piece for piece in pieces if tuple(piece.start) != tuple(piece.end)]
        arcs = [piece for piece in pieces if hasattr(piece, "centre")]
        lines = [piece for piece in pieces if not hasattr(piece, "centre")]
        # a stretch along the axle itself closes the chain and is no surface
        skins = [piece for piece in lines if max(piece.start[1], piece.end[1]) > ON_AXIS_MM]
        self._starts, self._ends = _ends_of([*lines, *arcs])
        self._line_starts, self._line_ends = _ends_of(skins)
        self._arc_starts, self._arc_ends = _ends_of(arcs)
        self._centres = np.array([arc.centre for arc in arcs], dtype=float).reshape(-1, 2)
        self._ways = np.array([1.0 if arc.ccw else -1.0 for arc in arcs])
        self._radii = np.linalg.norm(self._arc_starts - self._centres, axis=1)
        self._from = _angle(self._arc_starts - self._centres)
        self._sweeps = (self._ways * (_angle(self._arc_ends - self._centres) - self._from)) % (2.0 * np.pi)
        corners = np.concatenate([self._starts, self._along_arcs()])
        self.low, self.high = float(corners[:, 0].min()), float(corners[:, 0].max())
        self.rim = float(corners[:, 1].max())
        self._map: tuple[Array, Array, Array] | None = None

    def _along_arcs(self) -> Array:
        """Points all along the arcs, near enough to one another to show how far they reach."""
        angle = self._from[:, None] + (self._ways * self._sweeps)[:, None] * np.linspace(0.0, 1.0, 17)
        away = np.stack([np.cos(angle), np.sin(angle)], axis=2)
        return (self._centres[:, None] + self._radii[:, None, None] * away).reshape(-1, 2)

    def feet(self, places: Array) -> Array:
        """(n, 2): the nearest point of the outline to places (n, 2)."""
        found = []
        if len(self._line_starts):
            along = self._line_ends - self._line_starts
            off = places[None] - self._line_starts[:, None]
            way = np.sum(off * along[:, None], axis=2) / np.sum(along**2, axis=1)[:, None]
            found.append(self._line_starts[:, None] + np.clip(way, 0.0, 1.0)[..., None] * along[:, None])
        if len(self._centres):
            found.append(self._feet_on_arcs(places))
        feet = np.concatenate(found)
        nearest = np.argmin(np.sum((feet - places[None]) ** 2, axis=2), axis=0)
        return feet[nearest, np.arange(len(places))]

    def _feet_on_arcs(self, places: Array) -> Array:
        off = places[None] - self._centres[:, None]
        ahead = (self._ways[:, None] * (_angle(off) - self._from[:, None])) % (2.0 * np.pi)
        size = np.maximum(np.linalg.norm(off, axis=2), 1e-300)
        on_circle = self._centres[:, None] + (self._radii[:, None] / size)[..., None] * off
        # past the end, the nearer end: that which is less far around
        past = ahead - self._sweeps[:, None]
        beyond = past < 0.5 * (2.0 * np.pi - self._sweeps[:, None])
        end = np.where(beyond[..., None], self._arc_ends[:, None], self._arc_starts[:, None])
        return np.where((past <= 0.0)[..., None], on_circle, end)

    def inside(self, places: Array) -> np.ndarray:
        """(n,): which places the outline winds round."""
        a, b = self._starts[:, None] - places[None], self._ends[:, None] - places[None]
        turned = np.arctan2(a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0], np.sum(a * b, axis=2)).sum(axis=0)
        # an arc winds once more than its chord round what lies between the two
        chord = self._arc_ends - self._arc_starts
        off = places[None] - self._arc_starts[:, None]
        beside = self._ways[:, None] * (chord[:, None, 0] * off[..., 1] - chord[:, None, 1] * off[..., 0]) < 0.0
        within = np.linalg.norm(places[None] - self._centres[:, None], axis=2) < self._radii[:, None]
        turned = turned + 2.0 * np.pi * np.sum(self._ways[:, None] * (beside & within), axis=0)
        return np.abs(turned) > np.pi

    def distance(self, places: Array) -> tuple[Array, Array]:
        """Of places (n, 2): how far outside (n,), less than zero inside; and the direction (n, 2) in which it grows."""
        off = places - self.feet(places)
        size = np.hypot(off[:, 0], off[:, 1])
        sign = np.where(self.inside(places), -1.0, 1.0)
        return sign * size, (sign / np.maximum(size, 1e-12))[:, None] * off

    def gap(self, points: Moving, hub: Moving, spin: Moving) -> tuple[Moving, Array]:
        """(n,): how far points (n, 3) of the car are from the tire on a hub there, with its rates; and the direction
        (n, 3) away from the tire."""
        off = points - hub
        y = np.sum(off.value * spin.value, axis=1)
        radial = off.value - y[:, None] * spin.value
        r = np.linalg.norm(radial, axis=1)
        away = radial / np.maximum(r, 1e-12)[:, None]
        distance, slope = self.distance(np.column_stack([y, r]))
        normal = slope[:, :1] * spin.value + slope[:, 1:] * away
        lean = (slope[:, 0] * r - slope[:, 1] * y)[:, None] * away
        rate = np.sum(normal[..., None] * off.rate, axis=1) + np.sum(lean[..., None] * spin.rate, axis=1)
        return Moving(distance, rate), normal

    def roughly(self, y: Array, r: Array) -> Array:
        """About how far places are outside, of any shape: read off a map, to choose where to look. Nothing is judged
        by it."""
        if self._map is None:
            ys = np.arange(self.low - _MARGIN_MM, self.high + _MARGIN_MM + _MAP_MM, _MAP_MM)
            rs = np.arange(0.0, self.rim + _MARGIN_MM + _MAP_MM, _MAP_MM)
            grid = np.stack(np.meshgrid(ys, rs, indexing="ij"), axis=-1).reshape(-1, 2)
            self._map = ys, rs, self.distance(grid)[0].reshape(len(ys), len(rs))
        ys, rs, heights = self._map
        i = np.clip((y - ys[0]) / _MAP_MM, 0.0, len(ys) - 1.001)
        j = np.clip(r / _MAP_MM, 0.0, len(rs) - 1.001)
        beyond = np.abs(y - (ys[0] + _MAP_MM * i)) + np.abs(r - _MAP_MM * j)
        k, m = i.astype(np.intp), j.astype(np.intp)
        i, j = i - k, j - m
        flat, at = heights.ravel(), k * len(rs) + m
        near = (1.0 - j) * flat[at] + j * flat[at + 1]
        far = (1.0 - j) * flat[at + len(rs)] + j * flat[at + len(rs) + 1]
        found: Array = (1.0 - i) * near + i * far + beyond
        return found


def _ends_of(pieces: list[Any]) -> tuple[Array, Array]:
    starts = np.array([piece.start for piece in pieces], dtype=float).reshape(-1, 2)
    return starts, np.array([piece.end for piece in pieces], dtype=float).reshape(-1, 2)


def _angle(vectors: Array) -> Array:
    return np.arctan2(vectors[..., 1], vectors[..., 0])
