"""What can be turned on a car to make a wheel clear, one knob at a time.

A knob is an amount, from nothing up, in millimetres or degrees; what it does to the mock-up; how far it may go; in
which steps it is sold or set; and what it costs. Costs are said in the shop's terms: travel lost, lock lost, track
gained.

* a knob that only gives away part of the cycle (a stop) never makes anything worse: its gap only grows
* a knob that moves something may make another part worse: more is not always better, and what is bought is measured
  again
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import with_bump_stop, with_camber, with_locks, with_offset, with_part_moved
from clearance.defaults import STEP_MM
from clearance.mockup.words import steer_side
from clearance.pose import car_steer_deg
from clearance.terms import Limits, Sold, Steps
from clearance.units import MM_PER_INCH, inch_text

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

STEP_DEG = 0.02


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
    only_grows: bool = False
    mm_per_unit: float = 1.0
    """The most that any gap changes for one unit: 1 for a millimetre of move, the reach for a radian of turn."""


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
                cost=lambda x: f"track {2 * x:.0f} mm wider with both sides; check stud length and thread engagement",
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
            cost=lambda x: (
                f"another wheel, {now + half - x:.1f} mm ({(now + half - x) / MM_PER_INCH:.2f} in) backspace;"
                f" track {2 * x:.0f} mm wider with both sides"
            ),
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
            cost=lambda x: (
                f"another wheel, {now + half + x:.1f} mm ({(now + half + x) / MM_PER_INCH:.2f} in) backspace;"
                f" track {2 * x:.0f} mm narrower with both sides"
            ),
        )
    )
    return knobs


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

    def cost(side: str) -> Callable[[float], str]:
        def words(x: float) -> str:
            per_deg = limits.rack_per_deg_mm
            rack = "" if per_deg is None else f", {x * per_deg:.1f} mm of rack travel"
            return f"{x:.2f} deg of lock lost {side}{rack}: a wider turning circle"

        return words

    names = [steer_side(car_steer_deg(turn, right_hand=mockup.right_hand)) for turn in (1.0, -1.0)]
    rows = (
        (f"steering stop, {names[0]}", f"at {names[0]} lock", (1.0, 0.0), left),
        (f"steering stop, {names[1]}", f"at {names[1]} lock", (0.0, 1.0), -right),
        ("steering stop, both", "each way", (1.0, 1.0), max(left, -right)),
    )

    def turned(share: tuple[float, float]) -> Callable[[MockUp, float], MockUp]:
        return lambda m, x: with_locks(m, share[0] * x, share[1] * x)

    return [
        Knob(
            name=name,
            unit="deg",
            apply=turned(share),
            limit=min(limits.steering_stop_deg, most),
            step=STEP_DEG,
            sold=sold.steering_stop_deg,
            cost=cost(side),
            only_grows=True,
        )
        for name, side, share, most in rows
    ]


def _camber(mockup: MockUp, limits: Limits, sold: Sold) -> list[Knob]:
    if limits.camber_deg is None:
        return []
    axis = mockup.suspension.pose(np.zeros((1, 3))).axis[0]
    now = math.degrees(math.asin(max(-1.0, min(1.0, -float(axis[2])))))
    per_deg = float(mockup.solid.reach_mm) * math.pi / 180
    rows = (("camber, top in", -1.0, now - limits.camber_deg[0]), ("camber, top out", 1.0, limits.camber_deg[1] - now))

    def turned(way: float) -> Callable[[MockUp, float], MockUp]:
        return lambda m, x: with_camber(m, way * x)

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
            cost=cost(way),
            mm_per_unit=per_deg,
        )
        for name, way, room in rows
    ]


def _lips(mockup: MockUp, limits: Limits, sold: Sold, failing: tuple[str, ...]) -> list[Knob]:
    names = [p.name for p in mockup.parts if p.kind == "lip" and p.name in failing]
    if limits.lip_roll_mm is None or not names:
        return []
    ways = (("lip rolled outboard", np.array([0.0, 1.0, 0.0])), ("lip rolled or trimmed up", np.array([0.0, 0.0, 1.0])))

    def rolled(way: np.ndarray) -> Callable[[MockUp, float], MockUp]:
        def apply(m: MockUp, x: float) -> MockUp:
            for name in names:
                m = with_part_moved(m, name, x * way)
            return m

        return apply

    return [
        Knob(
            name=name,
            unit="mm",
            apply=rolled(way),
            limit=limits.lip_roll_mm,
            step=STEP_MM,
            sold=sold.lip_roll_mm,
            cost=lambda x: (
                f"{x:.1f} mm off the lip's return: body work, paint, rust proofing; a roll gains about 13 mm,"
                " a trim up to 19 mm (common practice)"
            ),
        )
        for name, way in ways
    ]
