"""The path of the wheel as the parts see it.

A part that rides on the body sees the hub move; one that rides on the axle sees it only steer; one that rides on the
knuckle sees it stand still. So the wheel's centre and axis are taken into the axes of what the part rides on, once, and
fitted.

* setting - the numbers of a position that really vary, then play ahead and outboard where there is any
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from clearance.geom.limit import Limit
from clearance.geom.path import Path, fit
from clearance.mockup.mockup import MockUp
from clearance.pose import Array, read_only
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle, Position, Suspension
from clearance.well.part import Part

STILL_MM = 1e-3
"""A wheel that moves less than this, as a part sees it, stands still: no gap is shown to more digits."""
FIT_MM = 1e-5
"""How closely the fitted path follows the suspension, where it can; what is missed is carried into the answer."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The wheel's path as seen from one frame, and how its settings are positions."""

    path: Path
    moving: tuple[int, ...]
    """Which of bump, other bump and steer vary, in the order of a setting's numbers."""
    rest: Array
    """(3,): the value of those that do not."""
    limits: tuple[Limit, ...]

    def positions(self, settings: Array) -> Array:
        """Rows (n, 3) of bump, other bump and steer for settings (n, k)."""
        rows = np.repeat(self.rest[None], len(settings), axis=0)
        rows[:, list(self.moving)] = settings[:, : len(self.moving)]
        return rows

    def position(self, setting: Array) -> Position:
        """The position of one setting (k,)."""
        bump, other, steer = self.positions(setting[None])[0]
        return Position(bump_mm=float(bump), other_bump_mm=float(other), steer_deg=float(steer))

    def shift_mm(self, setting: Array) -> tuple[float, float]:
        """Play taken up at a setting (k,): ahead, outboard."""
        if not self.path.has_shift:
            return (0.0, 0.0)
        return (float(setting[-2]), float(setting[-1]))

    def settings(self, positions: Array) -> Array:
        """Settings (n, k), without play, of rows (n, 3); numbers that do not vary are ignored."""
        chosen = np.asarray(positions, dtype=float)[:, list(self.moving)]
        if self.path.has_shift:
            chosen = np.column_stack([chosen, np.zeros((len(chosen), 2))])
        return chosen


# every suspension is a value that can be hashed, which its protocol does not say: hence the two remarks to mypy


def seen_by(mockup: MockUp, part: Part) -> Seen:
    """The path of the mock-up's wheel as one of its parts sees it, over the whole cycle."""
    frame, point = _far_end(part)
    return _seen(mockup.suspension, part.rides_on, frame, point, _reach_mm(mockup))


def seen_at(mockup: MockUp, part: Part, position: Position) -> Seen:
    """The same where nothing moves: the wheel stands at one position, with no play taken up."""
    frame, point = _far_end(part)
    rows = position.row()[None]
    truth = relative(mockup.suspension, part.rides_on, frame, point, rows)
    path = fit(lambda _: truth, np.zeros((0, 2)), reach_mm=mockup.solid.reach_mm)
    return Seen(path=path, moving=(), rest=read_only(rows[0]), limits=())


def stands_still(mockup: MockUp, part: Part) -> bool:
    """Does the corner move, and the wheel never move as this part sees it, so that their gap is one all the time?

    So it is for what rides on the knuckle, and for what rides on an axle that does not steer.
    """
    path = seen_by(mockup, part).path
    if not path.moves or path.has_shift:
        return False
    # no Chebyshev polynomial exceeds 1: the coefficients bound how far the path strays from its first
    bent = np.linalg.norm(path.coefficients[1:].reshape(-1, 3, 3), axis=2).sum(axis=0)
    return bool(bent @ (1.0, mockup.solid.reach_mm, 1.0) + path.error_mm < STILL_MM)


def hub_path(suspension: Suspension, reach_mm: float) -> Seen:
    """The path of the hub in corner axes, as a part of the body sees it, fitted for a solid of this reach."""
    return _seen(suspension, BODY, None, None, round(reach_mm, 3))


def _reach_mm(mockup: MockUp) -> float:
    return round(mockup.solid.reach_mm, 3)


