"""The blade: the tire's and the rim's half section, which one turn of the ring sweeps through the whole tire.

It lies in the side plane: u = y outboard, v = r away from the axis, w = 0 in the middle of its thickness. Its outline
is the mock-up's profile; inside it is opened up, and ribs stand on its +w side, set in from the outline so that nothing
but the outline is ever the furthest out. On the flat -w side lie the cheek and the splice plates. Lengths are
millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.errors import ShapeError
from clearance.gauge.body import SIDE, Body, Piece, joined, lie_deg, risen
from clearance.gauge.flatwork import (
    Shape,
    disc,
    grown,
    grown_round,
    oblong,
    parts_of,
    place_for,
    polygon_of,
    without_slivers,
    words,
    words_size,
)
from clearance.gauge.hub import CHEEK_LONG_MM, HubFit
from clearance.gauge.making import Making
from clearance.gauge.splitting import SPLICE_THICK_MM, Joint, Split, splice_shape, split
from clearance.geom.revolve import Solid

BAND_MM = 12.0
"""Width of the plate left along its outline and under each rib."""
RIB_SET_IN_MM = 4.0
RIB_EVERY_MM = 62.0
LEAST_WINDOW_MM2 = 350.0
PAD_MM = 8.0
"""Radius of plain plate round a bolt."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Blade:
    """The blade in its parts, flat."""

    section: Shape
    """The whole half section that the blade shows: (y, r)."""
    split: Split
    parts: tuple[Shape, ...]
    """Each part with its windows, holes and slot."""
    labels: tuple[tuple[float, float, float, tuple[str, ...]] | None, ...]
    """(y, r, height, lines) of each part's writing."""


def section_of(solid: Solid, fit: HubFit) -> Shape:
    """The half section from the ring outward.

    Raises ShapeError where nothing of it is left.
    """
    _, high, _, top = solid.profile.bounds
    low = solid.profile.bounds[0]
    beyond = oblong(low - 1.0, fit.blade_mm, high + 1.0, top + 1.0)
    found = parts_of(without_slivers(polygon_of(solid.profile).intersection(beyond), fit.making.wall_mm))
    if not found:
        raise ShapeError(
            f"the hub plate, {2 * fit.ring_mm:.0f} mm across, leaves nothing of the wheel for a blade."
            " Check the bolt circle and the wheel's diameter."
        )
    return found[0]


def blade_of(solid: Solid, fit: HubFit, first: int, size: str) -> Blade:
    """The blade cut to the bed, opened up and marked."""
    making = fit.making
    section = section_of(solid, fit)
    keep_out = cheek_print(fit)
    bed = making.bed
    cut = split(section, grown(keep_out, 2.0), (bed.x_mm - 4.0, bed.y_mm - 4.0), making)
    holes = blade_holes(fit, cut)
    pads = _pads(fit, cut)
    labels = []
    parts = []
    bands = _bands(section)
    for k, part in enumerate(cut.parts):
        room = grown_round(part, -3.0).difference(pads)
        lines = (f"{first + k} BLADE", size, "OUT >")
        label = _label_for(room, lines)
        labels.append(label)
        solid_parts = pads if label is None else pads.union(_label_box(label, 1.0))
        windows = _windows(part, bands, solid_parts, making)
        parts.append(parts_of(part.difference(windows).difference(holes))[0])
    return Blade(section=section, split=cut, parts=tuple(parts), labels=tuple(labels))


def blade_pieces(blade: Blade, fit: HubFit, first: int, size: str) -> list[Piece]:
    """The parts of the blade as solids, numbered from `first`, and one splice plate for all the joints."""
    making = fit.making
    half = making.plate_mm / 2
    ribs = _ribs(blade, fit)
    pieces = []
    for k, (shape, label) in enumerate(zip(blade.parts, blade.labels, strict=True)):
        body = joined(
            risen(shape, -half, half),
            risen(without_slivers(ribs.intersection(shape), making.wall_mm), half - 0.01, half + making.rib_mm),
        )
        if label is not None:
            body = body - _label_body(label, half, making)
        pieces.append(
            Piece(
                number=first + k,
                name=f"blade {chr(ord('a') + k)}" if len(blade.parts) > 1 else "blade",
                body=body,
                plane=SIDE,
                size=size,
                lie_deg=lie_deg(body, making.bed) or 0.0,
            )
        )
    if blade.split.joints:
        pieces.append(_splice(blade.split.joints, fit, first + len(pieces)))
    return pieces


def cheek_print(fit: HubFit) -> Shape:
    """Where the cheek lies on the blade."""
    return oblong(fit.foot_mm, fit.blade_mm - 1.0, fit.foot_mm + fit.cheek_mm, fit.blade_mm + CHEEK_LONG_MM)


