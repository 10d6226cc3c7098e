"""A wheel from what was measured on it or printed on it; what is missing comes from the standard or the trade.

Lengths are millimetres, rim codes and widths inches.
"""

from __future__ import annotations

from clearance.errors import WheelError
from clearance.units import MM_PER_INCH, both
from clearance.wheel.bolt_circle import BoltCircle, traps
from clearance.wheel.contour import Contour, contour_of
from clearance.wheel.wheel import TRADE_FLANGE_MM, Wheel

AGREE_MM = 1.0
"""Offset and backspace of one wheel must agree to this."""


def offset_from_backspace_mm(backspace_mm: float, overall_width_mm: float) -> float:
    """Offset of a wheel whose backspace was measured: positive with the mounting face outboard of the middle.

    >>> round(offset_from_backspace_mm(4.5 * 25.4, 9 * 25.4), 3)
    0.0
    """
    return backspace_mm - overall_width_mm / 2


def wheel_for(
    diameter_in: float,
    width_in: float,
    *,
    offset_mm: float | None = None,
    backspace_mm: float | None = None,
    overall_width_mm: float | None = None,
    flange_thickness_mm: float | None = None,
    flange_height_mm: float | None = None,
    barrel_inner_diameter_mm: float | None = None,
    face_mm: float | None = None,
    center_bore_mm: float | None = None,
    bolt_circle: BoltCircle | None = None,
) -> Wheel:
    """A wheel from its numbers; what is left out comes from the standard or the trade, and `sources` says which.

    Offset or backspace is needed; both only where they agree to 1 mm, and then the backspace counts: the gap on the
    inside hangs on it, whatever the flange. Raises WheelError with what to write and the key that it is about.
    """
    contour = contour_of(diameter_in)
    flange_mm, flange_from = _flange(width_in, overall_width_mm, flange_thickness_mm)
    overall_mm = width_in * MM_PER_INCH + 2 * flange_mm
    return Wheel(
        diameter_in=diameter_in,
        width_in=width_in,
        offset_mm=_offset(offset_mm, backspace_mm, overall_mm),
        flange_thickness_mm=flange_mm,
        flange_height_mm=contour.flange_height_mm if flange_height_mm is None else flange_height_mm,
        barrel_inner_diameter_mm=barrel_inner_diameter_mm,
        face_mm=face_mm,
        center_bore_mm=center_bore_mm,
        bolt_circle=bolt_circle,
        sources={
            "offset": "offset as given" if backspace_mm is None else "backspace as measured",
            "flange_thickness": flange_from,
            "flange_height": contour.source if flange_height_mm is None else "measured",
            "bead_seat_diameter": "ISO 4000-2 table 4 (from memory)",
            "barrel_inner_diameter": _barrel_from(barrel_inner_diameter_mm, contour),
            "face": "measured" if face_mm is not None else "flush with the outer flange (assumed)",
        },
        warnings=() if bolt_circle is None else _trap_warnings(bolt_circle),
    )


def _flange(width_in: float, overall_mm: float | None, flange_mm: float | None) -> tuple[float, str]:
    if overall_mm is not None:
        found = (overall_mm - width_in * MM_PER_INCH) / 2
        if not 0 < found <= 60:
            raise WheelError(
                f"an overall width of {both(overall_mm)} does not go with {width_in:g} in between the flanges:"
                f" each flange would be {both(found)} thick. The overall width is measured over both flanges."
            )
        if flange_mm is not None and abs(found - flange_mm) > AGREE_MM:
            raise WheelError(
                f"the overall width makes each flange {both(found)} thick, but {both(flange_mm)} is given."
                " Leave one of them out."
            )
        return found, "overall width as measured"
    if flange_mm is not None:
        return flange_mm, "measured"
    return TRADE_FLANGE_MM, "half an inch each side (common practice)"


def _offset(offset_mm: float | None, backspace_mm: float | None, overall_mm: float) -> float:
    if backspace_mm is None:
        if offset_mm is None:
            raise WheelError(
                "where the hub's face lies in the wheel is missing. Write backspace (mounting face to the inner flange"
                " edge) or offset (mounting face to the rim's centre plane, positive inset).",
                key="backspace",
            )
        return offset_mm
    if not -overall_mm < backspace_mm < 2 * overall_mm:
        raise WheelError(
            f"a backspace of {both(backspace_mm)} does not go with a wheel {both(overall_mm)} wide over all."
            " Check the number and its unit.",
            key="backspace",
        )
    found = offset_from_backspace_mm(backspace_mm, overall_mm)
    if offset_mm is not None and abs(found - offset_mm) > AGREE_MM:
        raise WheelError(
            f"backspace and offset disagree: a backspace of {both(backspace_mm)} on a rim {both(overall_mm)} wide"
            f" over all is an offset of {found:.1f} mm; found {offset_mm:g} mm. Leave one out.",
            key="offset",
        )
    return found


def _barrel_from(barrel_mm: float | None, contour: Contour) -> str:
    if barrel_mm is not None:
        return "measured"
    return f"well floor less a wall of 6 mm each side (assumed); well depth by {contour.source}"


def _trap_warnings(circle: BoltCircle) -> tuple[str, ...]:
    return tuple(
        f"the bolt circle {circle} is easily taken for {other}: they do not interchange. Measure it with calipers."
        for other in traps(circle)
    )
