"""Other clearances as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.other import Cover, LoadState, Room
from clearance.facts.gap import gap_json, gap_shape
from clearance.facts.shape import deg, flag, maybe, mm, number, of_corner, rows, table, text
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


SHAPE = of_corner(
    "clearance-other/1",
    "other clearances of the same tire",
    load_states=rows(
        "standing at each load",
        table(
            "one of them",
            name=text("of the load"),
            height=mm("of the body over the ride height that was measured"),
            bump=mm("where the wheel stands then, up from ride height"),
            travel_left=mm("up to the stop"),
            on_stop=flag("whether it stands on the stop"),
            gaps=rows("every part, lock to lock", gap_shape("one part")),
        ),
    ),
    chains=rows("every part with chains on, over the whole cycle", gap_shape("one part")),
    rooms=rows(
        "the spare's well, and between duals",
        table(
            "one room",
            name=text("of the room"),
            gap=mm("what there is"),
            required=mm("what there must be"),
            enough=flag("whether there is"),
            how=text("the sum, in mm"),
        ),
    ),
    coverage=maybe(
        table(
            "the body over the tire",
            kept=flag("whether the rule is kept as written"),
            tire_out=mm("the tire's outer face, outboard of the hub face"),
            least=maybe(mm("cover past the tire at worst; below zero short of it"), "where there is no cover at all"),
            least_at_deg=deg("where that is, from straight up, ahead positive"),
            bare_deg=rows("where there is no cover at all, from straight up, ahead positive", number("deg")),
            source=text("whose rule it is"),
        ),
        "where the corner file has no [coverage]",
    ),
)
