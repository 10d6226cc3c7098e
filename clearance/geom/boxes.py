"""Boxes of a search: sets of points together with a range of every number of a path, and how they are split."""

from __future__ import annotations

from dataclasses import dataclass, field, fields, replace

import numpy as np

from clearance.geom.profile import Array

Ints = np.ndarray


@dataclass(slots=True, kw_only=True, eq=False)
class Boxes:
    """Boxes of one sort: tree nodes (corners is None) or triangles."""

    node: Ints
    """(n,) node numbers; of (a bit of) triangle t, -1 - t."""
    corners: Array
    """(n, 3, 3) of triangles; (0, 3, 3) where they are nodes."""
    weights: Array
    """(n, 3) share of the far move at each corner; for nodes (n, 2): least and greatest."""
    middle: Array
    """(n, k) middle setting."""
    half: Array
    """(n, k) half range."""
    group: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))
    """(n,) which of several questions, asked side by side, a box belongs to."""
    bound: Array = field(default_factory=lambda: np.zeros(0))
    """(n,) proven lower bound."""
    score: Array = field(default_factory=lambda: np.zeros((0, 0)))
    """(n, k + 1) what each number, and the set of points, leaves uncertain."""
    plane: Array = field(default_factory=lambda: np.zeros((0, 3)))
    """(n, 3) the plane of the best bound by the hull: how far along its normal the box begins, seen from the hub, and
    that normal along and away from the axis. It says so of any hull: see `kept`."""
    best_setting: Array = field(default_factory=lambda: np.zeros((0, 0)))
    best_corner: Ints = field(default_factory=lambda: np.zeros(0, dtype=np.intp))

    def __len__(self) -> int:
        return len(self.middle)

    def take(self, rows: Ints) -> Boxes:
        """These boxes alone."""
        return Boxes(
            node=self.node[rows],
            corners=self.corners[rows] if len(self.corners) else self.corners,
            weights=self.weights[rows],
            middle=self.middle[rows],
            half=self.half[rows],
            group=self.group[rows],
            bound=self.bound[rows],
            score=self.score[rows],
            plane=self.plane[rows],
            best_setting=self.best_setting[rows],
            best_corner=self.best_corner[rows],
        )


def with_room(boxes: Boxes, numbers: int) -> Boxes:
    """Boxes that have no bounds yet, with room for them."""
    count = len(boxes)
    return replace(
        boxes,
        bound=np.zeros(count),
        score=np.zeros((count, numbers + 1)),
        plane=np.zeros((count, 3)),
        best_setting=np.zeros((count, numbers)),
        best_corner=np.zeros(count, dtype=np.intp),
    )


def halved(boxes: Boxes, number: Ints) -> Boxes:
    """Each box split in two along one number."""
    rows = np.arange(len(boxes))
    both = boxes.take(np.concatenate([rows, rows]))
    twice = np.concatenate([number, number])
    at = np.arange(len(both))
    step = both.half[at, twice] / 2
    both.half[at, twice] = step
    both.middle[at, twice] += np.where(at < len(boxes), -step, step)
    both.score[at, twice] /= 2.5
    return both


def bisected(boxes: Boxes) -> Boxes:
    """Each triangle split in two across its longest side."""
    corners = boxes.corners
    sides = np.roll(corners, -1, axis=1) - corners
    longest = np.argmax(np.einsum("nij,nij->ni", sides, sides), axis=1)
    rows = np.arange(len(boxes))
    a, b, c = longest, (longest + 1) % 3, (longest + 2) % 3
    middle = (corners[rows, a] + corners[rows, b]) / 2
    weight = (boxes.weights[rows, a] + boxes.weights[rows, b]) / 2
    both = boxes.take(np.concatenate([rows, rows]))
    first = np.stack([corners[rows, a], middle, corners[rows, c]], axis=1)
    second = np.stack([middle, corners[rows, b], corners[rows, c]], axis=1)
    both.corners = np.concatenate([first, second])
    w = boxes.weights
    both.weights = np.concatenate(
        [np.stack([w[rows, a], weight, w[rows, c]], axis=1), np.stack([weight, w[rows, b], w[rows, c]], axis=1)]
    )
    both.score[:, -1] /= 1.8
    return both


def with_lowest(now: list[Boxes], later: list[tuple[float, Boxes]]) -> list[Boxes]:
    """What is at hand, with the lowest of what waits where that is lower still."""
    if not later:
        return now
    lowest = min(range(len(later)), key=lambda i: later[i][0])
    if now and min(float(b.bound.min()) for b in now) <= later[lowest][0]:
        return now
    return joined([*now, later.pop(lowest)[1]])


def joined(parts: list[Boxes]) -> list[Boxes]:
    """Boxes of one sort together: nodes in one, triangles in another."""
    joined = []
    for nodes in (True, False):
        same = [p for p in parts if len(p) and (p.node[0] >= 0) == nodes]
        joined += [_end_to_end(same)] if len(same) > 1 else same
    return joined


def _end_to_end(parts: list[Boxes]) -> Boxes:
    return Boxes(**{each.name: np.concatenate([getattr(p, each.name) for p in parts]) for each in fields(Boxes)})
