"""The gap of every part at one position: what a static mock-up would show."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import Gap
from clearance.gap.measure import measured
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_at
from clearance.steady import steady
from clearance.suspension.position import Position


@steady
def at_position(
    mockup: MockUp, position: Position, *, tolerance_mm: float = TOLERANCE_MM, parts: Sequence[str] | None = None
) -> tuple[Gap, ...]:
    """The gap of each part (of those named, or of all) with the wheel standing at `position`, no play taken up.

    Raises PartError for a name that is not there, SuspensionError for a position that cannot be reached.
    """
    chosen = [mockup.part(name) for name in parts] if parts is not None else list(mockup.parts)
    return tuple(measured(mockup, part, seen_at(mockup, part, position), tolerance_mm=tolerance_mm) for part in chosen)
