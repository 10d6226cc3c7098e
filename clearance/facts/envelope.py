"""The envelope and the tub as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.envelope.build import Envelope
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
