"""Every answer is put back and measured: the certified gaps of one mock-up, and what they leave to spare.

* spare   - the proven gap less the required one; not negative means that it clears
* binding - the part with the least to spare
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clearance.defaults import TOLERANCE_MM
from clearance.errors import InputError
from clearance.gap.found import CLEARS, Gap

if TYPE_CHECKING:
    from clearance.gap.memory import Memory
    from clearance.geom.witness import Roughly
    from clearance.mockup.mockup import MockUp

Progress = Callable[[int, int, str], None]
_LOOKS_MM = (3.0, 0.4, TOLERANCE_MM)
"""Whether something clears is asked roughly first, and only as closely as it takes to tell."""


@dataclass(frozen=True, slots=True)
class Spare:
    """What is left of the required gaps, or missing: proven from below, found from above."""

    low: float
    high: float

    @property
    def clears(self) -> bool:
        """Proven: nothing is missing."""
        return self.low >= 0.0

    @property
    def number(self) -> float:
        """The best single number for it: what was found, which is close, unless that hides that nothing is proven."""
        return self.high if self.clears or self.high < 0.0 else self.low


def silent(done: int, total: int, what: str) -> None:
    """Progress that says nothing."""


def gaps_of(
    mockup: MockUp,
    parts: Sequence[str] | None = None,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    memory: Memory | None = None,
    roughly: Roughly | None = None,
) -> tuple[Gap, ...]:
    """The certified gaps of a mock-up over its whole cycle; of some parts only where named.

    Of a corner whose links were not measured, at the worst that they may do. Raises InputError for one of which nothing
    but ride height is known. With a `memory` the verdicts are those of a check, and the brackets within the tolerance;
    `roughly` says how closely a deep hit is to be told, which no verdict hangs on.
    """
    from clearance.gap.cycle import over_cycle

    refuse_standing(mockup)
    named = None if parts is None else tuple(parts)
    return over_cycle(mockup, tolerance_mm=tolerance_mm, parts=named, at_worst=True, memory=memory, roughly=roughly)


def refuse_standing(mockup: MockUp) -> None:
    """Raise InputError for a corner of which nothing but ride height is known."""
    if mockup.unmeasured is not None and mockup.unmeasured.travel:
        raise InputError(
            "this corner is known at ride height only, so nothing can be said to clear. `clearance room` says what it"
            " could take before it touches; with bump, droop and track measured, this question has an answer."
        )


def spare_mm(gap: Gap) -> float:
    """Proven gap less required: what is left over, or missing. A swallowed part is missing everything."""
    return gap.spare_mm


def binding(gaps: Iterable[Gap]) -> Gap:
    """The part with the least to spare."""
    return min(gaps, key=spare_mm)


def all_clear(gaps: Iterable[Gap]) -> bool:
    """Does every part keep its required gap?"""
    return all(gap.verdict == CLEARS for gap in gaps)


def failing(gaps: Iterable[Gap]) -> tuple[str, ...]:
    """Names of the parts that do not keep their required gap."""
    return tuple(gap.part for gap in gaps if gap.verdict != CLEARS)


def spare_of(mockup: MockUp, parts: Sequence[str] | None = None, memory: Memory | None = None) -> Spare:
    """The least spare of these parts, as closely as it takes to tell whether all of them clear.

    It says that something clears exactly where a check to TOLERANCE_MM would. Parts are measured in the order given,
    and the first that is proven not to clear ends it.
    """
    low = high = float("inf")
    for name in parts if parts is not None else [part.name for part in mockup.parts]:
        one = part_spare(mockup, name, memory)
        low, high = min(low, one.low), min(high, one.high)
        if high < 0.0:
            break
    return Spare(low, high)


def part_spare(mockup: MockUp, name: str, memory: Memory | None = None) -> Spare:
    """The spare of one part, as closely as it takes to tell whether it clears."""
    found = Spare(float("-inf"), float("inf"))
    for tolerance in _LOOKS_MM:
        gap = gaps_of(mockup, (name,), tolerance_mm=tolerance, memory=memory)[0]
        found = Spare(gap.spare_mm, gap.at_most_mm - gap.required_mm)
        # A rough look counts as clear only where a close one is bound to say so too.
        if found.low >= TOLERANCE_MM or found.high < 0.0:
            break
    return found
