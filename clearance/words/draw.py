"""What was drawn, and what to look at first."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from clearance.mockup.mockup import MockUp


def page(mockup: MockUp, files: Sequence[str], folder: Path) -> str:
    """The warnings, then file by file where each is."""
    return "\n".join([*(f"Note: {warning}" for warning in mockup.warnings), *(str(folder / name) for name in files)])
