"""Where a scan stands on the hub: from the file's axes and unit to corner axes in millimetres.

Corner axes have their origin at the centre of the hub's wheel-mounting face at ride height: x ahead, y outboard, z up.
A file has axes of its own, and a left and a right wheel well are mirror images, so besides the hub's place three things
must be stated: the unit, two of the directions ahead, up and outboard, and which side of the car was scanned.

* unit      - what one of the file's numbers is; or the true distance of two points of the scan (`Scale`)
* side      - the side of the car that was scanned, "left" or "right"; the other side's corner takes its mirror image
* picked    - a point that someone clicked on in the scan, good to `within_mm`
* face      - the plane of the hub or of the rotor that points were picked on

Picked points are never exact. The uncertainty given with a placement is the worst case of all of them being off by
`within_mm` in the least lucky directions, at a distance of REACH_MM from the hub, where the tire's far edge is. It is
found by moving each pick by that much and placing again, so it holds to first order in the size of the picks' errors.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from clearance.errors import MeshError
from clearance.plain import echoed
from clearance.pose import Array
from clearance.units import MESH_UNITS, both

REACH_MM = 450.0
"""How far from the hub a placing error is counted: the far edge of a 35 inch tire."""
PICKED_WITHIN_MM = 2.0
"""How well a point can be picked on a scan, unless stated. Our default, to be edited; no published source."""
LEVEL_WITHIN_DEG = 0.5
"""How well a scanning app knows which way is up, unless stated. Our default, to be edited; no published source."""

LEFT = "left"
RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Scale:
    """Two points of the scan, in its own unit, whose true distance was measured."""

    from_point: Array
    to_point: Array
    distance_mm: float
    within_mm: float = PICKED_WITHIN_MM
    """How well each of the two was picked."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CornerAxes:
    """The file already has its origin on the hub and its axes ahead, outboard and up."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class HubPoint:
    """The hub's centre in the file's axes and unit, and two of the three directions (or all, as a check)."""

    hub: Array
    ahead: Array | None = None
    up: Array | None = None
    outboard: Array | None = None
    within_mm: float = 0.0
    level_within_deg: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class FacePoints:
    """Three or more points picked round the hub face or the rotor: on one circle about the axle."""

    points: Array
    """(n, 3) in the file's axes and unit."""
    ahead: Array | None = None
    up: Array | None = None
    outboard: Array | None = None
    """Roughly; with `up` it is enough, and the face then says which way is ahead (its toe is taken as none)."""
    ground: Array | None = None
    """(n, 3): two points of a line along the ground, or three and more of the ground itself."""
    face_outboard_mm: float = 0.0
    """From the picked face out to the wheel-mounting face; negative where the picked face stands further out."""
    diameter_mm: float | None = None
    """Of the circle, where it was measured: a check of the unit."""
    within_mm: float = PICKED_WITHIN_MM
    level_within_deg: float = LEVEL_WITHIN_DEG


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class BoltHoles:
    """Three or more stud or bolt holes picked at their middles, on a known bolt circle."""

    points: Array
    count: int
    bolt_circle_mm: float
    ahead: Array | None = None
    up: Array | None = None
    outboard: Array | None = None
    ground: Array | None = None
    face_outboard_mm: float = 0.0
    within_mm: float = PICKED_WITHIN_MM
    level_within_deg: float = LEVEL_WITHIN_DEG


Place = CornerAxes | HubPoint | FacePoints | BoltHoles


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Placement:
    """The one way from the file's numbers to corner axes."""

    hub: Array
    """(3,): the hub's centre in the file's axes and unit."""
    turn: Array
    """(3, 3): ahead, outboard and up as rows, in the file's axes; a mirror image on a right corner."""
    mm_per_unit: float
    uncertainty_mm: float = 0.0
    notes: tuple[str, ...] = field(default=())

    def carry(self, points: Array) -> Array:
        """Points (..., 3) of the file in corner axes, mm."""
        placed: Array = ((np.asarray(points, dtype=float) - self.hub) * self.mm_per_unit) @ self.turn.T
        return placed

    def back(self, points_mm: Array) -> Array:
        """Points (..., 3) of corner axes in the file's axes and unit."""
        found: Array = (np.asarray(points_mm, dtype=float) @ self.turn) / self.mm_per_unit + self.hub
        return found


