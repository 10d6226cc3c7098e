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

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from clearance.errors import InputError
from clearance.pose import Array, Pose, about, read_only
from clearance.suspension.position import BODY, HUB, KNUCKLE, Cycle, Suspension

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.tire import Tire
    from clearance.well.part import Part

_AHEAD = np.array([1.0, 0.0, 0.0])
_RIDE = np.zeros((1, 3))


@dataclass(frozen=True, slots=True, kw_only=True)
class Adjusted:
    """A suspension with another cycle, camber or place, and otherwise the one that it was."""

    base: Suspension
    cycle: Cycle
    camber_deg: float = 0.0
    """Added to the hub's own, about its centre."""
    axle_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """(ahead, outboard, above): how far everything but the body has been moved."""

    @property
    def kind(self) -> str:
        """The kind of what was adjusted."""
        return self.base.kind

    @property
    def frames(self) -> tuple[str, ...]:
        """The frames of what was adjusted."""
        return self.base.frames

    @property
    def uncertainty_mm(self) -> float:
        """The uncertainty of what was adjusted."""
        return self.base.uncertainty_mm

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone; see `Suspension.pose`."""
        pose = self.base.pose(positions, frame)
        if self.camber_deg and frame in (HUB, KNUCKLE):
            pose = pose.after(self._tilt(frame))
        if frame == BODY or self.axle_mm == (0.0, 0.0, 0.0):
            return pose
        return Pose(origin_mm=pose.origin_mm + np.array(self.axle_mm), turn=pose.turn)

    def _tilt(self, frame: str) -> Pose:
        # Camber is positive with the top outboard; a positive turn about the axis ahead takes the top inboard.
        own = about(np.zeros(3), _AHEAD, -self.camber_deg)
        if frame == HUB:
            return own
        ride = self.base.pose(_RIDE)
        hub = Pose(origin_mm=ride.origin_mm[0], turn=ride.turn[0])
        # The upright tilts with its hub: carried to hub axes, tilted, and carried back.
        return hub.after(own).after(hub.inverse())


def adjusted(suspension: Suspension) -> Adjusted:
    """The same suspension, ready to be adjusted; adjusting twice does not wrap twice."""
    return suspension if isinstance(suspension, Adjusted) else Adjusted(base=suspension, cycle=suspension.cycle)


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


def moved(part: Part, by_mm: npt.ArrayLike) -> Part:
    """The part carried to another place, all of it."""
    step = np.asarray(by_mm, dtype=float)
    return replace(part, triangles_mm=read_only(part.triangles_mm + step))


def with_part(mockup: MockUp, part: Part) -> MockUp:
    """The mock-up with this part in the place of the one of its name."""
    return replace(mockup, parts=tuple(part if p.name == part.name else p for p in mockup.parts))


def with_part_moved(mockup: MockUp, name: str, by_mm: npt.ArrayLike) -> MockUp:
    """The mock-up with one part moved as a fabricator would move it: at ride height, in corner axes."""
    return with_part(mockup, moved(mockup.part(name), by_mm))


def with_body_lifted(mockup: MockUp, lift_mm: float) -> MockUp:
    """The body raised on its mounts: every part that rides on it goes up, travel and stops stay."""
    return replace(mockup, parts=tuple(_lifted(part, lift_mm) for part in mockup.parts))


def _lifted(part: Part, lift_mm: float) -> Part:
    share = _body_share(part)
    if share is None:
        return part
    lift = np.zeros(part.triangles_mm.shape)
    lift[..., 2] = lift_mm * share
    return replace(part, triangles_mm=read_only(part.triangles_mm + lift))


def _body_share(part: Part) -> Array | None:
    """(n, 3): how much of the body's movement every corner of every triangle takes part in; None for none."""
    near = 1.0 if part.rides_on == BODY else 0.0
    if part.far_end is None:
        return np.full(part.triangles_mm.shape[:2], near) if near else None
    far = 1.0 if part.far_end.frame == BODY else 0.0
    mixed: Array = near * (1.0 - part.far_end.share) + far * part.far_end.share
    return mixed if np.any(mixed > 0) else None
