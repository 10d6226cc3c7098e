"""How much of the cycle a gap is held for: at one position, at others as well, or at every one.

A straight travel beside a wall that stands as straight leaves the wall as near all the way, and the position at which
a search ends means nothing.

* carried  - places straight out from one circle of the wheel, by the gap: they go where its centre goes, and while the
             axis keeps its way each is as far from the wheel as the witness, whatever the wheel turns to
* off      - how far a carried place is from the part: the part's gap there is no more than the witness' and so much
* spare    - how far off a carried place may be, so that no gap is further above the lower end than the answer's own
             width. The lower end holds at every position as it is
* held     - at every position one of the carried places is no further off than that. It is proven: over a box of
             positions the centre strays from what its corners span by no more than its bend, and the distance to a
             triangle is greatest at a corner of what is spanned, because a triangle is convex

What turns, what is not proven, what two frames carry and what has too many triangles is not said to be held. Lengths
are millimetres, in the axes of what the part rides on.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import numpy.typing as npt

from clearance.gap.found import AT_EVERY, AT_ONE, AT_OTHERS, ROUNDING_MM, Gap
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, pushed, seen_by
from clearance.pose import Array, turn_onto
from clearance.suspension.position import BODY, HUB, Cycle, Position
from clearance.well.part import Part

MOST_FACES = 200
_STEP_DEG = 5.0
_HALVINGS = 14
_MOST_BOXES = 256
"""Positions that are looked at together; where more boxes than that are open, nothing is said."""
_NUMBERS = ("bump", "other_bump", "steer_per_deg")
_ELSEWHERE = 0.25
"""Of a number's range: what is nearer to the witness is not another position, for every least is flat."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Carried:
    seen: Seen
    setting: Array
    """(k,): of the witness."""
    out: Array
    """(m, 3): carried places, from the wheel's centre; the witness first."""
    faces: Array
    """(n, 3, 3): the part's, where a carried place may come."""
    spare_mm: float

    def settings(self, places: Array) -> Array:
        """Settings of rows (n, numbers that travel and steer), with the witness' play."""
        return np.column_stack([places, np.repeat(self.setting[None, places.shape[1] :], len(places), axis=0)])

    def off_mm(self, places: Array) -> Array:
        """(n, m, faces): how far each carried place is from each triangle."""
        centre, _ = self.seen.path.at(self.settings(places))
        points = centre[:, None] + self.out
        off = _off_mm(points.reshape(-1, 3), self.faces)
        return off.reshape(*points.shape[:2], len(self.faces))


def with_held(mockup: MockUp, part: Part, gap: Gap) -> Gap:
    """A gap over the whole cycle, with how much of the cycle it is held for."""
    carried = _carried(mockup, part, gap)
    if carried is None:
        return gap
    box = carried.seen.path.box[: len(carried.seen.moving)]
    if _everywhere(carried, box):
        return replace(gap, held=AT_EVERY)
    return replace(gap, held=AT_OTHERS if _elsewhere(carried, box) else AT_ONE)


def at_position_held(mockup: MockUp, part: Part, gap: Gap, position: Position) -> Gap:
    """A gap that is held everywhere, with its witness at this position; as it is where that would be another gap."""
    carried = _carried(mockup, part, gap)
    if carried is None:
        return gap
    place = carried.seen.settings(position.row()[None])[:, : len(carried.seen.moving)]
    off = carried.off_mm(place)[0].min(axis=1)
    chosen = 0 if off[0] <= ROUNDING_MM else int(np.argmin(off))
    centre, _ = carried.seen.path.at(carried.settings(place))
    moved = _witness_at(mockup, part, gap, position, _onto(centre[0] + carried.out[chosen], carried.faces))
    return moved if abs(moved.at_most_mm - gap.at_most_mm) <= ROUNDING_MM else gap


def _witness_at(mockup: MockUp, part: Part, gap: Gap, position: Position, point: Array) -> Gap:
    """The gap with a point of its part, in the part's axes, for its witness, measured where the suspension has it."""
    row, push = position.row()[None], np.array([*gap.shift_mm, 0.0])
    there = point
    if part.rides_on != BODY:
        there = mockup.suspension.pose(row, part.rides_on).carry(point[None])[0] + pushed(part.rides_on) * push
    hub = mockup.suspension.pose(row, HUB)
    centre, turn = hub.origin_mm[0] + push, turn_onto(hub.axis[0])
    distance, foot, normal, _ = mockup.solid.nearest((turn.T @ (there - centre))[None])
    toward = turn @ normal[0]
    return replace(
        gap,
        at_most_mm=max(gap.at_least_mm, float(distance[0]) - part.skin_mm),
        position=position,
        on_part_mm=there - part.skin_mm * toward,
        on_tire_mm=centre + turn @ foot[0],
        toward_part=toward,
        at_rest_mm=point,
    )


