"""The path of the wheel as the parts see it.

A part that rides on the body sees the hub move; one that rides on the axle sees it only steer; one that rides on the
knuckle sees it stand still. So the wheel's centre and axis are taken into the axes of what the part rides on, once, and
fitted.

* setting - the numbers of a position that really vary, then play ahead and outboard where there is any
* play    - the wheel is pushed as a whole, along the body's axes, and what rides on axle or knuckle goes along. A link
            hangs between the two and may go along with any part of it: least is lost where it takes none, for what it
            takes only shortens the push that it sees, and every shorter push is among the settings too
* proven  - how far the fitted path may be from the suspension is bounded for every setting, by polynomials that keep
            the suspension's own rods and hinges (`suspension.enclosed`); where that cannot be shown, it is checked only
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from clearance.geom.limit import Limit
from clearance.geom.model import Grid, Model, Unproven
from clearance.geom.path import OUT, Path, Slide, fit, sizes_mm
from clearance.mockup.mockup import MockUp
from clearance.pose import Array, Pose, read_only, still
from clearance.suspension.enclosed import At, enclosed
from clearance.suspension.position import AXLE, BODY, HUB, KNUCKLE, Cycle, Position, Suspension
from clearance.well.part import Part

STILL_MM = 1e-3
"""A wheel that moves less than this, as a part sees it, stands still: no gap is shown to more digits."""
FIT_MM = 1e-5
"""How closely the fitted path follows the suspension, where it can; what is missed is carried into the answer."""
_BOUND_MM = 1e-4
"""A bound of that larger than this is looked for again, over halves of the cycle."""
_WORTH_MM = 0.01
"""A bound larger than this is none: it would cost the answer a fifth of its tolerance."""
_HALVINGS = 6
_MORE_DEGREES = 6
"""How much higher than the path's own powers the polynomials go that bound it."""
_REACH_STEP_MM = 64.0
_LEAST_DEGREE, _MOST_DEGREE = 10, 24


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Seen:
    """The wheel's path as seen from one frame, and how its settings are positions."""

    path: Path
    moving: tuple[int, ...]
    """Which of bump, other bump and steer vary, in the order of a setting's numbers."""
    rest: Array
    """(3,): the value of those that do not."""
    limits: tuple[Limit, ...]

    @property
    def has_play(self) -> bool:
        """Are the last two numbers of a setting play, ahead and outboard?"""
        return self.path.slide is not None

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
        if not self.has_play:
            return (0.0, 0.0)
        return (float(setting[-2]), float(setting[-1]))

    def settings(self, positions: Array) -> Array:
        """Settings (n, k), without play, of rows (n, 3); numbers that do not vary are ignored."""
        chosen = np.asarray(positions, dtype=float)[:, list(self.moving)]
        if self.has_play:
            chosen = np.column_stack([chosen, np.zeros((len(chosen), 2))])
        return chosen


# every suspension is a value that can be hashed, which its protocol does not say: hence the remarks to mypy


def posed(suspension: Suspension, rows: Array, frame: str) -> Pose:
    """Where `frame` has gone at positions (n, 3); at a single one it is remembered, since many look at the same."""
    if len(rows) != 1:
        return suspension.pose(rows, frame)
    return _posed(suspension, tuple(float(value) for value in rows[0]), frame)


@lru_cache(maxsize=256)
def _posed(suspension: Suspension, row: tuple[float, ...], frame: str) -> Pose:
    pose = suspension.pose(np.array([row]), frame)
    return Pose(origin_mm=read_only(pose.origin_mm), turn=read_only(pose.turn))


def seen_by(mockup: MockUp, part: Part, *, reach_mm: float = 0.0) -> Seen:
    """The path of the mock-up's wheel as one of its parts sees it, over the whole cycle.

    It is bounded for a wheel of this reach at least, where another than the mock-up's own will be asked about.
    """
    frame, point = _far_end(part)
    return _seen(mockup.suspension, part.rides_on, frame, point, max(fitted_reach_mm(mockup), _up(reach_mm)))


def seen_at(mockup: MockUp, part: Part, position: Position) -> Seen:
    """The same where nothing moves: the wheel stands at one position, with no play taken up."""
    frame, point = _far_end(part)
    rows = position.row()[None]
    truth = relative(mockup.suspension, part.rides_on, frame, point, rows)
    path = fit(lambda _: truth, np.zeros((0, 2)), reach_mm=mockup.solid.reach_mm).bounded(0.0)
    return Seen(path=path, moving=(), rest=read_only(rows[0]), limits=())


