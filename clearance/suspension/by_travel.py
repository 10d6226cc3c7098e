"""Corners that were measured by their travel, their track and their locks alone: the links were not.

Given is what such a corner must do; what it may do besides is bounded and stands in `unmeasured`.

* AxleByTravel - both hubs on one rigid body. Their heights say how far it tilts. What the links decide is where it goes
                 sideways (it may roll about any point between two heights, and a bar swings it) and fore and aft, each
                 side by its own, which also turns it seen from above.
* WheelByTravel - a wheel of its own. Camber, toe and moves across and along may change by so much, either way.
* Standing      - nothing but ride height is known.

Camber and toe at ride height are as given. The bounds by what carries the wheel are common practice (from memory): they
are wide on purpose, and each can be written into the corner file instead.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field, replace

import numpy as np

from clearance.errors import SuspensionError
from clearance.pose import Array, Pose
from clearance.suspension.carried import Carried
from clearance.suspension.position import Cycle
from clearance.suspension.steering import Kingpin
from clearance.suspension.unmeasured import Unmeasured

KINGPIN_OFFSET_MM, KINGPIN_INCLINATION_DEG, CASTER_DEG = 95.0, 9.0, 4.0
"""A middling steering axis, where it was not measured: common practice."""
OFFSET_WITHIN_MM, LEAN_WITHIN_DEG = 60.0, 6.0
"""How far from that one an axis that was not measured may be (from memory)."""
PER_MM = 100.0
"""The travel that a bound is given for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleBounds:
    """What the links of a rigid axle may do that its travel does not show."""

    roll_centre_below_mm: float
    roll_centre_above_mm: float
    """How far the point that the axle rolls about may be below and above the hubs' centres."""
    across_per_100mm: float
    along_per_100mm: float
    """Moves in 100 mm of bump, either way."""


@dataclass(frozen=True, slots=True, kw_only=True)
class WheelBounds:
    """What the links of one wheel may do that its travel does not show, in 100 mm of bump and either way."""

    camber_per_100mm: float
    toe_per_100mm: float
    across_per_100mm: float
    along_per_100mm: float


AXLES = {
    "leaf springs": AxleBounds(
        roll_centre_below_mm=150.0, roll_centre_above_mm=150.0, across_per_100mm=3.0, along_per_100mm=30.0
    ),
    "links": AxleBounds(
        roll_centre_below_mm=250.0, roll_centre_above_mm=300.0, across_per_100mm=15.0, along_per_100mm=22.0
    ),
}
"""By what carries a rigid axle."""
WHEELS = {
    "trailing arm": WheelBounds(camber_per_100mm=2.5, toe_per_100mm=1.5, across_per_100mm=12.0, along_per_100mm=28.0),
    "semi-trailing arm": WheelBounds(
        camber_per_100mm=5.5, toe_per_100mm=2.5, across_per_100mm=24.0, along_per_100mm=22.0
    ),
    "swing axle": WheelBounds(camber_per_100mm=14.0, toe_per_100mm=1.5, across_per_100mm=16.0, along_per_100mm=14.0),
    "twin beam": WheelBounds(camber_per_100mm=9.0, toe_per_100mm=2.0, across_per_100mm=18.0, along_per_100mm=12.0),
    "wishbones": WheelBounds(camber_per_100mm=6.0, toe_per_100mm=2.0, across_per_100mm=24.0, along_per_100mm=14.0),
    "multi-link": WheelBounds(camber_per_100mm=6.0, toe_per_100mm=2.0, across_per_100mm=30.0, along_per_100mm=24.0),
    "strut": WheelBounds(camber_per_100mm=4.0, toe_per_100mm=2.0, across_per_100mm=12.0, along_per_100mm=14.0),
}
"""By what carries a wheel of its own."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisBounds:
    """How far the steering axis may be from where it is given."""

    within_mm: float = 0.0
    """At hub height, square to it."""
    within_deg: float = 0.0
    """Its direction."""

    def at_lock(self, cycle: Cycle, kingpin: Kingpin | None) -> tuple[float, float]:
        """How far the wheel may be moved (mm) and its axle turned (deg) by this at the greater lock of a cycle.

        Nothing without an axis. With Q the turn between the two directions of the axis, turns R and R'
        about them move what is away from it apart by |R - R'| <= 2 |Q - 1| |R - 1|. Where the axle heads is known, so
        that all that is left of its own turn is what a leaning axis does to its camber, |Q - 1| |R - 1|; a fifth is
        added for what is of second order.
        """
        if kingpin is None:
            return 0.0, 0.0
        through, along = kingpin.through_mm, kingpin.axis
        lever_mm = float(np.linalg.norm(through - along * (through @ along))) + self.within_mm
        lock = math.radians(max(map(abs, cycle.steer_deg)))
        # the turn about a leaning axis that steers the wheel by so much is a little larger than the lock
        turn = 2.0 * math.sin(min(1.1 * lock, math.pi) / 2.0)
        tilt = 2.0 * math.sin(math.radians(self.within_deg) / 2.0)
        return (self.within_mm + 2.0 * tilt * lever_mm) * turn, math.degrees(1.2 * tilt * turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ByTravel(Carried):
    """What was measured by its travel: a cycle with what was not measured in it."""

    measured: Cycle
    """The cycle with the play that was stated."""
    unmeasured: Unmeasured
    camber_deg: float = 0.0
    toe_deg: float = 0.0
    kingpin: Kingpin | None = None
    carried_by: str = ""
    """What carries the wheel, where that is known."""
    bounds: AxleBounds | WheelBounds | None = None
    """What its links may do, as it stands in `unmeasured` for this cycle; None where nothing says it."""
    axis: AxisBounds = AxisBounds()
    """How well the steering axis is known."""
    cycle: Cycle = field(init=False)
    """The same with every move along and across that the links may make."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "cycle", replace(self.measured, shift=self.unmeasured.with_play(self.measured.shift)))
        self.check_steering()

    @property
    def uncertainty_mm(self) -> float:
        """What is not known is in `unmeasured`."""
        return 0.0

    def as_given(self) -> ByTravel:
        """The same with the links doing nothing that the travel does not show: one of the motions that are possible."""
        return replace(self, unmeasured=Unmeasured())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AxleByTravel(ByTravel):
    """A rigid axle that tilts as its two heights say, about its own middle."""

    track_mm: float

    def __post_init__(self) -> None:
        # the classes with slots are made anew, so that super() without its arguments does not find them
        super(AxleByTravel, self).__post_init__()
        if self.track_mm < 300.0:
            raise SuspensionError(f"a track of {self.track_mm:g} mm is too narrow. Measure from hub face to hub face.")
        if most_difference_mm(self.measured) > 0.7 * self.track_mm:
            raise SuspensionError(
                "one wheel this far above the other would stand the axle on its end. Check bump and droop of both"
                " wheels, or write articulation.",
                key="articulation",
            )

    @property
    def kind(self) -> str:
        """The corner file's word."""
        return "axle-by-travel"

    def axle(self, positions: Array) -> Pose:
        """Its middle straight up by the mean of both bumps, tilted by their difference."""
        sine = (positions[:, 0] - positions[:, 1]) / self.track_mm
        cosine = np.sqrt(1.0 - sine * sine)
        turn = np.zeros((len(positions), 3, 3))
        turn[:, 0, 0] = 1.0
        turn[:, 1, 1] = turn[:, 2, 2] = cosine
        turn[:, 1, 2], turn[:, 2, 1] = -sine, sine
        across = -0.5 * self.track_mm * (1.0 - cosine)
        return Pose(origin_mm=np.stack([np.zeros(len(positions)), across, positions[:, 0]], axis=-1), turn=turn)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class WheelByTravel(ByTravel):
    """A wheel of its own, straight up and down."""

    standing: bool = False

    @property
    def kind(self) -> str:
        """The corner file's word."""
        return "standing" if self.standing else "wheel-by-travel"

    def axle(self, positions: Array) -> Pose:
        """Up by the bump."""
        bump = positions[:, 0]
        turn = np.broadcast_to(np.eye(3), (len(bump), 3, 3)).copy()
        return Pose(origin_mm=np.stack([0.0 * bump, 0.0 * bump, bump], axis=-1), turn=turn)


