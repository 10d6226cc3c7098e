"""The place of a patch that the tire comes nearest to, looked for between its vertices too. Lengths are millimetres."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from clearance.geom.nearest import Found
from clearance.pose import Array

_LOOKED_INTO = 40
"""Triangles around the nearest vertex that are looked into for a nearer place."""
_LOOKS = 4
_RASTER = np.array([[i, j, 6 - i - j] for i in range(7) for j in range(7 - i)]) / 6.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Closest:
    """The point of a patch that the tire comes nearest to, the setting at which it does, and the way off the tire."""

    point: Array
    setting: Array
    distance: float
    away: Array


def closest_of(points: Array, found: Found, row: int) -> Closest:
    """One of some points (n, 3) and what was found of it."""
    return Closest(
        point=points[row],
        setting=found.settings[row],
        distance=float(found.distance[row]),
        away=found.normal[row],
    )


def closest_about(corners: Array, best: Closest, look: Callable[[Array, Array], Found]) -> Closest:
    """The same or a nearer place of some triangles (t, 3, 3), ever closer around the nearest found.

    `look` says of points and settings how near the tire comes: `Nearest.settle`, which may go on to another setting,
    or `Nearest.look`, which stays at its own.
    """
    near = np.argsort(np.linalg.norm(corners - best.point, axis=2).min(axis=1), kind="stable")[:_LOOKED_INTO]
    patches = corners[near]
    for _ in range(_LOOKS):
        points = np.einsum("mi,nij->nmj", _RASTER, patches).reshape(-1, 3)
        found = look(points, np.repeat(best.setting[None], len(points), axis=0))
        row = int(np.argmin(found.distance))
        nearer = found.distance[row] <= best.distance
        best = closest_of(points, found, row) if found.distance[row] < best.distance else best
        # the same triangles, smaller, about the nearest place so far; never off the patch
        own = patches[[row // len(_RASTER)]]
        patches = best.point + 0.3 * (own - best.point) if nearer else patches
    return best
