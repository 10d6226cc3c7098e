"""Cars built at random within their tolerances, as a person reads it."""

from __future__ import annotations

from pathlib import Path

from clearance.answers.sampled import PartSampled, Sampled
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, table


def page(corner: MockUp, found: Sampled, folder: Path | None) -> str:
    """How many cars clear, and each part's spread beside the budget's."""
    lines = [
        *head(corner),
        f"{found.cars:,} cars within what the measurements are worth, each measured over its whole cycle: in"
        f" {100 * found.clear:.1f} % of them everything clears.",
    ]
    if found.not_built:
        lines.append(f"{found.not_built:,} of them cannot be built, and are left out.")
    heads = ["part", "gap", "must keep", "least of all cars", "worst case", "spread", "root sum square", "clears"]
    by_sure = sorted(found.parts, key=lambda part: (part.clear, part.gap_mm - part.required_mm))
    lines += ["", table(heads, [_row(part) for part in by_sure]), "", _bound(found), *_where(folder)]
    return "\n".join(lines) + "\n"


def _row(one: PartSampled) -> list[str]:
    return [
        one.part,
        both(one.gap_mm),
        both(one.required_mm, digits=0),
        both(one.least_mm),
        both(one.worst_mm),
        f"{one.spread_mm:.2f} mm",
        f"{one.straight_mm:.2f} mm",
        f"{100 * one.clear:.1f} %",
    ]


def _bound(found: Sampled) -> str:
    below = max(found.parts, key=lambda part: part.below_worst_mm)
    if below.below_worst_mm <= 0.0:
        return "No car lies below the worst case of the budget at any part. Spread: one standard deviation."
    return (
        f"At {below.part} a car lies {both(below.below_worst_mm)} below the worst case of the budget, which takes the"
        " gap for a straight line. Spread: one standard deviation."
    )


def _where(folder: Path | None) -> list[str]:
    return [] if folder is None else [f"In {folder}: sample.csv."]
