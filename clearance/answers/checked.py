"""Every answer is put back and measured: the certified gaps of one mock-up, and what they leave to spare.

* spare   - the proven gap less the required one; not negative means that it clears
* binding - the part with the least to spare
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING

from clearance.gap.found import CLEARS, Gap

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

Progress = Callable[[int, int, str], None]
TOLERANCE_MM = 0.05
"""How closely the gap of a final answer is bracketed, as `check` does."""


def silent(done: int, total: int, what: str) -> None:
    """Progress that says nothing."""


def gaps_of(
    mockup: MockUp, parts: Sequence[str] | None = None, *, tolerance_mm: float = TOLERANCE_MM
) -> tuple[Gap, ...]:
    """The certified gaps of a mock-up over its whole cycle; of some parts only where named."""
    from clearance.gap.cycle import over_cycle

    return over_cycle(mockup, tolerance_mm=tolerance_mm, parts=None if parts is None else tuple(parts))


def spare_mm(gap: Gap) -> float:
    """Proven gap less required: what is left over, or missing. A swallowed part is missing everything."""
    return float("-inf") if gap.swallowed else gap.at_least_mm - gap.required_mm


def binding(gaps: Iterable[Gap]) -> Gap:
    """The part with the least to spare."""
    return min(gaps, key=spare_mm)


def all_clear(gaps: Iterable[Gap]) -> bool:
    """Does every part keep its required gap?"""
    return all(gap.verdict == CLEARS for gap in gaps)


def failing(gaps: Iterable[Gap]) -> tuple[str, ...]:
    """Names of the parts that do not keep their required gap."""
    return tuple(gap.part for gap in gaps if gap.verdict != CLEARS)
