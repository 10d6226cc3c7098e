"""The printed pieces laid on the printer's bed, as many plates as they take.

* plate - what is printed at once: pieces that lie on one bed, a gap between any two, an edge of the bed kept free
* place - how far a piece is turned about the upright axis as it lies, and where its lower left corner comes

Lengths are millimetres from the bed's front left corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from clearance.gauge.body import Body, Piece, extent_mm
from clearance.gauge.flatwork import Shape, parts_of
from clearance.gauge.making import BED_EDGE_MM, Bed
from clearance.gauge.nest import GRID_MM, nested

PLATE_GAP_MM = 5.0
"""Between two pieces on a plate: room for a brim."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class OnBed:
    """One piece on a plate."""

    piece: Piece
    body: Body
    """As it lies there, its underside at height 0."""


def plates_of(pieces: Sequence[Piece], bed: Bed) -> tuple[tuple[OnBed, ...], ...]:
    """Every piece, as many times as it is needed, on as few plates as were found; each fits the bed by itself."""
    room = (bed.x_mm - 2 * BED_EDGE_MM, bed.y_mm - 2 * BED_EDGE_MM)
    alone: list[tuple[OnBed, ...]] = []
    shared: list[tuple[Piece, Body]] = []
    for piece in pieces:
        x, y, _ = piece.extent_mm
        small = min(max(room[0] - x, 0.0), max(room[1] - y, 0.0)) > GRID_MM + PLATE_GAP_MM
        for _ in range(piece.count):
            if small:
                shared.append((piece, piece.lying))
            else:
                alone.append((_centred(piece, bed),))
    if not shared:
        return tuple(alone)
    shapes = [_shadow(body) for _, body in shared]
    places = nested(shapes, [p.name for p, _ in shared], (bed.x_mm, bed.y_mm), PLATE_GAP_MM, BED_EDGE_MM)
    together: list[list[OnBed]] = [[] for _ in range(max(p.sheet for p in places) + 1)]
    for place in places:
        piece, body = shared[place.index]
        turned = body.rotate((0.0, 0.0, place.turn_deg)) if place.turn_deg else body
        together[place.sheet].append(OnBed(piece=piece, body=_down(turned.translate((*place.shift_mm, 0.0)))))
    return (*alone, *(tuple(plate) for plate in together))


def _centred(piece: Piece, bed: Bed) -> OnBed:
    """A piece by itself in the middle of the bed, turned a quarter where it fits only so."""
    body = piece.lying
    x, y, _ = extent_mm(body)
    if x > bed.x_mm - 2 * BED_EDGE_MM + 1e-6 or y > bed.y_mm - 2 * BED_EDGE_MM + 1e-6:
        body = body.rotate((0.0, 0.0, 90.0))
    x0, y0, _, x1, y1, _ = body.bounding_box()
    return OnBed(piece=piece, body=_down(body.translate(((bed.x_mm - x0 - x1) / 2, (bed.y_mm - y0 - y1) / 2, 0.0))))


def _down(body: Body) -> Body:
    return body.translate((0.0, 0.0, -body.bounding_box()[2]))


def _shadow(body: Body) -> Shape:
    """What a body covers of the bed, holes filled, so that nothing is laid inside a ring that it might be caught in."""
    from shapely import Polygon, union_all

    rings = [Polygon(r).buffer(0) for r in body.project().to_polygons() if len(r) > 2]
    return parts_of(union_all(rings))[0]