def direction(word: object) -> Array:
    """A unit vector from "+x", "-z" or three numbers. Raises MeshError for anything else.

    >>> direction("-z").tolist()
    [0.0, 0.0, -1.0]
    """
    if isinstance(word, str):
        text = word.strip().lower().lstrip("+")
        sign = -1.0 if text.startswith("-") else 1.0
        name = text.lstrip("-").strip()
        if name in ("x", "y", "z"):
            vector = np.zeros(3)
            vector["xyz".index(name)] = sign
            return vector
    elif isinstance(word, (Sequence, np.ndarray)) and len(word) == 3:
        try:
            vector = np.array([float(number) for number in word])
        except (TypeError, ValueError):
            vector = np.zeros(3)
        length = float(np.linalg.norm(vector))
        if 0.0 < length < math.inf:
            return vector / length
    raise MeshError(f'{echoed(word)} is not a direction. Write "+x", "-x", "+y", "-y", "+z", "-z" or three numbers.')


def mm_per_unit(unit: str | None, scale: Scale | None, size: Array) -> float:
    """Millimetres in one of the file's numbers, by the unit or by a measured distance.

    `size` (3,) is the box around the scan in its own numbers: a refusal shows what it would be in each unit.
    Raises MeshError where neither is stated, where both are and disagree by over one percent, or the unit is unknown.
    """
    if unit is None and scale is None:
        raise MeshError(
            "the unit of the scan is not stated, and a mesh file does not carry one. Its box would be:\n"
            + "\n".join(f"  {row}" for row in sizes_by_unit(size))
            + '\nWrite unit = "mm", "cm", "m", "in" or "ft", or scale with two of its points and their true distance.',
            key="unit",
        )
    if unit is not None and unit not in MESH_UNITS:
        raise MeshError(f'{echoed(unit)} is not a unit of a scan. Write "mm", "cm", "m", "in" or "ft".', key="unit")
    if scale is None:
        assert unit is not None
        return MESH_UNITS[unit]
    found = _by_distance(scale)
    if unit is not None and abs(found / MESH_UNITS[unit] - 1.0) > 0.01:
        raise MeshError(
            f"the scale says that one of the file's numbers is {found:.4g} mm, but unit = {echoed(unit)} makes it"
            f" {MESH_UNITS[unit]:g} mm. Leave one of the two out, or measure again.",
            key="scale",
        )
    return found


def _by_distance(scale: Scale) -> float:
    """Millimetres in one of the file's numbers by two points and the true distance between them."""
    apart = float(np.linalg.norm(np.asarray(scale.to_point, dtype=float) - np.asarray(scale.from_point, dtype=float)))
    if not scale.distance_mm > 0.0 or not 0.0 < apart < math.inf:
        raise MeshError(
            f"the two points of the scale are {apart:g} apart in the file and {scale.distance_mm:g} mm in truth:"
            " pick two different points, as far apart as can be, and measure between them.",
            key="scale",
        )
    return scale.distance_mm / apart


def sizes_by_unit(size: Array) -> list[str]:
    """A line for each unit: how large the box (3,) would be, and whether a wheel well can be so large."""
    rows = []
    for unit, factor in MESH_UNITS.items():
        extent = np.asarray(size, dtype=float) * factor
        shown = " x ".join(_length(value) for value in extent)
        rows.append(f"{unit:>2}: {shown}{_sense(extent)}")
    return rows


def sensible_units(size: Array) -> tuple[str, ...]:
    """The units in which a box of this size is a wheel well, or a car with one."""
    return tuple(unit for unit, factor in MESH_UNITS.items() if _sense(np.asarray(size) * factor))


def _length(mm: float) -> str:
    return f"{mm / 1000:.2f} m" if mm >= 1000 else f"{mm:.3g} mm"


def _sense(extent_mm: Array) -> str:
    """What a box of this size may be; nothing where it is too small or too large for either."""
    longest, middle = sorted(extent_mm.tolist(), reverse=True)[:2]
    # an arch spans 0.5 to 1.2 m, and a scan of a well runs a little beyond it
    if 400.0 <= longest <= 2200.0 and middle >= 200.0:
        return "   <- a wheel well may be so large"
    return "   <- a whole car may be so large" if 2200.0 < longest <= 8000.0 and middle >= 800.0 else ""


