"""One contact has one place: where a gap that is the same at every position is said to be.

Every answer that names a position and a place asks here, so that they name the same.
"""

from __future__ import annotations

from dataclasses import replace

from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import stands_still
from clearance.mockup.words import where_text
from clearance.suspension.position import Position


def at_rest(mockup: MockUp, gap: Gap) -> Gap:
    """The same gap with its witness at ride height, where it is the same at every position; else as it is.

    So is the gap of a part that the corner has not: a new tub, what remains of a scan.

    Which position such a search ends at means nothing, and its place is looked for on the parked car.
    """
    part = next((one for one in mockup.parts if one.name == gap.part), None)
    if part is None or not stands_still(mockup, part):
        return gap
    cycle = mockup.suspension.cycle
    bump, other, steer = (min(max(0.0, low), high) for low, high in cycle.box)
    rest = Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer)
    there, here = (mockup.suspension.pose(p.row()[None], part.rides_on) for p in (gap.position, rest))
    back = here.after(there.inverse())
    on_part, on_tire = (back.carry(point[None])[0] for point in (gap.on_part_mm, gap.on_tire_mm))
    return replace(
        gap,
        position=rest,
        on_part_mm=on_part,
        on_tire_mm=on_tire,
        toward_part=back.turn[0] @ gap.toward_part,
        where=where_text(on_part, right_hand=mockup.right_hand),
    )
