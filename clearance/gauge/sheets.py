"""The assembly drawing of the printed gauge: a section, a view from outboard, and the words that go with them.

Section: outboard to the right, away from the axis up. View: as one looks at the wheel. Millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from clearance.gauge.blade import Blade
from clearance.gauge.flatwork import marks_of, on_circle
from clearance.gauge.hub import CAP_MM, CHEEK_LONG_MM, CHEEK_MM, FLANGE_MM, RING_MM, STOP_DEG, STOPS, HubFit
from clearance.gauge.mock_gauge import CAUTIONS, Gauge
from clearance.gauge.splitting import splice_shape
from clearance.geom.drawing import (
    CENTRE,
    HIDDEN,
    OUTLINE,
    THIN,
    Circle,
    Dimension,
    Drawing,
    Mark,
    Text,
    drawing_of,
    line,
    rectangle,
)
from clearance.geom.profile import Point
from clearance.units import both
from clearance.wheel.wheel import Wheel

_GREY, _PALE = 0.82, 0.93


def section_sheet(gauge: Gauge, wheel: Wheel) -> Drawing:
    """The gauge cut through the axis, blade upright, each piece with its number."""
    fit, blade = gauge.fit, gauge.blade
    y0, r0, y1, top = blade.section.bounds
    marks: list[Mark] = []
    for part in blade.parts:
        marks += marks_of(part, OUTLINE, None)
    for joint in blade.split.joints:
        marks += marks_of(joint.placed(splice_shape()), HIDDEN)
    marks += _hub_section(fit)
    low = -fit.flange_mm - 12
    marks.append(line((min(y0, -20) - 12, 0.0), (max(y1, 30) + 12, 0.0), CENTRE))
    marks.append(line((0.0, low), (0.0, r0 + 30), THIN))
    marks.append(Text(at=(-3.0, low), text="hub face", height_mm=7.0, align="right"))
    marks += _balloons(gauge)
    marks += [
        Dimension(start=(y0, top), end=(y1, top), off_mm=14.0, height_mm=8.0),
        Dimension(start=(y1, 0.0), end=(y1, top), off_mm=-26.0, height_mm=8.0),
        Dimension(
            start=(-wheel.backspace_mm, wheel.flange_diameter_mm / 2),
            end=(0.0, wheel.flange_diameter_mm / 2),
            off_mm=-(wheel.flange_diameter_mm / 2 - fit.blade_mm + 20.0),
            text=f"backspace {wheel.backspace_mm:.1f}",
            height_mm=8.0,
        ),
        Dimension(
            start=(-wheel.backspace_mm, 0.0),
            end=(-wheel.backspace_mm, wheel.flange_diameter_mm / 2),
            off_mm=26.0,
            text=f"flange {wheel.flange_diameter_mm / 2:.1f}",
            height_mm=8.0,
        ),
    ]
    return drawing_of(marks)


def view_sheet(gauge: Gauge) -> Drawing:
    """The gauge as one looks at the wheel, blade upright, and the tire that it sweeps."""
    fit, making = gauge.fit, gauge.fit.making
    top = gauge.blade.section.bounds[3]
    half = making.plate_mm / 2
    marks: list[Mark] = [
        Circle(centre=(0, 0), radius_mm=top, layer=HIDDEN),
        Circle(centre=(0, 0), radius_mm=fit.ring_mm, shade=_PALE),
        Circle(centre=(0, 0), radius_mm=fit.flange_mm, shade=_GREY),
        Circle(centre=(0, 0), radius_mm=fit.bore_mm / 2, shade=1.0),
        Circle(centre=(0, 0), radius_mm=fit.circle_mm, layer=CENTRE),
        rectangle(-half, fit.blade_mm, 2 * half, top - fit.blade_mm, OUTLINE, _PALE),
        rectangle(-half - making.rib_mm, fit.blade_mm + 4, making.rib_mm, top - fit.blade_mm - 8, THIN),
        rectangle(half, fit.flange_mm + 1, CHEEK_MM, fit.blade_mm + CHEEK_LONG_MM - fit.flange_mm - 1, OUTLINE, _GREY),
    ]
    marks += _holes(fit)
    stop = on_circle(fit.flange_mm, STOP_DEG)
    marks += _balloon("stop", stop, (stop[0] - 70, stop[1] + 50))
    first = next(p for p in gauge.pieces if p.name.startswith("hub plate"))
    cap = next(p for p in gauge.pieces if p.name.startswith("cap"))
    ring = next(p for p in gauge.pieces if p.name.startswith("ring"))
    blade = next(p for p in gauge.pieces if p.name.startswith("blade"))
    marks += _balloon(str(first.number), (0, -fit.bore_mm / 2 - 3), (70, -fit.ring_mm - 40))
    marks += _balloon(str(cap.number), on_circle(fit.circle_mm * 0.95, 250), (-fit.ring_mm - 45, -60))
    marks += _balloon(str(ring.number), on_circle((fit.flange_mm + fit.ring_mm) / 2, 100), (fit.ring_mm + 45, -50))
    marks += _balloon(str(blade.number), (0, (top + fit.blade_mm) / 2), (80, (top + fit.blade_mm) / 2 + 30))
    marks.append(Text(at=(0, -top + 14), text="what one turn sweeps", height_mm=9.0, align="centre"))
    marks.append(Dimension(start=(-fit.circle_mm, 0), end=(fit.circle_mm, 0), off_mm=-fit.ring_mm - 55, height_mm=9.0))
    return drawing_of(marks)


def _holes(fit: HubFit) -> list[Mark]:
    """Of the hub plate: for studs and their nuts, for bolts, and for the stops."""
    marks: list[Mark] = []
    for a in fit.studs_deg:
        at = on_circle(fit.circle_mm, a)
        marks.append(Circle(centre=at, radius_mm=fit.making.nut_mm / 2, layer=THIN, shade=1.0))
        marks.append(Circle(centre=at, radius_mm=fit.making.stud_hole_mm / 2))
    for a in fit.bolts_deg:
        marks.append(Circle(centre=on_circle(fit.circle_mm, a), radius_mm=fit.making.bolt_mm / 2))
    for k in range(STOPS):
        at = on_circle(fit.flange_mm, STOP_DEG + 360.0 / STOPS * k)
        marks.append(Circle(centre=at, radius_mm=fit.making.bolt_hole_mm / 2, layer=THIN, shade=1.0))
    return marks


def words_sheet(gauge: Gauge, width_mm: float) -> list[str]:
    """Pieces, what to buy, how it goes together, cautions: lines no longer than the page."""
    letters = int(width_mm / 1.55)
    rows = [gauge.size, "", "PIECES"]
    for p in gauge.pieces:
        x, y, z = p.extent_mm
        rows.append(
            f"  {p.number:>2}  {p.count} x {p.name}, {x:.0f} x {y:.0f} x {z:.0f} mm{'; ' + p.size if p.size else ''}"
        )
    rows += ["", "TO BUY"] + [f"  {b.count:>3} x {b.what}: {b.where}" for b in gauge.bill]
    rows += ["", "HOW IT GOES TOGETHER"] + [f"  {k}. {step}" for k, step in enumerate(steps(gauge), start=1)]
    rows += ["", "KNOW"] + [f"  {n}" for n in (*gauge.warnings, *gauge.notes)]
    rows += ["", "CAUTION"] + [f"  {c}" for c in CAUTIONS]
    return [part for row in rows for part in folded(row, letters)]


def steps(gauge: Gauge) -> tuple[str, ...]:
    """How the gauge is put together and used, in order."""
    fit = gauge.fit
    joined = "Slide the keys of the blade's parts into their slots and bolt a splice plate across each joint."
    return (
        *((joined,) if gauge.blade.split.joints else ()),
        "Put the bolts in the pockets of the hub plate; lay the ring on the plate's shoulder, then the cap; nut up"
        " until the ring just turns freely.",
        "Bolt the blade to the ring's cheek, the tenon through the slot, OUT pointing away from the car.",
        f"Wire-brush the hub face. Put the plate on the studs ({fit.bolt_circle.studs} x"
        f" {fit.bolt_circle.diameter_mm:g} mm) and run the nuts up by hand on flat washers.",
        "Turn the blade once round: it sweeps the whole tire. Drop the stop bolt into a notch to hold it at any of"
        " twelve directions while the suspension is cycled and steered.",
    )


def words_drawing(rows: Sequence[str], top_mm: float, left_mm: float) -> Drawing:
    """Lines of writing under each other; a line in capitals is a heading."""
    return drawing_of(
        Text(at=(left_mm, top_mm - 4.6 * k), text=row, height_mm=2.3, bold=row.isupper()) for k, row in enumerate(rows)
    )


def _hub_section(fit: HubFit) -> list[Mark]:
    """Plate, ring and cap above and below the axis."""
    bore = fit.bore_mm / 2
    marks: list[Mark] = []
    seat = FLANGE_MM + fit.seat_mm
    for sign in (1, -1):
        for y, low, wide, high, shade in (
            (0.0, bore, FLANGE_MM, fit.flange_mm, _GREY),
            (FLANGE_MM, bore, fit.seat_mm, fit.journal_mm, _GREY),
            (seat, bore, CAP_MM, fit.flange_mm, 0.7),
            (fit.foot_mm, fit.journal_mm + fit.making.fit_mm, RING_MM, fit.ring_mm, _PALE),
        ):
            start = low if sign > 0 else -high
            marks.append(rectangle(y, start, wide, high - low, OUTLINE, shade))
    cheek = rectangle(
        fit.foot_mm, fit.flange_mm + 1, fit.cheek_mm, fit.blade_mm + CHEEK_LONG_MM - fit.flange_mm - 1, HIDDEN
    )
    return [*marks, cheek]


def _balloons(gauge: Gauge) -> list[Mark]:
    fit, blade = gauge.fit, gauge.blade
    marks: list[Mark] = []
    numbers = [p.number for p in gauge.pieces if p.name.startswith("blade")]
    for number, part in zip(numbers, blade.parts, strict=True):
        at = part.representative_point()
        marks += _circled(str(number), (at.x, at.y))
    splice = next((p for p in gauge.pieces if p.name == "splice plate"), None)
    if splice is not None:
        at_joint = blade.split.joints[0].spot(20.0)
        marks += _balloon(str(splice.number), at_joint, (at_joint[0] - 40, at_joint[1] - 30))
    right = max(blade.section.bounds[2], 40.0)
    for name, y, r, drop in (
        ("hub plate", FLANGE_MM / 2, -fit.circle_mm - 20, 0.0),
        ("cap", FLANGE_MM + fit.seat_mm + CAP_MM / 2, -fit.circle_mm + 6, -26.0),
        ("ring", fit.foot_mm + RING_MM / 2, -fit.ring_mm + 4, 26.0),
    ):
        piece = next(p for p in gauge.pieces if p.name.startswith(name))
        marks += _balloon(str(piece.number), (y, r), (right * 0.6 + 20, -fit.circle_mm - drop))
    return marks


def _balloon(text: str, at: Point, to: Point) -> list[Mark]:
    length = math.dist(at, to)
    radius = 4.5 + 3.2 * len(text)
    end = (to[0] + (at[0] - to[0]) * radius / length, to[1] + (at[1] - to[1]) * radius / length)
    return [line(at, end, THIN), Circle(centre=at, radius_mm=1.5, layer=THIN, shade=0.0), *_circled(text, to)]


def _circled(text: str, at: Point) -> list[Mark]:
    return [
        Circle(centre=at, radius_mm=4.5 + 3.2 * len(text), layer=THIN, shade=1.0),
        Text(at=(at[0], at[1] - 4.0), text=text, height_mm=8.0, align="centre"),
    ]


def folded(row: str, letters: int) -> list[str]:
    """A line of writing in lines of at most so many letters."""
    import textwrap

    return textwrap.wrap(row, letters, subsequent_indent="      ", drop_whitespace=True, replace_whitespace=False) or [
        ""
    ]


def sizes_line(blade: Blade) -> str:
    """The whole blade's size."""
    y0, r0, y1, r1 = blade.section.bounds
    return f"blade {both(y1 - y0)} wide, from {both(r0)} to {both(r1)} off the axis"