def stands_still(mockup: MockUp, part: Part) -> bool:
    """Does the corner move, and the wheel never move as this part sees it, so that their gap is one all the time?

    So it is for what rides on the knuckle, and for what rides on an axle that does not steer.
    """
    seen = seen_by(mockup, part)
    path = seen.path
    if not path.moves or seen.has_play:
        return False
    # no Chebyshev polynomial exceeds 1: the coefficients bound how far the path strays from its first
    bent = np.linalg.norm(path.coefficients[1:].reshape(-1, 3, 3), axis=2).sum(axis=0)
    return bool(bent @ (1.0, mockup.solid.reach_mm, 1.0) + path.error_mm < STILL_MM)


def hub_path(suspension: Suspension, reach_mm: float) -> Seen:
    """The path of the hub in corner axes, as a part of the body sees it, fitted for a solid of this reach."""
    return _seen(suspension, BODY, None, None, _up(reach_mm))


def fitted_reach_mm(mockup: MockUp) -> float:
    """The reach that the paths of a mock-up are fitted for: no less than its own."""
    return _up(float(mockup.solid.reach_mm))


def _up(reach_mm: float) -> float:
    """The reach that a path is fitted and bounded for: what holds at the longer one holds at the shorter.

    In coarse steps, so that a wheel that is a little larger, or stands further out, rolls along the same path.
    """
    return _REACH_STEP_MM * math.ceil(reach_mm / _REACH_STEP_MM)


def pushed(frame: str) -> float:
    """How much of the wheel's play a frame takes along: all, or none."""
    return 1.0 if frame in (AXLE, KNUCKLE, HUB) else 0.0


def relative(
    suspension: Suspension,
    rides_on: str,
    far_frame: str | None,
    far_point: tuple[float, ...] | None,
    rows: Array,
    play: Array | None = None,
) -> Array:
    """(n, 9) at positions (n, 3) and play (n, 2): the hub's centre and axis, and the move of a far end, in the axes of
    a frame."""
    push = np.zeros((len(rows), 3))
    if play is not None:
        push[:, :2] = play
    hub = posed(suspension, rows, HUB)
    frame = still(len(rows)) if rides_on == BODY else posed(suspension, rows, rides_on)
    own = pushed(rides_on) * push
    centre = frame.back(hub.origin_mm + push - own)
    axis = np.einsum("nji,nj->ni", frame.turn, hub.axis)
    far = np.zeros_like(centre)
    if far_frame is not None and far_point is not None:
        point = np.array(far_point)
        place = posed(suspension, rows, far_frame).carry(np.broadcast_to(point, centre.shape))
        far = frame.back(place + pushed(far_frame) * push - own) - point
    return np.column_stack([centre, axis, far])


def carried(
    suspension: Suspension, part: Part, point_mm: Array, share: float, position: Position, shift_mm: tuple[float, float]
) -> Array:
    """Where a point of a part is at a position with play taken up (ahead, outboard), in corner axes (3,).

    `share` is the point's own of the far end's move.
    """
    push = np.array([*shift_mm, 0.0])
    rows = position.row()[None]
    own = posed(suspension, rows, part.rides_on)
    place: Array = point_mm
    along = pushed(part.rides_on) * push
    if part.far_end is not None:
        end = posed(suspension, rows, part.far_end.frame).carry(part.far_end.point_mm[None])
        moved = end + pushed(part.far_end.frame) * push - along
        place = place + share * (own.back(moved)[0] - part.far_end.point_mm)
    result: Array = own.carry(place[None])[0] + along
    return result


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

    play = _play(cycle, rides_on, far_frame)
    slide = None if play is None else _slide(play, rides_on, far_frame)

    def truth(settings: Array) -> Array:
        rows = np.repeat(rest[None], len(settings), axis=0)
        rows[:, list(moving)] = settings
        own = relative(suspension, rides_on, far_frame, far_point, rows)
        if slide is None or not slide.turns:
            return own
        # the push is straight: by what one millimetre of it moves the wheel is a difference, exactly
        pushes = [np.repeat(push[None], len(rows), axis=0) for push in np.eye(2)]
        slid = [relative(suspension, rides_on, far_frame, far_point, rows, push) - own for push in pushes]
        return np.column_stack([own, *slid])

    path = fit(truth, box[list(moving)], slide=slide, reach_mm=reach_mm, tolerance_mm=FIT_MM)
    frames = (rides_on, far_frame, far_point)
    bound = _proven_mm(path, suspension, frames, moving, rest, reach_mm)
    path = path if bound is None else path.bounded(bound)
    return Seen(path=path, moving=moving, rest=read_only(rest), limits=_limits(cycle, moving))


def _play(cycle: Cycle, rides_on: str, far_frame: str | None) -> Array | None:
    """Play between what a part rides on and the wheel: none where all of the part goes along with it."""
    shift = cycle.shift
    box = np.array([[-shift.behind_mm, shift.ahead_mm], [-shift.inboard_mm, shift.outboard_mm]])
    goes_along = pushed(rides_on) == 1.0 and (far_frame is None or pushed(far_frame) == 1.0)
    if goes_along or not np.any(box):
        return None
    return box