# ---- the placing itself


def placement(place: Place, mm: float, *, side: str = LEFT, scale: Scale | None = None) -> Placement:
    """From the file's numbers to corner axes.

    `mm` is millimetres in one of the file's numbers; `side` the side of the car that was scanned. Where the size came
    from a `scale`, its uncertainty is counted too. Raises MeshError where directions or picked points cannot be used.
    """
    if side not in (LEFT, RIGHT):
        raise MeshError(f'the scanned side is {echoed(side)}. Write "left" or "right".')
    try:
        return _with_scale(_placed(place, mm, side), scale)
    except MeshError as refused:
        raise MeshError(str(refused), key=refused.key or "place") from None


def _placed(place: Place, mm: float, side: str) -> Placement:
    if isinstance(place, CornerAxes):
        return Placement(hub=np.zeros(3), turn=np.eye(3), mm_per_unit=mm)
    if isinstance(place, HubPoint):
        return _by_hub_point(place, mm, side)
    return _by_circle(place, mm, side)


def _with_scale(placed: Placement, scale: Scale | None) -> Placement:
    if scale is None:
        return placed
    # each end may be off by within_mm along the line, and the error grows with the distance from the hub
    share = 2.0 * scale.within_mm / scale.distance_mm
    far = REACH_MM * share
    note = (
        f"size from two points {both(scale.distance_mm)} apart, each picked within {scale.within_mm:g} mm:"
        f" {100 * share:.1f} %, so {far:.1f} mm at {REACH_MM:g} mm from the hub"
    )
    return replace(placed, uncertainty_mm=placed.uncertainty_mm + far, notes=(*placed.notes, note))


def _by_hub_point(place: HubPoint, mm: float, side: str) -> Placement:
    hub = _point(place.hub, "the hub")
    turn, notes = axes(place.ahead, place.up, place.outboard, side)
    uncertainty = place.within_mm + _tilt_mm(place.level_within_deg)
    if uncertainty:
        notes += (f"hub point within {place.within_mm:g} mm, directions within {place.level_within_deg:g} deg",)
    return Placement(hub=hub, turn=turn, mm_per_unit=mm, uncertainty_mm=uncertainty, notes=notes)


def _point(values: object, what: str) -> Array:
    point = np.array(values, dtype=float)
    if point.shape != (3,) or not np.isfinite(point).all():
        raise MeshError(f"{what} is {echoed(values)}. Write three numbers, in the scan's own axes and unit.")
    return point


def _tilt_mm(angle_deg: float) -> float:
    return REACH_MM * math.radians(angle_deg)


def axes(ahead: Array | None, up: Array | None, outboard: Array | None, side: str) -> tuple[Array, tuple[str, ...]]:
    """Ahead, outboard and up (3, 3) as rows, from any two of them, in the file's axes; and what was put right.

    The first given of up, ahead, outboard is kept exactly and the next is made square to it. Raises MeshError where
    fewer than two are given, where two lie nearly along one line, or where all three belong to the other side's corner.
    """
    given = [
        (name, vector) for name, vector in (("up", up), ("ahead", ahead), ("outboard", outboard)) if vector is not None
    ]
    if len(given) < 2:
        raise MeshError("two of the directions ahead, up and outboard are needed, as the scan's own axes go.")
    (first_name, first), (second_name, second) = ((name, _unit(vector)) for name, vector in given[:2])
    off_deg = abs(90.0 - math.degrees(math.acos(float(np.clip(first @ second, -1.0, 1.0)))))
    if off_deg > 15.0:
        raise MeshError(
            f"{first_name} and {second_name} are {90 - off_deg:.0f} deg apart, not square to each other."
            " Look at the picture that `clearance scan` draws and state them again."
        )
    square = _unit(second - (second @ first) * first)
    known = {first_name: first, second_name: square}
    full = _third(known, 1.0 if side == LEFT else -1.0)
    if len(given) == 3 and float(full["outboard"] @ _unit(given[2][1])) < 0.5:
        other = RIGHT if side == LEFT else LEFT
        raise MeshError(
            f"ahead, up and outboard as given describe the {other} side of a car, but the scan is said to be of the"
            f" {side} side. Turn one of them round, or state that the {other} side was scanned."
        )
    notes = (f"{second_name} was turned by {off_deg:.1f} deg to stand square to {first_name}",) if off_deg > 0.5 else ()
    return np.stack([full["ahead"], full["outboard"], full["up"]]), notes


