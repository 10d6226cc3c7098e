"""The outline of a part as the wheel sees it: all of the part, at every position of the cycle, in one half plane.

The tire and wheel are one solid of revolution, so a point of the well matters only by how far along the spin axis and
how far from it it is: (y, r) in hub axes. All points of a part at all settings of the path make an area of that half
plane, and the gap of any wheel is its distance to that area. Here the area is drawn once, from both sides:

* cells - small squares that hold the whole area, proven: every square that any of a finite number of boxes can reach
* edge  - real points of the part at real settings, close along the edge of it

A box is a piece of a triangle with a range of every number of the path. As seen from the hub its points move along
straight lines, but for a remainder that the bends of the path bound (see `geom.view`), and r is a convex function of
the place: it may exceed its straight part by the square of the sideways step over twice the least r. So a box reaches
no further than a polygon: the sum of the triangle and of one segment for every number, widened by what is not straight.
A box is split until what its polygon is widened by is little, or until it touches no square but those that are known
to be reached and those beside them.

Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from clearance.geom.bounds import allowed
from clearance.geom.boxes import Boxes, joined, with_room
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import Path
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid
from clearance.geom.split import split_once
from clearance.geom.tree import Tree
from clearance.geom.view import View
from clearance.pose import Array

FINE_MM = 0.2
"""A box whose polygon is widened by no more is not split further."""
CELL_MM = 0.5
"""The side of a square."""
_ROUNDS = 40
_MOST_BOXES = 60_000
"""Looked at for one part; then what is open is taken as it is, which only widens the answer."""
_AT_A_TIME = 6_000
"""Boxes looked at together: what they reach takes some kilobytes each."""
_PLACES_AT_A_TIME = 16_000
"""Each takes the whole polynomial of a path, some kilobytes."""
_ALONG_MM = 0.5
"""Real places are kept no closer to each other than about this."""
_AXIS_MM, _BY_AXIS = 120.0, 0.4
"""Within so much of the axis a box may be coarser, by this share of what is left to there: no tire is so small."""
_AWAY = 0.05
"""And by this share of its distance from every wheel."""
_NOT_BENT_MM = 8.0
"""What is bent more than this is not worth taking before it is split."""
_PIECES = 4
"""So many steps along each side of a polygon are measured."""
_ANY = Solid(profile=polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]), pieces=())
"""A view is asked for no distances here."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover:
    """What the wheel sees of one part within a window; of what lies beyond it nothing is said."""

    cells_mm: Array
    """(m, 2): the middles of the squares along the edge of those that hold the part."""
    inner_mm: Array
    """(j, 2): middles of larger squares that hold all of them, edge or not."""
    taken: Squares
    """Every square."""
    error_mm: float
    """How far the fitted path may be from the truth."""
    edge_mm: Array
    """(n, 2): real (y, r)."""
    setting: Array
    """(n, k): of the path, for each."""
    point_mm: Array
    """(n, 3): of the part, at rest."""
    share: Array
    """(n,): of the path's far move."""
    boxes: int
    """How many were looked at."""

    def takes(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in a square."""
        return self.taken.takes(places)

    @property
    def block_mm(self) -> float:
        """The side of the larger squares."""
        return CELL_MM * BLOCK


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The part of the half plane that matters: along the axis from `low_mm` to `high_mm`, out to `far_mm` from it."""

    low_mm: float
    high_mm: float
    far_mm: float
    margin_mm: float
    """How much further that is than any wheel."""

    @property
    def inner_low_mm(self) -> float:
        """Where the wheels begin."""
        return self.low_mm + self.margin_mm

    @property
    def inner_high_mm(self) -> float:
        """Where the wheels end."""
        return self.high_mm - self.margin_mm

    @property
    def inner_far_mm(self) -> float:
        """The largest wheel's radius."""
        return self.far_mm - self.margin_mm

    def misses(self, reach: Array) -> np.ndarray:
        """Which of some bounds (n, 4: least y, least r, greatest y, greatest r) lie outside."""
        outside: np.ndarray = (reach[:, 2] < self.low_mm) | (reach[:, 0] > self.high_mm) | (reach[:, 1] > self.far_mm)
        return outside


@dataclass(slots=True, kw_only=True, eq=False)
class _Images:
    """Boxes with what they reach."""

    boxes: Boxes
    start: Array
    """(n, 2 + m): the lowest corner of the straight part: y, r, and where in the box that is."""
    sides: Array
    """(n, s, 2 + m): its sides in turn, each with the step in the box that it is."""
    bent_mm: Array
    """(n,): either way."""
    out_mm: Array
    """(n,): either way along r, about the middle of what may be added to it."""
    over_mm: Array
    """(n,): how far what a limit forbids may reach."""

    def take(self, rows: np.ndarray) -> _Images:
        return _Images(
            boxes=self.boxes.take(rows),
            start=self.start[rows],
            sides=self.sides[rows],
            bent_mm=self.bent_mm[rows],
            out_mm=self.out_mm[rows],
            over_mm=self.over_mm[rows],
        )

    def rings(self) -> Array:
        """(n, s + 1, 2): the corners of what they reach."""
        return _ring(self.start[:, :2], self.sides[:, :, :2], self.bent_mm, self.out_mm)

    def straight(self) -> Array:
        """The same of their straight parts alone."""
        none = np.zeros(len(self.start))
        return _ring(self.start[:, :2], self.sides[:, :, :2], none, none)


def cover_of(
    triangles: Array,
    share: Array | None,
    path: Path,
    limits: tuple[Limit, ...],
    tree: Tree,
    window: Window,
    *,
    fine_mm: float = FINE_MM,
) -> Cover:
    """The outline of triangles (n, 3, 3) along a path, as the hub sees them."""
    passing = Passing(triangles=triangles, share=share, path=path, solid=_ANY, limits=limits, tree=tree)
    squares = Squares(window)
    kept, looked = _settled(passing, window, squares, fine_mm)
    edge, setting, point, shares = _real(kept, squares, passing)
    return Cover(
        cells_mm=squares.along_edge(),
        inner_mm=squares.blocks(),
        taken=squares,
        error_mm=path.error_mm,
        edge_mm=edge,
        setting=setting,
        point_mm=point,
        share=shares,
        boxes=looked,
    )


# ---- what a box reaches


def _images(boxes: Boxes, passing: Passing) -> _Images:
    """What boxes of one sort reach, and what of them is to be split."""
    view = View(boxes, passing.path, passing.solid, passing.tree, passing.limits)
    axis, outward = view.axis, view.outward
    aside = np.cross(axis, outward)
    lever = view.offset - view.along[:, None] * axis
    half = view.half
    along_by = (np.einsum("nki,ni->nk", view.axis_by, lever) - np.einsum("nki,ni->nk", view.drift, axis)) * half
    out_by, aside_by = (
        (-view.along[:, None] * np.einsum("nki,ni->nk", view.axis_by, way) - np.einsum("nki,ni->nk", view.drift, way))
        * half
        for way in (outward, aside)
    )
    places = np.stack([_own(view, way) for way in (axis, outward, aside)], axis=2)
    # how far sideways, and what that adds to r
    by_place = np.abs(places[:, :, 2]).max(axis=1) if view.extent is None else np.abs(places[:, :, 2]).sum(axis=1)
    out_place = np.abs(places[:, :, 1]).max(axis=1) if view.extent is None else np.abs(places[:, :, 1]).sum(axis=1)
    sideways = np.abs(aside_by).sum(axis=1) + by_place + view.remainder
    least = view.radial - np.abs(out_by).sum(axis=1) - out_place - view.remainder
    safe = least > 1.0
    bulge = np.where(safe, sideways**2 / (2.0 * np.where(safe, least, 1.0)), 2.0 * view.furthest)
    bulge = np.minimum(bulge, 2.0 * view.furthest)
    share = bulge / np.maximum(sideways, 1e-9)
    # close to the axis it is how far out a box reaches that leaves r uncertain
    slack = np.minimum(bulge / np.maximum(least, bulge / 2.0 + 1e-9), 2.0)
    boxes.score = np.column_stack(
        [
            view.remainder_by + np.abs(aside_by) * share[:, None] + np.abs(out_by) * slack[:, None],
            view.turned * view.size + by_place * share + out_place * slack,
        ]
    )
    if view.extent is not None:
        # a node is never settled, only held or opened
        boxes.score[:, -1] = np.inf
    cut, over = _cut(boxes, passing.limits)
    over = over * np.hypot(along_by, out_by)
    boxes.score[:, :-1] += over
    start, sides = _sides(view, along_by, out_by, places, cut)
    start[:, 1] += bulge / 2
    return _Images(
        boxes=boxes, start=start, sides=sides, bent_mm=view.remainder, out_mm=bulge / 2, over_mm=over.sum(axis=1)
    )


def _own(view: View, way: Array) -> Array:
    """(n, 3): how far the three corners of each triangle are along a way; of a node, each of its half sides."""
    if view.extent is not None:
        sides: Array = view.extent * way
        return sides
    assert view.corners is not None
    found: Array = np.einsum("nij,nj->ni", view.corners, way)
    return found


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Cut:
    """Two numbers of a setting whose range a limit cuts two opposite corners off."""

    one: int
    other: int
    first: Array
    """(n,): off the corner where the one is greatest and the other least."""
    last: Array
    """(n,): off the one across from it."""

    def corners(self, half: Array) -> Array:
        """(n, 6, 2): of what is left, from the middle, in turn."""
        a, b = half[:, self.one], half[:, self.other]
        corners = [(-a, -b), (a - self.first, -b), (a, self.first - b), (a, b), (self.last - a, b), (-a, b - self.last)]
        return np.stack([np.stack(corner, axis=1) for corner in corners], axis=1)


def _cut(boxes: Boxes, limits: tuple[Limit, ...]) -> tuple[_Cut | None, Array]:
    """What the first limit cuts off, and (n, k): which share of each number's range it should cut and does not."""
    over = np.zeros_like(boxes.half)
    if not limits:
        return None, over
    limit = limits[0]
    i, j = limit.one, limit.other
    apart = boxes.middle[:, i] - boxes.middle[:, j]
    both = boxes.half[:, i] + boxes.half[:, j]
    most = 2.0 * np.minimum(boxes.half[:, i], boxes.half[:, j])
    wanted = [np.maximum(side * apart + both - limit.most - 1e-9, 0.0) for side in (1.0, -1.0)]
    first, last = (np.minimum(one, most) for one in wanted)
    left = np.maximum(wanted[0] - first, wanted[1] - last)
    for number in (i, j):
        over[:, number] = np.minimum(left / np.maximum(boxes.half[:, number], 1e-9), 1.0)
    return _Cut(one=i, other=j, first=first, last=last), over


def _sides(view: View, along_by: Array, out_by: Array, places: Array, cut: _Cut | None) -> tuple[Array, Array]:
    """The lowest corner of the sum of a triangle (or a node's box) and a segment a number, and its sides in turn.

    Each carries, after y and r, where in the box it is: three shares of the corners (of a node: none) and the setting.
    """
    count, numbers = along_by.shape
    wide = 2 + 3 + numbers
    segments = np.zeros((count, numbers, wide))
    segments[:, :, 0], segments[:, :, 1] = along_by, out_by
    segments[:, np.arange(numbers), 5 + np.arange(numbers)] = view.half
    middle = np.zeros((count, wide))
    middle[:, 0], middle[:, 1], middle[:, 5:] = view.along, view.radial, view.middle
    loops = []
    if cut is not None:
        corners = _carried(cut.corners(view.half), segments[:, [cut.one, cut.other]] / _width(view.half, cut))
        loops.append(corners)
        segments = np.delete(segments, [cut.one, cut.other], axis=1)
    if view.extent is not None:
        own = np.zeros((count, 3, wide))
        own[:, :, :2] = places[:, :, :2]
        segments = np.concatenate([segments, own], axis=1)
        middle[:, 2:5] = 1.0 / 3.0
    else:
        corners = np.zeros((count, 3, wide))
        corners[:, :, :2] = places[:, :, :2]
        corners[:, np.arange(3), 2 + np.arange(3)] = 1.0
        loops.append(corners)
    around = []
    for corners in loops:
        lowest, turn = _walked(corners)
        middle = middle + lowest
        around.append(turn)
    down = (segments[:, :, 1] > 0) | ((segments[:, :, 1] == 0) & (segments[:, :, 0] > 0))
    up = np.where(down[:, :, None], segments, -segments)
    start = middle - up.sum(axis=1)
    sides = np.concatenate([*around, 2.0 * up, -2.0 * up], axis=1)
    angle = np.arctan2(sides[:, :, 1], sides[:, :, 0])
    angle = np.where(angle < 0, angle + 2 * np.pi, angle)
    order = np.argsort(angle, axis=1, kind="stable")
    return start, np.take_along_axis(sides, order[:, :, None], axis=1)


def _width(half: Array, cut: _Cut) -> Array:
    found: Array = np.maximum(half[:, [cut.one, cut.other]], 1e-300)[:, :, None]
    return found


def _carried(corners: Array, ways: Array) -> Array:
    """(n, 6, m): corners (n, 6, 2) in two numbers, by what one of each number does (n, 2, m)."""
    found: Array = np.einsum("ncj,njm->ncm", corners, ways)
    return found


def _walked(corners: Array) -> tuple[Array, Array]:
    """The lowest of the corners (n, c, m) of convex loops, of two the left one, and the sides, turning left."""
    loop = np.roll(corners, -1, axis=1) - corners
    y, r = corners[:, :, 0], corners[:, :, 1]
    area = (y * np.roll(r, -1, axis=1) - np.roll(y, -1, axis=1) * r).sum(axis=1)
    loop = np.where(area[:, None, None] < 0, -loop, loop)
    level = r <= r.min(axis=1)[:, None] + 1e-12
    lowest = np.where(level, y, np.inf).argmin(axis=1)
    return corners[np.arange(len(corners)), lowest], loop


def _ring(start: Array, sides: Array, bent: Array, out: Array) -> Array:
    """(n, s + 1, 2): the corners of the same, widened by `bent` to every side and by `out` along r."""
    count = len(start)
    square = np.zeros((count, 4, 2))
    square[:, 0, 0] = square[:, 1, 1] = bent
    square[:, 1, 1] += out
    square[:, 2], square[:, 3] = -square[:, 0], -square[:, 1]
    every = np.concatenate([sides, 2.0 * square], axis=1)
    angle = np.arctan2(every[:, :, 1], every[:, :, 0])
    angle = np.where(angle < 0, angle + 2 * np.pi, angle)
    every = np.take_along_axis(every, np.argsort(angle, axis=1, kind="stable")[:, :, None], axis=1)
    first = start - np.stack([bent, bent + out], axis=1)
    corners = np.concatenate([first[:, None], first[:, None] + np.cumsum(every, axis=1)], axis=1)
    corners[:, -1] = corners[:, 0]
    return corners


# ---- squares


class Squares:
    """Squares of the window, taken or not, a row for each step of r."""

    def __init__(self, window: Window) -> None:
        self.window, self.low = window, window.low_mm
        self.columns = int(np.ceil((window.high_mm - window.low_mm) / CELL_MM)) + 1
        self.rows = int(np.ceil(window.far_mm / CELL_MM)) + 1
        self.taken = np.zeros((self.rows, self.columns), dtype=bool)
        """Held to be reached by some box: these hold the part."""
        self.reached = np.zeros((self.rows, self.columns), dtype=bool)
        """Reached for certain, or nearly: what boxes are compared with. It steers and proves nothing."""
        self._beside = np.zeros_like(self.reached)
        self._bounds = (self.rows, -1, self.columns, -1)
        """Of what is reached: first and last row, first and last column."""
        self._edge: np.ndarray | None = None

    def runs(self, rings: Array, less_mm: Array | float = 0.0) -> _Runs:
        """The runs of squares that convex polygons (n, c, 2) touch within the window; (their ends drawn in)."""
        low_r, high_r = rings[:, :, 1].min(axis=1) + less_mm, rings[:, :, 1].max(axis=1) - less_mm
        first = np.clip(np.floor(low_r / CELL_MM).astype(np.int64), 0, self.rows)
        last = np.clip(np.floor(high_r / CELL_MM).astype(np.int64), -1, self.rows - 1)
        count = np.maximum(last - first + 1, 0)
        owner = np.repeat(np.arange(len(rings)), count)
        row = np.arange(len(owner)) - np.repeat(np.cumsum(count) - count, count) + first[owner]
        low, high = _within_strips(rings, first, last, np.cumsum(count) - count, len(owner))
        less = np.broadcast_to(less_mm, (len(rings),))[owner]
        left = np.floor((low + less - self.low) / CELL_MM)
        right = np.floor((high - less - self.low) / CELL_MM)
        seen = (right >= 0) & (left <= self.columns - 1) & (right >= left)
        left = np.clip(left[seen], 0, self.columns - 1).astype(np.int64)
        right = np.clip(right[seen], 0, self.columns - 1).astype(np.int64)
        return _Runs(owner=owner[seen], row=row[seen], left=left, right=right)

    def take(self, runs: _Runs) -> None:
        """Take the squares of runs."""
        self._mark(self.taken, runs)

    def reach(self, runs: _Runs) -> None:
        """The squares of runs are reached."""
        if len(runs.row):
            self._mark(self.reached, runs)
            self._bound(runs.row.min(), runs.row.max(), runs.left.min(), runs.right.max())

    def _bound(self, *found: int) -> None:
        (top, end, left, right), (a, b, c, d) = self._bounds, found
        self._bounds = (min(top, int(a)), max(end, int(b)), min(left, int(c)), max(right, int(d)))

    def _mark(self, squares: np.ndarray, runs: _Runs) -> None:
        if not len(runs.row):
            return
        # the rows and columns that the runs lie in, and no more: most parts lie in few of them
        top, left = runs.row.min(), runs.left.min()
        high, wide = int(runs.row.max() - top + 1), int(runs.right.max() - left + 2)
        begin = (runs.row - top) * wide - left
        steps = np.bincount(begin + runs.left, minlength=high * wide)
        steps -= np.bincount(begin + runs.right + 1, minlength=high * wide)
        covered = np.cumsum(steps.reshape(high, wide), axis=1, dtype=np.int32)[:, :-1] > 0
        squares[top : top + high, left : left + wide - 1] |= covered

    def reach_at(self, places: Array) -> None:
        """The squares of places (n, 2) are reached."""
        row, column, inside = self._of(places)
        row, column = row[inside], column[inside]
        if len(row):
            self.reached[row, column] = True
            self._bound(row.min(), row.max(), column.min(), column.max())

    def holds(self, squares: np.ndarray, places: Array) -> np.ndarray:
        """Which places (..., 2) lie in some squares, or outside of the window."""
        row, column, inside = self._of(places)
        found: np.ndarray = ~inside
        found[inside] = squares[row[inside], column[inside]]
        return found

    def beside(self) -> np.ndarray:
        """Squares that are reached, or lie beside one."""
        top, end, left, right = self._bounds
        some = (slice(max(top - 1, 0), end + 2), slice(max(left - 1, 0), right + 2))
        self._beside[some] = _wider(self.reached[some])
        return self._beside

    def takes(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in a taken square."""
        row, column, inside = self._of(places)
        found: np.ndarray = inside.copy()
        found[inside] = self.taken[row[inside], column[inside]]
        return found

    def _of(self, places: Array) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        column = np.floor((places[..., 0] - self.low) / CELL_MM).astype(np.int64)
        row = np.floor(places[..., 1] / CELL_MM).astype(np.int64)
        return row, column, (row >= 0) & (row < self.rows) & (column >= 0) & (column < self.columns)

    def held(self, runs: _Runs, count: int, beside: np.ndarray) -> np.ndarray:
        """Which of so many polygons touch no other squares than these."""
        if not len(runs.row):
            return np.ones(count, dtype=bool)
        top, left = runs.row.min(), runs.left.min()
        own = beside[top : runs.row.max() + 1, left : runs.right.max() + 1]
        sums = np.zeros((own.shape[0], own.shape[1] + 1), dtype=np.int32)
        np.cumsum(own, axis=1, out=sums[:, 1:], dtype=np.int32)
        row = runs.row - top
        full = sums[row, runs.right + 1 - left] - sums[row, runs.left - left] == runs.right - runs.left + 1
        held: np.ndarray = np.bincount(runs.owner, weights=~full, minlength=count) == 0
        return held

    def along_edge(self) -> Array:
        """(m, 2): the middles of taken squares that have one beside them that is not."""
        return self._middles(self.edge, CELL_MM)

    @property
    def edge(self) -> np.ndarray:
        """Which squares these are."""
        if self._edge is None:
            full = self.taken.copy()
            full[1:] &= self.taken[:-1]
            full[:-1] &= self.taken[1:]
            full[:, 1:] &= self.taken[:, :-1]
            full[:, :-1] &= self.taken[:, 1:]
            self._edge = np.asarray(self.taken & ~full)
        return self._edge

    def blocks(self) -> Array:
        """(j, 2): middles of blocks of squares that hold every taken one."""
        high, wide = -(-self.rows // BLOCK), -(-self.columns // BLOCK)
        padded = np.zeros((high * BLOCK, wide * BLOCK), dtype=bool)
        padded[: self.rows, : self.columns] = self.taken
        some = np.asarray(padded.reshape(high, BLOCK, wide, BLOCK).any(axis=(1, 3)))
        return self._middles(some, CELL_MM * BLOCK)

    def _middles(self, which: np.ndarray, side: float) -> Array:
        row, column = np.nonzero(which)
        return np.column_stack([self.low + (column + 0.5) * side, (row + 0.5) * side])

    def near_edge(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in or beside a square of the edge."""
        wide = _wider(_wider(_wider(self.edge)))
        row, column, inside = self._of(places)
        found: np.ndarray = inside.copy()
        found[inside] = wide[row[inside], column[inside]]
        return found


def _wider(squares: np.ndarray) -> np.ndarray:
    """These squares and the eight about each."""
    wide = squares.copy()
    wide[1:] |= squares[:-1]
    wide[:-1] |= squares[1:]
    rows = wide.copy()
    wide[:, 1:] |= rows[:, :-1]
    wide[:, :-1] |= rows[:, 1:]
    return wide


BLOCK = 10
"""So many squares make the side of a block."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Runs:
    """Runs of squares within rows: whose, which row, from which to which column."""

    owner: np.ndarray
    row: np.ndarray
    left: np.ndarray
    right: np.ndarray

    def of(self, which: np.ndarray) -> _Runs:
        """Those of some polygons alone."""
        kept = which[self.owner]
        return _Runs(owner=self.owner[kept], row=self.row[kept], left=self.left[kept], right=self.right[kept])


def _within_strips(
    rings: Array, first: np.ndarray, last: np.ndarray, begin: np.ndarray, count: int
) -> tuple[Array, Array]:
    """Least and greatest y of convex polygons (n, c, 2) within rows `first` to `last` of squares.

    Those of each polygon stand from `begin` on in what is given.
    """
    low, high = np.full(count, np.inf), np.full(count, -np.inf)
    r = rings[:, :, 1]
    least, most = np.minimum(r[:, :-1], r[:, 1:]), np.maximum(r[:, :-1], r[:, 1:])
    # a hair further, so that no side is lost between two rows
    from_row = np.maximum(np.floor(least / CELL_MM - 1e-6).astype(np.int64), first[:, None])
    to_row = np.minimum(np.floor(most / CELL_MM + 1e-6).astype(np.int64), last[:, None])
    each = np.maximum(to_row - from_row + 1, 0).ravel()
    side = np.repeat(np.arange(len(each)), each)
    row = np.arange(len(side)) - np.repeat(np.cumsum(each) - each, each) + from_row.ravel()[side]
    polygon_, corner = side // (rings.shape[1] - 1), side % (rings.shape[1] - 1)
    y0, r0 = rings[polygon_, corner, 0], r[polygon_, corner]
    rise = r[polygon_, corner + 1] - r0
    run = rings[polygon_, corner + 1, 0] - y0
    level = np.abs(rise) < 1e-9
    safe = np.where(level, 1.0, rise)
    one = np.clip(np.where(level, 0.0, (row * CELL_MM - r0) / safe), 0.0, 1.0)
    other = np.clip(np.where(level, 1.0, ((row + 1) * CELL_MM - r0) / safe), 0.0, 1.0)
    at = begin[polygon_] + row - first[polygon_]
    ya, yb = y0 + one * run, y0 + other * run
    np.minimum.at(low, at, np.minimum(ya, yb))
    np.maximum.at(high, at, np.maximum(ya, yb))
    # a little more, for what is rounded on the way
    return low - 1e-6, high + 1e-6


# ---- splitting


def _settled(passing: Passing, window: Window, squares: Squares, fine_mm: float) -> tuple[list[Boxes], int]:
    """Take every square that the part can reach; and the boxes that were as fine as asked, with how many were looked
    at.
    """
    box = passing.path.box
    numbers = passing.path.numbers
    now = [passing.whole(box.mean(axis=1)[None] if numbers else np.zeros((1, 0)), _half(box)[None])]
    settled: list[Boxes] = []
    looked = 0
    for round_ in range(_ROUNDS):
        last = round_ == _ROUNDS - 1 or looked > _MOST_BOXES
        opened: list[Boxes] = []
        ready = _ready(now, passing)
        looked += sum(len(one) for one in ready)
        for one in _some_at_a_time(ready):
            images = _within(_images(one, passing), window)
            done, left = _looked_at(images, squares, passing, fine_mm, last=last)
            settled.append(done)
            opened.append(left)
        now = _split(opened, passing)
        if not now:
            break
    return [one for one in settled if len(one) and one.node[0] < 0], looked


def _split(opened: Sequence[Boxes], passing: Passing) -> list[Boxes]:
    """Boxes split once, those of one sort together; empty where there is none."""
    parts = [part for one in opened if len(one) for part in split_once(one, passing) if len(part)]
    return joined(parts) if parts else []


def _some_at_a_time(boxes: Sequence[Boxes]) -> Iterator[Boxes]:
    for one in boxes:
        for at in range(0, len(one), _AT_A_TIME):
            yield one.take(np.arange(at, min(at + _AT_A_TIME, len(one))))


def _looked_at(
    images: _Images, squares: Squares, passing: Passing, fine_mm: float, *, last: bool
) -> tuple[Boxes, Boxes]:
    """Boxes that are settled, their squares taken, and those to be split."""
    if not len(images.boxes):
        return images.boxes, images.boxes
    fine = _fine(images, squares.window, fine_mm) | last
    rings = images.rings()
    squares.take(squares.runs(rings[fine]))
    rest = np.flatnonzero(~fine)
    if not len(rest):
        return images.boxes, images.boxes.take(rest)
    if images.boxes.node[0] < 0:
        _reach(images.take(rest), squares, passing)
    beside = squares.beside()
    corner = squares.holds(beside, rings[rest])
    # a polygon with a corner elsewhere is not held: most are told by that alone
    maybe = np.flatnonzero(corner.all(axis=1))
    held = np.zeros(len(rest), dtype=bool)
    if len(maybe):
        runs = squares.runs(rings[rest[maybe]])
        held[maybe] = squares.held(runs, len(maybe), beside)
        squares.take(runs.of(held[maybe]))
    settled = fine.copy()
    settled[rest] = held
    return images.boxes.take(np.flatnonzero(settled)), images.boxes.take(rest[~held])


def _reach(images: _Images, squares: Squares, passing: Passing) -> None:
    """Say which squares are reached, so that boxes about them are done with early."""
    corners = _corners(images)
    # a corner whose square is known to be reached, or nearly, has no more to say
    new = ~squares.holds(squares.reached, corners[:, :, :2])
    places, rows = _along_sides(images, new, 2)
    squares.reach_at(_measured(images.boxes, rows, places, passing)[0])
    # what of a straight part lies this far within it
    less = 1.5 * (images.bent_mm + images.out_mm) + 2 * CELL_MM
    straight = images.straight()
    wide = (np.ptp(straight, axis=1).min(axis=1) > 2 * less + 2 * CELL_MM) & (less < _NOT_BENT_MM)
    squares.reach(squares.runs(straight[wide], less[wide]))


def _half(box: Array) -> Array:
    half: Array = (box[:, 1] - box[:, 0]) / 2
    return half


def _ready(boxes: Sequence[Boxes], passing: Passing) -> list[Boxes]:
    numbers = passing.path.numbers
    ready = [with_room(one, numbers) if len(one.bound) != len(one) else one for one in boxes]
    return [one for one in (allowed(one, passing.limits, numbers) for one in ready) if len(one)]


def _within(images: _Images, window: Window) -> _Images:
    ring = images.rings()
    reach = np.concatenate([ring.min(axis=1), ring.max(axis=1)], axis=1)
    return images.take(np.flatnonzero(~window.misses(reach)))


def _fine(images: _Images, window: Window, fine_mm: float) -> np.ndarray:
    """Which boxes are as fine as they need be: coarser ones will do by the axis, and far from every wheel."""
    if images.boxes.node[0] >= 0:
        none: np.ndarray = np.zeros(len(images.boxes), dtype=bool)
        return none
    ring = images.rings()
    least, most = ring.min(axis=1), ring.max(axis=1)
    away = np.maximum(np.maximum(window.inner_low_mm - most[:, 0], least[:, 0] - window.inner_high_mm), 0.0)
    away = np.maximum(away, least[:, 1] - window.inner_far_mm)
    by_axis = _BY_AXIS * (_AXIS_MM - most[:, 1])
    allowed_mm = np.maximum(np.maximum(fine_mm, by_axis), _AWAY * away)
    fine: np.ndarray = images.bent_mm + 2.0 * images.out_mm + images.over_mm <= allowed_mm
    return fine


# ---- real places along the edge


def _real(kept: Sequence[Boxes], squares: Squares, passing: Passing) -> tuple[Array, Array, Array, Array]:
    """(y, r), setting, point and share of real places close to the edge of what is taken."""
    found = []
    # what boxes reach is found again: to keep it for all of them would take a gigabyte
    for one in _some_at_a_time(kept):
        places, rows = _on_sides(_images(one, passing), squares)
        if len(rows):
            found.append(_measured(one, rows, places, passing))
    if not found:
        numbers = passing.path.numbers
        return np.zeros((0, 2)), np.zeros((0, numbers)), np.zeros((0, 3)), np.zeros(0)
    edge, setting, point, share = (np.concatenate(some) for some in zip(*found, strict=True))
    near = np.flatnonzero(squares.near_edge(edge))
    chosen = near[_thinned(edge[near])]
    return edge[chosen], setting[chosen], point[chosen], share[chosen]


def _on_sides(images: _Images, squares: Squares) -> tuple[Array, np.ndarray]:
    """Places in boxes (m, 3 + k) along the sides of straight parts that lie near the edge, and the boxes' rows."""
    corners = _corners(images)
    close = squares.near_edge(corners[:, :, :2].reshape(-1, 2)).reshape(corners.shape[:2])
    return _along_sides(images, close | np.roll(close, -1, axis=1))


def _corners(images: _Images) -> Array:
    """(n, s, 2 + m): the corners of straight parts, each with where in the box it is."""
    before = np.cumsum(images.sides, axis=1)[:, :-1]
    found: Array = images.start[:, None] + np.concatenate([np.zeros_like(images.sides[:, :1]), before], axis=1)
    return found


def _along_sides(images: _Images, which: np.ndarray, pieces: int = _PIECES) -> tuple[Array, np.ndarray]:
    """Places in boxes (m, 3 + k) along some sides (n, s) of straight parts, and the boxes' rows."""
    box, side = np.nonzero(which & (np.abs(images.sides[:, :, :2]).max(axis=2) > 1e-9))
    steps = (np.arange(pieces) / pieces)[None, :, None]
    every = _corners(images)[box, side][:, None] + steps * images.sides[box, side][:, None]
    return every.reshape(-1, images.start.shape[1])[:, 2:], np.repeat(box, pieces)


def _measured(boxes: Boxes, rows: np.ndarray, places: Array, passing: Passing) -> tuple[Array, Array, Array, Array]:
    """(y, r), setting, point and share of places in these rows of boxes."""
    every = []
    for at in range(0, max(len(places), 1), _PLACES_AT_A_TIME):
        some = slice(at, at + _PLACES_AT_A_TIME)
        every.append(_measured_at(boxes.take(rows[some]), places[some], passing))
    edge, setting, point, share = (np.concatenate(some) for some in zip(*every, strict=True))
    return edge, setting, point, share


def _measured_at(boxes: Boxes, places: Array, passing: Passing) -> tuple[Array, Array, Array, Array]:
    weights = np.clip(places[:, :3], 0.0, 1.0)
    weights = weights / weights.sum(axis=1)[:, None]
    setting = passing.within(places[:, 3:]) if passing.path.numbers else places[:, 3:]
    point = np.einsum("ni,nij->nj", weights, boxes.corners)
    share = np.einsum("ni,ni->n", weights, boxes.weights)
    centre, axis = passing.path.at(setting)
    offset = point - centre
    if passing.share is not None:
        offset = offset + share[:, None] * passing.path.far_at(setting)
    along = np.einsum("ij,ij->i", offset, axis)
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
    return np.column_stack([along, radial]), setting, point, share


def _thinned(edge: Array) -> np.ndarray:
    """One of the places in each small square."""
    square = np.floor(edge / _ALONG_MM).astype(np.int64)
    order = np.lexsort((edge[:, 1], edge[:, 0], square[:, 1], square[:, 0]))
    first = np.ones(len(order), dtype=bool)
    first[1:] = (np.diff(square[order], axis=0) != 0).any(axis=1)
    chosen: np.ndarray = order[first]
    return chosen
