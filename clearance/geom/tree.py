"""A tree of boxes over triangles, refined only where somebody looks.

Triangles are sorted along a space-filling curve into cells, 32 to an axis, and the boxes of the cells are joined eight
by eight up to one box around everything. A cell that must be looked into is sorted again, 32 to an axis of its own. Of
a million triangles a search looks into a few thousand, so nothing more is built.

* handful - triangles that follow one another in a large mesh, as neighbours do in a scan: sorted as one, and opened to
            its triangles in the cells that are looked into. Of few triangles, or of many that lie in no order, each is
            sorted by itself
* slab    - two planes that the triangles of a node lie between, square to the mean of their normals. A sheet that leans
            fills little of its box, and of its slab nearly all. Found for the nodes that somebody looks at twice

Source: the curve is Morton's (G. M. Morton, A computer oriented geodetic data base, IBM, 1966).
"""

from __future__ import annotations

import numpy as np

from clearance.geom.places import numbers_once
from clearance.geom.profile import Array

Ints = np.ndarray
_LEVELS = 5
_CELLS = 1 << _LEVELS
_LEAF = 3
"""A box with no more triangles than this is not divided; its triangles are looked at one by one."""
_HANDFUL = 8
_ACROSS = 1.0
"""A handful that is more across than this share of a cell is sorted one by one."""
_SAMPLED = 1_000
_ROUNDING_MM = 1e-9
_WORTH = 0.8
"""Where fewer handfuls than this share are small enough, no triangles are sorted by the handful."""
_FEW = 1_000
"""A node of more triangles than this has no slab but its box's own top and bottom."""
_AT_ONCE = 4_096
"""Triangles worked on at once: what stays in the processor's cache."""
_SPREAD = np.array([sum(((i >> b) & 1) << (3 * b) for b in range(_LEVELS)) for i in range(_CELLS)], dtype=np.uint16)


