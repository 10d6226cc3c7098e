"""Flat patterns instead of prints: for plywood, foam board, cardboard, or sheet metal.

* rings - full rings cut at stations across the tire; stacked on rods they are the whole tire. Each ring is the smallest
          that holds the tire and rim over its own thickness, so the stack is nowhere smaller than they are; where it
          ends short of them on one side, the answer, the part and the drawing say by how much.
* bevel - a circle engraved on the smaller face of a ring: its edge may be taken down straight to there, and no further,
          to come nearer to the tire
* blade - the half section and a hub plate; the blade stands in a slotted ring between two plates, held by folded angles

A pattern knows its sheet's thickness; the saw's or the beam's width (`kerf`) is added half on each side of every cut,
so that the part comes out to size. Layers: cut, engrave, fold. Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from clearance.defaults import KERF_MM, SHEET_MM, SHEET_THICKNESS_MM
from clearance.errors import ShapeError
from clearance.gauge.flatwork import (
    CHORD_MM,
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
    round_points,
    wedge,
    without_slivers,
    words_size,
)
from clearance.gauge.hub import HubFit, hub_fit_of
from clearance.gauge.layers import ENDS, LEAST_SAID_MM, End, Layer, layers_of
from clearance.gauge.making import Making
from clearance.gauge.mock_gauge import size_line, tire_mark
from clearance.gauge.nest import nested
from clearance.geom.drawing import CUT, ENGRAVE, FOLD, THIN, Drawing, Mark, Path, Text, arc, drawing_of, line, rectangle
from clearance.geom.revolve import Solid
from clearance.mockup.mockup import MockUp
from clearance.plain import quoted
from clearance.steady import steady
from clearance.units import both

RODS = 6
ROD_MM = 8.0
"""Threaded rod that strings the rings together: M8 or 5/16 in, editable."""
HUB_WEB_MM = 30.0
LEAST_RING_MM = 12.0
"""A ring that would be narrower is widened inward."""
SPACER_MM = 20.0
"""Each side of the rods, of a ring that only fills the way from the hub to the tire."""
LEAST_BEVEL_MM = 1.0
"""A bevel that takes less off is not marked."""
BRACKET_MM = 30.0
LEAST_BRACKET_MM = 16.0


MOST_OTHER_SHEETS = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Sheet:
    """What the patterns are cut from."""

    width_mm: float = SHEET_MM[0]
    height_mm: float = SHEET_MM[1]
    thickness_mm: float = SHEET_THICKNESS_MM
    kerf_mm: float = KERF_MM
    gap_mm: float = 6.0
    """Between two patterns, and to the sheet's edge."""
    also_mm: tuple[float, ...] = ()
    """Thicknesses of other sheets of the same size, for what is no whole number of layers."""
    ends: str = "planed"
    """planed: the last layers are planed to end where the tire does; whole: they stand out past it; short: left out."""

    def __post_init__(self) -> None:
        if min(self.width_mm, self.height_mm) < 150 or max(self.width_mm, self.height_mm) > 10000:
            raise ShapeError(
                f"a sheet of {self.width_mm:g} x {self.height_mm:g} mm is not usable; 150 to 10000 mm each way is."
            )
        for thick in (self.thickness_mm, *self.also_mm):
            if not 0.5 <= thick <= 60:
                raise ShapeError(f"a sheet {thick:g} mm thick is not usable; 0.5 to 60 mm is.")
        if len(self.also_mm) > MOST_OTHER_SHEETS:
            raise ShapeError(f"{len(self.also_mm)} other thicknesses are more than the {MOST_OTHER_SHEETS} it takes.")
        if self.ends not in ENDS:
            raise ShapeError(
                f'ends of the stack {quoted(self.ends)} are not known. Write "planed", "whole" or "short".'
            )
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
    layer: Layer | None = None
    """What of the stack it is; None of a part that is no layer."""
    bevel_mm: float | None = None
    """Radius of the circle on its upper face that its edge may be taken down to; None where none is marked."""
    marks: tuple[Mark, ...] = ()
    """Engraved on it besides its label."""
    radii_mm: tuple[float, float] = (0.0, 0.0)
    """Inside and outside of a layer, whole."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FlatGauge:
    """Patterns, and where each lies on which sheet."""

    title: str
    size: str
    sheet: Sheet
    patterns: tuple[Pattern, ...]
    sheets: tuple[Drawing, ...]
    """One drawing to a sheet: lower left corner at (0, 0), the sheet's edge on a paper layer."""
    stock_mm: tuple[float, ...]
    """Thickness of each of the sheets."""
    notes: tuple[str, ...]
    layers: tuple[Layer, ...] = ()
    """Of a stack, from inboard to outboard."""
    ends: tuple[End, ...] = ()
    """How each side of a stack ends."""
    proud_mm: float = 0.0
    """How far the steps of a stack stand out from the tire where they stand out most, its ends left out."""


