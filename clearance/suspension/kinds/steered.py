"""What [steering] says of a suspension of any kind: its keys, the locks, the rack's travel and the axis."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import replace
from typing import Any

from clearance.ends import families as ends
from clearance.errors import SuspensionError
from clearance.suspension.kinds.key import Key
from clearance.suspension.kinds.kind import Kind, Steer
from clearance.suspension.position import Cycle
from clearance.suspension.steering import Kingpin, kingpin_by_angles

STEERING_KEYS: tuple[Key, ...] = (
    Key(
        name="left",
        dimension="angle",
        ends=ends.LOCK,
        help="this wheel's angle at full left lock, as a turn plate reads it",
    ),
    Key(name="right", dimension="angle", ends=ends.LOCK, help="this wheel's angle at full right lock"),
    Key(
        name="rack_left",
        dimension="length",
        ends=ends.RACK,
        help="the rack's travel from straight ahead to full left lock, as a size",
    ),
    Key(
        name="rack_right",
        dimension="length",
        ends=ends.RACK,
        help="the rack's travel from straight ahead to full right lock, as a size",
    ),
)
"""Keys of [steering] beside `axis`. Of a mirrored right corner the two change places before they come here."""

AXIS_KEYS: tuple[Key, ...] = (
    Key(name="through", dimension="point", ends=ends.HARDPOINT, help="a point of the steering axis", required=True),
    Key(
        name="inclination",
        dimension="angle",
        ends=ends.INCLINATION,
        help="how far its top leans inboard, seen from ahead",
        required=True,
    ),
    Key(
        name="caster",
        dimension="angle",
        ends=ends.CASTER,
        help="how far its top leans back, seen from the side",
        required=True,
    ),
)
"""Keys of [steering] axis."""

MOST_LOCK_DEG = ends.LOCK.most
Words = Callable[[], tuple[str, ...]]


def steered(
    kind: Kind,
    steering: Mapping[str, Any] | None,
    cycle: Cycle,
    *,
    measured: bool,
    racks: Callable[[], tuple[str, ...]],
) -> tuple[Steer, Cycle]:
    """What [steering] says, and the cycle with its locks, deg.

    `measured` is True where rows of the suspension say how the wheel steers; `racks` tells the kinds that a rack
    goes with. Raises SuspensionError for locks, a rack or an axis that this kind cannot have.
    """
    if steering is None:
        return Steer(), cycle
    rack = _rack(kind, steering, racks)
    left, right = _locks(steering)
    kingpin = _kingpin(kind, steering.get("axis"), locked=bool(left or right), measured=measured)
    return Steer(kingpin=kingpin, rack_mm=rack), replace(cycle, steer_deg=(0.0 - right, left))


def _locks(steering: Mapping[str, Any]) -> tuple[float, float]:
    left, right = float(steering.get("left") or 0.0), float(steering.get("right") or 0.0)
    if left < 0 or right < 0:
        raise SuspensionError(
            f"a lock angle is a size, without a sign: left {left:g} deg, right {right:g} deg. Write both positive."
        )
    if left > MOST_LOCK_DEG or right > MOST_LOCK_DEG:
        raise SuspensionError(
            f"a lock angle of {max(left, right):g} deg is more than any car steers. Write the road wheel's own"
            " angle, as a"
            f" turn plate reads it, not the steering wheel's."
        )
    return left, right


def _kingpin(kind: Kind, axis: Mapping[str, Any] | None, *, locked: bool, measured: bool) -> Kingpin | None:
    if axis is None:
        if locked and not (kind.own_axis or measured):
            raise SuspensionError(
                f'steering on suspension "{kind.name}" needs an axis: through = [ahead, outboard, above], inclination,'
                f" caster."
            )
        return None
    if kind.own_axis:
        raise SuspensionError(
            f'suspension "{kind.name}" already has its steering axis in its hardpoints. Leave axis out of [steering].'
        )
    if measured:
        raise SuspensionError(
            "steer_rows already say how the wheel steers. Leave axis out of [steering], or leave them out."
        )
    return kingpin_by_angles(axis["through"], axis["inclination"], axis["caster"])


def _rack(kind: Kind, steering: Mapping[str, Any], racks: Words) -> tuple[float, float] | None:
    left, right = steering.get("rack_left"), steering.get("rack_right")
    if left is None and right is None:
        return None
    if not kind.rack:
        raise SuspensionError(
            f'suspension "{kind.name}" has no rack. Write left and right lock angles; a rack goes with'
            f" {', '.join(racks())}."
        )
    if steering.get("left") is not None or steering.get("right") is not None:
        raise SuspensionError(
            "steering is given by lock angles and by rack travel at once. Keep the one that was measured."
        )
    if left is None or right is None:
        raise SuspensionError("rack travel needs both rack_left and rack_right, from straight ahead.")
    if left < 0 or right < 0:
        raise SuspensionError("rack travel is a size, without a sign. Write rack_left and rack_right positive.")
    return float(left), float(right)
