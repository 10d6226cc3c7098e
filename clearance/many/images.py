"""What a box of points and settings reaches in the half plane of the wheel: a convex polygon, proven to hold it.

* straight - the part of it that is linear in the place and in every number: the sum of a triangle, or of a tree node's
             box, and one segment a number
* bent, out - what is added to that for the bends of the path, and for the roundness of the circle

Lengths are millimetres.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.boxes import Boxes
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.view import View
from clearance.pose import Array


@dataclass(slots=True, kw_only=True, eq=False)
class Images:
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

    def take(self, rows: np.ndarray) -> Images:
        """Some of them."""
        return Images(
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

    def corners(self) -> Array:
        """(n, s, 2 + m): the corners of straight parts, each with where in the box it is."""
        before = np.cumsum(self.sides, axis=1)[:, :-1]
        found: Array = self.start[:, None] + np.concatenate([np.zeros_like(self.sides[:, :1]), before], axis=1)
        return found

    def along_sides(self, which: np.ndarray, pieces: int) -> tuple[Array, np.ndarray]:
        """Places in boxes (m, 3 + k) along some sides (n, s) of straight parts, and the boxes' rows."""
        box, side = np.nonzero(which & (np.abs(self.sides[:, :, :2]).max(axis=2) > 1e-9))
        steps = (np.arange(pieces) / pieces)[None, :, None]
        every = self.corners()[box, side][:, None] + steps * self.sides[box, side][:, None]
        return every.reshape(-1, self.start.shape[1])[:, 2:], np.repeat(box, pieces)


def images_of(boxes: Boxes, passing: Passing) -> Images:
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
    return Images(
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