@steady
def ring_stack(mockup: MockUp, sheet: Sheet, making: Making) -> FlatGauge:
    """A laminated whole tire: one ring to each thickness of sheet, and a hub plate in the layer on the hub face.

    Raises WheelError where the wheel has no bolt circle, ShapeError where a ring is larger than a sheet in every split.
    """
    fit, warnings = hub_fit_of(mockup, making)
    low, high = tire_span(mockup)
    layers, ends = layers_of(low, high, sheet)
    held = [ring_holding(mockup, layer) for layer in layers]
    rods_mm = _rod_circle_mm(held)
    rings = [
        _ring(mockup, fit, number, layer, found, rods_mm, _thickness_words(layer, sheet, ends))
        for number, (layer, found) in enumerate(zip(layers, held, strict=True), start=1)
    ]
    proud = max((_proud_mm(mockup, layer, found) for layer, found in zip(layers, held, strict=True)), default=0.0)
    notes = (
        *(str(end)[0].upper() + str(end)[1:] + "." for end in ends),
        "Stack the rings in the order of their numbers, from inboard to outboard; the hub face is at 0. Layers are"
        f" {sheet.thickness_mm:g} mm where a part does not say otherwise: measure your sheet, its true thickness"
        " decides the backspace.",
        f"{RODS} rods of {ROD_MM:g} mm on a circle of {2 * rods_mm:.1f} mm string them together; glue or screw the"
        " rings that the rods miss. Where a ring is in parts, its seams are turned from layer to layer.",
        "Each ring is the smallest that holds the tire over its whole thickness: the steps stand out from the tire by"
        f" up to {both(proud)}. A ring with an engraved circle may be bevelled straight down to it, and then still"
        " holds the tire.",
        *warnings,
    )
    laid = [
        _laid(mockup, sheet, [_with_bevel(p) for p in _in_parts(rings, count)], notes)
        for count in _part_counts(rings, sheet)
    ]
    # Parts of other sizes nest otherwise: the fewest sheets win, then the fewest parts.
    best = min(laid, key=lambda f: (len(f.sheets), len(f.patterns)))
    return replace(best, layers=layers, ends=ends, proud_mm=proud)


def _ring(
    mockup: MockUp,
    fit: HubFit,
    number: int,
    layer: Layer,
    held: tuple[float, float] | None,
    rods_mm: float,
    words: tuple[str, ...],
) -> Pattern:
    """One ring whole, drawn as it lies with its written face up."""
    from shapely.affinity import scale

    on_hub = layer.low_mm == 0.0
    inside, outside = held or (rods_mm - SPACER_MM, rods_mm + SPACER_MM)
    if on_hub:
        inside, outside = fit.bore_mm / 2, max(outside, rods_mm + SPACER_MM)
    opening = _hub_opening(fit) if on_hub else disc(inside)
    shape = _with_rods(disc(outside).difference(opening), inside, outside, rods_mm)
    bevel, faces_in = _marked_bevel(mockup, layer, held, outside, on_hub=on_hub)
    label = (
        f"{number}",
        f"{layer.low_mm:+.1f} TO {layer.high_mm:+.1f}",
        tire_mark(mockup),
        *words,
        "IN SIDE UP" if faces_in else "OUT SIDE UP",
    )
    return Pattern(
        number=number,
        name=f"ring {number}",
        shape=scale(shape, -1.0, 1.0, origin=(0.0, 0.0)) if faces_in else shape,
        label=label,
        station_mm=(layer.low_mm, layer.high_mm),
        layer=layer,
        bevel_mm=bevel,
        radii_mm=(inside, outside),
    )


