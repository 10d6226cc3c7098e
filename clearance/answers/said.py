"""A tire and wheel that a section says in a few words, [now] or [spare], put on a corner.

What is put there is grown and has chain room by the rule of the corner's own tire; a section without a size is as round
as the corner's. Lengths are millimetres, rims inches.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from typing import TYPE_CHECKING

from clearance.answers.tires import as_used, shape_of
from clearance.tire.mounted import Tape, tire_for
from clearance.tire.size import read
from clearance.wheel.rim import wheel_for

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.terms import Now
    from clearance.tire.size import Marking
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel


def missing_of(said: Now) -> tuple[str, ...]:
    """The keys without which it cannot be put on a corner; none where it can."""
    missing = []
    if said.size is None and said.section_width_mm is None:
        missing.append("size or section_width")
    if said.rim_width_in is None:
        missing.append("width")
    if said.backspace_mm is None and said.offset_mm is None:
        missing.append("backspace or offset")
    return tuple(missing)


def marking_of(said: Now) -> Marking | None:
    """What its size says; None where it has none."""
    return None if said.size is None else read(said.size)


def put_on(corner: MockUp, said: Now) -> MockUp | None:
    """The corner with this tire and wheel instead of its own; None where `missing_of` names anything.

    Raises TireError or WheelError for what cannot be.
    """
    if missing_of(said) or said.rim_width_in is None:
        return None
    tire, wheel = _built(said, corner.wheel.diameter_in, shape_of(corner.tire))
    return replace(corner, tire=as_used(tire, corner.tire), wheel=wheel)


@lru_cache(maxsize=64)
def _built(said: Now, diameter_in: float, shape: str) -> tuple[Tire, Wheel]:
    """What a section says, built once for the many corners and lists that it is held against."""
    assert said.rim_width_in is not None
    tire = tire_said(said, diameter_in, shape)
    wheel = wheel_for(tire.rim_diameter_in, said.rim_width_in, backspace_mm=said.backspace_mm, offset_mm=said.offset_mm)
    return tire, wheel


@lru_cache(maxsize=64)
def tire_said(said: Now, diameter_in: float, shape: str = "road") -> Tire:
    """The tire that a section says; on a rim of this diameter where it says none. Raises TireError."""
    tape = Tape(overall_diameter_mm=said.overall_diameter_mm, section_width_mm=said.section_width_mm)
    return tire_for(
        said.size,
        rim_width_in=said.rim_width_in,
        rim_diameter_in=said.rim_diameter_in or diameter_in,
        tape=tape,
        shape=shape,
    )
