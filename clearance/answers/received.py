"""The wheels that came, each with one word: what the order leaves to the corner, the corner decides by its gaps.

A wheel whose readings send it neither back nor to be read again has its backspace somewhere between two ends, and its
rim's widths and flange within so much of the order. The corner is measured with the backspace as it was read, in the
middle between the ends: no gap changes faster than the wheel moves, so anywhere between them every gap is at least

    gap as read - half of the way between the ends

and no point of tire or wheel moves further for another width than the width itself, or for another flange than half of
it. What is then left above the required gap is proven room; see `CornerRoom.left`.

Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clearance.answers.changed import with_offset
from clearance.gap.cycle import over_cycle
from clearance.units import both, fine
from clearance.wheel.decided import (
    KEEP,
    NOT_TOLD,
    READ_AGAIN,
    WORST_FIRST,
    Decision,
    by_the_order,
    deciding,
)
from clearance.wheel.inspection import OPEN, Check, Inspection, Order, cautions

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp

Measure = Callable[["MockUp"], Sequence["Gap"]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """What becomes of every wheel, and what was found of each of its numbers."""

    found: Inspection
    wheels: tuple[Decision, ...]

    @property
    def verdict(self) -> str:
        """The worst of them; what was not read at all is not told."""
        verdicts = [one.verdict for one in self.wheels] + [NOT_TOLD] * bool(self.found.lacking)
        return min(verdicts, key=WORST_FIRST.index)


@dataclass(frozen=True, slots=True, kw_only=True)
class Reach:
    """Where one wheel may stand: its backspace's change from the order, and how far its rim may differ besides."""

    backspace_mm: tuple[float, float]
    rim_mm: float

    @property
    def middle_mm(self) -> float:
        """The change of backspace as it was read."""
        return (self.backspace_mm[0] + self.backspace_mm[1]) / 2


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What is left of the least room, and the part that has it."""

    room_mm: float
    part: str


def received(mockup: MockUp, found: Inspection, *, measure: Measure = over_cycle) -> Received:
    """One word for each wheel. `measure` gives the gaps of a mock-up; it is asked only where the corner decides."""
    corner = CornerRoom(mockup, measure)
    return Received(found=found, wheels=tuple(_decided(name, found.of(name), corner) for name in found.wheels))


def nothing_received(order: Order) -> Received:
    """Before any wheel was read."""
    return Received(
        found=Inspection(wheels=(), checks=(), lacking=order.quantity, remarks=(), cautions=cautions(order)), wheels=()
    )


def _decided(name: str, checks: Sequence[Check], corner: CornerRoom) -> Decision:
    ordered = by_the_order(name, checks)
    if ordered is not None:
        return ordered
    check = deciding(checks)
    nominal = corner.ordered()
    if nominal.room_mm < 0:
        return Decision(
            wheel=name,
            verdict=NOT_TOLD,
            decided_by=nominal.part,
            why=f"its numbers are as ordered, but with the wheel as ordered the corner is not told to clear:"
            f" {short_words(nominal)}. See `clearance check`",
        )
    reach = reach_of(checks)
    left = corner.left(reach)
    if left.room_mm >= 0:
        return Decision(wheel=name, verdict=KEEP, decided_by=check.item, why=kept_words(check, left))
    return for_want_of_room(name, checks, corner, left)


def kept_words(check: Check, left: Left) -> str:
    """Why a wheel is kept: the number that came closest to its end, and what is left."""
    worst = abs(check.difference_mm or 0.0) + (check.reading_mm or 0.0)
    kept = f"at the worst {fine(worst)} from the order, of {fine(check.tolerance_mm or 0.0)} allowed"
    if check.finding == OPEN:
        kept += ", and read as ordered"
    room = f"; {left.part} then still has {both(left.room_mm)} to spare" if left.part else ""
    return f"{check.item} {check.measured} decides: {kept}{room}"


def for_want_of_room(name: str, checks: Sequence[Check], corner: CornerRoom, left: Left) -> Decision:
    """Within the order, but the corner has too little room for the worst that the readings hide."""
    check = max((one for one in checks if one.item in _MOVES), key=lambda one: _MOVES[one.item] * _worst(one))
    short = short_words(left)
    if corner.left(reach_of(checks, hidden=False)).room_mm >= 0:
        words = (
            f"{check.item} {check.measured}, read to {fine(check.reading_mm or 0.0)} either way: at the worst {short}"
        )
        return Decision(wheel=name, verdict=READ_AGAIN, decided_by=check.item, why=f"{words}; calipers leave less open")
    words = f"{check.item} {check.measured} is within what was ordered, and yet {short}: the order allows more than"
    return Decision(wheel=name, verdict=NOT_TOLD, decided_by=check.item, why=f"{words} the corner has")


def short_words(left: Left) -> str:
    """How much is wanting, where a corner has no room."""
    if not math.isfinite(left.room_mm):
        return f"nothing is known of {left.part}"
    return f"{left.part} could be {both(-left.room_mm)} short of what it must keep"


# ---- where the wheel may stand

_MOVES: Mapping[str, float] = {"backspace": 1.0, "bead seat width": 1.0, "overall width": 1.0, "flange diameter": 0.5}
"""How far a point of tire or wheel moves at most for one millimetre of each; see `reach_of`."""


def _worst(check: Check) -> float:
    return abs(check.difference_mm or 0.0) + (check.reading_mm or 0.0)


def reach_of(checks: Sequence[Check], *, hidden: bool = True) -> Reach:
    """Where the wheel may stand by its readings; without what they hide (`hidden` False) as it was read.

    With the backspace held the inner flange stands still. The outer flange moves by the overall width. A bead seat
    moves by half of both widths' changes, the tire's flank by 0.7 of the rim's at most (5 mm of section for half an
    inch of rim): so the larger of the two is never exceeded.
    """
    low, high, widths, flange = 0.0, 0.0, 0.0, 0.0
    for check in checks:
        off, reading = check.difference_mm or 0.0, (check.reading_mm or 0.0) if hidden else 0.0
        if check.item == "backspace":
            low, high = off - reading, off + reading
        elif check.item in ("bead seat width", "overall width"):
            widths = max(widths, abs(off) + reading)
        elif check.item == "flange diameter":
            flange = (abs(off) + reading) / 2
    return Reach(backspace_mm=(low, high), rim_mm=widths + flange)


class CornerRoom:
    """The ordered corner, measured at one backspace after another and never twice at one."""

    def __init__(self, mockup: MockUp, measure: Measure) -> None:
        self.mockup = mockup
        self.measure = measure
        self.known: dict[float, tuple[tuple[str, float], ...]] = {}

    def mockup_at(self, more_mm: float) -> MockUp:
        """The corner with so much more backspace than was ordered."""
        # more backspace is more offset by as much: the rim goes inboard
        return with_offset(self.mockup, self.mockup.wheel.offset_mm + more_mm)

    def learn(self, more_mm: float, gaps: Sequence[Gap]) -> None:
        """What was measured there."""
        self.known[step(more_mm)] = tuple((gap.part, gap.at_least_mm - gap.required_mm) for gap in gaps)

    def rooms(self, more_mm: float) -> tuple[tuple[str, float], ...]:
        """Part, and what its gap is at least above what it must keep, with so much more backspace."""
        at = step(more_mm)
        if at not in self.known:
            self.learn(at, self.measure(self.mockup_at(at)))
        return self.known[at]

    def ordered(self) -> Left:
        """With the wheel as ordered: below zero where `check` says anything but that it clears."""
        return _least(self.rooms(0.0))

    def left(self, reach: Reach) -> Left:
        """What is surely left of the room wherever the wheel stands within its reach; see the module."""
        low, high = reach.backspace_mm
        hidden = (high - low) / 2 + reach.rim_mm
        return _least([(part, room - hidden) for part, room in self.rooms(reach.middle_mm)])


def step(more_mm: float) -> float:
    """Readings that are alike are measured once.

    >>> step(0.30000000004)
    0.3
    """
    return round(more_mm, 6)


def _least(rooms: Sequence[tuple[str, float]]) -> Left:
    part, room = min(rooms, key=lambda one: one[1], default=("", math.inf))
    return Left(room_mm=room, part=part)
