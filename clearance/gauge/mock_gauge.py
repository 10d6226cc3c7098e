"""The whole printed gauge for one corner: every piece, what to buy for it, and what to know.

It is of fixed size: it stands for the one tire on the one wheel that are about to be ordered. Turned once round the hub
it sweeps what they will fill; nothing on it can be set to another size. A left and a right hub take the same gauge,
since it is drawn from the hub face outboard.

It carries no load. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from clearance.defaults import OVER_MM
from clearance.gauge.blade import Blade, blade_of, blade_pieces
from clearance.gauge.blocks import lip_block, rim_ring, step_block, steps_of
from clearance.gauge.body import Piece
from clearance.gauge.hub import CAP_MM, CHEEK_MM, FLANGE_MM, RING_MM, HubFit, hub_fit_of, hub_pieces
from clearance.gauge.making import Making
from clearance.gauge.splitting import SPLICE_THICK_MM
from clearance.mockup.mockup import MockUp
from clearance.steady import steady
from clearance.units import both

LENGTHS_MM = (8, 10, 12, 16, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80)
"""Bolts as they are sold (ISO 888)."""

CAUTIONS = (
    "The gauge carries no load: never let the car's weight, a jack or a spring rest on it.",
    "Car on stands on firm ground, wheels chocked, before you reach into the well.",
    "Take the spring out (or let the air out) to cycle the axle by hand; a compressed spring can kill.",
    "Turn the gauge and the steering slowly, fingers clear; do not drive with it fitted.",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class BillRow:
    """One line of what to buy or have."""

    count: int
    what: str
    where: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Gauge:
    """The printed gauge."""

    title: str
    size: str
    """The tire on its rim, in a line."""
    fit: HubFit
    blade: Blade
    pieces: tuple[Piece, ...]
    bill: tuple[BillRow, ...]
    warnings: tuple[str, ...]
    notes: tuple[str, ...]


@steady
def gauge_for(mockup: MockUp, making: Making, *, over_mm: float = OVER_MM) -> Gauge:
    """The gauge for this corner.

    Raises WheelError where the wheel has no bolt circle, ShapeError where no way of cutting fits the bed.
    """
    solid = mockup.solid
    fit, warnings = hub_fit_of(mockup, making)
    mark = tire_mark(mockup)
    pieces = hub_pieces(fit, 1, mockup.title, mockup.corner)
    blade = blade_of(solid, fit, len(pieces) + 1, mark)
    pieces += blade_pieces(blade, fit, len(pieces) + 1, mark)
    pieces += _blocks(mockup, making, over_mm, len(pieces) + 1)
    return Gauge(
        title=mockup.title,
        size=size_line(mockup),
        fit=fit,
        blade=blade,
        pieces=tuple(pieces),
        bill=_bill(fit, blade, pieces),
        warnings=warnings,
        notes=_notes(mockup, fit),
    )


def tire_mark(mockup: MockUp) -> str:
    """What is cut into a piece to say whose it is: the marking, else diameter and width."""
    tire = mockup.tire
    return tire.marking or f"{tire.overall_diameter_mm:.0f} X {tire.section_width_mm:.0f}"


def size_line(mockup: MockUp) -> str:
    """The tire on its rim: dimensions as they are drawn, growth and chains included."""
    tire, wheel = mockup.tire, mockup.wheel
    return (
        f"{tire.marking + ': ' if tire.marking else ''}{both(tire.full_diameter_mm)} over the tread,"
        f" {both(tire.full_width_mm)} wide, on {wheel.diameter_in:g} x {wheel.width_in:g} in,"
        f" backspace {both(wheel.backspace_mm)}, offset {wheel.offset_mm:+.1f} mm"
    )


def lip_gaps(mockup: MockUp) -> tuple[float, ...]:
    """The gaps that lips must keep, each once; where no part is a lip, the least gap that any part must keep."""
    lips = {round(p.required_mm, 2) for p in mockup.parts if p.kind == "lip" and p.required_mm > 0}
    if lips:
        return tuple(sorted(lips))
    others = [round(p.required_mm, 2) for p in mockup.parts if p.required_mm > 0]
    return (min(others),) if others else ()


def _blocks(mockup: MockUp, making: Making, over_mm: float, first: int) -> list[Piece]:
    required = [p.required_mm for p in mockup.parts]
    pieces = step_block(steps_of(required, making), making, first)
    for gap in lip_gaps(mockup):
        if gap >= making.wall_mm:
            pieces.append(lip_block(gap, over_mm, making, first + len(pieces)))
    pieces.append(rim_ring(mockup.wheel, making, first + len(pieces)))
    return pieces


def bolt_length_mm(grip_mm: float, bolt_mm: float) -> int:
    """The shortest bolt sold that reaches through the grip, two washers and a nut, with a thread to spare.

    Washer 0.2 d (ISO 7089: 1.0 for M5) and nut 0.94 d (ISO 4032: 4.7 for M5) thick.

    >>> bolt_length_mm(9.0, 5.0)
    20
    """
    needed = grip_mm + 2 * 0.2 * bolt_mm + 0.94 * bolt_mm + 0.8
    return next((n for n in LENGTHS_MM if n >= needed), math.ceil(needed / 10) * 10)


def _bill(fit: HubFit, blade: Blade, pieces: Sequence[Piece]) -> tuple[BillRow, ...]:
    making, size = fit.making, f"M{fit.making.bolt_mm:g}"
    studs = fit.bolt_circle.studs
    pocket = 0.7 * making.bolt_mm + 0.5
    cap = bolt_length_mm(fit.stack_mm - pocket, making.bolt_mm)
    cheek = bolt_length_mm(CHEEK_MM + making.plate_mm, making.bolt_mm)
    rows = [
        BillRow(
            count=studs, what=f"{size} x {cap} hex bolt", where="through plate and cap, head in the plate's pocket"
        ),
        BillRow(count=2, what=f"{size} x {cheek} hex bolt", where="cheek of the ring to the blade"),
    ]
    joints = len(blade.split.joints)
    if joints:
        splice = bolt_length_mm(SPLICE_THICK_MM + making.plate_mm, making.bolt_mm)
        rows.append(BillRow(count=2 * joints, what=f"{size} x {splice} hex bolt", where="splice plates, two each"))
    rings = sum(p.name.startswith("ring") for p in pieces)
    if rings > 1:
        lap = bolt_length_mm(RING_MM, making.bolt_mm)
        rows.append(BillRow(count=rings, what=f"{size} x {lap} hex bolt", where="laps of the ring"))
    else:
        rings = 0
    nuts = studs + 2 + 2 * joints + rings
    stop = max((n for n in LENGTHS_MM if n <= FLANGE_MM + RING_MM + CAP_MM), default=LENGTHS_MM[0])
    rows += [
        BillRow(count=nuts, what=f"{size} nut", where="one to each bolt above"),
        BillRow(
            count=2 * nuts - studs, what=f"{size} plain washer", where="under heads and nuts (none in the pockets)"
        ),
        BillRow(count=1, what=f"{size} x {stop} bolt", where="the stop: drop it through the ring's hole into a notch"),
        BillRow(
            count=studs, what="lug nut, your own, with a flat washer", where="hub plate to hub, finger tight and a bit"
        ),
    ]
    return tuple(rows)


def _notes(mockup: MockUp, fit: HubFit) -> tuple[str, ...]:
    radius = mockup.tire.full_diameter_mm / 2
    rock = fit.rock_mm_per_m * radius / 1000.0
    return (
        f"With a fit of {fit.making.fit_mm:g} mm per side the blade can rock {rock:.1f} mm each way at the tread:"
        " push it toward what you measure.",
        "A print is true to about 0.2 mm, a blade of several parts to about 0.5 mm (common practice): measure the"
        " assembled blade against the drawing once.",
        "The blade shows the outline that the corner file gives, growth and chains included where given.",
    )