def _unit(vector: Array) -> Array:
    length = float(np.linalg.norm(vector))
    if not 0.0 < length < math.inf:
        raise MeshError('a direction has no length. Write a direction such as "+x", or three numbers.')
    return np.asarray(vector, dtype=float) / length


def _third(known: dict[str, Array], hand: float) -> dict[str, Array]:
    """All three directions from two; `hand` is 1 on the left side, where ahead x outboard = up, and -1 on the right."""
    if "outboard" not in known:
        return known | {"outboard": hand * np.cross(known["up"], known["ahead"])}
    if "ahead" not in known:
        return known | {"ahead": hand * np.cross(known["outboard"], known["up"])}
    return known | {"up": hand * np.cross(known["ahead"], known["outboard"])}


# ---- picked on a circle


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Circle:
    """A circle through picked points."""

    centre: Array
    axis: Array
    """(3,): unit, either way along the axle."""
    radius: float
    residual: float
    """The furthest that a point stands off the circle."""


def circle_through(points: Array) -> Circle:
    """The circle nearest to points (n, 3) in the sense of least squares: in their plane first, then round it.

    Raises MeshError for fewer than three points, or points on one line.
    """
    points = np.asarray(points, dtype=float)
    if points.ndim != 2 or points.shape[1:] != (3,) or len(points) < 3 or not np.isfinite(points).all():
        raise MeshError("a circle needs at least three picked points of three numbers each, spread round the face.")
    middle = points.mean(axis=0)
    _, spread, rows = np.linalg.svd(points - middle)
    if spread[1] < 0.02 * spread[0]:
        raise MeshError("the picked points lie on one line. Pick them spread round the face: at 12, 4 and 8 o'clock.")
    flat = (points - middle) @ rows[:2].T
    centre, radius = _flat_circle(flat)
    round_it = np.abs(np.hypot(*(flat - centre).T) - radius)
    off_plane = np.abs((points - middle) @ rows[2])
    return Circle(
        centre=middle + centre @ rows[:2],
        axis=rows[2],
        radius=radius,
        residual=float(np.hypot(round_it, off_plane).max()),
    )


def off_circle(circle: Circle, points: Array) -> Array:
    """How far points (n, 3) stand off a circle, (n,)."""
    away = np.asarray(points, dtype=float) - circle.centre
    along = away @ circle.axis
    out = np.sqrt(((away - along[:, None] * circle.axis) ** 2).sum(axis=1))
    found: Array = np.hypot(out - circle.radius, along)
    return found


def _flat_circle(flat: Array) -> tuple[Array, float]:
    """Centre (2,) and radius: the algebraic fit, then Gauss-Newton on the true distances."""
    system = np.column_stack([2.0 * flat, np.ones(len(flat))])
    solution = np.linalg.lstsq(system, (flat**2).sum(axis=1), rcond=None)[0]
    centre, radius = solution[:2], math.sqrt(max(float(solution[2] + solution[:2] @ solution[:2]), 0.0))
    for _ in range(20):
        away = flat - centre
        distance = np.maximum(np.hypot(*away.T), 1e-300)
        slope = np.column_stack([-away / distance[:, None], -np.ones(len(flat))])
        step = np.linalg.lstsq(slope, -(distance - radius), rcond=None)[0]
        centre, radius = centre + step[:2], radius + float(step[2])
        if np.abs(step).max() <= 1e-12 * radius:
            break
    return centre, radius


