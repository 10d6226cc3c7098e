"""What can be turned on a car to make a wheel clear, one knob at a time.

A knob is an amount, from nothing up, in millimetres or degrees; what it does to the mock-up; how far it may go; in
which steps it is sold or set; and what it costs. Costs are said in the shop's terms: travel lost, lock lost, track
gained.

* a knob that only gives away part of the cycle (a stop) never makes anything worse: its gap only grows
* a knob that moves something may make another part worse: more is not always better, and what is bought is measured
  again
* state - what a corner with some knobs turned comes to, in a few numbers: how far the wheel stands out, how far it
          leans, how far lips were rolled and trimmed, how much travel and lock is left out. Two knobs that come to the
          same state are one corner to measure

No gap differs between two states by more than what lies between them in the numbers that move something, and none is
less where more travel or lock is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import (
    with_bump_stop,
    with_camber,
    with_lip_rolled,
    with_locks,
    with_offset,
    with_part_moved,
)
from clearance.defaults import STEP_MM
from clearance.mockup.words import steer_side
from clearance.pose import car_steer_deg
from clearance.terms import OPEN_MM, Limits, Sold, Steps
from clearance.units import both, inch_text
from clearance.well.rolled import folded_mm, rolling_gains_mm, turned_mm

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.well.part import Part

STEP_DEG = 0.02

OUT, LEAN, ROLLED, TRIMMED, ACROSS, STOP, LEFT, RIGHT = range(8)
"""The numbers of a state: millimetres, the lean as far as the tread goes by it, the axle moved outboard; the last three
are only ever left out, travel in mm and locks in degrees."""
STATE_SIZE = 8
Numbers = tuple[float, ...]
_STOP = "steering stop"
_STUDS = "check stud length and thread engagement"


def at_number(place: int, value: float) -> Numbers:
    """A state in which nothing else is changed."""
    return tuple(value if k == place else 0.0 for k in range(STATE_SIZE))


def _nothing(_: float) -> float:
    return 0.0


def _plain_mm(amount: float) -> str:
    return both(amount)


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """One thing that can be changed."""

    name: str
    unit: str
    """mm or deg."""
    apply: Callable[[MockUp, float], MockUp]
    limit: float
    step: float
    """How closely the least amount is found."""
    sold: Steps
    cost: Callable[[float], str]
    """What an amount of it asks for, turned on both sides of the axle."""
    key: str
    """What it is called in [cost]."""
    takes: frozenset[str]
    """What it decides; of two knobs that take the same, one is turned."""
    state: Callable[[float], Numbers]
    """What it adds to the state."""
    portion: float = 1.0
    """How much of the work on an axle it is: half of it on one side alone."""
    cost_on_one_side: Callable[[float], str] | None = None
    """The same, turned on this side alone, where that is said otherwise."""
    also: tuple[str, ...] = ()
    """Other knobs that it turns together; it is of no use where one of them does it alone."""
    only_grows: bool = False
    mm_per_unit: float = 1.0
    """The most that any gap changes for one unit: 1 for a millimetre of move, the reach for a radian of turn."""
    share: Callable[[float], float] = field(default=_nothing)
    """How much of the travel or of the lock that there is it takes."""
    said: Callable[[float], str] = field(default=_plain_mm)
    """An amount of it in words."""

    @property
    def offered(self) -> tuple[float, ...]:
        """The amounts that are sold, up to the limit, least first."""
        return tuple(amount for amount in self.sold.between(self.step, self.limit) if amount > 0.0)


def knobs_of(mockup: MockUp, limits: Limits, sold: Sold, failing: tuple[str, ...]) -> tuple[Knob, ...]:
    """Every knob that [limits] leaves open and that this corner has, in the order in which a shop would try them."""
    knobs = [
        *_offsets(mockup, limits, sold),
        *_stops(mockup, limits, sold),
        *_steering(mockup, limits, sold),
        *_camber(mockup, limits, sold),
        *_lips(mockup, limits, sold, failing),
    ]
    return tuple(k for k in knobs if k.limit >= k.step)


def _offsets(mockup: MockUp, limits: Limits, sold: Sold) -> list[Knob]:
    now = mockup.wheel.offset_mm
    half = mockup.wheel.overall_width_mm / 2
    least, most = (offset + half for offset in limits.offsets_mm(mockup.wheel, mockup.wheel))
    back = now + half
    shallower = Steps(sizes=tuple(sorted(back - one for one in sold.backspace_mm.between(least, back))))
    deeper = Steps(sizes=tuple(one - back for one in sold.backspace_mm.between(back, most)))

    def out(m: MockUp, x: float) -> MockUp:
        return with_offset(m, m.wheel.offset_mm - x)

    def into(m: MockUp, x: float) -> MockUp:
        return with_offset(m, m.wheel.offset_mm + x)

    knobs = []
    if limits.spacer_mm is not None:
        knobs.append(
            Knob(
                name="spacer",
                unit="mm",
                apply=out,
                limit=limits.spacer_mm,
                step=STEP_MM,
                sold=sold.spacer_mm,
                key="spacer",
                takes=frozenset({"offset"}),
                state=lambda x: at_number(OUT, x),
                cost=lambda x: f"{_track(x, 'wider')}; {_STUDS}",
                cost_on_one_side=lambda x: f"{_track_on_one_side(x, 'wider')}; {_STUDS}",
            )
        )
    knobs.append(
        Knob(
            name="less backspace",
            unit="mm",
            apply=out,
            limit=now + half - least,
            step=STEP_MM,
            sold=shallower,
            key="backspace",
            takes=frozenset({"offset"}),
            state=lambda x: at_number(OUT, x),
            cost=lambda x: f"{_another(now + half - x)}; {_track(x, 'wider')}",
            cost_on_one_side=lambda x: f"{_another(now + half - x)}; {_track_on_one_side(x, 'wider')}",
        )
    )
    knobs.append(
        Knob(
            name="more backspace",
            unit="mm",
            apply=into,
            limit=most - now - half,
            step=STEP_MM,
            sold=deeper,
            key="backspace",
            takes=frozenset({"offset"}),
            state=lambda x: at_number(OUT, -x),
            cost=lambda x: f"{_another(now + half + x)}; {_track(x, 'narrower')}",
            cost_on_one_side=lambda x: f"{_another(now + half + x)}; {_track_on_one_side(x, 'narrower')}",
        )
    )
    return knobs


def _another(backspace_mm: float) -> str:
    return f"another wheel, {both(backspace_mm)} backspace"


def _track(moved_mm: float, way: str) -> str:
    return f"track {2 * moved_mm:.0f} mm {way} with both sides"


def _track_on_one_side(moved_mm: float, way: str) -> str:
    return f"track {moved_mm:.0f} mm {way}, on one side"


def _stops(mockup: MockUp, limits: Limits, sold: Sold) -> list[Knob]:
    least, most = mockup.suspension.cycle.bump_mm
    knobs = []
    if limits.bump_stop_mm is not None and most > 0:
        knobs.append(
            Knob(
                name="bump stop",
                unit="mm",
                apply=with_bump_stop,
                limit=min(limits.bump_stop_mm, most),
                step=STEP_MM,
                sold=sold.bump_stop_mm,
                key="bump_stop",
                takes=frozenset({"stop"}),
                state=lambda x: at_number(STOP, x),
                share=lambda x: x / most,
                cost=lambda x: f"{x:.1f} mm ({inch_text(x)}) of bump travel lost, {most - x:.0f} of {most:.0f} mm left",
                only_grows=True,
            )
        )
    if limits.ride_height_mm is not None and least < 0 < most:
        knobs.append(
            Knob(
                name="ride height",
                unit="mm",
                apply=with_bump_stop,
                limit=min(limits.ride_height_mm, -least),
                step=STEP_MM,
                sold=sold.ride_height_mm,
                key="ride_height",
                takes=frozenset({"stop"}),
                state=lambda x: at_number(STOP, x),
                share=lambda x: x / -least,
                cost=lambda x: (
                    f"car {x:.1f} mm ({inch_text(x)}) higher with its bump stops lowered as much: bump travel"
                    f" stays {most:.0f} mm, {-least - x:.0f} of {-least:.0f} mm of droop left;"
                    f" springs alone change nothing"
                    " at the stop"
                ),
                only_grows=True,
            )
        )
    return knobs


def _steering(mockup: MockUp, limits: Limits, sold: Sold) -> list[Knob]:
    right, left = mockup.suspension.cycle.steer_deg
    if limits.steering_stop_deg is None or left - right <= 0:
        return []

    per_deg = limits.rack_per_deg_mm
    # a washer on the rack is bought by its thickness, and gives up the lock that so much travel makes
    sold_deg = sold.steering_stop_deg if per_deg is None else _washers(sold, limits.steering_stop_deg, per_deg)

    def said(x: float) -> str:
        return f"{x:.2f} deg" if per_deg is None else f"{x * per_deg:.1f} mm of rack ({x:.2f} deg)"

    def cost(side: str) -> Callable[[float], str]:
        def words(x: float) -> str:
            rack = "" if per_deg is None else f", {x * per_deg:.1f} mm of rack travel"
            return f"{x:.2f} deg of lock lost {side}{rack}: a wider turning circle"

        return words

    names = [steer_side(car_steer_deg(turn, right_hand=mockup.right_hand)) for turn in (1.0, -1.0)]
    rows = (
        (f"{_STOP}, {names[0]}", f"at {names[0]} lock", (1.0, 0.0), left, {"left"}),
        (f"{_STOP}, {names[1]}", f"at {names[1]} lock", (0.0, 1.0), -right, {"right"}),
        (f"{_STOP}, both", "each way", (1.0, 1.0), max(left, -right), {"left", "right"}),
    )

    def turned(share: tuple[float, float]) -> Callable[[MockUp, float], MockUp]:
        return lambda m, x: with_locks(m, share[0] * x, share[1] * x)

    def numbers(share: tuple[float, float]) -> Callable[[float], Numbers]:
        return lambda x: (0.0,) * LEFT + (min(share[0] * x, left), min(share[1] * x, -right))

    def lost(share: tuple[float, float]) -> Callable[[float], float]:
        return lambda x: (min(share[0] * x, left) + min(share[1] * x, -right)) / (left - right)

    return [
        Knob(
            name=name,
            unit="deg",
            apply=turned(share),
            limit=min(limits.steering_stop_deg, most),
            step=STEP_DEG,
            sold=sold_deg,
            key="steering_stop",
            takes=frozenset(takes),
            also=tuple(f"{_STOP}, {side}" for side in names) if len(takes) > 1 else (),
            state=numbers(share),
            share=lost(share),
            said=said,
            cost=cost(side),
            only_grows=True,
        )
        for name, side, share, most, takes in rows
    ]


def _washers(sold: Sold, most_deg: float, per_deg_mm: float) -> Steps:
    return Steps(sizes=tuple(mm / per_deg_mm for mm in sold.rack_washer_mm.between(0.0, most_deg * per_deg_mm)))


def _camber(mockup: MockUp, limits: Limits, sold: Sold) -> list[Knob]:
    if limits.camber_deg is None:
        return []
    axis = mockup.suspension.pose(np.zeros((1, 3))).axis[0]
    now = math.degrees(math.asin(max(-1.0, min(1.0, -float(axis[2])))))
    # with the wheel as far out as anything may put it
    reach_mm = float(mockup.solid.reach_mm) + max(
        OPEN_MM, limits.spacer_mm or 0.0, *map(abs, _moves_mm(mockup, limits))
    )
    per_deg = reach_mm * math.pi / 180
    rows = (("camber, top in", -1.0, now - limits.camber_deg[0]), ("camber, top out", 1.0, limits.camber_deg[1] - now))

    def turned(way: float) -> Callable[[MockUp, float], MockUp]:
        return lambda m, x: with_camber(m, way * x)

    def leaned(way: float) -> Callable[[float], Numbers]:
        return lambda x: at_number(LEAN, way * x * per_deg)

    def cost(way: float) -> Callable[[float], str]:
        return lambda x: f"static camber {now:+.2f} to {now + way * x:+.2f} deg: tire wear; set the toe again"

    return [
        Knob(
            name=name,
            unit="deg",
            apply=turned(way),
            limit=room,
            step=STEP_DEG,
            sold=sold.camber_deg,
            key="camber",
            takes=frozenset({"camber"}),
            state=leaned(way),
            said=lambda x: f"{x:.2f} deg",
            cost=cost(way),
            mm_per_unit=per_deg,
        )
        for name, way, room in rows
    ]


def _moves_mm(mockup: MockUp, limits: Limits) -> tuple[float, float]:
    least, most = limits.offsets_mm(mockup.wheel, mockup.wheel)
    return least - mockup.wheel.offset_mm, most - mockup.wheel.offset_mm


def _lips(mockup: MockUp, limits: Limits, sold: Sold, failing: tuple[str, ...]) -> list[Knob]:
    lips = [p for p in mockup.parts if p.kind == "lip" and p.name in failing]
    return [*_rolled(lips, limits, sold), *_trimmed(lips, limits, sold)]


def _rolled(lips: Sequence[Part], limits: Limits, sold: Sold) -> list[Knob]:
    """All of the lips that are too near, each as far as its own return allows."""
    if limits.lip_roll_mm is None or not lips:
        return []
    gains = {lip.name: rolling_gains_mm(lip, limits.lip_roll_mm) for lip in lips}

    def apply(m: MockUp, x: float) -> MockUp:
        for name, most in gains.items():
            m = with_lip_rolled(m, name, min(x, most))
        return m

    def turned(x: float) -> Numbers:
        return at_number(ROLLED, sum(turned_mm(lip, min(x, gains[lip.name])) for lip in lips))

    left = max(folded_mm(lip) for lip in lips)
    return [
        Knob(
            name="lip rolled",
            unit="mm",
            apply=apply,
            limit=max(gains.values()),
            step=STEP_MM,
            sold=sold.lip_roll_mm,
            key="lip_roll",
            takes=frozenset({"lip"}),
            state=turned,
            cost=lambda x: (
                f"{x:.1f} mm less of the lip's return, of the {max(gains.values()):.1f} mm that rolling gains"
                f" ({left:.1f} mm stay, folded flat): body work, paint, rust proofing"
            ),
        )
    ]


def _trimmed(lips: Sequence[Part], limits: Limits, sold: Sold) -> list[Knob]:
    if limits.lip_trim_mm is None or not lips:
        return []

    def apply(m: MockUp, x: float) -> MockUp:
        for lip in lips:
            m = with_part_moved(m, lip.name, (0.0, 0.0, x))
        return m

    return [
        Knob(
            name="lip trimmed up",
            unit="mm",
            apply=apply,
            limit=limits.lip_trim_mm,
            step=STEP_MM,
            sold=sold.lip_roll_mm,
            key="lip_trim",
            takes=frozenset({"lip"}),
            state=lambda x: at_number(TRIMMED, x),
            cost=lambda x: f"{x:.1f} mm cut off the arch's edge, upward: body work, paint, rust proofing",
        )
    ]
