"""Where a place of a zone is when the tire comes to it: the same words as of a certified gap.

A zone is drawn where its part rests. Its places are told as a part's own gap is: at the position, where the part has
gone by then, its skin taken off, and as an arc or a line where the part is as near along one (`gap.contact`). What
never moves beside the wheel is looked for on the parked car, as `gap.rest` does. Points are in corner axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.gap.contact import Contact, contact_text
from clearance.gap.found import Gap
from clearance.gap.rest import at_rest
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, carried, shares_of, stands_still
from clearance.pose import Array, turn_onto
from clearance.suspension.position import HUB, Position
from clearance.well.part import Part


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Place:
    """Where the tire comes to a point of a part."""

    on_part_mm: Array
    """(3,): the point on the part's surface, where the part is at that position."""
    position: Position
    where: str
    """In words: of the arc or the line where it is one, else of the point."""


def place_of(mockup: MockUp, part: Part, seen: Seen, point_mm: Array, setting: Array) -> Place:
    """The place of a point (3,) of a part at rest, at a setting of the path that it sees."""
    shift = seen.shift_mm(setting)
    position = _parked(mockup) if stands_still(mockup, part) else seen.position(setting)
    share = float(shares_of(part, point_mm[None])[0])
    there = carried(mockup.suspension, part, point_mm, share, position, shift)
    hub = mockup.suspension.pose(position.row()[None], HUB)
    turn = turn_onto(hub.axis[0])
    local = turn.T @ (there - hub.origin_mm[0] - np.array([*shift, 0.0]))
    distance, _, normal, _ = mockup.solid.nearest(local[None])
    surface = there - part.skin_mm * (turn @ normal[0])
    contact = Contact(
        mockup=mockup,
        part=part,
        position=position,
        shift_mm=shift,
        on_part_mm=surface,
        gap_mm=float(distance[0]) - part.skin_mm,
        tolerance_mm=TOLERANCE_MM,
    )
    return Place(on_part_mm=surface, position=position, where=contact_text(contact))


def place_of_gap(mockup: MockUp, gap: Gap) -> Place:
    """The place of a certified gap, as every other answer names it."""
    told = at_rest(mockup, gap)
    return Place(on_part_mm=told.on_part_mm, position=told.position, where=told.where)


def _parked(mockup: MockUp) -> Position:
    bump, other, steer = (min(max(0.0, low), high) for low, high in mockup.suspension.cycle.box)
    return Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer)
