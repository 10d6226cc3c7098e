"""One wheel: rim, disc and where the hub's mounting face lies in it.

Lengths are millimetres except the two that the trade codes in inches. In hub axes y points outboard and y = 0 is the
mounting face, so the rim's centre plane is at y = -offset and its inner flange edge at y = -backspace.

* width - between the two flanges, where the beads sit; the number on the wheel
* overall width - over both flanges: width + 2 x flange thickness, the trade's "plus one inch"
* offset - mounting face outboard of the centre plane: positive (inset, ISO 3911)
* backspace - mounting face to the inner flange edge
* front space - mounting face to the outer flange edge
* bead seat diameter - the specified rim diameter, measured at the flange
* barrel - the hollow inboard of the disc, where brake and ball joints sit
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from clearance.errors import WheelError
from clearance.sound import a_number, shown
from clearance.units import MM_PER_INCH
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.contour import J, bead_seat_diameter_mm, well_floor_mm

TRADE_FLANGE_MM = 12.7
"""Half an inch for each flange: the trade's "nominal width plus one inch" (common practice)."""
BARREL_WALL_MM = 6.0
"""Barrel thickness assumed where none is given: a cast wheel, 5 to 7 mm (from memory)."""
LEAST_DISC_MM = 10.0
"""The disc is at least this thick at its mounting face (assumed)."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Wheel:
    """A wheel of revolution; spokes, lettering and valve are not in it.

    Raises WheelError where the numbers cannot be one wheel.
    """

    diameter_in: float
    """The rim code, in inches; a millimetre rim divided by 25.4."""
    width_in: float
    """Between the flanges, in inches."""
    offset_mm: float
    """Positive with the mounting face outboard of the centre plane."""
    flange_thickness_mm: float = TRADE_FLANGE_MM
    """Each flange, across; the rim is wider than its number by two of them."""
    flange_height_mm: float = J.flange_height_mm
    """Bead seat to the top of the flange; `rim.wheel_for` takes it from the rim's own contour."""
    barrel_inner_diameter_mm: float | None = None
    """The least inside diameter of the barrel, where measured; see `barrel_mm`."""
    face_mm: float | None = None
    """How far the wheel face stands outboard of the mounting face, where measured; see `face_outboard_mm`."""
    center_bore_mm: float | None = None
    """Hole for the hub's nose, where given; left out, the centre counts as closed."""
    bolt_circle: BoltCircle | None = None
    """Studs and circle, where given."""
    sources: Mapping[str, str] = field(default_factory=dict)
    """Field: where its value comes from ("measured", "JIS D 4218:2021", ...)."""
    warnings: tuple[str, ...] = ()
    """What the user should know before trusting the numbers."""

    def __post_init__(self) -> None:
        _check(self)

    @property
    def width_mm(self) -> float:
        """Between the flanges."""
        return self.width_in * MM_PER_INCH

    @property
    def overall_width_mm(self) -> float:
        """Over both flanges."""
        return self.width_mm + 2 * self.flange_thickness_mm

    @property
    def backspace_mm(self) -> float:
        """Mounting face to the inner flange edge."""
        return self.overall_width_mm / 2 + self.offset_mm

    @property
    def frontspace_mm(self) -> float:
        """Mounting face to the outer flange edge."""
        return self.overall_width_mm / 2 - self.offset_mm

    @property
    def bead_seat_diameter_mm(self) -> float:
        """The specified rim diameter D."""
        return bead_seat_diameter_mm(self.diameter_in)

    @property
    def flange_diameter_mm(self) -> float:
        """Over the tops of the flanges: D + 2 G."""
        return self.bead_seat_diameter_mm + 2 * self.flange_height_mm

    @property
    def barrel_mm(self) -> float:
        """Inside diameter of the barrel: as measured, or the well floor less two walls of BARREL_WALL_MM."""
        if self.barrel_inner_diameter_mm is not None:
            return self.barrel_inner_diameter_mm
        return well_floor_mm(self.diameter_in) - 2 * BARREL_WALL_MM

    @property
    def face_outboard_mm(self) -> float:
        """Mounting face to wheel face: as measured, or flush with the outer flange edge."""
        return self.face_mm if self.face_mm is not None else max(self.frontspace_mm, LEAST_DISC_MM)

    def with_offset(self, offset_mm: float) -> Wheel:
        """The same wheel drilled for another offset; its face moves with the rim."""
        face = None if self.face_mm is None else max(self.face_mm + self.offset_mm - offset_mm, LEAST_DISC_MM)
        return replace(self, offset_mm=offset_mm, face_mm=face)

    def with_backspace(self, backspace_mm: float) -> Wheel:
        """The same wheel drilled for another backspace."""
        return self.with_offset(backspace_mm - self.overall_width_mm / 2)


