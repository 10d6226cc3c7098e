"""What the answers share in the terminal: tables in columns, positions and gaps in words, JSON of a gap."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp


def read_corner(file: Path) -> MockUp:
    """The mock-up of a corner file."""
    from clearance.description.load import load

    return load(file)


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