def relative(
    suspension: Suspension, rides_on: str, far_frame: str | None, far_point: tuple[float, ...] | None, rows: Array
) -> Array:
    """(n, 9) at positions (n, 3): the hub's centre and axis, and the move of a far end, in the axes of a frame."""
    hub = suspension.pose(rows, HUB)
    if rides_on == "body":
        centre, axis = hub.origin_mm, hub.axis
    else:
        frame = suspension.pose(rows, rides_on)
        centre = frame.back(hub.origin_mm)
        axis = np.einsum("nji,nj->ni", frame.turn, hub.axis)
    far = np.zeros_like(centre)
    if far_frame is not None and far_point is not None:
        point = np.array(far_point)
        place = suspension.pose(rows, far_frame).carry(np.broadcast_to(point, centre.shape))
        if rides_on != "body":
            place = suspension.pose(rows, rides_on).back(place)
        far = place - point
    return np.column_stack([centre, axis, far])


def far_move(suspension: Suspension, part: Part, rows: Array) -> Array:
    """(n, 3): how far a part's far end has moved at positions (n, 3), as what its near end rides on sees it.

    Zeros where it has no far end.
    """
    frame, point = _far_end(part)
    moved: Array = relative(suspension, part.rides_on, frame, point, rows)[:, 6:]
    return moved


def shares_of(part: Part, points_mm: Array) -> Array:
    """(n,): of points on or near a bar's centre line, how much of its far end's move each one makes; zeros without one.

    A part with a far end is a bar: its triangles run along the line from their first corner to their second.
    """
    if part.far_end is None:
        return np.zeros(len(points_mm))
    start, along = part.triangles_mm[:, 0], part.triangles_mm[:, 1] - part.triangles_mm[:, 0]
    offset = points_mm[:, None] - start[None]
    way = np.clip(np.einsum("nmi,mi->nm", offset, along) / np.einsum("mi,mi->m", along, along), 0.0, 1.0)
    piece = np.argmin(np.linalg.norm(offset - way[:, :, None] * along, axis=2), axis=1)
    first, second = part.far_end.share[piece, 0], part.far_end.share[piece, 1]
    shares: Array = first + way[np.arange(len(points_mm)), piece] * (second - first)
    return shares


def _far_end(part: Part) -> tuple[str | None, tuple[float, ...] | None]:
    if part.far_end is None:
        return None, None
    return part.far_end.frame, tuple(float(v) for v in part.far_end.point_mm)


@lru_cache(maxsize=64)
def _seen(
    suspension: Suspension,
    rides_on: str,
    far_frame: str | None,
    far_point: tuple[float, ...] | None,
    reach_mm: float,
) -> Seen:
    cycle = suspension.cycle
    box = cycle.box
    moving = tuple(int(i) for i in np.flatnonzero(box[:, 1] > box[:, 0]))
    rest = box[:, 0].copy()

    def truth(settings: Array) -> Array:
        rows = np.repeat(rest[None], len(settings), axis=0)
        rows[:, list(moving)] = settings
        return relative(suspension, rides_on, far_frame, far_point, rows)

    path = fit(truth, box[list(moving)], shift=_play(cycle, rides_on), reach_mm=reach_mm, tolerance_mm=FIT_MM)
    return Seen(path=path, moving=moving, rest=read_only(rest), limits=_limits(cycle, moving))


def _play(cycle: Cycle, rides_on: str) -> Array | None:
    """Play between the body and the wheel; what rides on the axle or the knuckle takes it along."""
    shift = cycle.shift
    box = np.array([[-shift.behind_mm, shift.ahead_mm], [-shift.inboard_mm, shift.outboard_mm]])
    if rides_on in (AXLE, KNUCKLE) or not np.any(box):
        return None
    return box


def _limits(cycle: Cycle, moving: tuple[int, ...]) -> tuple[Limit, ...]:
    if cycle.articulation_mm is None or not {0, 1} <= set(moving):
        return ()
    return (Limit(one=moving.index(0), other=moving.index(1), most=cycle.articulation_mm),)
