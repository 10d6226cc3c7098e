"""Flat patterns instead of prints: for plywood, foam board, cardboard, or sheet metal.

* rings - full rings cut at stations across the tire; stacked on rods they are the whole tire. Each ring is the largest
          that stays inside the tire over its own thickness, so the stack is nowhere outside the tire and rim.
* blade - the half section and a hub plate; the blade stands in a slotted ring between two plates, held by folded angles

A pattern knows its sheet's thickness; the saw's or the beam's width (`kerf`) is added half on each side of every cut,
so that the part comes out to size. Layers: cut, engrave, fold. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from clearance.defaults import KERF_MM, SHEET_MM, SHEET_THICKNESS_MM
from clearance.errors import ShapeError
from clearance.gauge.flatwork import (
    Shape,
    disc,
    grown,
    grown_round,
    marks_of,
    oblong,
    on_circle,
    parts_of,
    place_for,
    polygon_of,
    wedge,
    without_slivers,
    words_size,
)
from clearance.gauge.hub import HubFit, hub_fit
from clearance.gauge.making import Making
from clearance.gauge.mock_gauge import size_line, tire_mark
from clearance.gauge.nest import nested
from clearance.geom.drawing import CUT, ENGRAVE, FOLD, THIN, Drawing, Mark, Text, drawing_of, line, rectangle
from clearance.geom.revolve import Solid
from clearance.mockup.mockup import MockUp
from clearance.steady import steady
from clearance.units import both

RODS = 6
ROD_MM = 8.0
"""Threaded rod that strings the rings together: M8 or 5/16 in, editable."""
HUB_WEB_MM = 30.0
LEAST_RING_MM = 12.0
"""A ring narrower than this is left out of the stack."""
BRACKET_MM = 30.0
LEAST_BRACKET_MM = 16.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What the patterns are cut from."""

    width_mm: float = SHEET_MM[0]
    height_mm: float = SHEET_MM[1]
    thickness_mm: float = SHEET_THICKNESS_MM
    kerf_mm: float = KERF_MM
    gap_mm: float = 6.0
    """Between two patterns, and to the sheet's edge."""

    def __post_init__(self) -> None:
        if min(self.width_mm, self.height_mm) < 150 or max(self.width_mm, self.height_mm) > 10000:
            raise ShapeError(
                f"a sheet of {self.width_mm:g} x {self.height_mm:g} mm is not usable; 150 to 10000 mm each way is."
            )
        if not 0.5 <= self.thickness_mm <= 60:
            raise ShapeError(f"a sheet {self.thickness_mm:g} mm thick is not usable; 0.5 to 60 mm is.")
        if not 0 <= self.kerf_mm <= 6:
            raise ShapeError(f"a kerf of {self.kerf_mm:g} mm is not believable; 0 to 6 mm is.")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Pattern:
    """One flat part to cut."""

    number: int
    name: str
    shape: Shape
    """Its finished size."""
    label: tuple[str, ...]
    folds: tuple[tuple[tuple[float, float], tuple[float, float]], ...] = ()
    station_mm: tuple[float, float] | None = None
    """From and to, along the axis outboard of the hub face, of a layer of the stack."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlatGauge:
    """Patterns, and where each lies on which sheet."""

    title: str
    size: str
    sheet: Sheet
    patterns: tuple[Pattern, ...]
    sheets: tuple[Drawing, ...]
    """One drawing to a sheet: lower left corner at (0, 0), the sheet's edge on a paper layer."""
    notes: tuple[str, ...]


@steady
def ring_stack(mockup: MockUp, sheet: Sheet, making: Making) -> FlatGauge:
    """A laminated whole tire: one ring to each thickness of sheet, and a hub plate in the layer on the hub face.

    Raises WheelError where the wheel has no bolt circle, ShapeError where a ring is larger than a sheet in every split.
    """
    fit, warnings = hub_fit(mockup.wheel, making)
    layers = stations(mockup.solid, sheet.thickness_mm)
    rods_mm = _rod_circle_mm(mockup.solid, layers)
    rings, skipped = _rings(mockup, fit, layers, rods_mm)
    notes = (
        "Stack the rings in the order of their numbers, from inboard to outboard; the hub face is at 0. Layers are"
        f" {sheet.thickness_mm:g} mm: measure your sheet, its true thickness decides the backspace.",
        f"{RODS} rods of {ROD_MM:g} mm on a circle of {2 * rods_mm:.1f} mm string them together; glue or screw the"
        " rings that the rods miss. Where a ring is in parts, its seams are turned from layer to layer.",
        "Each ring is the largest that stays inside the tire over its whole thickness;"
        f" {skipped} layers narrower than {LEAST_RING_MM:g} mm were left out.",
        *warnings,
    )
    laid = [_laid(mockup, sheet, _in_parts(rings, count), notes) for count in _part_counts(rings, sheet)]
    # Parts of other sizes nest otherwise: the fewest sheets win, then the fewest parts.
    return min(laid, key=lambda f: (len(f.sheets), len(f.patterns)))


