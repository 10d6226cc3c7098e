"""Pictures for whoever studies a corner: needs matplotlib, of the extra `pictures`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from clearance.door.corners import changed
from clearance.door.questions import check
from clearance.errors import OutputError
from clearance.mockup.mockup import MockUp


def plot_gaps(corner: MockUp, *, axes: Any = None, **over: Sequence[float]) -> Any:
    """Every part's gap over a range of one change: `plot_gaps(corner, backspace_mm=range(80, 130, 5))`.

    The keyword is one of `changed`, its value the numbers to try. Each line is a part: what is certified at least, less
    what the part must keep, so that all of it clears where every line is above zero. Gives the axes.

    Raises OutputError where matplotlib is not installed or not one change is given.
    """
    if len(over) != 1:
        raise OutputError("give one change and its numbers, as backspace_mm=range(80, 130, 5).")
    try:
        from matplotlib.figure import Figure
    except ImportError:
        raise OutputError("a plot needs matplotlib. Install it with: pip install matplotlib.") from None
    ((change, values),) = over.items()
    keywords: Iterable[dict[str, Any]] = ({change: value} for value in values)
    checks = [check(changed(corner, **one)).value for one in keywords]
    axes = Figure(figsize=(8, 5), layout="constrained").subplots() if axes is None else axes
    for number, part in enumerate(corner.parts):
        margins = [found.gaps[number].at_least_mm - part.required_mm for found in checks]
        axes.plot(list(values), margins, _MARKS[number % len(_MARKS)], label=part.name, linewidth=1.3, markersize=4)
    axes.axhline(0.0, color="0.3", linewidth=1.0)
    axes.set_xlabel(change.replace("_mm", ", mm").replace("_deg", ", deg").replace("_in", ", in").replace("_", " "))
    axes.set_ylabel("gap less what must be kept, mm")
    axes.legend(fontsize=8)
    return axes


_MARKS = ("o-", "s--", "^-.", "v:", "D-", "x--", "+-.", "<:")
"""A line is told from its neighbours by its mark and its dashes, not by its colour alone."""