# ---- what is carried


def _carried(mockup: MockUp, part: Part, gap: Gap) -> _Carried | None:
    """The places that are carried with the wheel, and how far they may be off; None where nothing can be said."""
    if gap.swallowed or gap.unmeasured or part.far_end is not None or _slopes_away(mockup.suspension.cycle, gap):
        return None
    seen = seen_by(mockup, part)
    if not _goes_straight_out(seen):
        return None
    setting = seen.settings(gap.position.row()[None])[0]
    if seen.has_play:
        setting[-2:] = gap.shift_mm
    centre, axis = (value[0] for value in seen.path.at(setting[None]))
    along = float((gap.at_rest_mm - centre) @ axis)
    outward = gap.at_rest_mm - centre - along * axis
    radius = float(np.linalg.norm(outward))
    there = mockup.solid.chain.distance(np.array([along]), np.array([radius]))
    leans = 2.0 * _axis_strays(seen) * float(np.hypot(along, radius))
    spare = gap.at_least_mm + gap.allowed_mm + ROUNDING_MM + part.skin_mm - part.drawn_mm
    spare -= float(there[0]) + seen.path.error_mm + leans
    if spare < 0.0:
        return None
    angles = np.radians(np.arange(0.0, 360.0, _STEP_DEG))
    out = along * axis + np.cos(angles)[:, None] * outward + np.sin(angles)[:, None] * np.cross(axis, outward)
    faces = _near(part.triangles_mm, seen, setting, out, spare)
    if not 0 < len(faces) <= MOST_FACES:
        return None
    return _Carried(seen=seen, setting=setting, out=out, faces=faces, spare_mm=spare)


def _goes_straight_out(seen: Seen) -> bool:
    """Does something travel or steer, is the path proven, and does play push one way all the time?"""
    path = seen.path
    return bool(seen.moving) and path.proven and (path.slide is None or not path.slide.turns)


def _axis_strays(seen: Seen) -> float:
    """How far the axis is from its first coefficient at most: no Chebyshev polynomial exceeds 1."""
    return 2.0 * float(np.linalg.norm(seen.path.coefficients[1:, 3:6], axis=1).sum())


def _slopes_away(cycle: Cycle, gap: Gap) -> bool:
    """Does the gap change at its witness as none does that is held far? Soon told, of nearly every part."""
    ranges = np.ptp(cycle.box, axis=1)
    slopes = np.array([gap.per_mm.get(name, 0.0) for name in _NUMBERS])
    return bool(np.any(np.abs(slopes) * _ELSEWHERE * ranges > 2.0 * gap.allowed_mm))


def _near(triangles: Array, seen: Seen, setting: Array, out: Array, spare_mm: float) -> Array:
    """The triangles in the box of all where a carried place may come."""
    path, count = seen.path, len(seen.moving)
    # no Chebyshev polynomial exceeds 1
    middle, reach = path.coefficients[0, :3], np.abs(path.coefficients[1:, :3]).sum(axis=0)
    if path.slide is not None:
        middle = middle + setting[count:] @ path.slide.by[:, :3]
    low = middle - reach + out.min(axis=0) - spare_mm
    high = middle + reach + out.max(axis=0) + spare_mm
    near = np.all((triangles.min(axis=1) <= high) & (triangles.max(axis=1) >= low), axis=1)
    found: Array = triangles[near]
    return found


# ---- the proof


def _everywhere(carried: _Carried, box: Array) -> bool:
    """Is one of the carried places near enough at every setting of the box?"""
    count = len(box)
    bend = np.diagonal(carried.seen.path.centre_bend)[:count]
    corner = np.array(list(product((0, 1), repeat=count)))
    boxes = box[None]
    for _ in range(_HALVINGS):
        places = boxes[:, np.arange(count), corner]
        off = carried.off_mm(places.reshape(-1, count)).reshape(len(boxes), len(corner), -1)
        if np.any(off.min(axis=2) > carried.spare_mm):
            return False
        # a straight line between the ends of a bend is off it by an eighth of bend times length squared
        strays = np.square(boxes[:, :, 1] - boxes[:, :, 0]) @ bend / 8.0
        boxes = _halves(boxes[off.max(axis=1).min(axis=1) + strays > carried.spare_mm], box)
        if not len(boxes):
            return True
        if len(boxes) > _MOST_BOXES:
            return False
    return False