def _by_circle(place: FacePoints | BoltHoles, mm: float, side: str) -> Placement:
    points = np.asarray(place.points, dtype=float)
    circle = circle_through(points)
    notes = _bolt_notes(place, circle, mm) if isinstance(place, BoltHoles) else _face_notes(place, circle, mm)
    ground = None if place.ground is None else np.asarray(place.ground, dtype=float)

    def of(picks: Array) -> tuple[Array, Array]:
        at = circle_through(picks[: len(points)])
        turn = _axes_of_circle(place, at, picks[len(points) :] if ground is not None else None, side)
        return at.centre + turn[1] * place.face_outboard_mm / mm, turn

    picks = points if ground is None else np.concatenate([points, ground])
    hub, turn = of(picks)
    notes += _lean_notes(place, circle, turn)
    within_mm = max(place.within_mm, circle.residual * mm)
    picked_mm = worst_move_mm(of, picks, within_mm, mm)
    by_word = place.level_within_deg if ground is None or len(ground) < 3 else 0.0
    uncertainty = picked_mm + _tilt_mm(by_word)
    notes += (
        f"placing is uncertain by {uncertainty:.1f} mm: picks within {within_mm:.1f} mm"
        + (f", level within {by_word:g} deg" if by_word else ""),
    )
    return Placement(hub=hub, turn=turn, mm_per_unit=mm, uncertainty_mm=uncertainty, notes=notes)


def worst_move_mm(
    place: Callable[[Array], tuple[Array, Array]], picks: Array, within_mm: float, mm: float, reach_mm: float = REACH_MM
) -> float:
    """The furthest that anything within `reach_mm` of the hub can move when each pick is off by `within_mm`.

    Every coordinate of every pick is moved both ways by that much and everything is placed again: that gives how each
    spot moves with each pick. A pick off by that much in its least lucky direction moves a spot along `u` by the
    length of three such numbers, and the least lucky picks add up; the answer is the worst of all spots and all `u`.
    """
    hub, turn = place(picks)
    around = _all_round(60)
    spots = around @ turn * (reach_mm / mm) + hub
    total = np.zeros((len(spots), 2 * len(around)))
    ways = _all_round(2 * len(around))
    for pick in range(len(picks)):
        squares = np.zeros_like(total)
        for way in range(3):
            ends = []
            for sign in (-1.0, 1.0):
                moved = picks.copy()
                moved[pick, way] += sign * within_mm / mm
                new_hub, new_turn = place(moved)
                ends.append(((spots - new_hub) * mm) @ new_turn.T)
            squares += ((ends[1] - ends[0]) / 2.0 @ ways.T) ** 2
        total += np.sqrt(squares)
    # sixty spots and twice as many directions leave caps of some 12 deg between them, and cos 12 deg is 0.98
    return float(total.max()) * 1.05


def _all_round(count: int) -> Array:
    """Unit vectors (count, 3) spread evenly over a sphere, along a spiral of the golden angle."""
    z = 1.0 - (2.0 * np.arange(count) + 1.0) / count
    turn = np.arange(count) * math.pi * (3.0 - math.sqrt(5.0))
    flat = np.sqrt(1.0 - z * z)
    return np.stack([flat * np.cos(turn), flat * np.sin(turn), z], axis=-1)


def _axes_of_circle(place: FacePoints | BoltHoles, circle: Circle, ground: Array | None, side: str) -> Array:
    up, ahead = place.up, place.ahead
    if ground is not None:
        up, ahead = _from_ground(ground, up, ahead)
    if up is None:
        raise MeshError("which way is up is not stated. Give up, or pick three points on the ground.")
    if ahead is None and place.outboard is None:
        raise MeshError("which way is ahead is not stated. Give ahead, or roughly outboard.")
    if ahead is not None:
        return axes(ahead, up, place.outboard, side)[0]
    assert place.outboard is not None
    outward = circle.axis if float(circle.axis @ _unit(place.outboard)) > 0.0 else -circle.axis
    # no direction ahead: the face's own axle, made level, is taken for straight across the car
    return axes(None, up, outward, side)[0]


