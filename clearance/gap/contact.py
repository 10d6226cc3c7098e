"""Where a gap is: a point in words, or the line or the arc along which it is the same.

A wheel that stands square to a flat wall is as near to it all along an arc of its sidewall, and a flat tread to a floor
all across. Which point of that a search ends at means nothing, so the whole of it is named.

* as near - within the tolerance of the gap: a place of the part, straight out from the tire by the gap's length
* arc     - places straight out from one circle of the wheel, an hour of the clock long or longer; all of them, in the
            order of the clock
* line    - places straight out from one line of the wheel across it, 30 mm long or longer: less is the crown of a tread
* ring    - an arc that is as near over 30 mm of radius or more too: a flat side of the wheel along a flat wall

It is looked for on parts of few flat faces: a scan has no flat face, and a bar none at all. The clock of an arc is read
from the wheel's own middle, where the wheel stands then. Lengths are millimetres, in corner axes.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import pushed
from clearance.mockup.words import clock_deg, clock_text, where_text
from clearance.pose import Array, turn_onto
from clearance.suspension.position import BODY, HUB, Position
from clearance.well.part import Part

MOST_FACES = 200
_STEP_DEG = 5.0
_LEAST_DEG = 30.0
_LONG_DEG = 90.0
"""Of an arc longer than this the middle is named too: which way round it goes."""
_STEP_MM = 2.0
_LEAST_MM = 30.0
_MOST_MM = 400.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Contact:
    """One witness: where the wheel and the part stand, and how far apart."""

    mockup: MockUp
    part: Part
    position: Position
    shift_mm: tuple[float, float]
    on_part_mm: Array
    """(3,), in corner axes at that position."""
    gap_mm: float
    tolerance_mm: float


def contact_text(contact: Contact) -> str:
    """The place of a gap in words: of the arc or the line where it is one, else of the point."""
    right = contact.mockup.right_hand
    point = where_text(contact.on_part_mm, right_hand=right)
    part = contact.part
    if part.skin_mm or part.far_end is not None or part.kind == "mesh" or len(part.triangles_mm) > MOST_FACES:
        return point
    faces, centre, turn = _standing(contact)
    local = turn.T @ (contact.on_part_mm - centre)
    _, foot, normal, _ = contact.mockup.solid.nearest(local[None])
    arc = _arc(contact, faces, centre, turn, foot[0], normal[0])
    if arc is not None:
        return arc
    ends = _line(contact, faces, centre, turn, foot[0], normal[0])
    return point if ends is None else _line_words(point, ends)


def _standing(contact: Contact) -> tuple[Array, Array, Array]:
    """The part's faces (n, 3, 3), the wheel's middle (3,) and the way of its hub axes (3, 3), at the position."""
    suspension, push = contact.mockup.suspension, np.array([*contact.shift_mm, 0.0])
    row = contact.position.row()[None]
    hub = suspension.pose(row, HUB)
    faces = contact.part.triangles_mm
    if contact.part.rides_on != BODY:
        pose = suspension.pose(row, contact.part.rides_on)
        corners = faces.reshape(-1, 3) @ pose.turn[0].T + pose.origin_mm[0]
        faces = corners.reshape(-1, 3, 3) + pushed(contact.part.rides_on) * push
    return faces, hub.origin_mm[0] + push, turn_onto(hub.axis[0])


def _arc(contact: Contact, faces: Array, centre: Array, turn: Array, foot: Array, normal: Array) -> str | None:
    """The arc about the wheel's axis on which the part is as near as at its witness; None where there is none."""

    def held(angles_deg: Array) -> npt.NDArray[np.bool_]:
        out = _turned(foot + contact.gap_mm * normal, angles_deg)
        return on_faces(out @ turn.T + centre, faces, contact.tolerance_mm)

    if np.hypot(foot[0], foot[2]) < 1.0 or not held(np.array([-_STEP_DEG, _STEP_DEG])).any():
        return None
    angles = np.arange(-180.0, 180.0, _STEP_DEG)
    on = held(angles)
    low, high = _run(on, len(angles) // 2)
    if (high - low) * _STEP_DEG < _LEAST_DEG:
        return None
    right, across = contact.mockup.right_hand, _across(float(contact.on_part_mm[1]))
    ring = _ring(contact, faces, centre, turn, foot, normal)
    of = f"{np.hypot(foot[0], foot[2]):.0f} mm radius" if ring is None else f"{ring[0]:.0f} to {ring[1]:.0f} mm radius"
    if on.all():
        shape = "round a circle" if ring is None else "over a ring"
        return f"all {shape} of {of} about the wheel's own middle, {across}"
    spans = [np.array([start, (start + end) / 2, end]) * _STEP_DEG + angles[0] for start, end in _runs(on)]
    arcs = [_clockwise(_turned(foot, span) @ turn.T, right_hand=right) for span in spans if np.ptp(span) >= _LEAST_DEG]
    # whichever of them the search ended at: the same words
    arcs.sort(key=lambda ends: clock_deg(*ends[0], right_hand=right) % 360.0)
    stretches = " and ".join(_from_to(ends, right_hand=right) for ends in arcs)
    return f"{'an arc' if len(arcs) == 1 else 'arcs'} of {of} about the wheel's own middle, {stretches}, {across}"


def _clockwise(places: Array, *, right_hand: bool) -> list[tuple[float, float]]:
    """Ahead and above of places (3, 3) along an arc, in the order of a clock's hand seen from outboard."""
    ends = [(float(x), float(z)) for x, _, z in places]
    # turned about y, what is above goes ahead: on a left wheel against the clock
    return ends if right_hand else ends[::-1]


def _from_to(ends: list[tuple[float, float]], *, right_hand: bool) -> str:
    start, middle, end = (clock_text(*place, right_hand=right_hand) for place in ends)
    swept = (clock_deg(*ends[2], right_hand=right_hand) - clock_deg(*ends[0], right_hand=right_hand)) % 360.0
    return f"from {start}{f' over {middle}' if swept > _LONG_DEG else ''} to {end}"


def _ring(
    contact: Contact, faces: Array, centre: Array, turn: Array, foot: Array, normal: Array
) -> tuple[float, float] | None:
    """Between which radii the part is as near as at its witness; None where that is less than `_LEAST_MM`."""
    radius = float(np.hypot(foot[0], foot[2]))
    run = _as_near_along(contact, faces, centre, turn, foot, normal, np.array([foot[0], 0.0, foot[2]]) / radius)
    return None if run is None else (max(radius + run[0], 0.0), radius + run[1])


def _line(
    contact: Contact, faces: Array, centre: Array, turn: Array, foot: Array, normal: Array
) -> tuple[float, float] | None:
    """From where to where outboard of the hub face the part is as near as at its witness, straight across the wheel;
    None where that is a point.
    """
    run = _as_near_along(contact, faces, centre, turn, foot, normal, np.array([0.0, 1.0, 0.0]))
    if run is None:
        return None
    ends = [float(contact.on_part_mm[1] + mm * turn[1, 1]) for mm in run]
    return min(ends), max(ends)


def _as_near_along(
    contact: Contact, faces: Array, centre: Array, turn: Array, foot: Array, normal: Array, way: Array
) -> tuple[float, float] | None:
    """How far to either side along a way (3,) of hub axes the part is as near as at its witness; None for less than
    `_LEAST_MM` in all.
    """
    steps = np.arange(-_MOST_MM, _MOST_MM + _STEP_MM, _STEP_MM)

    def held(along: Array) -> npt.NDArray[np.bool_]:
        out = foot + contact.gap_mm * normal + along[:, None] * way
        near = np.abs(contact.mockup.solid.distance(out) - contact.gap_mm) <= contact.tolerance_mm
        return near & on_faces(out @ turn.T + centre, faces, contact.tolerance_mm)

    if not held(np.array([-_STEP_MM, _STEP_MM])).any():
        return None
    low, high = _run(held(steps), len(steps) // 2)
    if (high - low) * _STEP_MM < _LEAST_MM:
        return None
    return low * _STEP_MM, high * _STEP_MM


def _line_words(point: str, ends: tuple[float, float]) -> str:
    """The words of a point with the whole of a line across in place of where it stands across."""
    first, last = (f"{abs(round(y))} mm {'outboard' if y > 0 else 'inboard'}" for y in ends)
    return f"{point.rsplit(', ', 1)[0]}, all along a line from {first} to {last} of the hub face"


def _across(outboard_mm: float) -> str:
    return where_text((0.0, outboard_mm, 0.0)).rsplit(", ", 1)[1]


def _turned(place: Array, angles_deg: Array) -> Array:
    """(m, 3): a place of hub axes turned about the wheel's axis, y."""
    c, s = np.cos(np.radians(angles_deg)), np.sin(np.radians(angles_deg))
    x, y, z = place
    return np.column_stack([c * x + s * z, np.full(len(c), y), c * z - s * x])


def on_faces(points: Array, faces: Array, within_mm: float) -> npt.NDArray[np.bool_]:
    """(m,): does each point (m, 3) lie on one of the faces (n, 3, 3), no further off its plane?"""
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    across = np.cross(b - a, c - a)
    size = np.linalg.norm(across, axis=1)
    flat = size > 1e-9
    a, b, c, out = a[flat], b[flat], c[flat], across[flat] / size[flat, None]
    off = np.abs(np.einsum("mnj,nj->mn", points[:, None] - a, out)) <= within_mm
    inside = np.ones_like(off)
    for start, end in ((a, b), (b, c), (c, a)):
        side = np.cross(out, end - start)
        inside &= np.einsum("mnj,nj->mn", points[:, None] - start, side) >= -within_mm * np.linalg.norm(side, axis=1)
    return np.asarray((off & inside).any(axis=1))


def _run(on: npt.NDArray[np.bool_], middle: int) -> tuple[int, int]:
    """How far the places around the middle one hold without a break: steps below it and above it. The middle one is the
    witness itself.
    """
    below = next((k for k in range(1, middle + 1) if not on[middle - k]), middle + 1) - 1
    above = next((k for k in range(1, len(on) - middle) if not on[middle + k]), len(on) - middle) - 1
    return -below, above


def _runs(on: npt.NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last of each stretch that holds, all the way round; not where all of them hold."""
    gap = int(np.argmin(on))
    edges = np.diff(np.roll(on, -gap).astype(int), append=0)
    starts, ends = np.flatnonzero(edges == 1) + 1, np.flatnonzero(edges == -1)
    return [(int(start) + gap, int(end) + gap) for start, end in zip(starts, ends, strict=True)]
