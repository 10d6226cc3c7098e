"""How far the tire and wheel reach along the car's axes: at one position, and anywhere in the cycle.

A solid of revolution reaches furthest along a direction at a point of its outline: its place along the spin axis times
how much the axis leans that way, and its radius times how much of the direction is square to the axis. So the reach at
a position needs no mesh and no picture. Over the cycle the furthest position is looked for on a grid, then ever closer
around the best: to better than `FINE_MM` for motions as smooth as a suspension's. It is not proven; `envelope.stl` is.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from clearance.pose import Array
from clearance.suspension.position import HUB, Cycle

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

FINE_MM = 0.02
_CHORD_MM = 0.002
_GRID = 9
_CLOSER = 6
_STEPS = 5

Reach = Callable[[Array], Array]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Extents:
    """The box that holds the tire and wheel, in corner axes."""

    low_mm: Array
    """(3,)"""
    high_mm: Array
    """(3,)"""
    positions: Array
    """(6, 3): where each of them is reached, the three low ends first; all alike for one position."""


def extents_at(mockup: MockUp, position: Array) -> Extents:
    """At one position (3,), play not taken up."""
    ends = np.array([_reach(mockup, way)(position[None])[0] for way in _ways()])
    return Extents(low_mm=-ends[:3], high_mm=ends[3:], positions=np.repeat(position[None], 6, axis=0))


def swept_extents(mockup: MockUp) -> Extents:
    """Over the whole cycle, play taken up the way that reaches further."""
    cycle, shift = mockup.suspension.cycle, mockup.suspension.cycle.shift
    play = np.array([shift.behind_mm, shift.inboard_mm, 0.0, shift.ahead_mm, shift.outboard_mm, 0.0])
    found = [_furthest(cycle, _reach(mockup, way)) for way in _ways()]
    ends = np.array([reach for reach, _ in found]) + play
    return Extents(low_mm=-ends[:3], high_mm=ends[3:], positions=np.array([row for _, row in found]))


def allowed(cycle: Cycle, rows: Array) -> Array:
    """Positions (n, 3) with the other wheel drawn along as far as the articulation asks."""
    rows = rows.copy()
    if cycle.articulation_mm is not None:
        rows[:, 1] = np.clip(rows[:, 1], rows[:, 0] - cycle.articulation_mm, rows[:, 0] + cycle.articulation_mm)
    rows[:, 1] = np.clip(rows[:, 1], *cycle.other_bump_mm)
    return rows


def _ways() -> Array:
    return np.concatenate([-np.eye(3), np.eye(3)])


def _reach(mockup: MockUp, way: Array) -> Reach:
    """How far the solid reaches along a unit direction (3,) at positions (n, 3)."""
    y, r = mockup.solid.profile.outline(_CHORD_MM).T

    def reach(rows: Array) -> Array:
        pose = mockup.suspension.pose(rows, HUB)
        along = pose.turn[:, :, 1] @ way
        square = np.sqrt(np.maximum(1.0 - along**2, 0.0))
        out: Array = pose.origin_mm @ way + (along[:, None] * y + square[:, None] * r).max(axis=1)
        return out

    return reach


def _furthest(cycle: Cycle, reach: Reach) -> tuple[float, Array]:
    """The greatest reach, and the position (3,) that has it."""
    low, high = np.array(cycle.box, dtype=float).T
    centre, half, count = (low + high) / 2, (high - low) / 2, _GRID
    best, at = -np.inf, centre
    for _ in range(_CLOSER):
        ends = [
            np.unique(np.linspace(max(c - h, a), min(c + h, b), count))
            for c, h, a, b in zip(centre, half, low, high, strict=True)
        ]
        rows = allowed(cycle, np.array(list(itertools.product(*ends))))
        reached = reach(rows)
        k = int(np.argmax(reached))
        if reached[k] > best:
            best, at = float(reached[k]), rows[k]
        centre, half, count = at, half * 2.0 / (count - 1), _STEPS
    return best, at
