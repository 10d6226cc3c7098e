"""The middle of the gauge: a plate that bolts to the hub, a ring that turns on it, a cap that keeps the ring.

Seen in section, from the hub face outboard (y = 0 upward)::

          nuts            cap      y = flange + seat .. + cap
        |     |   |_______________|
        | journal |    ring   |      y = flange .. flange + seat
     ___|_________|_______|
     |  plate's flange    |          y = 0 .. flange

* bore    - the hole for the hub's nose, as the wheel has it
* journal - the round shoulder of the plate that the ring turns on
* seat    - the room between flange and cap, the ring's thickness and the fit on both faces
* cheek   - the upright on the ring that the blade is bolted to, with a tenon that goes through it
* stops   - twelve notches in the rims of flange and cap; a bolt dropped through the ring holds it in one of them

Drawn in the face plane: u to the right and v up as seen from outboard, w = y outboard. Lengths are millimetres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import pairwise

from clearance.errors import ShapeError, WheelError
from clearance.gauge.body import FACE, Body, Cut, Piece, joined, lie_deg, risen
from clearance.gauge.flatwork import (
    Shape,
    disc,
    grown,
    grown_round,
    oblong,
    on_circle,
    place_for,
    wedge,
    words,
    words_size,
)
from clearance.gauge.making import Making
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.fasteners import Thread
from clearance.wheel.wheel import Wheel

FLANGE_MM = 4.0
RING_MM = 10.0
CAP_MM = 4.0
LIP_MM = 6.0
"""How far flange and cap reach over the ring."""
RING_WIDTH_MM = 13.0
CHEEK_MM = 8.0
"""Thickness of the cheek."""
CHEEK_LONG_MM = 45.0
CHEEK_HIGH_MM = 36.0
LEAST_CHEEK_MM = 14.0
STOPS = 12
STOP_DEG = -11.0
"""Where the ring's stop hole lies, clockwise from the blade: clear of blade and cheek."""
LEAST_WEB_MM = 3.0
"""Between two holes, or a hole and an edge."""


