"""The order card as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.answers.boxes import CardLine
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, card: Sequence[CardLine]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-order/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "corner": mockup.corner,
        "lines": [{"item": c.item, "value": c.value, "tolerance": c.tolerance, "how": c.how} for c in card],
    }
