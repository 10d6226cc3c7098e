"""What a corner could take, as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.room import Most, Room
from clearance.facts.gap import gap_json
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Room) -> dict[str, Any]:
    """Everything that the page says, in mm and deg."""

    def most(one: Most) -> dict[str, Any]:
        return {"amount": one.amount, "meets": None if one.meets is None else gap_json(mockup, one.meets)}

    return {
        "format": "clearance-room/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "carried_by": found.carried_by,
        "standing": [gap_json(mockup, gap) for gap in found.standing],
        "ways": [
            {
                "way": way.name,
                "unit": way.unit,
                "keeps": most(way.keeps),
                "touches_nothing": most(way.touches),
                "straight_touches_nothing": most(way.straight),
            }
            for way in found.ways
        ],
    }
