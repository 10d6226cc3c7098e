"""The envelope and the tub as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.envelope.build import Envelope
from clearance.facts.shape import FILES, Shape, count, ends, flag, mm, of_corner, rows, table, text
from clearance.gauge.templates import Template, Tub
from clearance.mockup.mockup import MockUp


def facts(
    mockup: MockUp,
    grow: float,
    tight: Envelope,
    wide: Envelope,
    templates: Sequence[Template],
    tub: Tub,
    files: Sequence[str],
    *,
    asked_slack_mm: float,
) -> dict[str, Any]:
    """Everything that the page says."""
    box = wide.vertices_mm
    return {
        "format": "clearance-envelope/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "required_mm": grow,
        "asked_slack_mm": asked_slack_mm,
        "envelope": {
            "triangles": len(tight.faces),
            "holds_everything": bool(tight.standoff_mm >= 0.0),
            "slack_mm": round(float(tight.slack_mm), 3),
        },
        "envelope_required": {
            "triangles": len(wide.faces),
            "holds_everything": bool(wide.standoff_mm >= 0.0),
            "slack_mm": round(float(wide.slack_mm), 3),
            "ahead_mm": [round(float(box[:, 0].min()), 1), round(float(box[:, 0].max()), 1)],
            "outboard_mm": [round(float(box[:, 1].min()), 1), round(float(box[:, 1].max()), 1)],
            "above_mm": [round(float(box[:, 2].min()), 1), round(float(box[:, 2].max()), 1)],
        },
        "templates": [t.name for t in templates],
        "tub": {
            "crown_long_mm": round(tub.length_mm, 1),
            "crown_wide_mm": round(tub.outboard_mm - tub.inboard_mm, 1),
            "inboard_mm": round(tub.inboard_mm, 1),
            "outboard_mm": round(tub.outboard_mm, 1),
        },
        "files": list(files),
    }


_PROVEN = {
    "triangles": count("of its mesh"),
    "holds_everything": flag("whether it is proven to hold the wheel at every position"),
    "slack_mm": mm("how far outside the true shape it lies at most"),
}


def _reach(words: str) -> Shape:
    return ends(f"from and to, {words} the hub face's centre at ride height", mm("along that axis"))


SHAPE = of_corner(
    "clearance-envelope/1",
    "everything that the tire and wheel reach",
    required_mm=mm("what the larger one is grown by"),
    asked_slack_mm=mm("how far outside the truth they may lie"),
    envelope=table("as it is", **_PROVEN),
    envelope_required=table(
        "grown by the required gap",
        **_PROVEN,
        ahead_mm=_reach("ahead of"),
        outboard_mm=_reach("outboard of"),
        above_mm=_reach("above"),
    ),
    templates=rows("its cuts", text("a template's name")),
    tub=table(
        "a tub to go round it",
        crown_long_mm=mm("along its crown, unrolled"),
        crown_wide_mm=mm("across its crown"),
        inboard_mm=mm("its inner panel, outboard of the hub face"),
        outboard_mm=mm("its outer edge, outboard of the hub face"),
    ),
    files=FILES,
)
