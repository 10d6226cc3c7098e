"""The path of the wheel in tables."""

from __future__ import annotations

from clearance.answers.motion import give_of
from clearance.mockup.mockup import MockUp
from clearance.suspension.path import Step
from clearance.units import inch_text
from clearance.words.text import notes

CAUTION = (
    "Before measuring this on the car: springs out or unloaded, body on stands, wheels chocked, nobody under a car on a"
    " jack."
)


COLUMNS = (
    ("bump mm", "bump_mm", 1),
    ("bump in", "bump_mm", None),
    ("across mm", "across_mm", 2),
    ("along mm", "along_mm", 2),
    ("rise mm", "rise_mm", 2),
    ("camber deg", "camber_deg", 3),
    ("toe deg", "toe_deg", 3),
    ("steer deg", "turned_deg", 2),
)
"""Heading, field, decimals; None for inches to a sixteenth."""


def page(mockup: MockUp, tables: dict[str, tuple[Step, ...]]) -> str:
    """The tables as a terminal shows them."""

    suspension = mockup.suspension
    lines = [f"{mockup.title}: {suspension.kind}", "", *notes(mockup)]
    columns = (COLUMNS[1], COLUMNS[0], *COLUMNS[2:]) if mockup.units == "in" else COLUMNS
    for heading, rows in tables.items():
        lines += [heading, "".join(f"{name:>12}" for name, _, _ in columns)]
        lines += ["".join(f"{_cell(row, field, digits):>12}" for _, field, digits in columns) for row in rows]
        lines.append("")
    lines.append(
        "across is positive outboard, along ahead, camber top out, toe in, steer to the left; all from ride height but"
        " camber and toe."
    )
    if suspension.uncertainty_mm:
        lines.append(f"Measured rows lie within {suspension.uncertainty_mm:.1f} mm of these, at the tread.")
    lines += [f"{name}: its bushing gives up to {most:.1f} mm." for name, most in give_of(mockup)]
    lines += list(getattr(suspension, "notes", ()))
    lines.append(CAUTION)
    return "\n".join(lines)


def _cell(row: Step, field: str, digits: int | None) -> str:

    value = getattr(row, field)
    return inch_text(value) if digits is None else f"{round(value, digits) + 0.0:.{digits}f}"
