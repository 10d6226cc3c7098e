"""What a corner could take, as a fabricator reads it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.answers.room import Most, Room, Way
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.open_letters import open_page
from clearance.words.text import head, table


def page(mockup: MockUp, found: Room, still_open: Sequence[Mapping[str, Any]] | None = None) -> str:
    """The gaps where it stands, how far each way, and what comes first."""
    gaps = sorted(found.standing, key=lambda gap: gap.at_least_mm - gap.required_mm)
    rows = [[gap.part, both(gap.at_least_mm), both(gap.required_mm), gap.region] for gap in gaps]
    lines = [*head(mockup), "  Where it stands:", table(["part", "gap", "must keep", "nearest"], rows), ""]
    ways = [_row(way) for way in found.ways]
    titles = ["from there", "keeps all gaps to", "touches nothing to", "then meets", "if it went straight"]
    lines += [
        f"  What it could take, one way at a time, whatever it may do on its {found.carried_by}:",
        table(titles, ways),
        "",
        "Each way is alone: bump with lock and tilt together leave less. Nothing here says that the corner clears:",
        "measure bump, droop and locks for that.",
    ]
    if still_open is not None:
        lines += ["", *open_page(still_open)]
    return "\n".join(lines)


def _row(way: Way) -> list[str]:
    keeps, touches, straight = (_much(most, way.unit) for most in (way.keeps, way.touches, way.straight))
    return [way.name, keeps, touches, _first(way.touches), straight]


def _much(most: Most, unit: str) -> str:
    text = both(most.amount) if unit == "mm" else f"{most.amount:g} deg"
    return f"{text} and more" if most.meets is None else text


def _first(most: Most) -> str:
    return "nothing" if most.meets is None else most.meets.part
