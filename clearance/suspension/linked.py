"""A knuckle held by rods: what the double wishbone, the strut and the multi-link share.

Bump is the hub's height straight ahead. When the wheel steers, the lower ball joint keeps its height (spring and
stops act on the arm, not on the hub) and the hub follows the inclined axis. Steer is a name for where the steering
is: the road-wheel angle that it gives at ride height, the lower ball joint held there as everywhere else. Away from
ride height the tie rod has its own say, which is bump steer.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
import numpy.typing as npt

from clearance.pose import Pose, spin_axis, still
from clearance.suspension.carried import rows_of, set_up, unknown_frame
from clearance.suspension.linkage import Linkage, Riding, RoadAngle, State
from clearance.suspension.links import Link
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle
from clearance.suspension.steering import Kingpin
from clearance.suspension.travel import Travel


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Linked:
    """An upright on rods and slides."""

    kind: str
    cycle: Cycle
    linkage: Linkage
    """Its first body is the upright; its rows drive the hub's height."""
    links: tuple[Link, ...] = ()
    """What else a part can ride on."""
    camber_deg: float = 0.0
    toe_deg: float = 0.0
    steers: bool = False
    """True where a tie rod's inner end is moved by the steering."""
    standing: Riding | None = None
    """What keeps its height when the wheel steers."""
    kingpin: Kingpin | None = None
    """The steering axis at ride height, where two joints show it."""
    notes: tuple[str, ...] = ()
    """What was taken for granted, in words."""
    title: str = "this corner"
    travel: Travel = field(init=False, repr=False)

    def __post_init__(self) -> None:
        travel = Travel(
            linkage=self.linkage,
            cycle=self.cycle,
            title=self.title,
            steers=self.steers,
            toe_row=self.with_road_angle() if self.steers else None,
            standing=self.standing,
        )
        object.__setattr__(self, "travel", travel)

    @property
    def frames(self) -> tuple[str, ...]:
        """What a part can ride on; "axle" is the upright as it moves straight ahead."""
        return (BODY, AXLE, KNUCKLE, *(link.name for link in self.links))

    @property
    def uncertainty_mm(self) -> float:
        """Rods are exact."""
        return 0.0

    def pose(self, positions: npt.ArrayLike, frame: str = HUB) -> Pose:
        """Where `frame` has gone at positions (n, 3); see `position.Suspension`."""
        rows = rows_of(positions)
        if frame == BODY:
            return still(len(rows))
        if frame == AXLE:
            return self.travel.body(rows * np.array([1.0, 1.0, 0.0]))
        if frame in (KNUCKLE, HUB):
            knuckle = self.travel.body(rows)
            return knuckle if frame == KNUCKLE else set_up(knuckle, self.camber_deg, self.toe_deg)
        return link_pose(self.links, self.frames, frame, self.linkage.ride_height(), self.travel.states(rows))

    def with_road_angle(self) -> Linkage:
        """The linkage with the road-wheel angle as one more row."""
        row = RoadAngle(
            name="road-wheel angle", letters=(), spin=spin_axis(self.camber_deg, self.toe_deg), toe_deg=self.toe_deg
        )
        return Linkage(bodies=self.linkage.bodies, rows=(*self.linkage.rows, row))


def link_pose(links: tuple[Link, ...], frames: tuple[str, ...], frame: str, ride: State, state: State) -> Pose:
    """Where the link of that name has gone. Raises SuspensionError where there is none."""
    for link in links:
        if link.name == frame:
            return link.pose(ride, state)
    raise unknown_frame(frame, frames)
