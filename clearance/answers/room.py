"""Room: what a corner could take before it touches, where little or nothing of its travel was measured.

One way at a time, from where the corner stands: bump, droop, one wheel above the other, lock. Each is the most that
keeps every required gap, and the most that touches nothing, whatever links such a corner has may do; and the same were
it to go straight. Both are certified: the whole way from standing to that much clears, and a millimetre more was not
shown to.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from clearance.answers.checked import Progress, binding, gaps_of, silent, spare_of
from clearance.errors import InputError
from clearance.gap.found import Gap
from clearance.gap.still import at_position
from clearance.mockup.mockup import MockUp
from clearance.steady import steady
from clearance.suspension.by_travel import (
    AXLES,
    CASTER_DEG,
    KINGPIN_INCLINATION_DEG,
    KINGPIN_OFFSET_MM,
    LEAN_WITHIN_DEG,
    OFFSET_WITHIN_MM,
    WHEELS,
    AxisBounds,
    AxleBounds,
    AxleByTravel,
    ByTravel,
    WheelBounds,
    WheelByTravel,
    axle_unmeasured,
    wheel_unmeasured,
)
from clearance.suspension.position import Cycle, Position
from clearance.suspension.steering import Kingpin, kingpin_by_angles
from clearance.suspension.unmeasured import Unmeasured

STEP_MM, STEP_DEG = 1.0, 0.5
"""How finely a way is looked for."""
MOST_TRAVEL_MM, MOST_TILT_MM, MOST_LOCK_DEG = 200.0, 300.0, 45.0
"""Further than that no way is looked for."""
_NAMED_MM = 0.4
"""How closely what is in the way is measured once it is known to be."""
_WORDS = ("the links were not measured",)
TRACK_MM = 1500.0
"""Of an axle whose track was not measured (common practice)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Most:
    """The most of one way."""

    amount: float
    """mm or deg."""
    meets: Gap | None
    """What comes first, one step further; None where nothing does before the way's end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One way that the corner can go from where it stands."""

    name: str
    unit: str
    keeps: Most
    """Every required gap is kept this far, whatever the links do."""
    touches: Most
    """Nothing is touched this far, whatever the links do."""
    straight: Most
    """Nothing is touched this far, were it to go straight."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Room:
    """What a corner could take."""

    standing: tuple[Gap, ...]
    """The gap of each part where it stands."""
    carried_by: str
    ways: tuple[Way, ...]
    """None where it does not keep its gaps, or touches, as it stands."""


@steady
def room(mockup: MockUp, *, progress: Progress = silent) -> Room:
    """What a corner by travel, or one that only stands, could take. Raises InputError for one whose links are known."""
    if mockup.unmeasured is None:
        raise InputError(
            "this corner's motion is given, and `clearance check` answers for all of it. `room` is for a corner whose"
            ' travel was not measured: kind = "standing", "axle-by-travel" or "wheel-by-travel".'
        )
    carried_by = _carried_by(mockup)
    ways = _ways(mockup, carried_by)
    found = []
    for number, (name, unit, most, step, corner) in enumerate(ways):
        progress(number, len(ways), name)
        found.append(_way(name, unit, most, step, corner))
    return Room(standing=where_it_stands(mockup), carried_by=carried_by, ways=tuple(found))


def where_it_stands(mockup: MockUp) -> tuple[Gap, ...]:
    """The gap of each part at ride height, whatever is known of the travel."""
    travels = mockup.unmeasured is not None and mockup.unmeasured.travel
    return tuple(at_position(_bare(mockup) if travels else mockup.as_given(), Position()))


def _bare(mockup: MockUp) -> MockUp:
    """The same standing still, its travel not asked about."""
    suspension: Any = mockup.suspension
    still = replace(_base(suspension), unmeasured=Unmeasured(), measured=Cycle())
    return replace(mockup, suspension=still)


def _base(suspension: Any) -> Any:
    return getattr(suspension, "base", suspension)


def _carried_by(mockup: MockUp) -> str:
    carried_by = str(getattr(_base(mockup.suspension), "carried_by", ""))
    return carried_by or ("wishbones" if mockup.corner.startswith("front") else "links")


Corner = Callable[[float, bool], MockUp]
"""The corner taken so far one way, its links doing whatever they may (True) or nothing (False)."""


def _ways(mockup: MockUp, carried_by: str) -> list[tuple[str, str, float, float, Corner]]:
    cycles: list[tuple[str, str, float, float, Callable[[float], Cycle]]] = [
        ("bump", "mm", MOST_TRAVEL_MM, STEP_MM, lambda a: _level(0.0, a)),
        ("droop", "mm", MOST_TRAVEL_MM, STEP_MM, lambda a: _level(-a, 0.0)),
    ]
    if carried_by in AXLES:
        cycles.append(("one wheel above the other", "mm", MOST_TILT_MM, 2.0 * STEP_MM, _tilted))
    if mockup.corner.startswith("front"):
        left, right = ("right lock", "left lock") if mockup.right_hand else ("left lock", "right lock")
        cycles.append((left, "deg", MOST_LOCK_DEG, STEP_DEG, lambda a: Cycle(steer_deg=(0.0, a))))
        cycles.append((right, "deg", MOST_LOCK_DEG, STEP_DEG, lambda a: Cycle(steer_deg=(-a, 0.0))))
    return [(name, unit, most, step, _corner(mockup, carried_by, cycle)) for name, unit, most, step, cycle in cycles]


def _level(low: float, high: float) -> Cycle:
    """Both wheels of the axle up and down together."""
    return Cycle(bump_mm=(low, high), other_bump_mm=(low, high), articulation_mm=0.0)


def _tilted(amount: float) -> Cycle:
    """One wheel up to so much above the other, each going half of it."""
    half = amount / 2.0
    return Cycle(bump_mm=(-half, half), other_bump_mm=(-half, half), articulation_mm=amount)


def _corner(mockup: MockUp, carried_by: str, cycle_of: Callable[[float], Cycle]) -> Corner:
    base = _base(mockup.suspension)
    play = base.measured.shift
    track = float(getattr(base, "track_mm", 0.0)) or TRACK_MM
    usual = AXLES[carried_by] if carried_by in AXLES else WHEELS[carried_by]
    bounds: AxleBounds | WheelBounds = base.bounds or usual

    def corner(amount: float, worst: bool) -> MockUp:
        cycle = replace(cycle_of(amount), shift=play)
        kingpin, axis = (base.kingpin, base.axis) if base.kingpin is not None else _middling()
        if not any(cycle.steer_deg):
            kingpin = None
        at_lock = axis.at_lock(cycle, kingpin)
        stance = {"kingpin": kingpin, "camber_deg": base.camber_deg, "toe_deg": base.toe_deg, "carried_by": carried_by}
        suspension: ByTravel
        if isinstance(bounds, AxleBounds):
            loose = axle_unmeasured(bounds, cycle, track, at_lock, _WORDS)
            suspension = AxleByTravel(
                measured=cycle, unmeasured=loose if worst else Unmeasured(), track_mm=track, **stance
            )
        else:
            alone = replace(cycle, other_bump_mm=(0.0, 0.0), articulation_mm=None)
            loose = wheel_unmeasured(bounds, alone, at_lock, _WORDS)
            suspension = WheelByTravel(measured=alone, unmeasured=loose if worst else Unmeasured(), **stance)
        return replace(mockup, suspension=suspension)

    return corner


def _middling() -> tuple[Kingpin, AxisBounds]:
    """The steering axis that is taken where none was measured, and how far it may be off."""
    through = np.array([0.0, -KINGPIN_OFFSET_MM, 0.0])
    axis = AxisBounds(within_mm=OFFSET_WITHIN_MM, within_deg=LEAN_WITHIN_DEG)
    return kingpin_by_angles(through, KINGPIN_INCLINATION_DEG, CASTER_DEG), axis


def _way(name: str, unit: str, most: float, step: float, corner: Corner) -> Way:
    return Way(
        name=name,
        unit=unit,
        keeps=_most(most, step, lambda amount: corner(amount, True)),
        touches=_most(most, step, lambda amount: _touching_only(corner(amount, True))),
        straight=_most(most, step, lambda amount: _touching_only(corner(amount, False))),
    )


def _touching_only(mockup: MockUp) -> MockUp:
    """The same where no part must keep more than not to be touched."""
    return replace(mockup, parts=tuple(replace(part, required_mm=0.0) for part in mockup.parts))


def _most(most: float, step: float, corner: Callable[[float], MockUp]) -> Most:
    """The most of a way, to one step: ways only grow, so that what is met once is met further on too."""
    low, high = 0, int(most / step)
    if spare_of(corner(high * step)).clears:
        return Most(amount=high * step, meets=None)
    if not spare_of(corner(0.0)).clears:
        return Most(amount=0.0, meets=_met(corner(0.0)))
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (middle, high) if spare_of(corner(middle * step)).clears else (low, middle)
    return Most(amount=low * step, meets=_met(corner(high * step)))


def _met(mockup: MockUp) -> Gap:
    """The part that is in the way, as closely as it takes to name it."""
    in_the_way = [part.name for part in mockup.parts if not spare_of(mockup, [part.name]).clears]
    return binding(gaps_of(mockup, in_the_way, tolerance_mm=_NAMED_MM))
