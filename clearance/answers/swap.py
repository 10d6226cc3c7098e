"""A tire and wheel for another: reach in and out, hub and ride height, speedometer, load.

* old, new    - what comes off, and what goes on
* reach       - from the hub's face inboard and outboard, to the side wall or the rim, whichever stands further out
* hub height  - half the difference of diameters; both tires are taken to squat alike
* ride height - the body goes up with the hub
* speedometer - counts turns of the wheel: at one reading the true speed goes as the rolling circumference

Overall diameter D = d + 2 H and rolling circumference 3.05 D (2.99 D bias) are those of `tire.dimensions` (UN R30,
ETRTO; from memory), or as published or measured. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from clearance.answers.said import tire_said
from clearance.tire.catalog import ride_height_change_mm, rolling_circumference_mm, speedometer_change
from clearance.units import KMH_PER_MPH
from clearance.wheel.rim import wheel_for

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.terms import Now
    from clearance.tire.dimensions import Dimensions
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

NOTHING_NOW = (
    "There is nothing to compare with: no [now] says what is on the car today. Write [now] with size, width and"
    " backspace of what comes off, and speedometer, stance and reach are said against it."
)
INDICATED_KMH = (60 * KMH_PER_MPH, 100.0)
"""The readings that are worked out: 60 mph and 100 km/h."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Rolls:
    """One tire and wheel, as far as it is known."""

    name: str
    overall_mm: float
    rolling_mm: float
    inboard_mm: float | None
    """Reach inboard of the hub's face; None where width or backspace is not known."""
    outboard_mm: float | None
    load_kg: float | None
    """By the load index of the marking; None where it has none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Swap:
    """What changes from one to the other."""

    old: Rolls
    new: Rolls

    @property
    def inboard_mm(self) -> float | None:
        """How much further inboard the new one reaches; None where either is not known."""
        return _less(self.new.inboard_mm, self.old.inboard_mm)

    @property
    def outboard_mm(self) -> float | None:
        """How much further outboard the new one reaches."""
        return _less(self.new.outboard_mm, self.old.outboard_mm)

    @property
    def hub_mm(self) -> float:
        """How much higher the hub stands, and the body with it."""
        return ride_height_change_mm(self.old.overall_mm, self.new.overall_mm)

    @property
    def speed(self) -> float:
        """Fraction by which the true speed is more at one reading."""
        return speedometer_change(self.old.rolling_mm, self.new.rolling_mm)

    @property
    def load_kg(self) -> float | None:
        """How much more one tire carries by its marking."""
        return _less(self.new.load_kg, self.old.load_kg)

    def true_kmh(self, indicated_kmh: float) -> float:
        """How fast the car goes at a reading that was right with the old tire."""
        return indicated_kmh * (1.0 + self.speed)

    def shown(self, true: float) -> float:
        """What speedometer or odometer shows of a true speed or way that they were right for with the old tire."""
        return true / (1.0 + self.speed)


def _less(new: float | None, old: float | None) -> float | None:
    return None if new is None or old is None else new - old


def mounted_rolls(tire: Tire, wheel: Wheel) -> Rolls:
    """A tire on its wheel, new: growth and chains not counted."""
    half = max(tire.section_width_mm, wheel.overall_width_mm) / 2
    return Rolls(
        name=f"{tire.marking or 'tire'} on {wheel.diameter_in:g} x {wheel.width_in:g} in",
        overall_mm=tire.overall_diameter_mm,
        rolling_mm=_rolling(tire),
        inboard_mm=half + wheel.offset_mm,
        outboard_mm=half - wheel.offset_mm,
        load_kg=None if tire.info is None else tire.info.load_kg,
    )


def _rolling(tire: Tire) -> float:
    return rolling_circumference_mm(tire.overall_diameter_mm, radial=tire.info is None or tire.info.radial)


def marked_rolls(found: Dimensions, rim_in: float) -> Rolls:
    """A marking on a rim; its reach is half its width either way of the rim's middle, wherever that comes to stand."""
    half = found.width_on(rim_in) / 2
    return Rolls(
        name=f"{found.marking.text} on {rim_in:.3g} in",
        overall_mm=found.overall_diameter_mm,
        rolling_mm=found.rolling_mm,
        inboard_mm=half,
        outboard_mm=half,
        load_kg=found.marking.load_kg,
    )


def now_rolls(now: Now, new: Wheel) -> Rolls:
    """What is on the car today, as far as [now] says; on a rim of the new one's diameter where it says none.

    Raises TireError or WheelError for what cannot be.
    """
    if now.size is None and now.section_width_mm is None:
        overall = now.overall_diameter_mm or 0.0
        around = rolling_circumference_mm(overall)
        return Rolls(
            name="tire", overall_mm=overall, rolling_mm=around, inboard_mm=None, outboard_mm=None, load_kg=None
        )
    tire = tire_said(now, new.diameter_in)
    if now.rim_width_in is not None and (now.backspace_mm is not None or now.offset_mm is not None):
        wheel = wheel_for(
            tire.rim_diameter_in, now.rim_width_in, backspace_mm=now.backspace_mm, offset_mm=now.offset_mm
        )
        return mounted_rolls(tire, wheel)
    half = tire.section_width_mm / 2
    offset = now.offset_mm
    return Rolls(
        name=tire.marking or "tire",
        overall_mm=tire.overall_diameter_mm,
        rolling_mm=_rolling(tire),
        inboard_mm=None if offset is None else half + offset,
        outboard_mm=None if offset is None else half - offset,
        load_kg=None if tire.info is None else tire.info.load_kg,
    )


def against_now(mockup: MockUp) -> Swap | None:
    """A corner's tire and wheel against what is on the car today; None where no [now] says."""
    if mockup.terms.now is None:
        return None
    return Swap(old=now_rolls(mockup.terms.now, mockup.wheel), new=mounted_rolls(mockup.tire, mockup.wheel))


def swaps_of(before: MockUp | None, after: MockUp | None) -> tuple[Swap | None, tuple[Swap, ...]]:
    """After's tire and wheel against before's; and each of them against what is on the car, where either file says.

    Raises TireError or WheelError for a [now] that cannot be.
    """
    if before is None or after is None:
        return None, ()
    between = Swap(old=mounted_rolls(before.tire, before.wheel), new=mounted_rolls(after.tire, after.wheel))
    said = after.terms.now or before.terms.now
    if said is None:
        return between, ()
    old = now_rolls(said, after.wheel)
    return between, tuple(Swap(old=old, new=new) for new in dict.fromkeys((between.old, between.new)))
