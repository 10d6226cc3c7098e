"""What was drawn, and what to look at first."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.words.text import by_corner


def page(mockup: MockUp, files: Sequence[str], folder: Path) -> str:
    """The warnings, then file by file where each is."""
    return "\n".join([*(f"Note: {warning}" for warning in mockup.warnings), *(str(folder / name) for name in files)])


def car_page(car: Car, files: Sequence[str], folder: Path) -> str:
    """The same of a whole car."""
    warnings = {name: corner.warnings for name, corner in car.corners.items()}
    notes = [f"Note, {', '.join(names)}: {said}" for names, said in by_corner(warnings)]
    return "\n".join([*notes, *(str(folder / name) for name in files)])
