"""What the answers share in the terminal: tables in columns, positions and gaps in words, JSON of a gap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp


def read_corner(file: Path) -> MockUp:
    """The mock-up of a corner file."""
    from clearance.corner_file.load import load

    return load(file)


def table(header: Sequence[str], rows: Sequence[Sequence[str]], *, indent: int = 2) -> str:
    """Rows under a header, each column as wide as its widest word; numbers stand to the right."""
    every = [list(header), *(list(row) for row in rows)]
    widths = [max(len(row[k]) for row in every) for k in range(len(header))]
    right = [k > 0 and all(_numeric(row[k]) for row in rows if row[k]) for k in range(len(header))]
    lines = []
    for row in every:
        cells = [c.rjust(w) if r else c.ljust(w) for c, w, r in zip(row, widths, right, strict=True)]
        lines.append((" " * indent + "  ".join(cells)).rstrip())
    return "\n".join(lines)


def _numeric(cell: str) -> bool:
    return len(cell) < 28 and cell.lstrip("+-")[:1].isdigit()


def notes(mockup: MockUp) -> list[str]:
    """What to look at before believing any number, as every answer begins; nothing where nothing is odd."""
    return [line for warning in mockup.warnings for line in (f"  Note: {warning}", "")]


def head(mockup: MockUp) -> list[str]:
    """Title, tire and wheel, and what to look at first, as every answer begins."""
    from clearance.units import both

    tire, wheel = mockup.tire, mockup.wheel
    return [
        mockup.title or "Corner",
        f"  {mockup.corner}: {tire.marking or 'tire'}, {both(tire.overall_diameter_mm)} high and"
        f" {both(tire.section_width_mm)} wide",
        f"  on {wheel.diameter_in:g} x {wheel.width_in:g} in, backspace {both(wheel.backspace_mm)},"
        f" offset {wheel.offset_mm:+.1f} mm",
        "",
        *notes(mockup),
    ]


def position_words(mockup: MockUp, gap: Gap) -> str:
    """Where in the cycle the gap is least, as the real car steers."""
    from clearance.mockup.words import words_of

    return words_of(gap.position, mockup.suspension.cycle, right_hand=mockup.right_hand)


def told(gap: Gap) -> str:
    """The gap in words that say no more than its bracket does."""
    from clearance.report.sentence import bracket_words

    return bracket_words(gap.at_least_mm, gap.at_most_mm, swallowed=gap.swallowed, narrow=gap.finished)


def gap_json(mockup: MockUp, gap: Gap) -> dict[str, Any]:
    """A gap as plain numbers, points and steering as the real car has them."""
    from clearance.mockup.words import car_steer_deg

    return {
        "part": gap.part,
        "required": round(gap.required_mm, 3),
        "at_least": round(gap.at_least_mm, 3) if math.isfinite(gap.at_least_mm) else None,
        "at_most": round(gap.at_most_mm, 3),
        "verdict": gap.verdict,
        "bump": round(gap.position.bump_mm, 2),
        "other_bump": round(gap.position.other_bump_mm, 2),
        "steer": round(car_steer_deg(gap.position.steer_deg, right_hand=mockup.right_hand), 2) + 0.0,
        "tire_region": gap.region,
        "where": gap.where,
    }


def length_option(text: str | None, option: str) -> float | None:
    """A length from the command line, the option named where it cannot be read."""
    from clearance.errors import UnitError
    from clearance.units import length_mm

    if text is None:
        return None
    try:
        return length_mm(text)
    except UnitError as wrong:
        raise UnitError(f"{option}: {wrong}") from None
