"""Wheels that change places on a car, and the spare where it stands in for any of them.

* kind of wheel - wheels that are alike: same tire, same rim, same offset; where it stands now is its home
* alike         - within what no tape tells apart (`ALIKE_MM`); one goes for the other, and is measured once
* side to side, front to rear, crosswise - the three ways in which wheels change places
* spare         - what [spare] says, at every corner

A wheel goes across the car with its outer face still outboard, so that it is the same wheel there. Lengths are
millimetres, speeds km/h.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

from clearance.answers.said import marking_of, missing_of, put_on
from clearance.answers.swap import Rolls, mounted_rolls
from clearance.errors import InputError

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp
    from clearance.pose import Array
    from clearance.terms import Spare
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

ALIKE_MM = 0.05
"""Less than a wheel is made to, and than any tape reads."""
WAYS = ("side to side", "front to rear", "crosswise")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Kind:
    """Wheels that are alike."""

    name: str
    home: tuple[str, ...]
    """Corners that they stand at by the file."""
    stood: MockUp
    """One of them at home."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Going:
    """One kind of wheel, or the spare, at one corner."""

    wheel: str
    home: tuple[str, ...]
    """Where it stands by the file; none of a spare."""
    corner: str
    at_home: bool
    refused: str
    """Why it cannot be bolted on there; empty where it can."""
    gaps: tuple[Gap, ...]
    """As a check has them, worst first; none where it cannot be bolted on or nothing stands around it."""

    @property
    def worst(self) -> Gap | None:
        """The part that decides."""
        return self.gaps[0] if self.gaps else None

    @property
    def verdict(self) -> str:
        """clears, tight, hits, undecided, or refused."""
        if self.refused:
            return "refused"
        return self.gaps[0].verdict if self.gaps else "undecided"


