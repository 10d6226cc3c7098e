"""What speaks against the place of a part: a scan that cannot stand so, a part that touches as the car stands."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from clearance.gap.found import Gap
from clearance.gap.still import at_position
from clearance.mockup.mockup import MockUp
from clearance.pose import read_only
from clearance.suspension.position import Position
from clearance.well.part import Part
from clearance.well.part_kinds import PART_KINDS
from clearance.well.scan_doubt import Touch, doubts, touching_at_ride, touching_part


def doubts_of_places(mockup: MockUp, gaps: Sequence[Gap]) -> tuple[str, ...]:
    """What speaks against the place of each part: of a scan from its shape, and of any that touches as the car stands.

    What the corner file's reader has already said, of a scan, a wall, a tub or a lip, is in the mock-up's warnings and
    is left out here.
    """

    found: list[str] = []
    for part, gap in zip(mockup.parts, gaps, strict=True):
        touch = _touch(mockup, part) if gap.at_most_mm < 0 and PART_KINDS[part.kind].stands_free else None
        if part.kind != "mesh":
            found += [touching_part(part.name, touch)] if touch is not None else []
        elif part.rides_on == "body":
            found += doubts(part, tire_radius_mm=mockup.tire.full_diameter_mm / 2, touch=touch)
        elif touch is not None:
            # what moves with the wheel, a brake say, is no wheel well: its size and side say nothing
            found.append(touching_at_ride(part.name, touch, part.uncertainty_mm))
    return tuple(doubt for doubt in dict.fromkeys(found) if doubt and doubt not in mockup.warnings)


def _touch(mockup: MockUp, part: Part) -> Touch | None:
    """Where the tire touches a part as the car stands, straight ahead, and whether moving a scan so far frees it."""

    low, high = mockup.suspension.cycle.steer_deg
    standing = Position(steer_deg=min(max(0.0, low), high))
    ride = at_position(mockup, standing, tolerance_mm=0.5, parts=[part.name])[0]
    if ride.at_most_mm >= 0:
        return None
    freed = False
    if part.kind == "mesh":
        # the half millimetre is the tolerance
        step = (0.5 - ride.at_most_mm) * ride.toward_part
        moved = replace(part, triangles_mm=read_only(part.triangles_mm + step))
        freed = at_position(replace(mockup, parts=(moved,)), standing, tolerance_mm=0.5)[0].at_most_mm >= 0
    return Touch(depth_mm=-ride.at_most_mm, on_part_mm=ride.on_part_mm, toward_part=ride.toward_part, freed=freed)