def _with_rods(ring: Shape, inside: float, outside: float, rods_mm: float) -> Shape:
    """A ring with the holes for the rods, where its web takes them."""
    if not inside + ROD_MM / 2 + 4 < rods_mm < outside - ROD_MM / 2 - 4:
        return ring
    for k in range(RODS):
        ring = ring.difference(disc(ROD_MM / 2 + 0.25, on_circle(rods_mm, 360.0 / RODS * k + 20)))
    return ring


def _marked_bevel(
    mockup: MockUp, layer: Layer, held: tuple[float, float] | None, outside: float, *, on_hub: bool
) -> tuple[float | None, bool]:
    """What `bevel_at` says of a ring that is as large as the tire asks for; none of one that is larger for its rods."""
    if held is None or outside > held[1]:
        return None, False
    return bevel_at(mockup, layer, held, on_hub=on_hub) or (None, False)


@steady
def blade_flat(mockup: MockUp, sheet: Sheet, making: Making) -> FlatGauge:
    """Blade and hub plate for sheet: plate, journal, cap and ring as discs, the blade in its slot, folded angles.

    Raises WheelError where the wheel has no bolt circle, ShapeError where a part is larger than a sheet.
    """
    fit, warnings = hub_fit_of(mockup, making)
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


def tire_span(mockup: MockUp) -> tuple[float, float]:
    """Least and greatest y of tire and rim from the rim's barrel outward."""
    y0, _, y1, _ = _outside(mockup).bounds
    low, high, _, _ = mockup.solid.profile.bounds
    # the outline is chords, grown: what reaches as far as the tire itself ends where that does
    return max(low, float(y0)), min(high, float(y1))


def ring_holding(mockup: MockUp, layer: Layer) -> tuple[float, float] | None:
    """Inside and outside radius of the smallest ring that holds the tire and rim over a layer, from the rim's barrel
    outward; None where the layer holds nothing of them.
    """
    inner_mm = mockup.wheel.barrel_mm / 2
    _, _, _, top = mockup.solid.profile.bounds
    part = _outside(mockup).intersection(oblong(layer.low_mm, 0.0, layer.high_mm, top + 1.0))
    if part.is_empty:
        return None
    _, r0, _, r1 = part.bounds
    inside, outside = max(inner_mm, r0), r1
    inside = max(inner_mm, min(inside, outside - LEAST_RING_MM))
    return inside, max(outside, inside + LEAST_RING_MM)


def bevel_at(
    mockup: MockUp, layer: Layer, held: tuple[float, float], *, on_hub: bool = False
) -> tuple[float, bool] | None:
    """The radius that a ring's edge may be taken down to on one of its faces, straight from the edge of the other, and
    whether that face is the inboard one; None where it would take off next to nothing. A hub plate lies outboard side
    up.
    """
    y, r = _tops(mockup, layer)
    inside, outside = held
    found = []
    for inboard, from_mm in ((False, layer.low_mm), (True, layer.high_mm)):
        away = np.abs(y - from_mm)
        off = away > 1e-9
        # the straight line through the uncut edge and a point of the tire, followed to the face that is taken down
        down = outside - (outside - np.minimum(r, outside))[off] * layer.thick_mm / away[off]
        radius = max(float(down.max(initial=0.0)), inside + LEAST_RING_MM / 4)
        if outside - radius >= LEAST_BEVEL_MM and not (on_hub and inboard):
            found.append((round(radius + 0.005, 2), inboard))
    return min(found, default=None)


def _proud_mm(mockup: MockUp, layer: Layer, held: tuple[float, float] | None) -> float:
    """How far the outer edges of a ring stand out from the tire where the layer holds some of it on both faces."""
    if held is None:
        return 0.0
    low, high = tire_span(mockup)
    ends = [y for y in (layer.low_mm, layer.high_mm) if low <= y <= high]
    corners = np.array([[0.0, y, held[1]] for y in ends]).reshape(-1, 3)
    return float(mockup.solid.distance(corners).max(initial=0.0))


