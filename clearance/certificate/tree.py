"""What is certified, and the tree of boxes that divides it.

* subject - triangles, how they move, what they must keep away from
* tree    - the whole subject at all settings, split again and again: settings at their middle, groups of triangles in
            two, triangles across a side. Its leaves therefore hold everything
* leaf    - settled by a plane, or by one for each outline of a cover, or lying wholly beyond a limit
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from clearance.certificate.interval import Array, Ints
from clearance.certificate.motion import Motion
from clearance.certificate.outline import Outline

GROUP, SIDE, LEAF, COVERED, BEYOND = 100, 101, 110, 111, 112
"""Steps of a tree: a group in two; a triangle across side 0, 1 or 2 (101 to 103); a leaf by one plane; a leaf by a
plane for each outline of the cover; a leaf beyond a limit. A smaller step is the number that is halved."""
_BATCH = 2_000
_MOST_DEEP = 200


class Unproven(Exception):  # noqa: N818 - the answer "no", with its reason
    """The certificate does not prove what it says."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """One thing whose least distance is certified."""

    triangles: Array
    """(n, 3, 3)"""
    share: Array
    """(n, 3): of the far move at each corner."""
    motion: Motion
    outline: Outline
    """The whole solid's."""
    cover: tuple[Outline, ...]
    """Convex outlines that hold the solid together."""
    cover_mm: float
    """By how much they may miss it."""
    skin: Array
    """(n,): how far the real surface stands off each triangle all round; it is taken off the distance."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Tree:
    """How a subject was divided, and the planes that settle its leaves."""

    order: Ints
    """(n,): the triangles in the order in which groups are cut."""
    steps: Ints
    """The tree, node before children, first child first."""
    cuts: Ints
    """Where each group is cut in two, in the order of the steps."""
    planes: Array
    """(m, 6): ny, nr, the unit vector e, and q; one for a leaf, or one for each outline of the cover."""


@dataclass(slots=True, kw_only=True, eq=False)
class Leaves:
    """Some leaves of one sort: places, settings and planes."""

    points: Array
    """(n, q, 3): corners of what holds the places."""
    shares: Array
    """(n, q)"""
    middle: Array
    """(n, k)"""
    half: Array
    """(n, k)"""
    planes: Array
    """(n, 1 or outlines of the cover, 6)"""
    skin: Array
    """(n,): the greatest of the triangles that a leaf holds."""


@dataclass(slots=True)
class _Node:
    first: int
    last: int
    corners: Array | None
    shares: Array | None
    middle: Array
    half: Array
    deep: int


def leaves_of(subject: Subject, tree: Tree) -> Iterator[Leaves]:
    """The leaves in batches. Raises Unproven for a tree that is no tree."""
    box = subject.motion.box
    pieces = len(subject.cover)
    root = _Node(0, len(tree.order), None, None, box.mean(axis=1), (box[:, 1] - box[:, 0]) / 2, 0)
    stack, cuts, planes = [root], _Taken(tree.cuts), _Taken(tree.planes)
    waiting: dict[tuple[int, int], list[tuple[_Node, Array]]] = {}
    for step in tree.steps.tolist():
        if not stack:
            raise Unproven("it goes on after its end")
        node = stack.pop()
        if node.deep > _MOST_DEEP:
            raise Unproven("it is deeper than anything sensible")
        if step not in (LEAF, COVERED):
            stack += _children(subject, tree, node, step, cuts)
            continue
        rows = planes.next(1 if step == LEAF else pieces, "a leaf has no plane")
        key = (step, 3 if node.last - node.first == 1 else 16)
        waiting.setdefault(key, []).append((node, rows))
        if len(waiting[key]) >= _BATCH:
            yield _together(subject, tree, waiting.pop(key))
    if stack:
        raise Unproven("it ends too early")
    for some in waiting.values():
        yield _together(subject, tree, some)


class _Taken:
    """Rows that are taken one after another."""

    def __init__(self, rows: np.ndarray) -> None:
        self._rows, self._at = rows, 0

    def next(self, count: int, lacking: str) -> np.ndarray:
        """The next rows. Raises Unproven where there are not so many, or none is asked for."""
        if self._at + count > len(self._rows) or not count:
            raise Unproven(lacking)
        self._at += count
        return self._rows[self._at - count : self._at]


def _children(subject: Subject, tree: Tree, node: _Node, step: int, cuts: _Taken) -> list[_Node]:
    """What a step that is no leaf makes of a node: two, or none where it lies beyond a limit."""
    if 0 <= step < len(subject.motion.box):
        return _halved(node, step)
    if step == GROUP:
        at = int(cuts.next(1, "a group is cut where it is not")[0])
        if not node.first < at < node.last:
            raise Unproven("a group is cut where it is not")
        return [_grouped(node, at, node.last), _grouped(node, node.first, at)]
    if SIDE <= step < SIDE + 3:
        return _bisected(subject, tree, node, step - SIDE)
    if step != BEYOND:
        raise Unproven(f"{step} is no step")
    if not any(_is_beyond(node, limit) for limit in subject.motion.limits):
        raise Unproven("a leaf is said to lie beyond a limit and does not")
    return []


def _halved(node: _Node, number: int) -> list[_Node]:
    half = node.half.copy()
    half[number] /= 2
    parts = []
    for side in (1.0, -1.0):
        middle = node.middle.copy()
        middle[number] += side * half[number]
        parts.append(_Node(node.first, node.last, node.corners, node.shares, middle, half, node.deep + 1))
    return parts


def _grouped(node: _Node, first: int, last: int) -> _Node:
    return _Node(first, last, None, None, node.middle, node.half, node.deep + 1)


def _own(subject: Subject, tree: Tree, node: _Node) -> tuple[Array, Array]:
    """Corners (3, 3) and shares (3,) of the triangle, or bit of one, that a node holds."""
    if node.corners is not None and node.shares is not None:
        return node.corners, node.shares
    which = int(tree.order[node.first])
    return subject.triangles[which], subject.share[which]


def _bisected(subject: Subject, tree: Tree, node: _Node, side: int) -> list[_Node]:
    if node.last - node.first != 1:
        raise Unproven("a group is bisected as if it were a triangle")
    corners, shares = _own(subject, tree, node)
    a, b = side, (side + 1) % 3
    middle, share = (corners[a] + corners[b]) / 2, (shares[a] + shares[b]) / 2
    parts = []
    for gone in (a, b):
        some, own = corners.copy(), shares.copy()
        some[gone], own[gone] = middle, share
        parts.append(_Node(node.first, node.last, some, own, node.middle, node.half, node.deep + 1))
    return parts


def _is_beyond(node: _Node, limit: tuple[int, int, float]) -> bool:
    i, j, most = limit
    apart = abs(node.middle[i] - node.middle[j])
    return bool(apart - node.half[i] - node.half[j] > most)


def _together(subject: Subject, tree: Tree, some: Sequence[tuple[_Node, Array]]) -> Leaves:
    held = [_held(subject, tree, node) for node, _ in some]
    return Leaves(
        points=np.array([points for points, _ in held]),
        shares=np.array([shares for _, shares in held]),
        middle=np.array([node.middle for node, _ in some]),
        half=np.array([node.half for node, _ in some]),
        planes=np.array([rows for _, rows in some]),
        skin=np.array([subject.skin[tree.order[node.first : node.last]].max() for node, _ in some]),
    )


def _held(subject: Subject, tree: Tree, node: _Node) -> tuple[Array, Array]:
    """Corners of what holds a node's places: a triangle's own, or those of a box round a group, at both ends of its
    shares."""
    if node.last - node.first == 1:
        return _own(subject, tree, node)
    rows = tree.order[node.first : node.last]
    corners, shares = subject.triangles[rows].reshape(-1, 3), subject.share[rows]
    ends = np.stack([corners.min(axis=0), corners.max(axis=0)])
    which = np.array([[i, j, k] for i in (0, 1) for j in (0, 1) for k in (0, 1)])
    box = ends[which, np.arange(3)]
    return np.concatenate([box, box]), np.repeat([shares.min(), shares.max()], 8)
