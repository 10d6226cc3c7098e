"""The path of the wheel as a fabricator reads it: camber, toe, across and along, height by height and at both locks.

* across - how far the hub's face has moved outboard since ride height, mm
* along  - how far it has moved ahead, mm
* rise   - how far it has moved up, mm; the bump, but for what an inclined steering axis lifts or drops
* turned - the road-wheel angle, degrees to the left: steer at ride height and bump steer together
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.defaults import HEIGHT_STEP_MM
from clearance.pose import Array, camber_deg, toe_deg
from clearance.steady import steady
from clearance.suspension.position import Suspension


@dataclass(frozen=True, slots=True, kw_only=True)
class Step:
    """One position of the path."""

    bump_mm: float
    other_bump_mm: float
    steer_deg: float
    across_mm: float
    along_mm: float
    rise_mm: float
    camber_deg: float
    toe_deg: float
    turned_deg: float


def heights(ends: tuple[float, float], step_mm: float = HEIGHT_STEP_MM) -> Array:
    """Droop to bump in whole steps from ride height, the ends among them."""
    least, greatest = ends
    whole = np.arange(np.ceil(least / step_mm - 1e-9), np.floor(greatest / step_mm + 1e-9) + 1) * step_mm
    return np.unique(np.concatenate([[least], whole, [greatest]]) + 0.0)


@steady
def steps_at(suspension: Suspension, positions: Array) -> tuple[Step, ...]:
    """The path at positions (n, 3)."""
    hub = suspension.pose(positions)
    start = toe_deg(suspension.pose(np.zeros((1, 3))).axis)[0]
    # adding zero turns a negative zero into a plain one
    columns = np.column_stack(
        [
            positions,
            hub.origin_mm[:, 1],
            hub.origin_mm[:, 0],
            hub.origin_mm[:, 2],
            camber_deg(hub.axis),
            toe_deg(hub.axis),
            start - toe_deg(hub.axis),
        ]
    )
    names = Step.__slots__
    return tuple(Step(**dict(zip(names, (round(float(v), 9) + 0.0 for v in row), strict=True))) for row in columns)


@steady
def straight_ahead(suspension: Suspension, step_mm: float = HEIGHT_STEP_MM) -> tuple[Step, ...]:
    """Droop to bump; of a live axle with the other wheel alike, as far as it goes alike."""
    bumps = heights(suspension.cycle.bump_mm, step_mm)
    return steps_at(suspension, np.stack([bumps, alike(suspension, bumps), 0.0 * bumps], axis=1))


@steady
def one_wheel(suspension: Suspension, step_mm: float = HEIGHT_STEP_MM) -> tuple[Step, ...]:
    """Droop to bump with the other wheel at ride height; nothing where the other wheel has no say."""
    if suspension.cycle.other_bump_mm == (0.0, 0.0):
        return ()
    bumps = heights(suspension.cycle.bump_mm, step_mm)
    limit = suspension.cycle.articulation_mm
    if limit is not None:
        bumps = bumps[np.abs(bumps) <= limit]
    return steps_at(suspension, np.stack([bumps, 0.0 * bumps, 0.0 * bumps], axis=1))


@steady
def at_locks(suspension: Suspension, step_mm: float = HEIGHT_STEP_MM) -> tuple[Step, ...]:
    """Full left lock, then full right lock, droop to bump; nothing where the wheel does not steer."""
    right, left = suspension.cycle.steer_deg
    bumps = heights(suspension.cycle.bump_mm, step_mm)
    locks = [lock for lock in (left, right) if lock != 0.0]
    rows = [np.stack([bumps, alike(suspension, bumps), np.full_like(bumps, lock)], axis=1) for lock in locks]
    return steps_at(suspension, np.concatenate(rows)) if rows else ()


def alike(suspension: Suspension, bumps: Array) -> Array:
    """The other wheel's bump when both travel together."""
    least, greatest = suspension.cycle.other_bump_mm
    return np.clip(bumps, least, greatest)