@dataclass(frozen=True, slots=True, kw_only=True)
class HubFit:
    """The numbers that fit the gauge to one hub."""

    bolt_circle: BoltCircle
    bore_mm: float
    """Diameter of the hole for the hub's nose."""
    face_mm: float
    """How far the wheel face stands outboard: what the cheek may use."""
    making: Making

    @property
    def circle_mm(self) -> float:
        """Radius of the bolt circle."""
        return self.bolt_circle.diameter_mm / 2

    @property
    def journal_mm(self) -> float:
        """Radius that the ring turns on: outside the room for the nuts."""
        return self.circle_mm + self.making.nut_mm / 2 + 2.0

    @property
    def flange_mm(self) -> float:
        """Radius of the plate's flange and of the cap."""
        return self.journal_mm + LIP_MM

    @property
    def ring_mm(self) -> float:
        """Outside radius of the ring."""
        return self.journal_mm + RING_WIDTH_MM

    @property
    def blade_mm(self) -> float:
        """Radius where the blade begins."""
        return self.ring_mm + 1.0

    @property
    def seat_mm(self) -> float:
        """Between flange and cap."""
        return RING_MM + 2 * self.making.fit_mm

    @property
    def stack_mm(self) -> float:
        """Hub face to the cap's outboard face."""
        return FLANGE_MM + self.seat_mm + CAP_MM

    @property
    def foot_mm(self) -> float:
        """The ring's inboard face."""
        return FLANGE_MM + self.making.fit_mm

    @property
    def cheek_mm(self) -> float:
        """Height of the cheek, from the ring's inboard face outboard."""
        return max(LEAST_CHEEK_MM, min(CHEEK_HIGH_MM, self.face_mm - self.foot_mm - 0.5))

    @property
    def proud_mm(self) -> float:
        """How far the stack or the cheek stands out past the wheel face; zero on most wheels."""
        return max(0.0, self.stack_mm - self.face_mm, self.foot_mm + self.cheek_mm - self.face_mm)

    @property
    def bolts_deg(self) -> tuple[float, ...]:
        """Where the cap's bolts stand: midway between the studs."""
        step = 360.0 / self.bolt_circle.studs
        return tuple(step * (k + 0.5) for k in range(self.bolt_circle.studs))

    @property
    def studs_deg(self) -> tuple[float, ...]:
        """Where the studs stand."""
        step = 360.0 / self.bolt_circle.studs
        return tuple(step * k for k in range(self.bolt_circle.studs))

    @property
    def cheek_bolts(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """(y, r) of the two bolts of the blade."""
        along = self.foot_mm + min(self.cheek_mm / 2, 12.0)
        return (along, self.blade_mm + 8.0), (along, self.blade_mm + 37.0)

    @property
    def tenon(self) -> tuple[float, float, float, float]:
        """(least y, least r, greatest y, greatest r) of the cheek's tenon."""
        high = min(self.cheek_mm - 4.0, 18.0)
        return self.foot_mm, self.blade_mm + 15.0, self.foot_mm + high, self.blade_mm + 30.0

    @property
    def rock_mm_per_m(self) -> float:
        """How far the blade can rock, per metre of radius, with the ring's fit taken up."""
        return 1000.0 * self.making.fit_mm / self.journal_mm


SAME_STUD_MM = 0.6
"""Studs closer than this are one size said in two ways: 1/2 in and M12."""


def hub_fit_of(mockup: MockUp, making: Making) -> tuple[HubFit, tuple[str, ...]]:
    """The numbers for the hub of a corner: its studs are those of the thread that the wheel is ordered for, its center
    bore the wheel's.

    Raises what `hub_fit` raises, and ShapeError where two sizes of stud are said.
    """
    order = mockup.terms.order
    wheel = mockup.wheel
    if order.thread is None:
        assumed = "" if making.stud_mm is not None else _stud_not_said(making)
        fit, warnings = hub_fit(wheel, making)
        return fit, (*warnings, assumed) if assumed else warnings
    thread = Thread.parse(order.thread)
    if making.stud_mm is not None and abs(making.stud_mm - thread.diameter_mm) > SAME_STUD_MM:
        raise ShapeError(
            f"--stud is {both(making.stud_mm)}, and the corner file's [order] thread is {thread}:"
            f" {both(thread.diameter_mm)}. Leave --stud out, or correct the thread."
        )
    return hub_fit(wheel, replace(making, stud_mm=making.stud_mm or thread.diameter_mm))


def _stud_not_said(making: Making) -> str:
    return (
        f"no size of the hub's studs is given: their holes are made for {both(making.stud_diameter_mm)} or M12."
        ' Write thread = "M12x1.5" below [order], or --stud.'
    )


def hub_fit(wheel: Wheel, making: Making) -> tuple[HubFit, tuple[str, ...]]:
    """The numbers for this wheel's hub, and what the user must know.

    Raises WheelError where the wheel has no bolt circle, or its holes run into each other.
    """
    circle = wheel.bolt_circle
    if circle is None:
        raise WheelError(
            'the gauge bolts to the hub: write the bolt circle in the wheel, as bolt_circle = "5 x 4.5 in".'
        )
    warnings = []
    room_mm = circle.diameter_mm - making.stud_hole_mm - 2 * LEAST_WEB_MM
    if wheel.center_bore_mm is None:
        bore_mm = float(math.floor(min(room_mm, 0.62 * circle.diameter_mm)))
        warnings.append(
            f"no center bore is given: the plate is bored {both(bore_mm)} and sits on the studs alone."
            " Check that the hub's nose passes, and centre it by eye."
        )
    else:
        bore_mm = wheel.center_bore_mm + making.hole_growth_mm
        if bore_mm > room_mm:
            raise WheelError(
                f"a center bore of {both(wheel.center_bore_mm)} leaves no wall to studs of"
                f" {both(making.stud_diameter_mm)} on a {both(circle.diameter_mm)} circle."
                " Check center_bore, bolt_circle and --stud."
            )
    fit = HubFit(bolt_circle=circle, bore_mm=bore_mm, face_mm=wheel.face_outboard_mm, making=making)
    between_mm = circle.diameter_mm * math.sin(math.pi / (2 * circle.studs))
    if between_mm < (making.nut_mm + making.washer_mm) / 2 + 1.0:
        raise WheelError(
            f"{circle.studs} studs on a {both(circle.diameter_mm)} circle leave no room for the cap's bolts between"
            f" nuts of {both(making.nut_mm)}. Write a smaller --nut."
        )
    if fit.proud_mm > 0:
        warnings.append(
            f"the hub plate stands {both(fit.proud_mm)} out past the wheel face, near the hub only;"
            " nothing there stands for the wheel."
        )
    return fit, tuple(warnings)


def hub_pieces(fit: HubFit, first: int, title: str, corner: str = "") -> list[Piece]:
    """Plate, cap and ring, each split where the bed asks for it, numbered from `first`; title and corner of the car are
    written on the cap.
    """
    making = fit.making
    plate_layers = [(_flange_shape(fit), 0.0, FLANGE_MM), (_journal_shape(fit), FLANGE_MM, FLANGE_MM + fit.seat_mm)]
    cap_low = FLANGE_MM + fit.seat_mm
    ring_low, ring_high = fit.foot_mm, fit.foot_mm + RING_MM
    middle = (ring_low + ring_high) / 2
    ring_layers = [(_ring_shape(fit), ring_low, middle), (_ring_shape(fit), middle, ring_high)]
    size = f"{fit.bolt_circle.studs}x{fit.bolt_circle.diameter_mm:g} BORE {fit.bore_mm:.1f}"
    pieces: list[Piece] = []

    def add(name: str, sectors: list[tuple[Body, Shape]], top: float, said: str, side: str = "") -> None:
        for k, (body, upper) in enumerate(sectors):
            part = f" {chr(ord('A') + k)}" if len(sectors) > 1 else ""
            number = first + len(pieces)
            lines = [(f"{number} {name.upper()}{part}", f"{number}{part}"), (side,), (said,), ("THIS FACE OUT", "OUT")]
            written = written_on(body, upper.buffer(-1.5), top, lines, making)
            pieces.append(
                Piece(
                    number=number,
                    name=name + part.lower(),
                    body=written,
                    plane=FACE,
                    size=f"{said}, {side}" if said and side else said or side,
                    lie_deg=lie_deg(written, making.bed) or 0.0,
                )
            )

    plate = [(body - _hex_pockets(fit), upper) for body, upper in _lapped(fit, plate_layers, 0.0)]
    add("hub plate", plate, FLANGE_MM + fit.seat_mm, size)
    washers = _bolt_shapes(fit, making.washer_mm / 2 + 1.0)
    name, side = short_title(title, corner)
    cap = _lapped(fit, [(_cap_shape(fit), cap_low, cap_low + CAP_MM)], 90.0)
    add("cap", [(body, upper.difference(washers)) for body, upper in cap], cap_low + CAP_MM, name, side)
    pieces += ring_pieces(fit, ring_layers, first + len(pieces))
    return pieces


def ring_pieces(fit: HubFit, layers: list[tuple[Shape, float, float]], first: int) -> list[Piece]:
    """The turning ring with its cheek, in as many lapped parts as the bed asks for."""
    making = fit.making
    bodies = _ring_parts(fit, layers)
    on_cheek = (*_cheek_holes(fit), *_words_on_cheek(fit, [f"{first} RING", "OUT ^"]))
    pieces = []
    for k, uncut in enumerate(bodies):
        cuts = on_cheek if k == 0 else ()
        body = uncut - joined(*(_along_u(cut) for cut in cuts)) if cuts else uncut
        part = f" {chr(ord('a') + k)}" if len(bodies) > 1 else ""
        pieces.append(
            Piece(
                number=first + k,
                name="ring" + part,
                body=body,
                plane=FACE,
                size=f"bore {2 * fit.journal_mm:.1f} mm",
                lie_deg=lie_deg(body, making.bed) or 0.0,
                uncut=uncut if cuts else None,
                cuts=cuts,
            )
        )
    return pieces


def short_title(title: str, corner: str) -> tuple[str, str]:
    """What goes on the cap of a title, cut between words, and the corner of the car, which is never cut; what the title
    says of the corner is not said twice.

    >>> short_title("Orchard half-ton, rear left", "rear-left")
    ('Orchard half-ton', 'rear left')
    """
    import textwrap

    side = corner.replace("-", " ")
    at = title.lower().rfind(side)
    name = title[:at] if at > 0 and not title[at + len(side) :].strip(" .)") else title
    return (textwrap.wrap(name, 22) or [""])[0].rstrip(" ,;:("), side


def written_on(body: Body, region: Shape, top_mm: float, lines: list[tuple[str, ...]], making: Making) -> Body:
    """The body with each line of writing cut into its upper face, in the longest of its wordings that finds room."""
    for wordings in lines:
        found = next((w for w in (_room_for(text, region) for text in wordings if text) if w is not None), None)
        if found is not None:
            body = body - risen(found, top_mm - making.engrave_mm, top_mm + 1.0)
            region = region.difference(grown(found.envelope, 2.0))
    return body


def _room_for(text: str, region: Shape) -> Shape | None:
    """The writing where the region has room for it, as large as it can be; None where it has none."""
    from shapely.affinity import translate

    for height in (7.0, 5.5, 4.5, 3.6):
        width, depth = words_size([text], height, 1.0)
        spot = place_for(region, width + 1.0, depth + 1.0, 2.0)
        if spot is not None:
            return translate(words([text], height, 0.9 if height > 4 else 0.7), *spot)
    return None


def _flange_shape(fit: HubFit) -> Shape:
    return _with_notches(fit, disc(fit.flange_mm)).difference(_through_holes(fit))


def _journal_shape(fit: HubFit) -> Shape:
    return disc(fit.journal_mm).difference(_through_holes(fit))


def _cap_shape(fit: HubFit) -> Shape:
    from shapely import union_all

    nuts = union_all([disc(fit.making.nut_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.studs_deg])
    shape = _with_notches(fit, disc(fit.flange_mm)).difference(_through_holes(fit)).difference(nuts)
    # Between bore and nuts a thin bridge may be left: it would only break off.
    from clearance.gauge.flatwork import parts_of, without_slivers

    return parts_of(without_slivers(shape, fit.making.wall_mm))[0]


def _ring_shape(fit: HubFit) -> Shape:
    ring = disc(fit.ring_mm).difference(grown_round(disc(fit.journal_mm), fit.making.fit_mm))
    return ring.difference(disc(fit.making.bolt_hole_mm / 2, on_circle(fit.flange_mm, STOP_DEG)))


def _with_notches(fit: HubFit, shape: Shape) -> Shape:
    from shapely import union_all

    # Twelve stops lie a twelfth of a turn apart, the first where the ring's hole is with the blade straight up.
    places = [on_circle(fit.flange_mm, STOP_DEG + k * 360.0 / STOPS) for k in range(STOPS)]
    return shape.difference(union_all([disc(fit.making.bolt_hole_mm / 2, p) for p in places]))


def _through_holes(fit: HubFit) -> Shape:
    from shapely import union_all

    studs = [disc(fit.making.stud_hole_mm / 2, on_circle(fit.circle_mm, a)) for a in fit.studs_deg]
    return union_all([disc(fit.bore_mm / 2), *studs, _bolt_shapes(fit, fit.making.bolt_hole_mm / 2)])


def _bolt_shapes(fit: HubFit, radius_mm: float) -> Shape:
    from shapely import union_all

    return union_all([disc(radius_mm, on_circle(fit.circle_mm, a)) for a in fit.bolts_deg])


def _hex_pockets(fit: HubFit) -> Body:
    """Pockets in the hub side for the heads of the cap's bolts, so that the plate lies flat on the hub."""
    from shapely import Polygon

    across = fit.making.hex_mm + fit.making.hole_growth_mm + 0.2
    corner = across / 2 / math.cos(math.pi / 6)
    depth = 0.7 * fit.making.bolt_mm + 0.5
    pockets = []
    for a in fit.bolts_deg:
        u, v = on_circle(fit.circle_mm, a)
        hexagon = [
            (u + corner * math.cos(math.radians(60 * k)), v + corner * math.sin(math.radians(60 * k))) for k in range(6)
        ]
        pockets.append(risen(Polygon(hexagon), -1.0, depth))
    return joined(*pockets)


def _lapped(fit: HubFit, layers: list[tuple[Shape, float, float]], turn_deg: float) -> list[tuple[Body, Shape]]:
    """A stack of round layers, whole where it fits the bed, else in sectors whose seams step from layer to layer.

    Seams run midway between studs and bolts. Each body comes with the shape of its upper face.
    """
    step = 360.0 / (2 * fit.bolt_circle.studs)
    lap = max(step, math.degrees(30.0 / max(s.bounds[2] for s, _, _ in layers)))
    for count in (1, 2, 3, 4, 6, 8):
        starts = [_gap_deg(step, turn_deg + k * 360.0 / count) for k in range(count + 1)]
        sectors = _sectors(fit, layers, starts, lap)
        if all(lie_deg(body, fit.making.bed) is not None for body, _ in sectors):
            return sectors
    raise WheelError(f"the hub plate does not fit a bed of {fit.making.bed}, even in eight parts.")


def _ring_parts(fit: HubFit, layers: list[tuple[Shape, float, float]]) -> list[Body]:
    """The ring, in parts with eared laps where the bed asks for it; the first carries the cheek."""
    lap = math.degrees(30.0 / fit.ring_mm)
    for count in (1, 2, 3, 4, 6):
        period = 360.0 / count
        # The blade's direction lies in the middle of a stretch that no seam of either layer crosses.
        start = 4.0 - (period + lap) / 2
        starts = [start + k * period for k in range(count + 1)]
        eared = layers
        if count > 1:
            eared = [(_with_ears(shape, fit, [s + lap / 2 for s in starts[:-1]]), a, b) for shape, a, b in layers]
        bodies = [body for body, _ in _sectors(fit, eared, starts, lap)]
        bodies[0] = joined(bodies[0], _cheek(fit))
        if all(lie_deg(body, fit.making.bed) is not None for body in bodies):
            return bodies
    raise WheelError(f"the gauge's ring does not fit a bed of {fit.making.bed}, even in six parts.")


def _sectors(
    fit: HubFit, layers: list[tuple[Shape, float, float]], starts: list[float], lap: float
) -> list[tuple[Body, Shape]]:
    """The stack cut at these directions, each layer `lap` further round than the one below; with the upper faces."""
    if len(starts) == 2:
        return [(joined(*(risen(s, a, b) for s, a, b in layers)), layers[-1][0])]
    outside = max(s.bounds[2] for s, _, _ in layers)
    sectors = []
    for start, end in pairwise(starts):
        parts = []
        for row, (shape, low, high) in enumerate(layers):
            room = wedge(start + row * lap, end + row * lap, outside + 60.0)
            upper = shape.intersection(grown_round(room, -fit.making.fit_mm / 2))
            parts.append(risen(upper, low, high))
        sectors.append((joined(*parts), upper))
    return sectors


def _with_ears(shape: Shape, fit: HubFit, angles_deg: list[float]) -> Shape:
    """Ears with a bolt hole, outside flange and cap, where two parts of the ring lap."""
    for angle in angles_deg:
        shape = _with_ear(shape, fit, angle)
    return shape


def _with_ear(shape: Shape, fit: HubFit, angle_deg: float) -> Shape:
    """An ear with a bolt hole, outside flange and cap, where two parts of the ring lap."""
    at = on_circle(fit.flange_mm + 1.5 + fit.making.washer_mm / 2, angle_deg)
    ear = disc(fit.making.washer_mm / 2 + 3.0, at).difference(disc(fit.flange_mm + 1.0))
    return shape.union(ear).difference(disc(fit.making.bolt_hole_mm / 2, at))


def _gap_deg(step: float, near_deg: float) -> float:
    """The direction nearest to one that runs midway between a stud and a bolt."""
    return (round(near_deg / step - 0.5) + 0.5) * step


def _cheek(fit: HubFit) -> Body:
    """The upright, its foot on the ring, and the tenon through the blade. The blade stands at u = 0."""
    from shapely import Polygon

    half = fit.making.plate_mm / 2
    low, high = fit.foot_mm, fit.foot_mm + fit.cheek_mm
    inner, outer = fit.flange_mm + 1.0, fit.blade_mm + CHEEK_LONG_MM
    upright = oblong(half, inner, half + CHEEK_MM, outer)
    side = math.sqrt(max((fit.ring_mm - 3.0) ** 2 - (half + 26.0) ** 2, 0.0))
    foot = Polygon(
        [(half, fit.ring_mm - 4.0), (half + 26.0, side), (half + CHEEK_MM, outer - 4.0), (half, outer - 4.0)]
    )
    web = foot.difference(disc(fit.journal_mm + 3.0))
    _, r0, y1, r1 = fit.tenon
    y0 = fit.tenon[0]
    tenon = oblong(-half + 0.4, r0, half + 1.0, r1)
    return joined(risen(upright, low, high), risen(web, low, low + min(RING_MM, fit.cheek_mm)), risen(tenon, y0, y1))


def _cheek_holes(fit: HubFit) -> tuple[Cut, ...]:
    """Cross holes for the blade's two bolts."""
    radius = (fit.making.bolt_hole_mm + fit.making.hole_growth_mm) / 2
    return tuple(Cut(shape=disc(radius, (r, y)), low_mm=-100.0, high_mm=100.0) for y, r in fit.cheek_bolts)


def _along_u(cut: Cut) -> Body:
    """What a cut takes out: (v, w, along u) to (u, v, w)."""
    import numpy as np

    frame = np.array([[0.0, 0.0, 1.0, 0.0], [1.0, 0.0, 0.0, 0.0], [0.0, 1.0, 0.0, 0.0]])
    return risen(cut.shape, cut.low_mm, cut.high_mm).transform(frame)


def _words_on_cheek(fit: HubFit, lines: list[str]) -> tuple[Cut, ...]:
    """Writing on the side of the cheek that faces away from the blade; read with outboard up."""
    from shapely.affinity import translate

    face = fit.making.plate_mm / 2 + CHEEK_MM
    low = fit.foot_mm + RING_MM + 1.0
    region = oblong(fit.flange_mm + 2.0, low, fit.blade_mm + CHEEK_LONG_MM - 1.0, fit.foot_mm + fit.cheek_mm - 1.0)
    holes = [disc(fit.making.washer_mm / 2 + 0.5, (r, y)) for y, r in fit.cheek_bolts]
    for hole in holes:
        region = region.difference(hole)
    for height in (5.5, 4.5, 3.6):
        width, depth = words_size(lines, height, 0.9)
        spot = place_for(region, width + 1.0, depth + 1.0, 1.0)
        if spot is not None:
            written = translate(words(lines, height, 0.9), *spot)
            return (Cut(shape=written, low_mm=face - fit.making.engrave_mm, high_mm=face + 1.0, words=True),)
    return ()
