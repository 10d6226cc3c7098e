"""One contact has one place: where a gap that is the same at every position, or all along a line, is said to be.

Every answer that names a position and a place asks here, so that they name the same.
"""

from __future__ import annotations

from dataclasses import replace

from clearance.gap.contact import Contact, contact_text
from clearance.gap.found import AT_EVERY, Gap
from clearance.gap.held import at_position_held
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import stands_still
from clearance.suspension.position import Position
from clearance.well.part import Part


def at_rest(mockup: MockUp, gap: Gap) -> Gap:
    """The same gap with its witness at ride height, where it is the same at every position (`gap.held`), and its place
    in words that name the whole of the line or the arc where it is one (`contact`).

    So is the gap of a part that the corner has not as it is: a new tub, what remains of a scan.

    Which position such a search ends at means nothing, and its place is looked for on the parked car.
    """
    part = next((one for one in mockup.parts if one.name == gap.part), None)
    if part is None:
        return gap
    return _named(mockup, part, _parked(mockup, part, gap))


def as_a_whole(mockup: MockUp, gap: Gap) -> Gap:
    """The same words for its place, where there is no time to ask whether the part sees the wheel move at all."""
    part = next((one for one in mockup.parts if one.name == gap.part), None)
    return gap if part is None else _named(mockup, part, gap)


def _named(mockup: MockUp, part: Part, gap: Gap) -> Gap:
    place = Contact(
        mockup=mockup,
        part=part,
        position=gap.position,
        shift_mm=gap.shift_mm,
        on_part_mm=gap.on_part_mm,
        gap_mm=float((gap.on_part_mm - gap.on_tire_mm) @ gap.toward_part),
        tolerance_mm=gap.tolerance_mm,
    )
    return replace(gap, where=contact_text(place))


def held_everywhere(mockup: MockUp, gap: Gap) -> bool:
    """Is the gap the same at every position: its part sees no move, or it is proven of the whole cycle?"""
    return gap.held == AT_EVERY or stands_still(mockup, mockup.part(gap.part))


def _parked(mockup: MockUp, part: Part, gap: Gap) -> Gap:
    """The gap at ride height where it is the same at every position, else as it is."""
    bump, other, steer = (min(max(0.0, low), high) for low, high in mockup.suspension.cycle.box)
    rest = Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer)
    if stands_still(mockup, part):
        return _rested(mockup, part, gap, rest)
    return at_position_held(mockup, part, gap, rest) if gap.held == AT_EVERY else gap


def _rested(mockup: MockUp, part: Part, gap: Gap, rest: Position) -> Gap:
    there, here = (mockup.suspension.pose(p.row()[None], part.rides_on) for p in (gap.position, rest))
    back = here.after(there.inverse())
    on_part, on_tire = (back.carry(point[None])[0] for point in (gap.on_part_mm, gap.on_tire_mm))
    return replace(
        gap,
        held=AT_EVERY,
        position=rest,
        on_part_mm=on_part,
        on_tire_mm=on_tire,
        toward_part=back.turn[0] @ gap.toward_part,
    )
