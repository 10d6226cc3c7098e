"""What a marking means: the one question that needs no corner, and none of the heavy rooms."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from clearance.door.answer import Answer
from clearance.errors import TireError
from clearance.tire.dimensions import Dimensions, dimensions_for
from clearance.tire.rated import rim_warnings
from clearance.units import unit_first

if TYPE_CHECKING:
    from clearance.answers.swap import Swap

LEAST_RIM_IN, MOST_RIM_IN = 1.0, 40.0


def marking(size: str, *, rim_width_in: float | None = None, units: str = "mm") -> Answer[Dimensions]:
    """What a tire marking means: dimensions, rims, tolerances, load, speed, room for snow chains.

    `units` is which column of its page comes first, "mm" or "in". Raises TireError, UnitError.
    """
    from clearance.facts.tire import facts
    from clearance.words.tire import page

    found = dimensions_for(size)
    rim_in = found.measuring_rim_in if rim_width_in is None else round(rim_width_in, 6)
    if not LEAST_RIM_IN <= rim_in <= MOST_RIM_IN:
        raise TireError(f"a rim {rim_in:.3g} in wide is none; a rim width lies between 1 and 40 in.")
    first = unit_first(units)
    return Answer(
        value=found, told=partial(page, found, rim_in, first), plain=partial(facts, found, rim_in), units=first
    )


def swapped(old: str, new: str, *, rim_width_in: float | None = None, units: str = "mm") -> Answer[Swap]:
    """One marking for another on a wheel of the same offset: reach, hub height, speedometer, load. Raises TireError.

    `rim_width_in` is the rim under both; each is on its own measuring rim where it is not given.
    """
    from clearance.answers.swap import Swap, marked_rolls
    from clearance.facts.swap import facts
    from clearance.words.swap import marked_page

    both = tuple(marking(size, rim_width_in=rim_width_in).value for size in (old, new))
    rims = tuple(one.measuring_rim_in if rim_width_in is None else round(rim_width_in, 6) for one in both)
    first, second = (marked_rolls(one, rim_in) for one, rim_in in zip(both, rims, strict=True))
    swap = Swap(old=first, new=second)
    warnings = tuple(
        text for one, rim_in in zip(both, rims, strict=True) for text in (*one.warnings, *rim_warnings(one, rim_in))
    )
    return Answer(
        value=swap,
        told=partial(marked_page, swap, warnings),
        plain=lambda: {"format": "clearance-swap/1", **facts(swap), "warnings": list(warnings)},
        units=unit_first(units),
    )


def two_markings(words: Sequence[str]) -> tuple[str, str] | None:
    """Two markings that were written one after the other; None where it is one, or none can be read."""
    from clearance.tire.size import read

    def readable(some: Sequence[str]) -> bool:
        try:
            read(" ".join(some))
        except TireError:
            return False
        return True

    if readable(words):
        return None
    for at in range(1, len(words)):
        if readable(words[:at]) and readable(words[at:]):
            return " ".join(words[:at]), " ".join(words[at:])
    return None