class Tree:
    """Boxes over triangles (n, 3, 3). Node 0 holds everything.

    `middle` and `half` are (m, 3); `held` counts the triangles of a node, or its handfuls.
    """

    def __init__(self, triangles: Array) -> None:
        self.triangles = triangles
        self._low, self._high, self._begin, self._length = _sorts(triangles)
        low, high = self._low.min(axis=0), self._high.max(axis=0)
        self.middle = ((low + high) / 2)[None]
        self.half = ((high - low) / 2)[None]
        self.held = np.array([len(self._low)])
        self._by_handfuls = np.array([len(self._low) < len(triangles)])
        self._first = np.array([-1])
        self._count = np.array([0])
        self._from = np.array([0])
        self._stuck = np.array([False])
        self._order = np.arange(len(self._low))
        self._slab = np.zeros((1, 5))
        self._has_slab = np.array([False])
        self._divide(np.array([0]))

    def is_leaf(self, nodes: Ints) -> Ints:
        """Are these nodes to be looked at triangle by triangle?"""
        leaf: Ints = ~self._by_handfuls[nodes] & ((self.held[nodes] <= _LEAF) | self._stuck[nodes])
        return leaf

    def sample(self, nodes: Ints) -> Ints:
        """One triangle of each node."""
        sample: Ints = self._begin[self._order[self._from[nodes] + self.held[nodes] // 2]]
        return sample

    def children(self, nodes: Ints) -> tuple[Ints, Ints]:
        """Children of nodes that are no leaves, and for each the row of `nodes` that it belongs to."""
        unseen = _distinct(nodes[self._first[nodes] < 0])
        self._open_handfuls(unseen[self._by_handfuls[unseen]])
        if len(unseen):
            self._divide(unseen)
        return _runs(self._first[nodes], self._count[nodes])

    def triangles_of(self, nodes: Ints) -> tuple[Ints, Ints]:
        """Triangles of nodes that are leaves, and for each the row of `nodes` that it belongs to."""
        at, row = _runs(self._from[nodes], self.held[nodes])
        return self._begin[self._order[at]], row

    def slabs(self, nodes: Ints) -> tuple[Array, Array, Array]:
        """The slabs of nodes: a unit normal (n, 3), and from where to where (n,) along it, seen from the middle."""
        new = nodes[~self._has_slab[nodes]]
        if len(new):
            self._lay_slabs(numbers_once(new))
        slab = self._slab[nodes]
        return slab[:, :3], slab[:, 3], slab[:, 4]

    def _lay_slabs(self, nodes: Ints) -> None:
        """Find the slabs of nodes that have none yet."""
        self._has_slab[nodes] = True
        each = np.where(self._by_handfuls[nodes], _HANDFUL, 1)
        slab = np.zeros((len(nodes), 5))
        slab[:, 2], slab[:, 3], slab[:, 4] = 1.0, -self.half[nodes, 2], self.half[nodes, 2]
        few = np.flatnonzero(self.held[nodes] * each <= _FEW)
        if len(few):
            slab[few] = self._laid(nodes[few])
        self._slab[nodes] = slab

    def _laid(self, nodes: Ints) -> Array:
        """(n, 5): normals, lows and highs of the planes of these nodes."""
        at, row = _runs(self._from[nodes], self.held[nodes])
        handful = self._order[at]
        triangle, which = _runs(self._begin[handful], self._length[handful])
        row = row[which]
        starts = np.flatnonzero(np.diff(row, prepend=-1))
        # long rows, one for each corner and axis, are what whole-array arithmetic is quick at
        a, b, c = np.ascontiguousarray(self.triangles[triangle].reshape(-1, 9).T).reshape(3, 3, -1)
        across = _crossed(b - a, c - a)
        # whichever way round their corners run
        facing = (across * across[:, starts][:, row]).sum(axis=0)
        np.negative(across, out=across, where=facing < 0.0)
        normal = np.add.reduceat(across, starts, axis=1)
        size = np.sqrt((normal * normal).sum(axis=0))
        normal = np.where(size > 0.0, normal / np.where(size > 0.0, size, 1.0), np.array([[0.0], [0.0], [1.0]]))
        way = normal[:, row]
        one, other, third = ((corner * way).sum(axis=0) for corner in (a, b, c))
        middle = (self.middle[nodes].T * normal).sum(axis=0)
        low = np.minimum.reduceat(np.minimum(np.minimum(one, other), third), starts) - middle - _ROUNDING_MM
        high = np.maximum.reduceat(np.maximum(np.maximum(one, other), third), starts) - middle + _ROUNDING_MM
        return np.column_stack([normal.T, low, high])

    def _open_handfuls(self, nodes: Ints) -> None:
        """Give nodes of handfuls the triangles of these instead."""
        if not len(nodes):
            return
        at, row = _runs(self._from[nodes], self.held[nodes])
        handful = self._order[at]
        triangle, which = _runs(self._begin[handful], self._length[handful])
        held = np.bincount(row[which], minlength=len(nodes))
        low, high = _around(self.triangles[triangle], 1)
        self._from[nodes] = len(self._order) + np.cumsum(held) - held
        self.held[nodes], self._by_handfuls[nodes], self._stuck[nodes] = held, False, False
        self._order = np.concatenate([self._order, len(self._low) + np.arange(len(triangle))])
        self._low, self._high = np.concatenate([self._low, low]), np.concatenate([self._high, high])
        self._begin = np.concatenate([self._begin, triangle])
        self._length = np.concatenate([self._length, np.ones(len(triangle), dtype=np.intp)])

    def _divide(self, nodes: Ints) -> None:
        """Give nodes, all of handfuls or none, their children, down to cells of one part in 32 of their size."""
        at, row = _runs(self._from[nodes], self.held[nodes])
        ids = self._order[at]
        key = self._key(nodes, ids, row)
        order = np.argsort(key, kind="stable")
        key, ids = key[order].astype(np.int64), ids[order]
        self._order[at] = ids
        # the finest cells first, then eight by eight upward, until each node is reached again
        starts = np.concatenate([[0], np.flatnonzero(key[1:] != key[:-1]) + 1])
        low = np.minimum.reduceat(self._low[ids], starts, axis=0)
        high = np.maximum.reduceat(self._high[ids], starts, axis=0)
        key = key[starts]
        source = at[starts]
        held = np.diff(np.append(starts, len(ids)))
        stack = [(low, high, source, held, np.full(len(starts), -1), np.zeros(len(starts), dtype=np.intp))]
        for _ in range(_LEVELS):
            key = key >> 3
            starts = np.concatenate([[0], np.flatnonzero(key[1:] != key[:-1]) + 1])
            low, high, source, held = stack[-1][:4]
            count = np.diff(np.append(starts, len(key)))
            key = key[starts]
            stack.append(
                (
                    np.minimum.reduceat(low, starts, axis=0),
                    np.maximum.reduceat(high, starts, axis=0),
                    source[starts],
                    np.add.reduceat(held, starts),
                    starts,
                    count,
                )
            )
        self._append(nodes, stack)

    def _key(self, nodes: Ints, ids: Ints, row: Ints) -> Ints:
        """Where on the curve each of some triangles or handfuls lies, within the node of its row; the rows in order."""
        centre = (self._low[ids] + self._high[ids]) / 2
        fine = (_CELLS - 1e-6) / np.maximum(2 * self.half[nodes], 1e-9)
        corner = self.middle[nodes] - self.half[nodes]
        alone = len(nodes) == 1
        scaled = (centre - corner[0]) * fine[0] if alone else (centre - corner[row]) * fine[row]
        cell = np.clip(scaled, 0, _CELLS - 1).astype(np.uint8)
        code: Ints = _SPREAD[cell[:, 0]] | (_SPREAD[cell[:, 1]] << 1) | (_SPREAD[cell[:, 2]] << 2)
        return code if alone else (row.astype(np.int64) << (3 * _LEVELS)) | code

    def _append(self, nodes: Ints, stack: list[tuple[Array, Array, Ints, Ints, Ints, Ints]]) -> None:
        """Number the new nodes from the coarsest level down and hang them under `nodes`."""
        # triangles that share one middle never part: a cell as full as the node it came from is looked at as it is
        fullest = np.isin(stack[0][3], self.held[nodes])
        levels = stack[::-1]
        base = len(self.middle)
        offsets = []
        for level in levels[1:]:
            offsets.append(base)
            base += len(level[0])
        middle, half, held, first, count, source, stuck = [], [], [], [], [], [], []
        for depth, (low, high, begin, size, child, children) in enumerate(levels):
            below = offsets[depth] if depth < len(offsets) else -1
            firsts = np.where(children > 0, child + below, -1)
            if depth == 0:
                # the top of the stack is the nodes themselves, in order
                self._first[nodes] = firsts
                self._count[nodes] = children
                continue
            middle.append((low + high) / 2)
            half.append((high - low) / 2)
            held.append(size)
            first.append(firsts)
            count.append(children)
            source.append(begin)
            stuck.append(fullest if depth == len(levels) - 1 else np.zeros(len(low), dtype=bool))
        self.middle = np.concatenate([self.middle, *middle])
        self.half = np.concatenate([self.half, *half])
        self.held = np.concatenate([self.held, *held])
        self._first = np.concatenate([self._first, *first])
        self._count = np.concatenate([self._count, *count])
        self._from = np.concatenate([self._from, *source])
        self._stuck = np.concatenate([self._stuck, *stuck])
        # only what lies right below everything is in handfuls: they are opened before they are divided again
        like = np.full(len(self.middle) - len(self._by_handfuls), self._by_handfuls[nodes[0]])
        self._by_handfuls = np.concatenate([self._by_handfuls, like])
        self._slab = np.concatenate([self._slab, np.zeros((len(like), 5))])
        self._has_slab = np.concatenate([self._has_slab, np.zeros(len(like), dtype=bool)])


def _crossed(one: Array, other: Array) -> Array:
    """(3, n): the cross product along the first axis."""
    return np.stack([one[i - 2] * other[i - 1] - one[i - 1] * other[i - 2] for i in range(3)])


def _distinct(nodes: Ints) -> Ints:
    """Each once, in order. Numpy's own imports its masked arrays, which takes longer than most searches' trees."""
    ordered = np.sort(nodes)
    each: Ints = ordered[np.append(np.ones(len(ordered[:1]), dtype=bool), ordered[1:] != ordered[:-1])]
    return each


def _runs(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Every index of runs that start at `first` and are `count` long, and the run that each is of."""
    row = np.repeat(np.arange(len(first)), count)
    ends = np.cumsum(count)
    at = np.arange(ends[-1] if len(ends) else 0) - np.repeat(ends - count, count) + np.repeat(first, count)
    return at, row


def _sorts(triangles: Array) -> tuple[Array, Array, Ints, Ints]:
    """What is sorted: the boxes of handfuls and of single triangles (m, 3), where each begins and how many it has."""
    single = np.arange(len(triangles)), np.ones(len(triangles), dtype=np.intp)
    if not _worth_it(triangles):
        return *_around(triangles, 1), *single
    low, high = _around(triangles, _HANDFUL)
    begin = np.arange(0, len(triangles), _HANDFUL)
    length = np.minimum(_HANDFUL, len(triangles) - begin)
    small = (high - low).max(axis=1) <= _ACROSS * (high.max(axis=0) - low.min(axis=0)).max() / _CELLS
    apart, _ = _runs(begin[~small], length[~small])
    own_low, own_high = _around(triangles[apart], 1)
    return (
        np.concatenate([low[small], own_low]),
        np.concatenate([high[small], own_high]),
        np.concatenate([begin[small], apart]),
        np.concatenate([length[small], single[1][: len(apart)]]),
    )


def _worth_it(triangles: Array) -> bool:
    """Are most handfuls small? Some of them are looked at."""
    if len(triangles) < _SAMPLED * _HANDFUL:
        return False
    begin = np.linspace(0, len(triangles) - _HANDFUL, _SAMPLED).astype(np.intp)
    corners = triangles[begin[:, None] + np.arange(_HANDFUL)].reshape(len(begin), -1, 3)
    across = np.ptp(corners, axis=1).max(axis=1)
    return bool(np.mean(across <= _ACROSS * np.ptp(corners, axis=(0, 1)).max() / _CELLS) > _WORTH)


def _around(triangles: Array, size: int) -> tuple[Array, Array]:
    """Least and greatest corners (m, 3) of so many triangles each, as they follow one another."""
    count = -(-len(triangles) // size)
    low, high = np.empty((count, 3)), np.empty((count, 3))
    step = _AT_ONCE // size
    for at in range(0, count, step):
        some = triangles[at * size : (at + step) * size]
        # the last handful may be short: what it lacks is its last triangle again
        lacking = -len(some) % size
        some = np.concatenate([some, np.repeat(some[-1:], lacking, axis=0)]) if lacking else some
        # long rows, one for each corner and axis, are what whole-array arithmetic is quick at
        corners = np.ascontiguousarray(some.reshape(-1, 3 * size, 3).transpose(2, 1, 0))
        low[at : at + step], high[at : at + step] = corners.min(axis=1).T, corners.max(axis=1).T
    return low, high
