"""What is agreed about a corner beside its shape: what may change, what is sold, how sure each number is.

* limits      - the most that each change may be
* sold        - the steps in which each change can be had
* uncertainty - plus or minus of each measurement, as far as it is stated
* cost        - what each change takes in the shop
* now         - the tire and wheel on the car today, which come off
* spare       - the tire and wheel that is carried, and stands in for any other
* load        - what the tire must carry
* order       - what the wheel maker is told beyond the wheel itself
* the others  - load states, the spare's well, duals, chains, the body's cover, the tape numbers of both sides

A mock-up carries them; each answer reads those that it asks about. Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

from clearance.units import SAME_RIM_IN

Bounds = tuple[float, float]

OPEN_MM = 50.0
"""How far either way of the given wheel another is looked for, where no limit is stated."""


class Rim(Protocol):
    """What of a wheel decides where a backspace lies."""

    @property
    def offset_mm(self) -> float:
        """Of the mounting face from the rim's middle."""

    @property
    def backspace_mm(self) -> float:
        """Of the mounting face from the inner flange's edge."""

    @property
    def overall_width_mm(self) -> float:
        """Over both flanges."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Steps:
    """What can be bought or set: every multiple of a step, or the sizes of a list."""

    step: float = 0.0
    sizes: tuple[float, ...] = ()

    def round_up(self, amount: float) -> float | None:
        """The least of them that is not under `amount`; None where the list ends below it.

        >>> Steps(step=3.0).round_up(7.2), Steps(sizes=(3.0, 8.0)).round_up(8.5)
        (9.0, None)
        """
        # a hundredth of a micron over a step is the arithmetic's doing, not a reason to buy the next one
        slack = 1e-8
        if self.sizes or not self.step:
            return min((s for s in self.sizes if s >= amount - slack), default=None)
        whole = -(-(amount - slack) // self.step)
        return float(max(whole, 0.0) * self.step)

    def between(self, least: float, most: float) -> tuple[float, ...]:
        """All of them from least to most, the ends among them.

        >>> Steps(step=3.0).between(4.0, 12.0), Steps(sizes=(3.0, 8.0)).between(4.0, 12.0)
        ((6.0, 9.0, 12.0), (8.0,))
        """
        slack = 1e-8
        if self.sizes or not self.step:
            return tuple(size for size in self.sizes if least - slack <= size <= most + slack)
        first, last = -(-(least - slack) // self.step), (most + slack) // self.step
        return tuple(self.step * number for number in range(int(first), int(last) + 1))


@dataclass(frozen=True, slots=True, kw_only=True)
class Sold:
    """The steps in which each change can be had. All are common practice; edit them in [sold]."""

    spacer_mm: Steps = Steps(step=3.0)
    bump_stop_mm: Steps = Steps(step=6.35)
    backspace_mm: Steps = Steps(step=3.175)
    ride_height_mm: Steps = Steps(step=6.35)
    steering_stop_deg: Steps = Steps(step=0.5)
    camber_deg: Steps = Steps(step=0.25)
    lip_roll_mm: Steps = Steps(step=1.0)
    """Rolled or trimmed."""
    rack_washer_mm: Steps = Steps(step=1.0)
    """Spacers on the rack, in millimetres of its travel; how lock is given up where [limits] rack_per_deg is known."""
    axle_across_mm: Steps = Steps(step=1.0)
    """Shims, or a turn of a track bar's end."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Work:
    """What one change takes, on both sides of the axle."""

    hours: float
    money: float = 0.0
    reversible: bool = True
    """Whether it can be put back as it was."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """What each change takes in the shop, so that changes can be ranked. All are common practice; edit them in [cost].

    Whatever is given up is reckoned in hours beside the work: so that a stop that takes most of the travel does not
    pass for an hour's work.
    """

    spacer: Work = Work(hours=1.0)
    backspace: Work = Work(hours=0.0)
    """Nothing, while the wheel is still to be ordered."""
    bump_stop: Work = Work(hours=1.0)
    ride_height: Work = Work(hours=4.0)
    steering_stop: Work = Work(hours=1.0)
    camber: Work = Work(hours=1.5)
    lip_roll: Work = Work(hours=2.0, reversible=False)
    lip_trim: Work = Work(hours=4.0, reversible=False)
    axle_across: Work = Work(hours=3.0)
    per_hour: float = 100.0
    """What an hour of work is in the money of the others."""
    irreversible_hours: float = 2.0
    """What it counts that a change cannot be put back."""
    given_up_hours: float = 10.0
    """What it would count to give up all of the travel, or all of the lock; a share of it, that share."""

    def of(self, key: str, portion: float = 1.0) -> Work:
        """The work of one change, by its key in [cost]; of one side of an axle alone a `portion` of 0.5."""
        found: Work = getattr(self, key)
        return found if portion == 1.0 else replace(found, hours=portion * found.hours, money=portion * found.money)

    def hours(self, key: str, given_up: float, portion: float = 1.0) -> float:
        """All that a change costs, in hours; `given_up` is the share of what there is that it takes.

        What cannot be put back counts in full on one side too.

        >>> round(Cost().hours("bump_stop", 60 / 76), 2), Cost().hours("lip_roll", 0.0)
        (8.89, 4.0)
        >>> Cost().hours("lip_roll", 0.0, 0.5)
        3.0
        """
        work = self.of(key, portion)
        undone = 0.0 if work.reversible else self.irreversible_hours
        return work.hours + work.money / self.per_hour + undone + self.given_up_hours * given_up


@dataclass(frozen=True, slots=True, kw_only=True)
class Now:
    """The tire and wheel on the car today."""

    size: str | None = None
    overall_diameter_mm: float | None = None
    section_width_mm: float | None = None
    rim_diameter_in: float | None = None
    rim_width_in: float | None = None
    backspace_mm: float | None = None
    offset_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare(Now):
    """The tire and wheel that is carried."""

    speed_kmh: float | None = None
    """The fastest that it may go, as its sidewall says."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limits:
    """The most that each change may be; None where it is not offered. The defaults are common practice."""

    spacer_mm: float | None = 25.0
    backspace_mm: Bounds | None = None
    """Least and most backspace that can be had; None leaves `OPEN_MM` each way open."""
    other_backspace: bool = True
    """Whether a wheel of another backspace may be offered at all."""
    bump_stop_mm: float | None = 60.0
    steering_stop_deg: float | None = 15.0
    rack_per_deg_mm: float | None = None
    ride_height_mm: float | None = 50.0
    camber_deg: Bounds | None = None
    """Static camber that is acceptable; None where camber is not to be touched."""
    lip_roll_mm: float | None = 13.0
    """The most that rolling gains, however deep the return; `well.rolled` has what the return itself allows."""
    lip_trim_mm: float | None = 19.0
    axle_across_mm: float | None = 12.0
    """How far an axle may be moved across the car, either way; asked of a car's axle alone."""
    tire_size: bool = True
    rim_widths_in: tuple[float, ...] = ()

    def offsets_mm(self, rim: Rim, given: Rim) -> Bounds:
        """Least and greatest offset that may be ordered on a rim, where the wheel now is `given`.

        A limit is one of backspace, so on a wider rim it is another offset.
        """
        half = rim.overall_width_mm / 2
        if not self.other_backspace:
            return given.backspace_mm - half, given.backspace_mm - half
        if self.backspace_mm is None:
            return given.offset_mm - OPEN_MM, given.offset_mm + OPEN_MM
        return self.backspace_mm[0] - half, self.backspace_mm[1] - half

    def widths_in(self, permitted: tuple[float, ...]) -> tuple[float, ...]:
        """The rim widths of [limits] that lie within a tire's permitted ones; all of these where it states none."""
        if not self.rim_widths_in or not permitted:
            return permitted
        low, high = min(permitted) - SAME_RIM_IN, max(permitted) + SAME_RIM_IN
        return tuple(width for width in self.rim_widths_in if low <= width <= high)


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """What the tire must carry."""

    corner_kg: float | None = None
    speed_kmh: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OrderTerms:
    """What the wheel maker is told beyond the wheel itself. Tolerances are shop practice, editable."""

    quantity: int = 4
    lug_seat: str | None = None
    thread: str | None = None
    stud_length_mm: float | None = None
    seat_depth_mm: float | None = None
    tolerances_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class SpareWell:
    """A round well that the spare lies in."""

    diameter_mm: float
    depth_mm: float
    stand_mm: float | None = None
    """Floor to the wheel's mounting face; None: the wheel lies on the floor."""
    face_up: bool = False
    off_centre_mm: float = 0.0
    required_mm: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Duals:
    """Two tires side by side."""

    spacing_mm: float | None = None
    """Between the two centre planes; None takes twice the wheel's outset."""
    bulge: float = 0.06
    """How much wider the section is under load, as a fraction; from memory 4 to 8 %, editable."""
    required_mm: float = 19.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Chains:
    """Room for chains on tread and sidewall."""

    name: str
    tread_mm: float
    side_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """A rule about the body over the tire: the tread must lie under cover between two angles from straight up."""

    ahead_deg: float = 30.0
    behind_deg: float = 50.0
    protrude_mm: float = 0.0
    parts: tuple[str, ...] = ()
    source: str = "78/549/EEC as quoted second-hand; check the code that applies to you"


@dataclass(frozen=True, slots=True, kw_only=True)
class Tape:
    """Two tape numbers from the hub's face, for one side of the car."""

    hub_to_spring_mm: float | None = None
    hub_to_lip_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Uncertainty:
    """Plus or minus of each measurement, at about two standard deviations; only what the file states."""

    stated: Mapping[str, float] = field(default_factory=dict)
    """Source name ("backspace", "camber") to mm or degrees."""
    parts_mm: float | None = None
    part_mm: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class Terms:
    """Everything that is agreed about one corner, with its defaults."""

    load_states_mm: Mapping[str, float] = field(default_factory=dict)
    """Name to height of the body over the ride height that was measured."""
    limits: Limits = field(default_factory=Limits)
    sold: Sold = field(default_factory=Sold)
    uncertainty: Uncertainty = field(default_factory=Uncertainty)
    cost: Cost = field(default_factory=Cost)
    now: Now | None = None
    spare: Spare | None = None
    load: Load = field(default_factory=Load)
    order: OrderTerms = field(default_factory=OrderTerms)
    spare_well: SpareWell | None = None
    duals: Duals | None = None
    chains: Chains | None = None
    coverage: Coverage | None = None
    tape: Tape | None = None
    opposite: Tape | None = None