def _halves(boxes: Array, whole: Array) -> Array:
    """Boxes (n, k, 2) halved along the number that is least divided yet; all of them are of one size."""
    if not len(boxes):
        return boxes
    widest = int(np.argmax((boxes[0, :, 1] - boxes[0, :, 0]) / (whole[:, 1] - whole[:, 0])))
    low, high = boxes.copy(), boxes.copy()
    low[:, widest, 1] = high[:, widest, 0] = boxes[:, widest].mean(axis=1)
    return np.concatenate([low, high])


def _elsewhere(carried: _Carried, box: Array) -> bool:
    """Is one of them near enough at an end, in the middle or at ride height, away from where the witness is?"""
    rest = np.clip(carried.seen.settings(np.zeros((1, 3)))[0, : len(box)], box[:, 0], box[:, 1])
    places = np.array([*product(*box), box.mean(axis=1), rest])
    away = np.abs(places - carried.setting[: len(box)]) >= _ELSEWHERE * np.ptp(box, axis=1)
    allowed = np.all([limit.allows(places) for limit in carried.seen.limits] or [np.ones(len(places), bool)], axis=0)
    places = places[away.any(axis=1) & allowed]
    return len(places) > 0 and bool(np.any(carried.off_mm(places) <= carried.spare_mm))


# ---- points and triangles


def _off_mm(points: Array, faces: Array) -> Array:
    """(n, m): how far points (n, 3) are from triangles (m, 3, 3)."""
    return np.asarray(np.linalg.norm(points[:, None] - _feet(points, faces), axis=2))


def _onto(point: Array, faces: Array) -> Array:
    """The nearest point (3,) of any of the triangles."""
    feet = _feet(point[None], faces)[0]
    nearest: Array = feet[np.argmin(np.linalg.norm(feet - point, axis=1))]
    return nearest


def _feet(points: Array, faces: Array) -> Array:
    """(n, m, 3): the nearest point of each triangle (m, 3, 3) to each point (n, 3)."""
    corners = [faces[:, i] for i in range(3)]
    edges = ((0, 1), (1, 2), (2, 0))
    feet = np.stack([_on_edge(points, corners[start], corners[end] - corners[start]) for start, end in edges])
    nearest = np.argmin(np.linalg.norm(points[:, None] - feet, axis=3), axis=0)
    edge = np.take_along_axis(feet, nearest[None, :, :, None], axis=0)[0]
    return np.where(_over(points, corners)[:, :, None], _plumb(points, corners), edge)


def _on_edge(points: Array, start: Array, along: Array) -> Array:
    """(n, m, 3): the nearest point of each edge to each point."""
    length = np.maximum(np.einsum("mj,mj->m", along, along), 1e-30)
    way = np.einsum("nmj,mj->nm", points[:, None] - start, along) / length
    foot: Array = start + np.clip(way, 0.0, 1.0)[:, :, None] * along
    return foot


def _across(corners: list[Array]) -> tuple[Array, Array]:
    """(m, 3), (m,): the triangles' normals and their lengths, twice the areas."""
    across = np.cross(corners[1] - corners[0], corners[2] - corners[0])
    return across, np.linalg.norm(across, axis=1)


def _plumb(points: Array, corners: list[Array]) -> Array:
    """(n, m, 3): each point dropped onto the plane of each triangle."""
    across, size = _across(corners)
    out = across / np.maximum(size, 1e-30)[:, None]
    height = np.einsum("nmj,mj->nm", points[:, None] - corners[0], out)
    dropped: Array = points[:, None] - height[:, :, None] * out
    return dropped


def _over(points: Array, corners: list[Array]) -> npt.NDArray[np.bool_]:
    """(n, m): does the plumb line from a point meet the triangle within its edges? Never one without area."""
    across, size = _across(corners)
    over = np.repeat((size > 1e-9)[None], len(points), axis=0)
    for start, end in ((0, 1), (1, 2), (2, 0)):
        side = np.cross(across, corners[end] - corners[start])
        over &= np.einsum("nmj,mj->nm", points[:, None] - corners[start], side) >= 0.0
    return over
