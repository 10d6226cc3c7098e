"""What is still open on a sheet, and how far each of it could move the answer."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.units import both

_LEAST_MM = 2.0
"""Each answer is measured to 2 mm, so a smaller difference is none that was found."""


def open_page(rows: Sequence[Mapping[str, Any]]) -> list[str]:
    """The open letters, most first; then those that cannot be told, together where they have one reason."""
    if not rows:
        return ["Nothing is open: every letter of the sheet is answered."]
    lines = ["Still open, and how far each alone could move the least room:"]
    lines += [f"  {row['letter']} {_short(row['name'])}: {_moves(row)}" for row in rows if row["moves"] is not None]
    reasons: dict[str, list[str]] = {}
    for row in rows:
        if row["moves"] is None:
            reasons.setdefault(row["why_not"], []).append(row["letter"] + ("*" if row["needed"] else ""))
    lines += [f"  {', '.join(letters)}: cannot be told, {why}" for why, letters in reasons.items()]
    if any(row["needed"] for row in rows):
        lines.append("  (* is needed)")
    return lines


def _short(name: str) -> str:
    return name.partition(":")[0]


def _moves(row: Mapping[str, Any]) -> str:
    low, high = row["ends"]
    if row["moves"] < _LEAST_MM:
        return f"not that could be found, between {low} and {high}"
    return f"up to {both(row['moves'], digits=0)}, between {low} and {high}; then {row['part']} is the tightest"
