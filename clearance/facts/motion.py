"""The path of the wheel as facts."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from clearance.answers.motion import give_of
from clearance.mockup.mockup import MockUp
from clearance.suspension.path import Step


def facts(mockup: MockUp, tables: dict[str, tuple[Step, ...]]) -> dict[str, Any]:
    """What --json prints: millimetres and degrees."""
    suspension = mockup.suspension
    return {
        "format": "clearance-motion/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "corner": mockup.corner,
        "kind": suspension.kind,
        "uncertainty_mm": suspension.uncertainty_mm,
        "notes": list(getattr(suspension, "notes", ())),
        "bushings_give_mm": dict(give_of(mockup)),
        "tables": {heading: [asdict(row) for row in rows] for heading, rows in tables.items()},
    }
