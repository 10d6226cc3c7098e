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
from clearance.gap.found import CLEARS, ROUNDING_MM, Gap

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


def tightest(mockup: MockUp, memory: Memory, parts: Sequence[str] | None = None) -> Gap:
    """The gap of the part with the least to spare, of these or of all, measured as closely as a check does.

    A part that is foreseen to keep more than another was measured to, by more than a bracket is wide, is let go.
    """
    spares = _foreseen(mockup, parts, memory)
    found: dict[str, Gap] = {}
    for name in sorted(spares, key=lambda name: spares[name].high):
        # the bracket of a depth is wider: it is never let go
        free = spares[name].low + mockup.part(name).required_mm > 0.0
        least = min((spare_mm(gap) for gap in found.values()), default=float("inf"))
        if not (free and spares[name].low > least + TOLERANCE_MM + ROUNDING_MM):
            found[name] = gaps_of(mockup, (name,), memory=memory)[0]
    return binding(found[part.name] for part in mockup.parts if part.name in found)


def all_clear(gaps: Iterable[Gap]) -> bool:
    """Does every part keep its required gap?"""
    return all(gap.verdict == CLEARS for gap in gaps)


def failing(gaps: Iterable[Gap]) -> tuple[str, ...]:
    """Names of the parts that do not keep their required gap."""
    return tuple(gap.part for gap in gaps if gap.verdict != CLEARS)


def spare_of(mockup: MockUp, parts: Sequence[str] | None = None, memory: Memory | None = None) -> Spare:
    """The least spare of these parts, as closely as it takes to tell whether all of them clear.

    It says that something clears exactly where a check to TOLERANCE_MM would. Parts are measured in the order given, or
    as they are foreseen, and the first that is proven not to clear ends it. What is foreseen of a part is enough where
    it tells, and leaves the least spare no less closely known than a rough look does.
    """
    foreseen = _foreseen(mockup, parts, memory)
    names = parts if parts is not None else sorted(foreseen, key=lambda name: foreseen[name].high)
    low, high = float("inf"), min((one.high for one in foreseen.values()), default=float("inf"))
    for name in names:
        one = foreseen[name]
        if high >= 0.0 and not (_is_told(one) and one.low >= high - _LOOKS_MM[0]):
            one = _searched(mockup, name, memory, one)
        low, high = min(low, one.low), min(high, one.high)
    return Spare(low, high)


def part_spare(mockup: MockUp, name: str, memory: Memory | None = None) -> Spare:
    """The spare of one part, as closely as it takes to tell whether it clears."""
    foreseen = _foreseen(mockup, (name,), memory)[name]
    return foreseen if _is_told(foreseen) else _searched(mockup, name, memory, foreseen)


def _searched(mockup: MockUp, name: str, memory: Memory | None, found: Spare) -> Spare:
    """The same by ever closer looks; what is known of it already says how rough the first can be."""
    for tolerance in _LOOKS_MM:
        if TOLERANCE_MM < tolerance > found.high - TOLERANCE_MM:
            # so rough a look could not tell
            continue
        gap = gaps_of(mockup, (name,), tolerance_mm=tolerance, memory=memory)[0]
        found = Spare(gap.spare_mm, gap.at_most_mm - gap.required_mm)
        if _is_told(found):
            break
    return found


def _is_told(spare: Spare) -> bool:
    """Is a close look bound to say so too? Only then does a rough one count as clear."""
    return spare.low >= TOLERANCE_MM or spare.high < 0.0


def _foreseen(mockup: MockUp, parts: Sequence[str] | None, memory: Memory | None) -> dict[str, Spare]:
    """The spare of each part between two true ends, however far apart, by what is kept of it; nothing is searched.

    The upper end is looked for where it could be the least of all, and infinite elsewhere.
    """
    from clearance.gap.foreseen import foreseen_gap

    refuse_standing(mockup)
    names = parts if parts is not None else [part.name for part in mockup.parts]
    if memory is None:
        return dict.fromkeys(names, Spare(float("-inf"), float("inf")))
    ends = {name: foreseen_gap(mockup, mockup.part(name), memory) for name in names}
    required = {name: mockup.part(name).required_mm for name in names}
    lows = {name: ends[name].at_least_mm - required[name] for name in names}
    found: dict[str, Spare] = {}
    least = float("inf")
    for name in sorted(names, key=lambda name: lows[name]):
        high = ends[name].at_most_mm() - required[name] if lows[name] <= least else float("inf")
        found[name], least = Spare(lows[name], high), min(least, high)
    return found