def _check(wheel: Wheel) -> None:
    _refuse_words(wheel)
    _refuse_rim(wheel)
    _refuse_disc(wheel)


def _refuse_words(wheel: Wheel) -> None:
    """What is no number, or no bolt circle."""
    named = {
        "diameter": wheel.diameter_in,
        "width": wheel.width_in,
        "offset": wheel.offset_mm,
        "flange_thickness": wheel.flange_thickness_mm,
        "flange_height": wheel.flange_height_mm,
        "barrel_inner_diameter": wheel.barrel_inner_diameter_mm,
        "face": wheel.face_mm,
        "center_bore": wheel.center_bore_mm,
    }
    for key, value in named.items():
        if value is not None or key in ("diameter", "width", "offset", "flange_thickness", "flange_height"):
            a_number(value, f"the {key.replace('_', ' ')}", WheelError, key=key)
    if not isinstance(wheel.bolt_circle, BoltCircle | None):
        raise WheelError(f"the bolt circle is {shown(wheel.bolt_circle)}; it must be a BoltCircle.", key="bolt_circle")


def _refuse_rim(wheel: Wheel) -> None:
    """A rim and flanges of a size that no rim has, or an offset that no wheel has."""
    if not 4 <= wheel.diameter_in <= 60:
        raise WheelError(
            f"a rim diameter of {wheel.diameter_in:g} in is not believable; 4 to 60 in is.", key="diameter"
        )
    if not 1 <= wheel.width_in <= 40:
        raise WheelError(f"a rim width of {wheel.width_in:g} in is not believable; 1 to 40 in is.", key="width")
    if not 0 < wheel.flange_thickness_mm <= 60:
        raise WheelError(
            f"a flange {wheel.flange_thickness_mm:g} mm thick is not believable; {TRADE_FLANGE_MM:g} mm is usual.",
            key="flange_thickness",
        )
    if not 0 < wheel.flange_height_mm <= 80:
        raise WheelError(
            f"a flange {wheel.flange_height_mm:g} mm high is not believable; 17.5 mm is usual.", key="flange_height"
        )
    if not abs(wheel.offset_mm) <= 1000:
        raise WheelError(f"an offset of {wheel.offset_mm:g} mm is not believable.", key="offset")


def _refuse_disc(wheel: Wheel) -> None:
    """A barrel, a face or a center bore that does not fit into the rim."""
    if not 0 < wheel.barrel_mm < wheel.bead_seat_diameter_mm:
        raise WheelError(
            f"a barrel {wheel.barrel_mm:g} mm inside does not fit in a rim whose bead seats are"
            f" {wheel.bead_seat_diameter_mm:g} mm. Measure the smallest inside diameter behind the wheel face.",
            key="barrel_inner_diameter",
        )
    if not wheel.face_outboard_mm > 0:
        raise WheelError(
            f"the wheel face stands {wheel.face_outboard_mm:g} mm outboard of its back; it must be positive.",
            key="face",
        )
    if wheel.center_bore_mm is not None and not 0 < wheel.center_bore_mm < wheel.barrel_mm:
        raise WheelError(
            f"a center bore of {wheel.center_bore_mm:g} mm does not fit in a barrel of {wheel.barrel_mm:g} mm.",
            key="center_bore",
        )
