"""What a marking means: the one question that needs no corner, and none of the heavy rooms."""

from __future__ import annotations

from functools import partial

from clearance.door.answer import Answer
from clearance.tire.dimensions import Dimensions, dimensions_for


def marking(size: str, *, rim_width_in: float | None = None) -> Answer[Dimensions]:
    """What a tire marking means: dimensions, rims, tolerances, load, speed, room for snow chains. Raises TireError."""
    from clearance.facts.tire import facts
    from clearance.words.tire import page

    found = dimensions_for(size)
    rim_in = found.measuring_rim_in if rim_width_in is None else rim_width_in
    return Answer(value=found, told=partial(page, found, rim_in), plain=partial(facts, found, rim_in))
