"""Rim contours by their standard: how high the flanges stand and how deep the well lies.

Lengths are millimetres, rim codes inches. Values of the J and B contours are those of JIS D 4218:2021 table 3, which
follows ISO 4000-2:2013.

* code - the rim's number: 15 in 15 x 7J
* contour - the letter: J on cars of 14 in and more, B on 10, 12 and 13 in; 15 degree commercial rims have half codes
* bead seat diameter - the specified rim diameter, measured at the flange
* well floor - the deepest part of the barrel, over which the bead is slipped on; seen from inside, the narrowest
"""

from __future__ import annotations

from dataclasses import dataclass

from clearance.units import MM_PER_INCH

STANDARD = "JIS D 4218:2021 table 3 (ISO 4000-2:2013)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Contour:
    """One rim contour: the values that its standard prints."""

    name: str
    flange_width_mm: float
    """Least width of a flange."""
    flange_height_mm: float
    """Bead seat to flange top, +- 1.0 mm."""
    well_depth_mm: float
    """Least depth of the well below the bead seat."""
    source: str = STANDARD


J = Contour(name="J", flange_width_mm=11.0, flange_height_mm=17.5, well_depth_mm=17.3)
J_LARGE = Contour(name="J", flange_width_mm=11.0, flange_height_mm=17.5, well_depth_mm=22.0)
B = Contour(name="B", flange_width_mm=10.0, flange_height_mm=14.5, well_depth_mm=15.0)
COMMERCIAL = Contour(
    name="15 degree",
    flange_width_mm=11.0,
    flange_height_mm=12.7,
    well_depth_mm=25.0,
    source="15 degree commercial rim (from memory)",
)


def contour_of(code_in: float) -> Contour:
    """The contour that a rim of this code usually has.

    >>> contour_of(15).flange_height_mm, contour_of(13).flange_height_mm
    (17.5, 14.5)
    """
    if abs(code_in - round(code_in) - 0.5) < 1e-9 or abs(code_in - round(code_in) + 0.5) < 1e-9:
        return COMMERCIAL
    if code_in in (10, 12, 13):
        return B
    return J_LARGE if code_in >= 22 else J


def well_floor_mm(code_in: float, contour: Contour | None = None) -> float:
    """Greatest diameter of the well floor: D - 2 H.

    >>> round(well_floor_mm(17), 1)
    402.0
    """
    return bead_seat_diameter_mm(code_in) - 2 * (contour or contour_of(code_in)).well_depth_mm


def bead_seat_diameter_mm(code_in: float) -> float:
    """The specified rim diameter D of a code.

    ISO 4000-2 table 4 (from memory; its pattern checked by sums): whole codes up to 16 are 25.4 mm each less 0.8 mm,
    from 17 on 25.4 mm each and 4.8 mm more. Half codes (15 degree commercial rims) and millimetre rims have no such
    step.

    >>> bead_seat_diameter_mm(15), bead_seat_diameter_mm(17)
    (380.2, 436.6)
    """
    exact = code_in * MM_PER_INCH
    if abs(code_in - round(code_in)) > 1e-9:
        return round(exact, 1)
    return round(exact - 0.8 if code_in <= 16 else exact + 4.8, 1)