def most_difference_mm(cycle: Cycle) -> float:
    """The most that one wheel of an axle stands above the other anywhere in the cycle."""
    (low, high), (other_low, other_high) = cycle.bump_mm, cycle.other_bump_mm
    most = max(high - other_low, other_high - low, 0.0)
    return most if cycle.articulation_mm is None else min(most, cycle.articulation_mm)


def axle_unmeasured(
    bounds: AxleBounds, cycle: Cycle, track_mm: float, at_lock: tuple[float, float], words: tuple[str, ...]
) -> Unmeasured:
    """What a rigid axle may do besides: sideways as it rolls and as a bar swings it; fore and aft, and turned by it."""
    high = max(map(abs, (*cycle.bump_mm, *cycle.other_bump_mm)))
    sine = min(most_difference_mm(cycle) / track_mm, 1.0)
    rolled = max(bounds.roll_centre_below_mm, bounds.roll_centre_above_mm) * sine
    across = rolled + bounds.across_per_100mm * high / PER_MM
    along = bounds.along_per_100mm * high / PER_MM
    turned = math.degrees(math.asin(min(2.0 * along / track_mm, 1.0)))
    steered_mm, steered_deg = at_lock
    return Unmeasured(
        ahead_mm=along,
        behind_mm=along,
        inboard_mm=across,
        outboard_mm=across,
        turn_deg=turned,
        steered_mm=steered_mm,
        steered_deg=steered_deg,
        words=words,
    )


def wheel_unmeasured(
    bounds: WheelBounds, cycle: Cycle, at_lock: tuple[float, float], words: tuple[str, ...]
) -> Unmeasured:
    """What a wheel of its own may do besides."""
    share = max(map(abs, cycle.bump_mm)) / PER_MM
    across, along = bounds.across_per_100mm * share, bounds.along_per_100mm * share
    steered_mm, steered_deg = at_lock
    return Unmeasured(
        ahead_mm=along,
        behind_mm=along,
        inboard_mm=across,
        outboard_mm=across,
        # the angle between two directions is no more than that of their differences in camber and toe, squared
        turn_deg=math.hypot(bounds.camber_per_100mm, bounds.toe_per_100mm) * share,
        steered_mm=steered_mm,
        steered_deg=steered_deg,
        words=words,
    )
