"""What is taken where a person says nothing: one number for the command line, for Python and for what measures.

Each is a choice of ours that an option changes. Common practice about cars and tires stands with what it is about
(`terms`, `tire`, `wheel`, `well`). Nothing here loads anything, so that `--help` can say it.
"""

from __future__ import annotations

TOLERANCE_MM = 0.05
"""How closely each gap is bracketed."""
SLACK_MM = 0.5
"""How far outside the truth an envelope may lie."""
RELIEF_SLACK_MM = 1.0
"""The same of the surface that a new tub is proposed by."""
STEP_MM = 0.1
"""To which a move, a change or the end of a window is exact."""
HEIGHT_STEP_MM = 25.0
"""From height to height of the wheel's path."""
TEMPLATE_EVERY_MM = 50.0
"""From one template to the next."""
SCAN_TIRE_MM = 660.0
"""Diameter of the tire that a scan's place is judged by."""

BED_MM = (220.0, 220.0, 250.0)
"""Of the printer: across, deep, high."""
FIT_MM = 0.25
"""Left between two printed faces, per side: a sliding fit (common practice)."""
PLATE_MM = 5.0
"""Thickness of a gauge's blade."""
STUD_MM = 12.7
"""The hub's studs: 1/2 in, which is room for M12."""
NUT_MM = 30.0
"""Round a lug nut with its washer and socket."""
OVER_MM = 3.0
"""How much thicker than the required gap a no-go end is."""
SHEET_MM = (1220.0, 610.0)
"""A sheet to cut patterns from: across, high."""
SHEET_THICKNESS_MM = 12.0
TUB_SHEET_MM = 1.5
"""Of a tub: between 1.2 and 2 mm steel (common practice)."""
KERF_MM = 0.0
"""Width of the cut."""


def by(lengths_mm: tuple[float, ...]) -> str:
    """Sides as a person writes them.

    >>> by(BED_MM)
    '220x220x250'
    """
    return "x".join(f"{one:g}" for one in lengths_mm)