def _from_ground(ground: Array, up: Array | None, ahead: Array | None) -> tuple[Array, Array | None]:
    """Up and ahead, put right by points picked on the ground: square to its plane, or to the line of two points."""
    if ground.ndim != 2 or ground.shape[1:] != (3,) or len(ground) < 2 or not np.isfinite(ground).all():
        raise MeshError("the ground needs two points along it, or three and more spread over it.")
    rough = up
    if len(ground) == 2:
        along = _unit(ground[1] - ground[0])
        if rough is None:
            raise MeshError("two points on the ground do not say which way is up. Give up as well, or a third point.")
        return _unit(_unit(rough) - (_unit(rough) @ along) * along), ahead
    _, spread, rows = np.linalg.svd(ground - ground.mean(axis=0))
    if spread[1] < 0.02 * spread[0]:
        raise MeshError("the points on the ground lie on one line. Pick a third one beside it.")
    if rough is None:
        raise MeshError(
            "points on the ground do not say which side of it the car stands on. Give up, roughly, as well."
        )
    normal = rows[2] if float(rows[2] @ rough) > 0.0 else -rows[2]
    return normal, ahead


def _face_notes(place: FacePoints, circle: Circle, mm: float) -> tuple[str, ...]:
    across = 2.0 * circle.radius * mm
    if place.diameter_mm is not None and abs(across - place.diameter_mm) > max(
        0.02 * place.diameter_mm, 4 * place.within_mm
    ):
        raise MeshError(
            f"the picked circle is {both(across)} across, but {both(place.diameter_mm)} is stated."
            " The unit is wrong, or the points are not on that edge."
        )
    return (f"hub from {len(place.points)} picked points: a circle {both(across)} across, {_off(circle, mm)} off it",)


def _off(circle: Circle, mm: float) -> str:
    return f"{circle.residual * mm:.1f} mm"


def _bolt_notes(place: BoltHoles, circle: Circle, mm: float) -> tuple[str, ...]:
    across = 2.0 * circle.radius * mm
    allowed = max(4.0 * place.within_mm, 1.0)
    if abs(across - place.bolt_circle_mm) > allowed:
        raise MeshError(
            f"the picked holes lie on a circle of {both(across, digits=1)}, but the bolt circle is"
            f" {both(place.bolt_circle_mm)}. The unit is wrong, or other holes were picked."
        )
    if place.count < 3 or len(place.points) > place.count:
        raise MeshError(f"{len(place.points)} holes were picked of a pattern with {place.count}.")
    uneven_mm = _uneven(np.asarray(place.points, dtype=float), circle, place.count) * mm
    if uneven_mm > allowed:
        raise MeshError(
            f"the picked holes are not evenly spaced for {place.count}: one stands {uneven_mm:.1f} mm from where it"
            " should be. Pick the middles of the holes again, or check their count."
        )
    return (
        f"hub from {len(place.points)} of {place.count} bolt holes: a circle of {both(across)} against the stated"
        f" {both(place.bolt_circle_mm)}; holes {_off(circle, mm)} off it, {uneven_mm:.1f} mm off even spacing",
    )


def _uneven(points: Array, circle: Circle, count: int) -> float:
    """How far the worst hole stands, along the circle, from an even pattern of `count` laid over all of them."""
    first = _unit(points[0] - circle.centre)
    second = np.cross(circle.axis, first)
    away = points - circle.centre
    angles = np.arctan2(away @ second, away @ first)
    turns = np.exp(1j * count * angles)
    off_rad = np.angle(turns * np.conj(turns.mean())) / count
    return float(np.abs(off_rad).max() * circle.radius)


def _lean_notes(place: FacePoints | BoltHoles, circle: Circle, turn: Array) -> tuple[str, ...]:
    """What the picked face says about camber and toe; refused where it does not face outboard at all."""
    axis = turn @ circle.axis
    axis = axis if axis[1] > 0.0 else -axis
    off_deg = math.degrees(math.acos(float(np.clip(axis[1], -1.0, 1.0))))
    if off_deg > 40.0:
        raise MeshError(
            f"the picked face points {off_deg:.0f} deg away from outboard. Up or ahead is wrong, or the points are not"
            " on the face of the hub."
        )
    camber, toe = math.degrees(math.asin(-axis[2])), math.degrees(math.atan2(axis[0], axis[1]))
    lean = f"the picked face shows camber {round(camber, 1) + 0.0:+.1f} deg, toe {round(toe, 1) + 0.0:+.1f} deg"
    return (f"{lean}{'; more than a hub at ride height has: check the picks' if off_deg > 12.0 else ''}",)
