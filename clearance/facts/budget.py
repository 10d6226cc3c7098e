"""The budget as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.budget import Budget
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, found: Budget) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-budget/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "confidence": round(found.confidence, 4),
        "parts": [
            {
                "part": p.part,
                "required": round(p.required_mm, 2),
                "gap": round(p.gap_mm, 2),
                "likely": round(p.likely_mm, 2),
                "worst": round(p.worst_mm, 2),
                "confidence": round(p.confidence, 4),
            }
            for p in found.parts
        ],
        "sources": [
            {
                "name": s.name,
                "unit": s.unit,
                "low": round(s.low, 3),
                "high": round(s.high, 3),
                "drawn": "evenly" if s.even else "normal, the ends at two deviations",
                "why": s.why,
                "per_unit": {p.part: round(float(v), 4) + 0.0 for p, v in zip(found.parts, s.per_unit, strict=True)},
            }
            for s in found.sources
        ],
        "worth": [
            {"source": w.source, "share": round(w.share, 4), "confidence_if_halved": round(w.confidence, 4)}
            for w in found.worth
        ],
        "rechecked": found.rechecked,
        "recheck_worst": round(found.recheck_worst_mm, 3),
        "recheck_mean": round(found.recheck_mean_mm, 3),
    }
