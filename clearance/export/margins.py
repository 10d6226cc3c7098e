"""Margins of parts over a change, as lines in a picture: needs matplotlib, of the extra `pictures`."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from clearance.errors import OutputError

_MARKS = ("o-", "s--", "^-.", "v:", "D-", "x--", "+-.", "<:")
"""A line is told from its neighbours by its mark and its dashes, not by its colour alone."""


def empty_axes() -> Any:
    """Axes of a new picture. Raises OutputError where matplotlib is not installed."""
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise OutputError("a plot needs matplotlib. Install it with: pip install matplotlib.") from None
    return Figure(figsize=(8, 5), layout="constrained").subplots()


def draw_margins(axes: Any, margins_mm: Mapping[str, Sequence[float]], values: Sequence[float], change: str) -> None:
    """A line for each part, what it has to spare over the values of a change, and a line at zero."""
    for number, (part, margins) in enumerate(margins_mm.items()):
        axes.plot(values, margins, _MARKS[number % len(_MARKS)], label=part, linewidth=1.3, markersize=4)
    axes.axhline(0.0, color="0.3", linewidth=1.0)
    axes.set_xlabel(change.replace("_mm", ", mm").replace("_deg", ", deg").replace("_in", ", in").replace("_", " "))
    axes.set_ylabel("gap less what must be kept, mm")
    axes.legend(fontsize=8)
