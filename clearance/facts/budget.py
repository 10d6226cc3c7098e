"""The budget as facts."""

from __future__ import annotations

from typing import Any

from clearance.answers.budget import Budget
from clearance.facts.shape import count, mm, named, number, of_corner, one_of, rows, share, table, text
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


SHAPE = of_corner(
    "clearance-budget/1",
    "what the uncertainty of every measurement does to every gap",
    confidence=share("of the draws in which every part keeps its gap"),
    parts=rows(
        "every part",
        table(
            "one part",
            part=text("its name"),
            required=mm("the gap that it must keep"),
            gap=mm("as measured"),
            likely=mm("19 times in 20 it is above this"),
            worst=mm("with everything wrong at once, the wrong way"),
            confidence=share("of the draws in which it keeps its gap"),
        ),
    ),
    sources=rows(
        "what may be off",
        table(
            "one of them",
            name=text("what was measured"),
            unit=one_of("of low and high", "mm", "deg"),
            low=number("how much less it may be, in its unit"),
            high=number("how much more it may be, in its unit"),
            drawn=one_of("how it was drawn", "evenly", "normal, the ends at two deviations"),
            why=text("where its ends come from"),
            per_unit=named("part: change of its gap", number("mm for one unit of it")),
        ),
    ),
    worth=rows(
        "what taking each again would change",
        table(
            "one of them",
            source=text("what was measured"),
            share=share("of the doubt that is its own"),
            confidence_if_halved=share("of the whole, were it half as uncertain"),
        ),
    ),
    rechecked=count("draws that were measured again in full"),
    recheck_worst=mm("how far the straight lines were off at most"),
    recheck_mean=mm("how far they were off in the mean, signed"),
)
