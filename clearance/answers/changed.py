"""One change of a mock-up at a time: the same corner with another wheel, stop, camber or a part that has moved.

Every answer is built from these and nothing else, so that what is answered is what `check` would measure.

* offset, backspace   - the wheel drilled elsewhere, or a spacer under it
* travel, lock        - the cycle cut short by a longer bump stop or an earlier steering stop
* camber              - the hub tilted about its own centre (real adjusters pivot near it, not on it)
* axle moved          - everything that is not the body, sideways or lengthways
* body lifted, part moved - triangles carried to another place before anything rides on anything

Lengths are millimetres, angles degrees, axes the corner's.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.errors import InputError
from clearance.suspension.adjusted import adjusted
from clearance.suspension.position import BODY, Cycle
from clearance.well.rolled import rolled

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.tire import Tire
    from clearance.well.part import Part


def with_offset(mockup: MockUp, offset_mm: float) -> MockUp:
    """The same wheel drilled for another offset, or on a spacer: the offset less its thickness."""
    return replace(mockup, wheel=mockup.wheel.with_offset(offset_mm))


def with_tire(mockup: MockUp, tire: Tire) -> MockUp:
    """Another tire on the same wheel."""
    return replace(mockup, tire=tire)


def with_cycle(mockup: MockUp, cycle: Cycle) -> MockUp:
    """The same corner taken through another cycle."""
    return replace(mockup, suspension=replace(adjusted(mockup.suspension), cycle=cycle))


def with_bump_stop(mockup: MockUp, taller_mm: float) -> MockUp:
    """Bump stops that come in `taller_mm` of wheel travel earlier, on both sides of the axle.

    Raises InputError where the stop would be reached in droop.
    """
    cycle = mockup.suspension.cycle
    least, most = cycle.bump_mm
    if most - taller_mm < least:
        raise InputError(
            f"a stop {taller_mm:g} mm taller leaves no travel: the wheel moves {most - least:g} mm in all."
        )
    other = cycle.other_bump_mm
    shorter = replace(
        cycle, bump_mm=(least, most - taller_mm), other_bump_mm=(other[0], max(other[0], other[1] - taller_mm))
    )
    return with_cycle(mockup, shorter)


def with_locks(mockup: MockUp, less_left_deg: float, less_right_deg: float) -> MockUp:
    """Steering stops that come in earlier: degrees of this wheel's angle given up at left and at right lock."""
    cycle = mockup.suspension.cycle
    right, left = cycle.steer_deg
    return with_cycle(
        mockup, replace(cycle, steer_deg=(min(right + less_right_deg, 0.0), max(left - less_left_deg, 0.0)))
    )


def with_camber(mockup: MockUp, more_deg: float) -> MockUp:
    """Static camber changed by `more_deg`; positive leans the top out."""
    now = adjusted(mockup.suspension)
    return replace(mockup, suspension=replace(now, camber_deg=now.camber_deg + more_deg))


def with_axle_moved(
    mockup: MockUp, *, ahead_mm: float = 0.0, outboard_mm: float = 0.0, above_mm: float = 0.0
) -> MockUp:
    """The axle, with the wheel and all that rides on it, moved under the body."""
    now = adjusted(mockup.suspension)
    ahead, outboard, above = now.axle_mm
    place = (ahead + ahead_mm, outboard + outboard_mm, above + above_mm)
    return replace(mockup, suspension=replace(now, axle_mm=place))


def with_part(mockup: MockUp, part: Part) -> MockUp:
    """The mock-up with this part in the place of the one of its name."""
    return replace(mockup, parts=tuple(part if p.name == part.name else p for p in mockup.parts))


def with_part_moved(mockup: MockUp, name: str, by_mm: npt.ArrayLike) -> MockUp:
    """The mock-up with one part moved as a fabricator would move it: at ride height, in corner axes."""
    return with_part(mockup, mockup.part(name).moved(np.asarray(by_mm, dtype=float)))


def with_lip_rolled(mockup: MockUp, name: str, gain_mm: float) -> MockUp:
    """The mock-up with the flange of one lip turned up, so that it reaches `gain_mm` less inboard."""
    return with_part(mockup, rolled(mockup.part(name), gain_mm))


def with_body_lifted(mockup: MockUp, lift_mm: float) -> MockUp:
    """The body raised on its mounts: every part that rides on it goes up, travel and stops stay."""
    return replace(mockup, parts=tuple(_lifted(part, lift_mm) for part in mockup.parts))


def _lifted(part: Part, lift_mm: float) -> Part:
    up = np.array([0.0, 0.0, lift_mm])
    near, far = part.rides_on == BODY, part.far_end is not None and part.far_end.frame == BODY
    return part.moved(near * up, None if part.far_end is None else far * up)
