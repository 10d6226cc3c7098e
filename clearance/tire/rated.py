"""What of a tire depends on its marking and on the rim that it will stand on."""

from __future__ import annotations

from clearance.tire.dimensions import Dimensions, rim_warning
from clearance.tire.load import load_at_kg


def load_at_own_speed_kg(found: Dimensions) -> float | None:
    """What is left of the single load at the speed of the tire's own symbol, kg; None where it says neither."""

    mark = found.marking
    if mark.load_index is None or mark.speed is None or mark.speed_kmh is None:
        return None
    return round(load_at_kg(mark.load_index, mark.speed, mark.speed_kmh), 1)


def rim_warnings(found: Dimensions, rim_in: float) -> tuple[str, ...]:
    """What to say of the rim that it will stand on."""

    warning = rim_warning(found, rim_in)
    return (warning,) if warning else ()
