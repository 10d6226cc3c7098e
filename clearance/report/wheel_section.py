"""A wheel cut through, in its own numbers, with backspace and offset: for a card that is read out.

Outboard is to the left, as in the other drawings. The outline between flange and disc is a middling one; what has a
figure is true to scale. Places are paper millimetres about the middle of the mounting face.
"""

from __future__ import annotations

from clearance.geom.drawing import CENTRE, OUTLINE, THIN, Dimension, Drawing, Mark, Text, chain, drawing_of, line
from clearance.units import both
from clearance.wheel.wheel import Wheel

FIGURE_MM = 2.3
_SEAT_MM, _METAL_MM, _SLOPE_MM = 22.0, 7.0, 18.0
"""Width of a bead seat, thickness of what is cut, and of the slope down to the barrel: as drawn."""


def wheel_section(wheel: Wheel, *, scale: float) -> Drawing:
    """The wheel's section with its rim width, backspace and offset."""
    marks: list[Mark] = []
    for sign in (1.0, -1.0):
        points = [(-scale * y, scale * sign * z) for y, z in _outline(wheel)]
        marks.append(chain(points, closed=True, layer=OUTLINE, shade=0.72))
    inner, outer = scale * wheel.backspace_mm, -scale * wheel.frontspace_mm
    top = scale * wheel.flange_diameter_mm / 2
    middle = (inner + outer) / 2
    marks += [
        line((outer - 4, 0), (inner + 4, 0), CENTRE),
        line((middle, -top - 3), (middle, top + 3), CENTRE),
        # the mounting face, on through the rim to where the backspace is measured from
        line((0, -top - 12), (0, top + 12), THIN),
        Dimension(start=(0, top), end=(inner, top), off_mm=8.0, text="", height_mm=FIGURE_MM),
        Text(at=(0, top + 14.0), text=f"backspace {both(wheel.backspace_mm)}", height_mm=FIGURE_MM, align="centre"),
        *_offset(middle, -top, wheel.offset_mm),
        Text(at=(outer - 5, -1.0), text="outboard", height_mm=1.9, align="right"),
    ]
    return drawing_of(marks)


def _outline(wheel: Wheel) -> list[tuple[float, float]]:
    """Rim and disc above the axle, as (outboard, above) in true millimetres."""
    inner, outer = -wheel.backspace_mm, wheel.frontspace_mm
    thick, seat, top = wheel.flange_thickness_mm, wheel.bead_seat_diameter_mm / 2, wheel.flange_diameter_mm / 2
    well = min(wheel.barrel_mm / 2 + _METAL_MM, seat - 4.0)
    left, right = inner + thick + _SEAT_MM, outer - thick - _SEAT_MM
    slope = min(_SLOPE_MM, max((right - left) / 4, 1.0))
    low = well - _METAL_MM
    hub = 0.16 * seat
    disc = min(max(wheel.face_outboard_mm, 12.0), 0.6 * wheel.frontspace_mm + 12.0, 30.0)
    return [
        (inner, top), (inner + thick, top), (inner + thick, seat), (left, seat), (left + slope, well),
        (right - slope, well), (right, seat), (outer - thick, seat), (outer - thick, top), (outer, top),
        (outer, seat - _METAL_MM), (right, seat - _METAL_MM),
        # down the disc's outer face, round the middle, and up its back to the barrel
        (min(right - slope, disc + 14.0), low), (disc, 0.35 * seat), (disc, hub), (0.0, hub), (0.0, 0.45 * seat),
        (min(right - slope, disc + 14.0) - 10.0, low),
        (left + slope, low), (left, seat - _METAL_MM), (inner, seat - _METAL_MM),
    ]  # fmt: skip


def _offset(middle: float, low: float, offset_mm: float) -> list[Mark]:
    """From the rim's middle to the mounting face; where there is none, the word alone."""
    words = f"offset {offset_mm:+.1f} mm"
    marks: list[Mark] = [Text(at=(0.0, low - 16.0), text=words, height_mm=FIGURE_MM, align="centre")]
    if abs(middle) > 0.3:
        left, right = sorted((middle, 0.0))
        marks.append(Dimension(start=(left, low), end=(right, low), off_mm=-9.0, text="", height_mm=FIGURE_MM))
    return marks
