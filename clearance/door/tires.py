"""What a marking means: the one question that needs no corner, and none of the heavy rooms."""

from __future__ import annotations

from functools import partial

from clearance.door.answer import Answer
from clearance.errors import TireError
from clearance.tire.dimensions import Dimensions, dimensions_for
from clearance.units import unit_first

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
