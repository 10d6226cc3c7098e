"""A blank measuring sheet, as facts."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from clearance.facts.shape import FILES, answer, rows, text


def facts(sheet: str, what: str, then: str, needed: Sequence[str], files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says."""
    return {
        "format": "clearance-measure/1",
        "sheet": sheet,
        "what": what,
        "next": then,
        "needed": list(needed),
        "files": list(files),
    }


SHAPE = answer(
    "clearance-measure/1",
    "a blank measuring sheet",
    sheet=text("kind of corner, as `measure` takes it"),
    what=text("the kind of corner in words"),
    next=text("the command that asks the same letters"),
    needed=rows("what must be measured at least", text("a letter of the sheet")),
    files=FILES,
)
