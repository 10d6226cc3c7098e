"""What a corner could take, as a fabricator reads it."""

from __future__ import annotations

from clearance.answers.room import Most, Room
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, table


def page(mockup: MockUp, found: Room) -> str:
    """The gaps where it stands, how far each way, and what comes first."""
    gaps = sorted(found.standing, key=lambda gap: gap.at_least_mm - gap.required_mm)
    rows = [[gap.part, both(gap.at_least_mm), both(gap.required_mm), gap.region] for gap in gaps]
    lines = [*head(mockup), "  Where it stands:", table(["part", "gap", "must keep", "nearest"], rows), ""]
    ways = [
        [way.name, _much(way.keeps, way.unit), _much(way.touches, way.unit), _first(way.touches), _much(way.straight, way.unit)]
        for way in found.ways
    ]
    titles = ["from there", "keeps all gaps to", "touches nothing to", "then meets", "if it went straight"]
    lines += [
        f"  What it could take, whatever the links of {_carried(found.carried_by)} may do, one way at a time:",
        table(titles, ways),
        "",
        "Each way is alone: bump with lock and tilt together take less. Nothing here says that the corner clears: measure",
        "bump, droop and locks for that.",
    ]
    return "\n".join(lines)


def _carried(carried_by: str) -> str:
    plural = carried_by.endswith("s")
    return f"what stands on {carried_by}" if plural else f"what stands on a {carried_by}"


def _much(most: Most, unit: str) -> str:
    text = both(most.amount) if unit == "mm" else f"{most.amount:g} deg"
    return f"{text} and more" if most.meets is None else text


def _first(most: Most) -> str:
    return "nothing" if most.meets is None else most.meets.part
