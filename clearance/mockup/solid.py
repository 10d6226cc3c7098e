"""Tire and wheel as one solid of revolution in hub axes.

y = 0 is the hub's mounting face, y points outboard; lengths are millimetres. The rim's centre plane is at y = -offset.
Inside, the barrel is hollow and open inboard, so that calipers and ball joints are measured against the real inside of
the rim; between barrel and tread everything counts as solid. The wheel face is flush with the outer flange edge unless
it was measured, and closed to the axis unless a center bore is given.

Around the chain: wheel face, outer rim flange, tire, inner rim flange, barrel, wheel back.
"""

from __future__ import annotations

from clearance.errors import TireError
from clearance.geom.profile import Arc, Element, Line, Point, Profile, polygon
from clearance.geom.revolve import Solid
from clearance.tire.section import mirrored, outline
from clearance.tire.tire import Tire
from clearance.units import SAME_RIM_IN
from clearance.wheel.wheel import BARREL_WALL_MM, Wheel

FLANGE_EDGE = 0.5
"""Radius of the flange's outer edge over its thickness or height, whichever is smaller (assumed)."""


def solid_of(tire: Tire, wheel: Wheel) -> Solid:
    """The tire mounted on the wheel, in hub axes.

    Raises TireError where they do not belong together.
    """
    refuse_other_rim(tire, wheel)
    section = _section(tire, wheel)
    return Solid(
        profile=_around(section, wheel),
        pieces=(*_tire_pieces(section, tire, wheel), _rim_piece(wheel), _disc_piece(wheel), *_collar_pieces(wheel)),
    )


def profile_of(tire: Tire, wheel: Wheel) -> Profile:
    """The outline of the same alone, for who asks for no more than distances in the half plane.

    Raises TireError where they do not belong together.
    """
    refuse_other_rim(tire, wheel)
    return _around(_section(tire, wheel), wheel)


def _section(tire: Tire, wheel: Wheel) -> tuple[Element, ...]:
    return tuple(_shifted(e, -wheel.offset_mm) for e in outline(tire, _foot_mm(tire, wheel), _top_mm(wheel)))


def _around(section: tuple[Element, ...], wheel: Wheel) -> Profile:
    chain = (*_outer_wheel(wheel, section[0].start), *section, *_inner_wheel(wheel, section[-1].end))
    return Profile(elements=tuple(e for e in chain if e.length_mm > 1e-9))


def refuse_other_rim(tire: Tire, wheel: Wheel) -> None:
    """Raise TireError for a tire of another rim than the wheel's."""
    if abs(tire.rim_diameter_in - wheel.diameter_in) > SAME_RIM_IN:
        raise TireError(
            f"a tire for a {tire.rim_diameter_in:g} in rim does not go on a {wheel.diameter_in:g} in wheel."
            " Check the last number of the tire size and the wheel's diameter."
        )


def _top_mm(wheel: Wheel) -> float:
    return wheel.flange_diameter_mm / 2


def _edge_mm(wheel: Wheel) -> float:
    return FLANGE_EDGE * min(wheel.flange_thickness_mm, wheel.flange_height_mm)


def _collar_mm(wheel: Wheel) -> float:
    """Outside radius of the tube that carries a mounting face lying outside the rim."""
    return min(wheel.barrel_mm / 2 + BARREL_WALL_MM, _top_mm(wheel) - _edge_mm(wheel))


def _foot_mm(tire: Tire, wheel: Wheel) -> float:
    """Where the rubber leaves the flange: at its rounded edge, or within it on a tire narrower than that."""
    between_mm = wheel.width_mm / 2
    return max(between_mm, min(between_mm + wheel.flange_thickness_mm - _edge_mm(wheel), tire.full_width_mm / 2))


def _outer_wheel(wheel: Wheel, foot: Point) -> tuple[Element, ...]:
    """From the axis at the mounting face, over the wheel face and the outer flange, to the tire's foot."""
    hole_mm = (wheel.center_bore_mm or 0.0) / 2
    face_mm, lip_mm = wheel.face_outboard_mm, wheel.frontspace_mm
    top_mm, edge_mm, barrel_mm = _top_mm(wheel), _edge_mm(wheel), wheel.barrel_mm / 2
    seat_mm = max(barrel_mm, min(wheel.bead_seat_diameter_mm / 2, top_mm - edge_mm))
    hole = Line(start=(0.0, hole_mm), end=(face_mm, hole_mm), label="wheel face")
    face: tuple[Element, ...]
    if abs(face_mm - lip_mm) < 1e-6:
        face = (Line(start=(face_mm, hole_mm), end=(lip_mm, seat_mm), label="wheel face"),)
    else:
        # a dish runs out along the barrel's inside; a face proud of the lip stands on a collar
        tube_mm = barrel_mm if face_mm < lip_mm else _collar_mm(wheel)
        face = (
            Line(start=(face_mm, hole_mm), end=(face_mm, tube_mm), label="wheel face"),
            Line(start=(face_mm, tube_mm), end=(lip_mm, tube_mm), label="wheel face"),
            Line(start=(lip_mm, tube_mm), end=(lip_mm, seat_mm), label="outer rim flange"),
        )
    return (hole, *face, *_flange((lip_mm, seat_mm), top_mm, edge_mm, foot))


