"""What becomes of one wheel: one word, and the number that decided it.

* return     - a number is outside its tolerance whatever its reading hides: this is not the wheel that was ordered
* read again - a reading leaves open what matters
* not told   - a number that was ordered was not read; or the corner does not clear with the wheel as ordered, and then
               no reading can say keep
* keep       - every number is within its tolerance whatever its reading hides, or is read as ordered where the corner
               has room for the worst that the reading hides; and the corner clears at that worst

The order's tolerance alone sends a wheel back, and the corner's room alone is never enough to keep one that was read
outside it. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clearance.wheel.inspection import OPEN, OUTSIDE, UNREAD, Check

KEEP = "keep"
READ_AGAIN = "read again"
RETURN = "return"
NOT_TOLD = "not told"
WORST_FIRST = (RETURN, READ_AGAIN, NOT_TOLD, KEEP)

ROOM_ITEMS = ("backspace", "bead seat width", "overall width", "flange diameter")
"""What can be a little off and still clear. A bolt circle, a bore or a seat cannot: there the order stands alone."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Decision:
    """What becomes of one wheel."""

    wheel: str
    verdict: str
    """One of WORST_FIRST."""
    decided_by: str
    """The item whose number decided."""
    why: str


def by_the_order(name: str, checks: Sequence[Check]) -> Decision | None:
    """What the order and the readings decide of one wheel; None where it rests with the corner's room."""
    for finding, verdict in ((OUTSIDE, RETURN), (OPEN, READ_AGAIN)):
        if found := [check for check in _found(checks, finding) if not leaves_room(check)]:
            check = max(found, key=share)
            return Decision(wheel=name, verdict=verdict, decided_by=check.item, why=_said(check))
    unread = [check.item for check in _found(checks, UNREAD)]
    if unread:
        return Decision(wheel=name, verdict=NOT_TOLD, decided_by=unread[0], why=f"not read yet: {', '.join(unread)}")
    return None


def _found(checks: Sequence[Check], finding: str) -> list[Check]:
    return [check for check in checks if check.finding == finding]


def leaves_room(check: Check) -> bool:
    """Whether the corner may decide what this reading leaves open: it was read as ordered, and it is about room."""
    if check.item not in ROOM_ITEMS or check.difference_mm is None or check.tolerance_mm is None:
        return False
    return abs(check.difference_mm) <= check.tolerance_mm + 1e-9


def share(check: Check) -> float:
    """How much of its tolerance the wheel may have used up at the worst that the reading hides; 1 is all of it."""
    if check.difference_mm is None or not check.tolerance_mm:
        # another thread, seat or count of holes has no tolerance
        return float("inf")
    return (abs(check.difference_mm) + (check.reading_mm or 0.0)) / check.tolerance_mm


def deciding(checks: Sequence[Check]) -> Check:
    """The number that came closest to its end."""
    return max((check for check in checks if check.tolerance_mm), key=share, default=checks[0])


def _said(check: Check) -> str:
    return f"{check.item} {check.measured}: {check.why}"