def _rings(
    mockup: MockUp, fit: HubFit, layers: Sequence[tuple[float, float]], rods_mm: float
) -> tuple[list[Pattern], int]:
    """The rings whole, and how many layers were too narrow for one."""
    rings: list[Pattern] = []
    skipped = 0
    for number, (low, high) in enumerate(layers, start=1):
        found = ring_at(mockup.solid, low, high)
        if found is None or found[1] - max(found[0], mockup.wheel.barrel_mm / 2) < LEAST_RING_MM:
            skipped += 1
            continue
        inside, outside = found
        on_hub = abs(low) < 1e-9
        inside = fit.bore_mm / 2 if on_hub else max(inside, mockup.wheel.barrel_mm / 2)
        shape = disc(outside).difference(_hub_opening(fit) if on_hub else disc(inside))
        threaded = inside + ROD_MM / 2 + 4 < rods_mm < outside - ROD_MM / 2 - 4
        if threaded:
            for k in range(RODS):
                hole = disc(ROD_MM / 2 + 0.25, on_circle(rods_mm, 360.0 / RODS * k + 20))
                shape = shape.difference(hole)
        label = (f"{number}", f"{low:+.0f} TO {high:+.0f}", tire_mark(mockup), "OUT SIDE UP")
        rings.append(Pattern(number=number, name=f"ring {number}", shape=shape, label=label, station_mm=(low, high)))
    return rings, skipped


