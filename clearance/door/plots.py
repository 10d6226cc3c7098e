"""Pictures for whoever studies a corner: needs matplotlib, of the extra `pictures`."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from clearance.door.corners import changed
from clearance.door.questions import check
from clearance.errors import OutputError
from clearance.export.margins import draw_margins, empty_axes
from clearance.mockup.mockup import MockUp


def plot_gaps(corner: MockUp, *, axes: Any = None, **over: Sequence[float]) -> Any:
    """Every part's gap over a range of one change: `plot_gaps(corner, backspace_mm=range(80, 130, 5))`.

    The keyword is one of `changed`, its value the numbers to try. Each line is a part: what is certified at least, less
    what the part must keep, so that all of it clears where every line is above zero. Gives the axes.

    Raises OutputError where matplotlib is not installed or not one change is given.
    """
    if len(over) != 1:
        raise OutputError("give one change and its numbers, as backspace_mm=range(80, 130, 5).")
    axes = empty_axes() if axes is None else axes
    ((change, values),) = over.items()
    keywords: Iterable[dict[str, Any]] = ({change: value} for value in values)
    checks = [check(changed(corner, **one)).value for one in keywords]
    margins_mm = {
        part.name: [found.gaps[number].at_least_mm - part.required_mm for found in checks]
        for number, part in enumerate(corner.parts)
    }
    draw_margins(axes, margins_mm, list(values), change)
    return axes
