"""Long tables of cases and of random examples: a share of them in the ordinary run, all with the slow proofs."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import pytest

ALL = False
"""Whether the slow proofs run too; set before any test is read."""


def examples(many: int, few: int) -> int:
    """How many examples a law is tried on: `many`, or `few` in the ordinary run."""
    return many if ALL else few


def share(rows: Iterable[Any], every: int) -> list[Any]:
    """The rows; each but the first of every `every` runs in `make test-all` only."""

    def slow(row: Any) -> Any:
        values, marks, name = (row.values, row.marks, row.id) if hasattr(row, "marks") else ((row,), (), None)
        return pytest.param(*values, marks=(*marks, pytest.mark.slow), id=name)

    return [slow(row) if i % every else row for i, row in enumerate(rows)]