def _inner_wheel(wheel: Wheel, foot: Point) -> tuple[Element, ...]:
    """From the tire's inner foot, over the inner flange and through the barrel, to the axis at the mounting face."""
    lip_mm, barrel_mm = -wheel.backspace_mm, wheel.barrel_mm / 2
    hole_mm = (wheel.center_bore_mm or 0.0) / 2
    # a mounting face inboard of the whole rim stands on a collar
    tube_mm, label = (barrel_mm, "barrel") if lip_mm < 0 else (_collar_mm(wheel), "wheel back")
    flange = _flange((-lip_mm, tube_mm), _top_mm(wheel), _edge_mm(wheel), (-foot[0], foot[1]))
    return (
        *(mirrored(e) for e in reversed(flange)),
        Line(start=(lip_mm, tube_mm), end=(0.0, tube_mm), label=label),
        Line(start=(0.0, tube_mm), end=(0.0, hole_mm), label="wheel back"),
    )


def _flange(low: Point, top_mm: float, edge_mm: float, foot: Point) -> tuple[Element, ...]:
    """Up the flange's outside from `low`, around its edge, and across its top to the tire's foot."""
    lip_mm, label = low[0], "outer rim flange"
    turn: Point = (lip_mm, top_mm - edge_mm)
    top: Point = (lip_mm - edge_mm, top_mm)
    return (
        Line(start=low, end=turn, label=label),
        Arc(start=turn, end=top, centre=(top[0], turn[1]), label=label),
        Line(start=top, end=foot, label=label),
    )


def _tire_pieces(section: tuple[Element, ...], tire: Tire, wheel: Wheel) -> tuple[Profile, ...]:
    """The tire closed straight across at its feet; a stretched tire's leaning sidewalls are pieces of their own."""
    if tire.shape == "traced":
        return (_hull_piece(section),)
    leaning = tire.full_width_mm / 2 < _foot_mm(tire, wheel) - 1e-9
    if not leaning:
        return (_closed(section),)
    upright = section[1:-1]
    floor_mm = section[0].start[1]
    walls = (
        Line(start=(upright[0].start[0], floor_mm), end=upright[0].start),
        *upright,
        Line(start=upright[-1].end, end=(upright[-1].end[0], floor_mm)),
    )
    outer: tuple[Element, ...] = (section[0], Line(start=section[0].end, end=(section[0].end[0], floor_mm)))
    inner: tuple[Element, ...] = (section[-1], Line(start=section[-1].end, end=(section[-1].start[0], floor_mm)))
    inner = (*inner, Line(start=inner[-1].end, end=section[-1].start))
    return (_closed(walls), _closed(outer), Profile(elements=inner))


def _hull_piece(section: tuple[Element, ...]) -> Profile:
    """The convex outline around a traced section: it exceeds the section only where that is hollow."""
    from shapely.geometry import MultiPoint, Polygon
    from shapely.geometry.polygon import orient

    around = MultiPoint([*(e.start for e in section), section[-1].end]).convex_hull
    assert isinstance(around, Polygon)
    return polygon(list(orient(around).exterior.coords)[:-1])


def _closed(chain: tuple[Element, ...]) -> Profile:
    return Profile(elements=(*chain, Line(start=chain[-1].end, end=chain[0].start)))


def _rim_piece(wheel: Wheel) -> Profile:
    """Both flanges and all that lies between them down to the barrel, as one convex ring."""
    barrel_mm, top_mm, edge_mm = wheel.barrel_mm / 2, _top_mm(wheel), _edge_mm(wheel)
    middle_mm, half_mm = -wheel.offset_mm, wheel.overall_width_mm / 2
    outer = _flange((half_mm, barrel_mm), top_mm, edge_mm, (half_mm - edge_mm, top_mm))[:2]
    inner = tuple(mirrored(e) for e in reversed(outer))
    across = Line(start=outer[-1].end, end=inner[0].start)
    return _closed(tuple(_shifted(e, middle_mm) for e in (*outer, across, *inner)))


def _disc_piece(wheel: Wheel) -> Profile:
    return _ring(0.0, wheel.face_outboard_mm, (wheel.center_bore_mm or 0.0) / 2, wheel.barrel_mm / 2)


def _collar_pieces(wheel: Wheel) -> tuple[Profile, ...]:
    """The tube from a rim to a disc that lies outside it; nothing on most wheels."""
    inner_mm, outer_mm = min(0.0, -wheel.backspace_mm), max(wheel.frontspace_mm, wheel.face_outboard_mm)
    if inner_mm >= -wheel.backspace_mm - 1e-9 and outer_mm <= wheel.frontspace_mm + 1e-9:
        return ()
    return (_ring(inner_mm, outer_mm, wheel.barrel_mm / 2, _collar_mm(wheel)),)


def _ring(from_mm: float, to_mm: float, inside_mm: float, outside_mm: float) -> Profile:
    """A straight-sided ring from one y to another, between two radii."""
    corners = ((from_mm, inside_mm), (to_mm, inside_mm), (to_mm, outside_mm), (from_mm, outside_mm))
    return polygon(corners)


def _shifted(element: Element, along_mm: float) -> Element:
    def shift(p: Point) -> Point:
        return (p[0] + along_mm, p[1])

    if isinstance(element, Line):
        return Line(start=shift(element.start), end=shift(element.end), label=element.label)
    return Arc(
        start=shift(element.start),
        end=shift(element.end),
        centre=shift(element.centre),
        ccw=element.ccw,
        label=element.label,
    )
