"""How the gauge is made: the printer's bed, the fit, the walls, the bolts.

Every number here is a default that the user can edit. The fits are common practice for a filament printer, each side:
press 0.1 to 0.15, sliding 0.2 to 0.3, loose 0.3 to 0.5 mm. Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

from clearance.defaults import BED_MM, FIT_MM, NUT_MM, PLATE_MM, STUD_MM, by
from clearance.errors import ShapeError, UnitError
from clearance.plain import echoed
from clearance.units import both, sides_mm

LEAST_WALL_MM = 1.2
"""Three lines of a 0.4 mm nozzle, common practice."""
LARGEST_FIT_MM = 1.0
BED_EDGE_MM = 2.0
"""Kept free along each edge of the bed."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bed:
    """What a printer can make in one piece."""

    x_mm: float = BED_MM[0]
    y_mm: float = BED_MM[1]
    z_mm: float = BED_MM[2]

    def takes(self, x_mm: float, y_mm: float, z_mm: float) -> bool:
        """Does a piece of this size fit, as it lies or turned a quarter?"""
        room_x, room_y = self.x_mm - 2 * BED_EDGE_MM, self.y_mm - 2 * BED_EDGE_MM
        lies = x_mm <= room_x + 1e-6 and y_mm <= room_y + 1e-6
        turned = y_mm <= room_x + 1e-6 and x_mm <= room_y + 1e-6
        return (lies or turned) and z_mm <= self.z_mm + 1e-6

    def __str__(self) -> str:
        return f"{self.x_mm:g} x {self.y_mm:g} x {self.z_mm:g} mm"


def bed_of(text: str) -> Bed:
    """The bed that a person writes as three lengths; bare numbers are millimetres.

    Raises ShapeError for anything else, or a bed too small for the smallest piece.

    >>> bed_of("220x220x250")
    Bed(x_mm=220.0, y_mm=220.0, z_mm=250.0)
    """
    try:
        x_mm, y_mm, z_mm = sides_mm(text, 3)
    except UnitError:
        raise ShapeError(
            f"{echoed(text)} is not a bed. Write width x depth x height in mm or in inches: "
            f'"{by(BED_MM)}", "10 x 10 x 12 in".'
        ) from None
    bed = Bed(x_mm=x_mm, y_mm=y_mm, z_mm=z_mm)
    if min(bed.x_mm, bed.y_mm) < 120 or bed.z_mm < 60:
        raise ShapeError(f"a bed of {bed} is too small for this gauge; 120 x 120 x 60 mm is the least.")
    if max(bed.x_mm, bed.y_mm, bed.z_mm) > 5000:
        raise ShapeError(f"a bed of {bed} is not believable; the lengths are millimetres.")
    return bed


@dataclass(frozen=True, slots=True, kw_only=True)
class Making:
    """How the pieces are made."""

    bed: Bed = Bed()
    fit_mm: float = FIT_MM
    """Left between two mating faces: per side, a sliding fit."""
    wall_mm: float = 2.4
    """No wall is thinner."""
    plate_mm: float = PLATE_MM
    """Thickness of the blade."""
    rib_mm: float = 10.0
    """How far the ribs stand off the blade."""
    bolt_mm: float = 5.0
    """Of every joint: M5."""
    hole_growth_mm: float = 0.3
    """Added to the diameter of a hole, as printed holes come out small (common practice)."""
    stud_mm: float | None = None
    """Diameter of the hub's studs where it is not that of the thread in the corner file; see `stud_diameter_mm`."""
    nut_mm: float = NUT_MM
    """Round room for a lug nut with its washer and socket."""
    engrave_mm: float = 0.6
    """Depth of the writing."""

    def __post_init__(self) -> None:
        if not 0 <= self.fit_mm <= LARGEST_FIT_MM:
            raise ShapeError(f"a fit of {self.fit_mm:g} mm per side is not usable; 0 to {LARGEST_FIT_MM:g} mm is.")
        if self.wall_mm < LEAST_WALL_MM:
            raise ShapeError(
                f"a wall of {self.wall_mm:g} mm is too thin for a 0.4 mm nozzle; {LEAST_WALL_MM:g} mm is the least."
            )
        if not 3.0 <= self.plate_mm <= 25.0:
            raise ShapeError(f"a blade {self.plate_mm:g} mm thick is not usable; 3 to 25 mm is.")
        if not 6.0 <= self.stud_diameter_mm <= 30.0:
            raise ShapeError(f"a stud of {both(self.stud_diameter_mm)} is not believable; 6 to 30 mm is.")

    @property
    def stud_diameter_mm(self) -> float:
        """Of the hub's studs: 1/2 in, which M12 passes too, where nothing was said."""
        return STUD_MM if self.stud_mm is None else self.stud_mm

    @property
    def bolt_hole_mm(self) -> float:
        """Diameter of a bolt's hole: ISO 273 medium (5.5 for M5) and the growth of a printed hole."""
        return 1.1 * self.bolt_mm + self.hole_growth_mm

    @property
    def stud_hole_mm(self) -> float:
        """Diameter of a stud's hole: 1 mm of play, and the growth of a printed hole."""
        return self.stud_diameter_mm + 1.0 + self.hole_growth_mm

    @property
    def washer_mm(self) -> float:
        """Diameter of a plain washer, twice the bolt's (ISO 7089: 10 for M5)."""
        return 2.0 * self.bolt_mm

    @property
    def hex_mm(self) -> float:
        """Across the flats of a bolt's head or nut, 1.6 times the bolt (ISO 4014, ISO 4032: 8 for M5)."""
        return 1.6 * self.bolt_mm