@steady
def blade_flat(mockup: MockUp, sheet: Sheet, making: Making) -> FlatGauge:
    """Blade and hub plate for sheet: plate, journal, cap and ring as discs, the blade in its slot, folded angles.

    Raises WheelError where the wheel has no bolt circle, ShapeError where a part is larger than a sheet.
    """
    fit, warnings = hub_fit(mockup.wheel, making)
    thick = sheet.thickness_mm
    slot_mm = thick + 2 * making.fit_mm
    section = blade_section(mockup.solid, fit, thick)
    depth = section.bounds[1]
    tab = oblong(thick + making.fit_mm, fit.journal_mm + 14.0, 2 * thick - making.fit_mm, depth + 1.0)
    leg = min(BRACKET_MM, mockup.wheel.face_outboard_mm - 2 * thick - 2.0)
    angled = leg >= LEAST_BRACKET_MM
    blade = section.union(tab)
    if angled:
        blade = blade.difference(disc(making.bolt_hole_mm / 2, (2 * thick + leg / 2, depth + leg / 2)))
    blade = parts_of(blade)[0]
    ring_out = depth + 34.0
    ring = disc(ring_out).difference(disc(fit.journal_mm + making.fit_mm))
    slot = oblong(-slot_mm / 2, fit.journal_mm + 14.0 - making.fit_mm, slot_mm / 2, ring_out + 1.0)
    ring = parts_of(ring.difference(slot))[0]
    if angled:
        for side in (-1, 1):
            ring = ring.difference(disc(making.bolt_hole_mm / 2, (side * (thick / 2 + leg / 2), depth + leg / 2)))
    mark = tire_mark(mockup)
    through = _hub_opening(fit)
    bolts = [disc(making.bolt_hole_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.bolts_deg]
    nuts = [disc(making.nut_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.studs_deg]

    def drilled(shape: Shape, more: Sequence[Shape]) -> Shape:
        for hole in (*bolts, *more):
            shape = shape.difference(hole)
        return parts_of(without_slivers(shape, making.wall_mm))[0]

    flange = drilled(disc(fit.flange_mm).difference(through), ())
    journal = drilled(disc(fit.journal_mm).difference(through), ())
    cap = drilled(disc(fit.flange_mm).difference(through), nuts)
    patterns = [
        Pattern(number=1, name="flange", shape=flange, label=("1 FLANGE", mark, "OUT SIDE UP")),
        Pattern(number=2, name="journal", shape=journal, label=("2 JOURNAL", "OUT SIDE UP")),
        Pattern(number=3, name="cap", shape=cap, label=("3 CAP", "OUT SIDE UP")),
        Pattern(number=4, name="ring", shape=ring, label=("4 RING", "OUT SIDE UP")),
        Pattern(number=5, name="blade", shape=blade, label=("5 BLADE", mark, "OUT >")),
    ]
    patterns += [_bracket(6, leg, making) for _ in range(2)] if angled else []
    fixing = (
        "fold the two angles 6 square and bolt them to ring and blade"
        if angled
        else "glue it there: the wheel face is too near the hub for the folded angles"
    )
    proud = max(0.0, 3 * thick - mockup.wheel.face_outboard_mm)
    notes = (
        f"Stack on the hub face: 1, then 2 with the ring 4 round it, then 3; {fit.bolt_circle.studs}"
        f" M{making.bolt_mm:g} bolts through 1, 2 and 3. Thin card or a washer under 3 gives the ring its play.",
        f"The blade's tab goes into the ring's slot; {fixing}.",
        f"The blade is {thick:g} mm thick: its edge is set in so that its corners stay inside the tire.",
        *((f"The hub plate stands {both(proud)} out past the wheel face, near the hub only.",) if proud else ()),
        *warnings,
    )
    return _laid(mockup, sheet, patterns, notes)


def stations(solid: Solid, thickness_mm: float) -> list[tuple[float, float]]:
    """(from, to) of each layer along the axis, one of them beginning on the hub face, all within the tire's width."""
    low, high, _, _ = solid.profile.bounds
    first, last = math.ceil((low - 1e-6) / thickness_mm), math.floor((high + 1e-6) / thickness_mm)
    return [(k * thickness_mm, (k + 1) * thickness_mm) for k in range(first, last)]


def ring_at(solid: Solid, low_mm: float, high_mm: float) -> tuple[float, float] | None:
    """Inside and outside radius of the largest ring in the solid from one y to another; None where none is."""
    across = np.linspace(low_mm, high_mm, 25)
    outline = solid.profile.outline(0.02)
    inside_y = outline[(outline[:, 0] > low_mm) & (outline[:, 0] < high_mm), 0]
    found = [_widest(solid, y) for y in np.union1d(across, inside_y)]
    if any(f is None for f in found):
        return None
    inner, outer = max(f[0] for f in found if f), min(f[1] for f in found if f)
    return (inner, outer) if outer > inner else None


def blade_section(solid: Solid, fit: HubFit, thick_mm: float) -> Shape:
    """The half section for a blade of this thickness, its edge set in so that the thick edge's corners stay inside.

    A point half a thickness off the middle plane lies hypot(r, t/2) off the axis; the outline is lowered by that.
    Raises ShapeError where the hub plate leaves nothing for a blade.
    """
    from shapely import Polygon

    half = thick_mm / 2
    ring = solid.profile.outline(0.02)
    lowered = np.column_stack([ring[:, 0], np.sqrt(np.maximum(ring[:, 1] ** 2 - half**2, 0.0))])
    low, high, _, top = solid.profile.bounds
    start = fit.flange_mm + 24.0
    inside = Polygon(lowered).intersection(polygon_of(solid.profile))
    found = parts_of(without_slivers(inside.intersection(oblong(low - 1, start, high + 1, top + 1)), 3.0))
    if not found:
        raise ShapeError("the hub plate leaves nothing of the wheel for a blade. Check the bolt circle.")
    return found[0]


def _widest(solid: Solid, y: float) -> tuple[float, float] | None:
    """The outermost stretch of the section at one y: its inner and outer radius."""
    from shapely import LineString

    section = _section(solid)
    _, _, _, top = solid.profile.bounds
    cut = section.intersection(LineString([(y, -1.0), (y, top + 1.0)]))
    runs = [g for g in getattr(cut, "geoms", [cut]) if g.geom_type == "LineString" and g.length > 0.1]
    if not runs:
        return None
    outer = max(runs, key=lambda g: g.bounds[3])
    return max(0.0, float(outer.bounds[1])), float(outer.bounds[3])


@lru_cache(maxsize=8)
def _section(solid: Solid) -> Shape:
    return polygon_of(solid.profile)


def _hub_opening(fit: HubFit) -> Shape:
    from shapely import union_all

    studs = [disc(fit.making.stud_hole_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.studs_deg]
    return union_all([disc(fit.bore_mm / 2), *studs])


def _rod_circle_mm(solid: Solid, layers: Sequence[tuple[float, float]]) -> float:
    """The radius at which rods pass through the most layers, nearest to the middle of what they have in common."""
    rings = [r for r in (ring_at(solid, a, b) for a, b in layers) if r is not None]
    if not rings:
        raise ShapeError("the sheet is thicker than the tire is wide: no ring can be cut.")
    radii = np.arange(min(r[0] for r in rings) + 10, max(r[1] for r in rings) - 10, 1.0)
    margin = ROD_MM / 2 + 4
    held = np.array([sum(a + margin < r < b - margin for a, b in rings) for r in radii])
    best = radii[held == held.max()]
    return float(best[len(best) // 2])


def _part_counts(rings: Sequence[Pattern], sheet: Sheet) -> list[int]:
    """Into how many parts the rings can be cut to fit a sheet: whole if they can be, else the three fewest.

    Raises ShapeError where even a twelfth is too large.
    """
    room_x, room_y = sheet.width_mm - 2 * sheet.gap_mm, sheet.height_mm - 2 * sheet.gap_mm
    outside = max(r.shape.bounds[2] for r in rings)
    if 2 * outside <= min(room_x, room_y):
        return [1]
    fitting = []
    for count in (2, 3, 4, 6, 8, 12):
        x0, y0, x1, y1 = max((p.shape for p in _in_parts(rings, count)), key=lambda p: p.bounds[2] - p.bounds[0]).bounds
        if (x1 - x0 <= room_x and y1 - y0 <= room_y) or (y1 - y0 <= room_x and x1 - x0 <= room_y):
            fitting.append(count)
    if not fitting:
        raise ShapeError(
            f"a ring {both(2 * outside)} across does not fit a sheet of {both(sheet.width_mm)} by"
            f" {both(sheet.height_mm)}. Write a larger --sheet."
        )
    return fitting[:3]


def _in_parts(rings: Sequence[Pattern], count: int) -> list[Pattern]:
    """Each ring in as many sectors, the seams turned by half a sector from layer to layer; each sector lies level."""
    if count == 1:
        return list(rings)
    parts = []
    step = 360.0 / count
    for ring in rings:
        turn = step / 2 * (ring.number % 2)
        for k in range(count):
            sector = wedge(turn + step * k, turn + step * (k + 1), ring.shape.bounds[2] + 5.0)
            name = chr(ord("a") + k)
            parts.append(
                replace(
                    ring,
                    name=f"{ring.name}{name}",
                    shape=_level(parts_of(ring.shape.intersection(sector))[0], turn + step * (k + 0.5)),
                    label=(f"{ring.label[0]}{name}", *ring.label[1:]),
                )
            )
    return parts


def _level(part: Shape, middle_deg: float) -> Shape:
    from shapely.affinity import rotate

    return rotate(part, middle_deg, origin=(0.0, 0.0))


def _bracket(number: int, leg: float, making: Making) -> Pattern:
    """A strip that folds into an angle, with a bolt hole in each leg."""
    shape = oblong(0.0, 0.0, 2 * leg, leg)
    for x in (leg / 2, 1.5 * leg):
        shape = shape.difference(disc(making.bolt_hole_mm / 2, (x, leg / 2)))
    fold = ((leg, 0.0), (leg, leg))
    return Pattern(number=number, name="angle", shape=shape, label=(f"{number}",), folds=(fold,))


def _laid(mockup: MockUp, sheet: Sheet, patterns: Sequence[Pattern], notes: tuple[str, ...]) -> FlatGauge:
    shapes = [grown_round(p.shape, sheet.kerf_mm / 2) for p in patterns]
    places = nested(shapes, [p.name for p in patterns], (sheet.width_mm, sheet.height_mm), sheet.gap_mm, sheet.gap_mm)
    count = max(p.sheet for p in places) + 1
    bags: list[list[Mark]] = [[rectangle(0, 0, sheet.width_mm, sheet.height_mm, THIN)] for _ in range(count)]
    for place in places:
        pattern = patterns[place.index]
        drawn = _drawn(pattern, shapes[place.index], sheet).turned(place.turn_deg).moved(*place.shift_mm)
        bags[place.sheet] += drawn.marks
    return FlatGauge(
        title=mockup.title,
        size=size_line(mockup),
        sheet=sheet,
        patterns=tuple(patterns),
        sheets=tuple(drawing_of(b) for b in bags),
        notes=notes,
    )


def _drawn(pattern: Pattern, cut: Shape, sheet: Sheet) -> Drawing:
    marks: list[Mark] = list(marks_of(cut, CUT))
    marks += [line(a, b, FOLD) for a, b in pattern.folds]
    region = grown(pattern.shape, -2.5)
    for rows in (pattern.label, pattern.label[:1] + pattern.label[-1:], pattern.label[:1]):
        for height in (9.0, 7.0, 5.0, 4.0):
            width, depth = words_size(rows, height, 0.2)
            spot = place_for(region, width + 1, depth + 1, 5.0)
            if spot is not None:
                return drawing_of([*marks, *_rows(rows, spot, height)])
    return drawing_of(marks)


def _rows(rows: Sequence[str], spot: tuple[float, float], height: float) -> list[Text]:
    low = [spot[1] + ((len(rows) - 1) / 2 - k) * 1.6 * height - height / 2 for k in range(len(rows))]
    return [
        Text(at=(spot[0], y), text=t, height_mm=height, align="centre", layer=ENGRAVE)
        for t, y in zip(rows, low, strict=True)
    ]