def _slide(play: Array, rides_on: str, far_frame: str | None) -> Slide:
    """How play moves the wheel: along the body's axes, which turn as a link sees them."""
    by = np.zeros((2, OUT))
    by[:, :2] = (1.0 - pushed(rides_on)) * np.eye(2)
    by[:, 6:8] = (0.0 if far_frame is None else pushed(far_frame) - pushed(rides_on)) * np.eye(2)
    return Slide(ranges=play, by=by, turns=rides_on != BODY)


def _limits(cycle: Cycle, moving: tuple[int, ...]) -> tuple[Limit, ...]:
    if cycle.articulation_mm is None or not {0, 1} <= set(moving):
        return ()
    return (Limit(one=moving.index(0), other=moving.index(1), most=cycle.articulation_mm),)


# ---- how far a fitted path may be from the suspension

Frames = tuple[str, str | None, tuple[float, ...] | None]
"""What a part rides on, and of a part with a far end what that rides on and where it is."""


def _proven_mm(
    path: Path, suspension: Suspension, frames: Frames, moving: tuple[int, ...], rest: Array, reach_mm: float
) -> float | None:
    """A bound, for every setting, on how far the path is from the suspension; None where none could be found."""
    count = len(moving)
    degrees = tuple(
        max(size - 1, int(np.clip(size - 1 + _MORE_DEGREES, _LEAST_DEGREE, _MOST_DEGREE))) for size in path.sizes
    )
    most = 0.0
    open_boxes = [(path.box[:count].copy(), 0)]
    while open_boxes:
        box, depth = open_boxes.pop()
        grid = Grid(box=tuple((float(low), float(high)) for low, high in box), degrees=degrees)
        bound = _bound_mm(path, suspension, frames, _at(grid, moving, tuple(float(value) for value in rest)), reach_mm)
        if (bound is None or bound > _BOUND_MM) and depth < _HALVINGS and count:
            open_boxes += [(half, depth + 1) for half in _halves(box, path.box[:count])]
        elif bound is None or bound > _WORTH_MM:
            return None
        else:
            most = max(most, bound)
    return most


def _halves(box: Array, whole: Array) -> list[Array]:
    """Two halves of a box along the number that is least divided yet."""
    widest = int(np.argmax((box[:, 1] - box[:, 0]) / (whole[:, 1] - whole[:, 0])))
    halves = [box.copy(), box.copy()]
    halves[0][widest, 1] = halves[1][widest, 0] = box[widest].mean()
    return halves


@lru_cache(maxsize=16)
def _at(grid: Grid, moving: tuple[int, ...], rest: tuple[float, ...]) -> At:
    # kept, because what was enclosed for one frame is enclosed for all
    numbers = [grid.number(moving.index(i)) if i in moving else grid.constant(value) for i, value in enumerate(rest)]
    return At(grid=grid, bump=numbers[0], other=numbers[1], steer=numbers[2])


def _bound_mm(path: Path, suspension: Suspension, frames: Frames, at: At, reach_mm: float) -> float | None:
    """The same over one box; None where the motion cannot be enclosed there."""
    try:
        true = _enclosed(suspension, frames, at, path.slide)
    except Unproven:
        return None
    values = path.fitted_over(at.grid.axes())
    blocks = np.split(values, values.shape[-1] // 3, axis=-1)
    off = [
        (one - Model(grid=at.grid, values=fitted, rest=np.zeros(3))).most()
        for one, fitted in zip(true, blocks, strict=True)
    ]
    # the axis is brought to length one wherever it is used, which may double what it is off by
    return float(sizes_mm(np.concatenate(off), path.slide, 2.0 * reach_mm))


def _enclosed(suspension: Suspension, frames: Frames, at: At, slide: Slide | None) -> list[Model]:
    """As `relative` and, where the slide turns, by what it goes: centre, axis and far move, three models for each.

    Raises Unproven.
    """
    rides_on, far_frame, far_point = frames
    hub, frame = enclosed(suspension, at, HUB), enclosed(suspension, at, rides_on)
    still = at.grid.constant(np.zeros(3))
    far = still
    if far_frame is not None and far_point is not None:
        point = np.array(far_point)
        far = frame.back(enclosed(suspension, at, far_frame).carry(point)) - point
    models = [frame.back(hub.origin), frame.turn.transposed @ hub.turn[:, 1], far]
    if slide is None or not slide.turns:
        return models
    for number in range(2):
        way = frame.turn.transposed[:, number]
        models += [way * float(slide.by[number, number]), still, way * float(slide.by[number, 6 + number])]
    return models
