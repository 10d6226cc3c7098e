"""Other clearances as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.other import Cover, LoadState, Room
from clearance.facts.gap import gap_json
from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp


def facts(
    mockup: MockUp, states: Sequence[LoadState], chains: Sequence[Gap], rooms: Sequence[Room], body: Cover | None
) -> dict[str, Any]:
    """Everything that the page says."""

    return {
        "format": "clearance-other/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "load_states": [
            {
                "name": s.name,
                "height": round(s.height_mm, 2),
                "bump": round(s.bump_mm, 2),
                "travel_left": round(s.travel_left_mm, 2),
                "on_stop": s.on_stop,
                "gaps": [gap_json(mockup, gap) for gap in s.gaps],
            }
            for s in states
        ],
        "chains": [gap_json(mockup, gap) for gap in chains],
        "rooms": [
            {"name": r.name, "gap": round(r.gap_mm, 2), "required": r.required_mm, "enough": r.enough, "how": r.how}
            for r in rooms
        ],
        "coverage": None
        if body is None
        else {
            "kept": body.kept,
            "tire_out": round(body.tire_out_mm, 2),
            "least": None if body.least_mm == float("-inf") else round(body.least_mm, 2),
            "least_at_deg": body.least_at_deg,
            "bare_deg": list(body.bare_deg),
            "source": body.rule.source,
        },
    }