def blade_holes(fit: HubFit, cut: Split) -> Shape:
    """Bolt holes of cheek and joints, and the slot for the tenon."""
    from shapely import union_all

    radius = fit.making.bolt_hole_mm / 2
    centres = [*fit.cheek_bolts, *(p for j in cut.joints for p in j.bolts)]
    slot = grown(oblong(*fit.tenon), fit.making.fit_mm)
    return union_all([slot, *(disc(radius, c) for c in centres)])


def _pads(fit: HubFit, cut: Split) -> Shape:
    from shapely import union_all

    around = [disc(PAD_MM, c) for c in fit.cheek_bolts]
    bridged = [grown(j.placed(splice_shape()), 1.0) for j in cut.joints]
    return union_all([grown(cheek_print(fit), 2.0), *around, *bridged])


def _bands(section: Shape) -> list[tuple[Shape, Shape]]:
    """(band, rib) pairs: upright and level strips across the section, a rib down the middle of each."""
    x0, y0, x1, y1 = section.bounds
    strips = []
    for low, high, upright in ((x0, x1, True), (y0, y1, False)):
        count = max(0, round((high - low) / RIB_EVERY_MM) - 1)
        for k in range(count):
            at = low + (high - low) * (k + 1) / (count + 1)
            pair = []
            for wide in (BAND_MM / 2, 1.5):
                pair.append(oblong(at - wide, y0, at + wide, y1) if upright else oblong(x0, at - wide, x1, at + wide))
            strips.append((pair[0], pair[1]))
    return strips


def _windows(part: Shape, bands: list[tuple[Shape, Shape]], kept: Shape, making: Making) -> Shape:
    from shapely import MultiPolygon, union_all

    open_part = grown_round(part, -BAND_MM).difference(union_all([kept, *(b for b, _ in bands)]))
    rounded = open_part.buffer(-5.0).buffer(5.0, quad_segs=16)
    return MultiPolygon([w for w in parts_of(rounded) if w.area >= LEAST_WINDOW_MM2])


def _ribs(blade: Blade, fit: HubFit) -> Shape:
    """Ribs along the outline, set in from it, and down the middle of each band; none on bolts, splices or words."""
    from shapely import union_all

    making = fit.making
    thick = max(3.0, making.wall_mm)
    inside = grown_round(blade.section, -RIB_SET_IN_MM)
    edge = inside.difference(grown_round(blade.section, -RIB_SET_IN_MM - thick))
    lines = union_all([r for _, r in _bands(blade.section)]).intersection(inside)
    clear = [disc(PAD_MM, c) for c in (*fit.cheek_bolts, *(p for j in blade.split.joints for p in j.bolts))]
    clear += [grown(oblong(*fit.tenon), 2.0)]
    clear += [_label_box(label, 0.5) for label in blade.labels if label is not None]
    # A rib stops short of a seam, so that no two parts touch there.
    seams = [grown_round(p, 0.6).boundary.buffer(0.6) for p in blade.split.parts] if len(blade.parts) > 1 else []
    ribs = union_all([edge, lines]).difference(union_all(clear + seams))
    return without_slivers(ribs, making.wall_mm)


def _label_for(room: Shape, lines: tuple[str, ...]) -> tuple[float, float, float, tuple[str, ...]] | None:
    """The largest writing that finds room: all of it, or at least number and which way is out."""
    for said in (lines, (lines[0], lines[2])):
        for height in (7.0, 5.5, 4.5, 3.6):
            width, depth = words_size(said, height, 1.0)
            spot = place_for(room, width + 2.0, depth + 2.0)
            if spot is not None:
                return spot[0], spot[1], height, said
    return None


def _label_box(label: tuple[float, float, float, tuple[str, ...]], more_mm: float) -> Shape:
    y, r, height, lines = label
    width, depth = words_size(lines, height, 1.0)
    half_w, half_d = width / 2 + more_mm, depth / 2 + more_mm
    return oblong(y - half_w, r - half_d, y + half_w, r + half_d)


def _label_body(label: tuple[float, float, float, tuple[str, ...]], top_mm: float, making: Making) -> Body:
    from shapely.affinity import translate

    y, r, height, lines = label
    shape = translate(words(lines, height, 0.9 if height > 4 else 0.7), y, r)
    return risen(shape, top_mm - making.engrave_mm, top_mm + 1.0)


def _splice(joints: tuple[Joint, ...], fit: HubFit, number: int) -> Piece:
    making = fit.making
    home = Joint(at=(0.0, 0.0), ahead=(1.0, 0.0), key_part=0, slot_part=0)
    shape = splice_shape()
    for centre in home.bolts:
        shape = shape.difference(disc(making.bolt_hole_mm / 2, centre))
    half = making.plate_mm / 2
    body = risen(shape, -half - SPLICE_THICK_MM, -half)
    body = body - _label_body((3.5, 0.0, 5.5, (f"{number}",)), -half, making)
    places = tuple((j.at[0], j.at[1], 0.0) for j in joints)
    turns = tuple(float(np.round(j.turn_deg, 9)) for j in joints)
    return Piece(
        number=number, name="splice plate", body=body, plane=SIDE, count=len(joints), places=places, turns=turns
    )