def _tops(mockup: MockUp, layer: Layer) -> tuple[np.ndarray, np.ndarray]:
    """(n,) y over a layer and the greatest radius of the section there, zero where it holds nothing."""
    from shapely import LineString

    section = _outside(mockup)
    _, _, _, top = mockup.solid.profile.bounds
    corners = np.concatenate([np.asarray(part.exterior.coords)[:, 0] for part in parts_of(section)])
    inside = corners[(corners > layer.low_mm) & (corners < layer.high_mm)]
    ys = np.union1d(np.linspace(layer.low_mm, layer.high_mm, 9), inside)
    cuts = [section.intersection(LineString([(y, 0.0), (y, top + 1.0)])) for y in ys]
    return ys, np.array([0.0 if cut.is_empty else cut.bounds[3] for cut in cuts])


def _outside(mockup: MockUp) -> Shape:
    """The half section from the rim's barrel outward: what a stack of rings stands for, grown by as much as its chords
    may lie within its arcs.
    """
    low, high, _, top = mockup.solid.profile.bounds
    return grown(_section(mockup.solid), CHORD_MM).intersection(
        oblong(low - 1.0, mockup.wheel.barrel_mm / 2, high + 1.0, top + 1.0)
    )


def _thickness_words(layer: Layer, sheet: Sheet, ends: Sequence[End]) -> tuple[str, ...]:
    """What is written on a layer that is not a whole sheet, or next to which the stack is short."""
    words = []
    if layer.stock_mm != sheet.thickness_mm:
        words.append(f"{layer.stock_mm:g} MM SHEET")
    if layer.planed:
        words.append(f"PLANE TO {layer.thick_mm:.1f}")
    for end in ends:
        if end.short_mm >= LEAST_SAID_MM and end.stack_mm in (layer.low_mm, layer.high_mm):
            words.append(f"{end.side.upper()} {end.short_mm:.1f} SHORT")
    return tuple(words)


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


@lru_cache(maxsize=8)
def _section(solid: Solid) -> Shape:
    return polygon_of(solid.profile)


