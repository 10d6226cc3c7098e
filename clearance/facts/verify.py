"""What a certificate proves, as facts."""

from __future__ import annotations

from typing import Any

from clearance.certificate.claims import Checked, CheckedEnvelope
from clearance.facts.shape import VERDICT, answer, count, maybe, mm, rows, table, text
from clearance.mockup.mockup import MockUp


def facts(mockup: MockUp, parts: list[Checked], envelopes: list[CheckedEnvelope]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-verify/1",
        "title": mockup.title,
        "parts": [
            {
                "name": part.name,
                "verdict": part.verdict,
                "at_least": None if part.at_least_mm is None else round(part.at_least_mm, 4),
                "at_most": round(part.at_most_mm, 4),
                "required": round(part.required_mm, 4),
                "planes": part.leaves,
            }
            for part in parts
        ],
        "envelopes": [
            {"name": one.name, "grown": round(one.grown_mm, 4), "slack": round(one.slack_mm, 4), "planes": one.leaves}
            for one in envelopes
        ],
    }


SHAPE = answer(
    "clearance-verify/1",
    "what a certificate proves of a corner",
    title=text("of the corner file"),
    parts=rows(
        "every part",
        table(
            "one part",
            name=text("its name"),
            verdict=VERDICT,
            at_least=maybe(mm("proven: the gap is no less"), "where nothing is known from below"),
            at_most=mm("measured: the gap is no more"),
            required=mm("the gap that it must keep"),
            planes=count("that prove it"),
        ),
    ),
    envelopes=rows(
        "every envelope",
        table(
            "one of them",
            name=text("of its file"),
            grown=mm("by how much it was grown"),
            slack=mm("how far outside the true shape it lies at most"),
            planes=count("that prove it"),
        ),
    ),
)
