"""What can carry a wheel, as facts."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.facts.shape import FILES, answer, rows, table, text

FORMAT = "clearance-carriers/1"


def facts(carriers: Mapping[str, str], files: Sequence[str]) -> dict[str, Any]:
    """Everything that the page says; `carriers` by name: how to know each."""
    return {
        "format": FORMAT,
        "carriers": [{"sheet": name, "look": look} for name, look in carriers.items()],
        "files": list(files),
    }


SHAPE = answer(
    FORMAT,
    "what can carry a wheel, and how to know it",
    carriers=rows(
        "each of them",
        table("one", sheet=text("as `measure` and `new` take it"), look=text("how to know it from under the car")),
    ),
    files=FILES,
)