def _hub_opening(fit: HubFit) -> Shape:
    from shapely import union_all

    studs = [disc(fit.making.stud_hole_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.studs_deg]
    return union_all([disc(fit.bore_mm / 2), *studs])


def _rod_circle_mm(held: Sequence[tuple[float, float] | None]) -> float:
    """The radius at which rods pass through the most layers, nearest to the middle of what they have in common."""
    rings = [r for r in held if r is not None]
    radii = np.arange(min(r[0] for r in rings) + 10, max(r[1] for r in rings) - 10, 1.0)
    margin = ROD_MM / 2 + 4
    passed = np.array([sum(a + margin < r < b - margin for a, b in rings) for r in radii])
    best = radii[passed == passed.max()]
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


def _with_bevel(ring: Pattern) -> Pattern:
    """The circle that its edge may be taken down to, engraved as far as the part goes; it lies about (0, 0)."""
    if ring.bevel_mm is None:
        return ring
    from shapely import LinearRing

    circle = LinearRing(round_points(ring.bevel_mm))
    inside = circle.intersection(grown(ring.shape, -0.5))
    marks: list[Mark] = []
    if inside.length > circle.length - 1.0:
        marks.append(arc((0.0, 0.0), ring.bevel_mm, 0.0, 359.999, ENGRAVE))
    else:
        from shapely import line_merge

        merged = line_merge(inside)
        for run in getattr(merged, "geoms", [merged]):
            if run.length > 2.0:
                marks.append(_arc_along(np.asarray(run.coords), ring.bevel_mm))
    return replace(ring, marks=tuple(marks))


def _arc_along(run: np.ndarray, radius_mm: float) -> Mark:
    """The arc about (0, 0) from one end of a run of its chords to the other."""
    angle = np.degrees(np.unwrap(np.arctan2(run[:, 1], run[:, 0])))
    return arc((0.0, 0.0), radius_mm, float(angle[0]), float(angle[-1]), ENGRAVE)


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
    drawn, stock = [], []
    for thick in sorted({_stock_mm(p, sheet) for p in patterns}, reverse=True):
        bags = _nested_drawings([p for p in patterns if _stock_mm(p, sheet) == thick], sheet)
        drawn += bags
        stock += [thick] * len(bags)
    return FlatGauge(
        title=mockup.title,
        size=size_line(mockup),
        sheet=sheet,
        patterns=tuple(patterns),
        sheets=tuple(drawn),
        stock_mm=tuple(stock),
        notes=notes,
    )


def _stock_mm(pattern: Pattern, sheet: Sheet) -> float:
    return sheet.thickness_mm if pattern.layer is None else pattern.layer.stock_mm


def _nested_drawings(patterns: Sequence[Pattern], sheet: Sheet) -> list[Drawing]:
    """Patterns of one thickness on as many sheets as they take."""
    shapes = [grown_round(p.shape, sheet.kerf_mm / 2) for p in patterns]
    places = nested(shapes, [p.name for p in patterns], (sheet.width_mm, sheet.height_mm), sheet.gap_mm, sheet.gap_mm)
    count = max(p.sheet for p in places) + 1
    bags: list[list[Mark]] = [[rectangle(0, 0, sheet.width_mm, sheet.height_mm, THIN)] for _ in range(count)]
    for place in places:
        pattern = patterns[place.index]
        drawn = _drawn(pattern, shapes[place.index], sheet).turned(place.turn_deg).moved(*place.shift_mm)
        bags[place.sheet] += drawn.marks
    return [drawing_of(bag) for bag in bags]


def _drawn(pattern: Pattern, cut: Shape, sheet: Sheet) -> Drawing:
    marks: list[Mark] = list(marks_of(cut, CUT))
    marks += [line(a, b, FOLD) for a, b in pattern.folds]
    marks += pattern.marks
    region = _room_for_words(pattern)
    for rows in _wordings(pattern):
        for height in (9.0, 7.0, 5.0, 4.0, 3.0):
            width, depth = words_size(rows, height, 0.2)
            spot = place_for(region, width + 1, depth + 1, 5.0 if height > 4 else 2.0)
            if spot is not None:
                return drawing_of([*marks, *_rows(rows, spot, height)])
    return drawing_of(marks)


def part_drawing(pattern: Pattern, sheet: Sheet) -> Drawing:
    """One part by itself as it is cut, its kerf added."""
    return _drawn(pattern, grown_round(pattern.shape, sheet.kerf_mm / 2), sheet)


def _wordings(pattern: Pattern) -> list[tuple[str, ...]]:
    """All that is written on a part, then less of it as its room gets small: what is done with it stays longest."""
    label = pattern.label
    if pattern.layer is None:
        return list(dict.fromkeys([label, (label[0], label[-1]), label[:1]]))
    number, station, _, *done = label
    shorter = [
        (number, station, *done),
        (number, *done),
        (f"{number} {done[0]}", *done[1:]),
        (" ".join((number, *done)),),
    ]
    return [label, *shorter, (" ".join((number, *done[:-1])),), (number,)]


def _room_for_words(pattern: Pattern) -> Shape:
    room = grown(pattern.shape, -2.0)
    for mark in pattern.marks:
        points = mark.points() if isinstance(mark, Path) else None
        if points is not None:
            room = room.difference(_line_string(points).buffer(1.5))
    return room


def _line_string(points: np.ndarray) -> Shape:
    from shapely import LineString

    return LineString(points)


def _rows(rows: Sequence[str], spot: tuple[float, float], height: float) -> list[Text]:
    low = [spot[1] + ((len(rows) - 1) / 2 - k) * 1.6 * height - height / 2 for k in range(len(rows))]
    return [
        Text(at=(spot[0], y), text=t, height_mm=height, align="centre", layer=ENGRAVE)
        for t, y in zip(rows, low, strict=True)
    ]
