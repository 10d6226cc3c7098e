"""Tire sizes whose dimensions stand in a table, because no formula gives them.

Section width and overall diameter are millimetres, on the measuring rim (inches). Each row names its source. Rows from
memory are defaults to be checked against the tire; so is every row marked approximate.
"""

from __future__ import annotations

from dataclasses import dataclass

from clearance.tire.size import Marking
from clearance.units import MM_PER_INCH

R30_TABLE = "UN R30 annex 5 table (from memory)"
R54_TABLE = "UN R54 annex 5 table (from memory)"
FMVSS = "49 CFR 571.109 appendix A, as a letter of the agency prints it"
FMVSS_WITH_DIAMETER = "49 CFR 571.109 appendix A (section width), published tire table (diameter)"
TRADE = "trade article"
RECALLED = "approximate, from memory"
MM_RIM_TABLE = "maker's table of millimetre-rim tires"


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One tabulated size."""

    rim_in: float
    """Measuring rim width."""
    section_mm: float
    overall_mm: float
    rims_in: tuple[float, float] | None = None
    """Narrowest and widest permitted rim, where the table says."""
    around_mm: float | None = None
    """Rolling circumference, where the table says."""
    source: str


def _r30(rim_in: float, section_mm: float, overall_mm: float) -> Row:
    return Row(rim_in=rim_in, section_mm=section_mm, overall_mm=overall_mm, source=R30_TABLE)


def _r54(rim_in: float, section_mm: float, overall_mm: float, rims_in: tuple[float, float] | None = None) -> Row:
    return Row(rim_in=rim_in, section_mm=section_mm, overall_mm=overall_mm, rims_in=rims_in, source=R54_TABLE)


def _inch(rim_in: float, section_in: float, overall_in: float, source: str) -> Row:
    return Row(rim_in=rim_in, section_mm=section_in * MM_PER_INCH, overall_mm=overall_in * MM_PER_INCH, source=source)


def _mm_rim(
    section_mm: float, overall_mm: float, around_mm: float, least_mm: float, rim_mm: float, most_mm: float
) -> Row:
    return Row(
        rim_in=rim_mm / MM_PER_INCH,
        section_mm=section_mm,
        overall_mm=overall_mm,
        rims_in=(least_mm / MM_PER_INCH, most_mm / MM_PER_INCH),
        around_mm=around_mm,
        source=MM_RIM_TABLE,
    )


ROWS: dict[str, Row] = {
    # numeric, bias
    "5.20-10": _r30(3.5, 132, 508),
    "5.20-12": _r30(3.5, 132, 558),
    "5.20-13": _r30(3.5, 132, 582),
    "5.60-13": _r30(4.0, 145, 600),
    "5.60-15": _r30(4.0, 145, 650),
    "5.90-15": _r30(4.0, 150, 668),
    "6.40-15": _r30(4.5, 163, 692),
    "6.70-15": _r30(4.5, 170, 710),
    "7.10-15": _r30(5.0, 180, 724),
    "8.20-15": _r30(6.0, 213, 760),
    "7.60-15": _inch(5.5, 7.90, 28.66, FMVSS_WITH_DIAMETER),
    "8.55-15": _inch(6.0, 8.45, 36.57 - 8.45, FMVSS + "; diameter is the least that its size factor allows"),
    "6.95-14": _inch(5.0, 7.0, 25.3, TRADE),
    "7.50-16": _r54(6.0, 217, 804, (5.5, 6.5)),
    # bare metric radial
    "145R13": _r30(4.0, 147, 566),
    "155R13": _r30(4.5, 157, 578),
    "165R13": _r30(4.5, 167, 596),
    "175R13": _r30(5.0, 178, 608),
    "175R14": _r30(5.0, 178, 634),
    "185R14": _r30(5.5, 188, 650),
    "155R15": _r30(4.5, 157, 630),
    "165R15": _r30(4.5, 167, 646),
    "185R15": _r30(5.5, 188, 674),
    # flotation
    "27x8.50-14": _r54(7.0, 218, 674, (6.5, 8.0)),
    "30x9.50-15": _r54(7.5, 240, 750, (6.5, 8.5)),
    "31x10.50-15": _r54(8.5, 268, 775, (7.0, 9.0)),
    "31x11.50-15": _r54(9.0, 290, 775, (8.0, 10.0)),
    "32x11.50-15": _r54(9.0, 290, 801, (8.0, 10.0)),
    "33x12.50-15": _r54(10.0, 318, 826, (8.5, 11.0)),
    "35x12.50-15": _r54(10.0, 318, 877, (8.5, 11.0)),
    # commercial inch
    "8R19.5": _r54(6.0, 203, 859),
    "9R22.5": _r54(6.75, 229, 970),
    "10R22.5": _r54(7.5, 254, 1018),
    "11R22.5": _r54(8.25, 279, 1050),
    "12R22.5": _r54(9.0, 300, 1084),
    # letters
    "H78-15": _inch(6.0, 8.55, 36.50 - 8.55, FMVSS + "; diameter is the least that its size factor allows"),
    "G78-15": _inch(6.0, 8.4, 28.0, TRADE),
    "E70-14": _inch(6.0, 8.05, 25.5, RECALLED),
    "F70-14": _inch(6.0, 8.3, 25.9, RECALLED),
    "G70-14": _inch(6.0, 8.6, 26.4, RECALLED),
    "E60-15": _inch(7.0, 9.1, 25.6, RECALLED),
    "F60-15": _inch(7.0, 9.4, 26.0, RECALLED),
    "G60-15": _inch(7.0, 9.8, 26.6, RECALLED),
    # millimetre rims
    "160/65R315": _mm_rim(163, 531, 1595, 90, 105, 120),
    "180/65R390": _mm_rim(185, 633, 1900, 120, 120, 120),
    "190/65R390": _mm_rim(199, 648, 1945, 120, 135, 150),
    "200/60R390": _mm_rim(206, 640, 1920, 120, 135, 150),
    "210/55R390": _mm_rim(219, 631, 1918, 135, 150, 165),
    "220/55R390": _mm_rim(227, 642, 1930, 135, 150, 165),
    "240/55R390": _mm_rim(249, 665, 1988, 150, 165, 195),
    "240/45R415": _mm_rim(253, 640, 1925, 195, 210, 225),
    "280/45R415": _mm_rim(292, 677, 2028, 225, 240, 255),
}
"""Size, written by `key`: its row."""

SAME_SIZE_AS: dict[str, str] = {
    "C78-14": "185/75R14",
    "D78-14": "185/75R14",
    "E78-14": "195/75R14",
    "F78-14": "205/75R14",
    "H78-14": "225/75R14",
    "G78-14": "215/75R14",
    "E78-15": "195/75R15",
    "F78-15": "205/75R15",
    "J78-15": "235/75R15",
    "L78-15": "235/75R15",
    "E60-14": "235/60R14",
    "F60-14": "245/60R14",
    "L60-15": "275/60R15",
}
"""Letter size: the metric size that lists give for it (approximate, from memory; lists disagree by one step)."""

RIMS_IN: dict[str, tuple[float, float]] = {
    "175/70-13": (4.5, 6.0),
    "205/60-15": (5.5, 7.5),
    "195/65-15": (5.5, 7.0),
    "205/65-15": (5.5, 7.5),
    "235/75-15": (6.0, 8.0),
    "255/60-15": (7.0, 9.0),
    "275/60-15": (7.5, 9.5),
    "205/55-16": (5.5, 7.5),
    "225/50-16": (6.0, 8.0),
    "215/45-17": (7.0, 8.0),
    "225/45-17": (7.0, 8.5),
    "225/50-17": (6.0, 8.0),
    "235/45-17": (7.5, 9.0),
    "245/45-17": (7.5, 9.0),
    "255/40-17": (8.5, 10.0),
    "255/45-17": (8.0, 9.5),
    "275/40-17": (9.0, 11.0),
    "225/40-18": (7.5, 9.0),
    "235/40-18": (8.0, 9.5),
    "245/40-18": (8.0, 9.5),
    "255/35-18": (8.5, 10.0),
    "285/35-18": (9.5, 11.0),
    "275/35-20": (9.0, 11.0),
}
"""Narrowest and widest permitted rim of metric sizes (handbook, from memory; 205/60-15 from a published test)."""

LT_RIMS_IN: dict[str, tuple[float, float, float]] = {
    "235/85-16": (6.0, 6.5, 7.5),
    "245/75-16": (6.5, 7.0, 8.0),
    "255/85-16": (6.5, 7.0, 8.0),
    "265/75-16": (7.0, 7.5, 8.0),
    "285/75-16": (7.5, 8.0, 9.0),
    "305/70-16": (8.0, 9.0, 9.5),
    "315/75-16": (8.0, 8.5, 10.0),
    "385/70-16": (10.0, 11.0, 12.0),
    "255/75-17": (6.5, 7.0, 8.5),
}
"""Narrowest, measuring and widest rim of light-truck sizes (two tire makers' specification sheets)."""


def key(marking: Marking) -> str:
    """How this module writes a size: numbers alone, speed and load left out."""
    rim, width = marking.rim_in, marking.width_mm or 0.0
    if marking.form == "millimetre rim":
        return f"{width:g}/{marking.aspect:g}R{rim * MM_PER_INCH:.0f}"
    if marking.form == "letter":
        return f"{marking.letter}{marking.aspect:g}-{rim:g}"
    if marking.form == "bare metric":
        return f"{width:g}R{rim:g}"
    if marking.form == "numeric":
        return f"{width / MM_PER_INCH:.2f}-{rim:g}"
    if marking.form == "commercial inch":
        return f"{width / MM_PER_INCH:g}R{rim:g}"
    if marking.form == "flotation":
        return f"{(marking.overall_mm or 0.0) / MM_PER_INCH:g}x{width / MM_PER_INCH:.2f}-{rim:g}"
    return f"{width:g}/{marking.aspect:g}-{rim:g}"