@dataclass(frozen=True, slots=True, kw_only=True)
class StandIn:
    """What the spare does to the corner that it stands in at, beside its gaps."""

    corner: str
    hub_mm: float
    """How much higher the hub stands."""
    rolls: float
    """How much further it rolls in a turn than the wheel that it stands in for, as a fraction."""
    against_other: float | None
    """How much further than the wheel at the other end of its axle; None where that corner is not described."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """The spare, as far as the file says it."""

    name: str
    temporary: bool
    """Marked T: for short ways only."""
    speed_kmh: float | None
    """The fastest that it may go, as [spare] says."""
    load_kg: float | None
    """What its marking lets it carry."""
    too_heavy: tuple[str, ...]
    """Corners on which more stands by [load] than it carries."""
    missing: tuple[str, ...]
    """Keys of [spare] without which it cannot be put anywhere."""
    stands: tuple[StandIn, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Rotated:
    """Where every wheel may go."""

    kinds: tuple[Kind, ...]
    goings: tuple[Going, ...]
    """Each kind at every corner of the car."""
    carried: Carried | None
    """None where no [spare] says anything."""
    spare: tuple[Going, ...]
    """It at every corner."""

    def at(self, home: str, corner: str) -> Going:
        """What the wheel of one corner does at another."""
        return next(one for one in self.goings if home in one.home and one.corner == corner)

    def way(self, name: str) -> tuple[tuple[str, str], ...]:
        """The places that wheels change in one of WAYS: (from, to) both ways, of corners that are described."""
        there = sorted({one.corner for one in self.goings})
        return tuple((here, partner(here, name)) for here in there if partner(here, name) in there)

    def verdict_of(self, name: str) -> str | None:
        """The worst of all moves of one way; None where no two corners of it are described."""
        found = [self.at(*move).verdict for move in self.way(name)]
        return min(found, key=WORST.index) if found else None

    def alike(self, name: str) -> bool:
        """Does each wheel of this way go where its like stands already?"""
        return bool(self.way(name)) and all(self.at(*move).at_home for move in self.way(name))

    @property
    def verdicts(self) -> tuple[str, ...]:
        """Of everything that was asked."""
        return tuple(one.verdict for one in (*self.goings, *self.spare))


WORST = ("refused", "hits", "undecided", "tight", "clears")


def partner(corner: str, way: str) -> str:
    """The corner whose wheel comes here.

    >>> partner("front-left", "side to side"), partner("front-left", "crosswise")
    ('front-right', 'rear-right')
    """
    axle, side = corner.split("-")
    if way != "side to side":
        axle = "rear" if axle == "front" else "front"
    if way != "front to rear":
        side = "right" if side == "left" else "left"
    return f"{axle}-{side}"


# ---- which wheels there are


def kinds_of(car: Car) -> tuple[Kind, ...]:
    """The kinds of wheel on a car, in the order of their corners."""
    homes: list[list[MockUp]] = []
    for corner in car.corners.values():
        alike = next((home for home in homes if same_wheel(home[0], corner)), None)
        if alike is None:
            homes.append([corner])
        else:
            alike.append(corner)
    return tuple(
        Kind(
            name=mounted_rolls(home[0].tire, home[0].wheel).name, home=tuple(one.corner for one in home), stood=home[0]
        )
        for home in homes
    )


def same_wheel(one: MockUp, other: MockUp) -> bool:
    """Are the two wheels alike, tire and rim, to within ALIKE_MM?"""
    return _numbers(one.tire, one.wheel) == _numbers(other.tire, other.wheel) and _same_traced(
        one.tire.traced, other.tire.traced
    )


def _numbers(tire: Tire, wheel: Wheel) -> tuple[object, ...]:
    lengths = (
        *(tire.full_diameter_mm, tire.full_width_mm, tire.overall_diameter_mm, tire.section_width_mm),
        *(tire.tread_width_mm, wheel.offset_mm, wheel.overall_width_mm, wheel.flange_height_mm, wheel.barrel_mm),
        *(wheel.face_outboard_mm, wheel.center_bore_mm or 0.0),
    )
    steps = tuple(round(mm / ALIKE_MM) for mm in lengths)
    return (*steps, wheel.diameter_in, wheel.width_in, tire.shape, tire.marking, str(wheel.bolt_circle))


def _same_traced(one: Array | None, other: Array | None) -> bool:
    if one is None or other is None:
        return one is other
    return one.shape == other.shape and float(abs(one - other).max()) < ALIKE_MM


# ---- where each would stand


def moved(car: Car, kind: Kind) -> dict[str, tuple[MockUp | None, str]]:
    """A kind of wheel at every corner: the corner with it on, or None and why it cannot be bolted on."""
    return {
        name: (corner, "") if name in kind.home else _with_wheel(corner, kind.stood)
        for name, corner in car.corners.items()
    }


def _with_wheel(corner: MockUp, wheel: MockUp) -> tuple[MockUp | None, str]:
    refused = not_bolted(corner.wheel, wheel.wheel)
    if refused:
        return None, refused
    return replace(corner, tire=wheel.tire, wheel=wheel.wheel), ""


def not_bolted(own: Wheel, other: Wheel) -> str:
    """Why a wheel does not go on the hub of another; empty where nothing known speaks against it."""
    if own.bolt_circle is not None and other.bolt_circle is not None and str(own.bolt_circle) != str(other.bolt_circle):
        return f"bolt circle {other.bolt_circle} on a hub for {own.bolt_circle}"
    return ""


def spares(car: Car) -> dict[str, MockUp | None]:
    """The spare at every corner; None where [spare] does not say enough, or nothing there.

    Raises TireError or WheelError for a spare that cannot be.
    """
    found: dict[str, MockUp | None] = {}
    for name, corner in car.corners.items():
        said = corner.terms.spare
        found[name] = None if said is None else put_on(corner, said)
    return found


def carried_of(car: Car) -> Carried | None:
    """The spare of a car, and what it does beside its gaps; None where no corner has a [spare].

    Raises InputError where two corners have different ones: a car carries one.
    """
    spare = _spare_of(car)
    if spare is None:
        return None
    marked, stood = marking_of(spare), spares(car)
    rolls = {name: mounted_rolls(one.tire, one.wheel) for name, one in stood.items() if one is not None}
    own = {name: mounted_rolls(corner.tire, corner.wheel) for name, corner in car.corners.items()}
    carries = None if marked is None else marked.load_kg
    return Carried(
        name=next(iter(rolls.values())).name if rolls else spare.size or "spare",
        temporary=marked is not None and marked.form == "temporary spare",
        speed_kmh=spare.speed_kmh,
        load_kg=carries,
        too_heavy=() if carries is None else _heavier(car, carries),
        missing=missing_of(spare),
        stands=tuple(_stand_in(name, one, own) for name, one in rolls.items()),
    )


def _spare_of(car: Car) -> Spare | None:
    said = {corner.terms.spare for corner in car.corners.values() if corner.terms.spare is not None}
    if len(said) > 1:
        raise InputError("the corners have different [spare] sections; a car carries one. Write it once, for the car.")
    return next(iter(said), None)


def _heavier(car: Car, carries_kg: float) -> tuple[str, ...]:
    """The corners that weigh more than the spare carries."""
    stands = {name: corner.terms.load.corner_kg for name, corner in car.corners.items()}
    return tuple(name for name, kg in stands.items() if kg is not None and kg > carries_kg)


def _stand_in(corner: str, spare: Rolls, own: Mapping[str, Rolls]) -> StandIn:
    other = own.get(partner(corner, "side to side"))
    return StandIn(
        corner=corner,
        hub_mm=(spare.overall_mm - own[corner].overall_mm) / 2,
        rolls=spare.rolling_mm / own[corner].rolling_mm - 1.0,
        against_other=None if other is None else spare.rolling_mm / other.rolling_mm - 1.0,
    )


# ---- put together


def asked_of(car: Car, kinds: Sequence[Kind]) -> list[MockUp | None]:
    """Every mock-up that has to be measured, in the order in which `rotated` takes the gaps."""
    rows = [mockup for kind in kinds for mockup, _ in moved(car, kind).values()]
    return [*rows, *spares(car).values()]


def rotated(car: Car, kinds: Sequence[Kind], gaps: Sequence[tuple[Gap, ...]]) -> Rotated:
    """Where every wheel may go, from the gaps of `asked_of`."""
    taken = iter(gaps)
    goings = [
        Going(
            wheel=kind.name,
            home=kind.home,
            corner=name,
            at_home=name in kind.home,
            refused=refused,
            gaps=next(taken),
        )
        for kind in kinds
        for name, (_, refused) in moved(car, kind).items()
    ]
    carried = carried_of(car)
    spare = [
        Going(wheel=carried.name, home=(), corner=name, at_home=False, refused="", gaps=found)
        for (name, stood), found in zip(spares(car).items(), taken, strict=True)
        if carried is not None and stood is not None
    ]
    return Rotated(kinds=tuple(kinds), goings=tuple(goings), carried=carried, spare=tuple(spare))
