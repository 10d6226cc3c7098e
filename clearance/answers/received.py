"""The wheels that came, each with one word: what the order leaves to the corner, the corner decides by its gaps.

A wheel whose readings send it neither back nor to be read again has its backspace somewhere between two ends, and its
rim's widths and flange within so much of the order. The corner is measured with the wheel at both ends of the
backspace: no gap changes faster than the wheel moves, so between the ends every gap is at least

    (gap at one end + gap at the other - the way between them) / 2

and no point of tire or wheel moves further for another width than the width itself, or for another flange than half of
it. What is then left above the required gap is proven room; see `room_mm`.

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


@dataclass(frozen=True, slots=True, kw_only=True)
class Left:
    """What is left of the least room, and the part that has it."""

    room_mm: float
    part: str


def received(mockup: MockUp, found: Inspection, *, measure: Measure = over_cycle) -> Received:
    """One word for each wheel. `measure` gives the gaps of a mock-up; it is asked only where the corner decides."""
    corner = _Corner(mockup, measure)
    return Received(found=found, wheels=tuple(_decided(name, found.of(name), corner) for name in found.wheels))


def nothing_received(order: Order) -> Received:
    """Before any wheel was read."""
    return Received(
        found=Inspection(wheels=(), checks=(), lacking=order.quantity, remarks=(), cautions=cautions(order)), wheels=()
    )


def _decided(name: str, checks: Sequence[Check], corner: _Corner) -> Decision:
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
            f" {_short(nominal)}. See `clearance check`",
        )
    reach = reach_of(checks)
    left = corner.left(reach)
    if left.room_mm >= 0:
        return Decision(wheel=name, verdict=KEEP, decided_by=check.item, why=_kept(check, left))
    return _for_want_of_room(name, checks, corner, left)


def _kept(check: Check, left: Left) -> str:
    worst = abs(check.difference_mm or 0.0) + (check.reading_mm or 0.0)
    kept = f"at the worst {fine(worst)} from the order, of {fine(check.tolerance_mm or 0.0)} allowed"
    if check.finding == OPEN:
        kept += ", and read as ordered"
    room = f"; {left.part} then still has {both(left.room_mm)} to spare" if left.part else ""
    return f"{check.item} {check.measured} decides: {kept}{room}"


def _for_want_of_room(name: str, checks: Sequence[Check], corner: _Corner, left: Left) -> Decision:
    """Within the order, but the corner has too little room for the worst that the readings hide."""
    check = max((one for one in checks if one.item in _MOVES), key=lambda one: _MOVES[one.item] * _worst(one))
    short = _short(left)
    if corner.left(reach_of(checks, hidden=False)).room_mm >= 0:
        words = (
            f"{check.item} {check.measured}, read to {fine(check.reading_mm or 0.0)} either way: at the worst {short}"
        )
        return Decision(wheel=name, verdict=READ_AGAIN, decided_by=check.item, why=f"{words}; calipers leave less open")
    words = f"{check.item} {check.measured} is within what was ordered, and yet {short}: the order allows more than"
    return Decision(wheel=name, verdict=NOT_TOLD, decided_by=check.item, why=f"{words} the corner has")


def _short(left: Left) -> str:
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


class _Corner:
    """The ordered corner, measured at one backspace after another and never twice at one."""

    def __init__(self, mockup: MockUp, measure: Measure) -> None:
        self.mockup = mockup
        self.measure = measure
        self.known: dict[float, tuple[tuple[str, float], ...]] = {}

    def rooms(self, more_mm: float) -> tuple[tuple[str, float], ...]:
        """Part, and what its gap is at least above what it must keep, with so much more backspace."""
        at = round(more_mm, 6)
        if at not in self.known:
            # more backspace is more offset by as much: the rim goes inboard
            gaps = self.measure(with_offset(self.mockup, self.mockup.wheel.offset_mm + at))
            self.known[at] = tuple((gap.part, gap.at_least_mm - gap.required_mm) for gap in gaps)
        return self.known[at]

    def ordered(self) -> Left:
        """With the wheel as ordered: below zero where `check` says anything but that it clears."""
        return _least(self.rooms(0.0))

    def left(self, reach: Reach) -> Left:
        """What is surely left of the room wherever the wheel stands within its reach; see the module."""
        low, high = reach.backspace_mm
        ends = zip(self.rooms(low), self.rooms(high), strict=True)
        way = high - low
        return _least([(part, (one + other - way) / 2 - reach.rim_mm) for (part, one), (_, other) in ends])


def _least(rooms: Sequence[tuple[str, float]]) -> Left:
    part, room = min(rooms, key=lambda one: one[1], default=("", math.inf))
    return Left(room_mm=room, part=part)
