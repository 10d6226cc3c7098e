"""A tree of boxes over triangles, refined only where somebody looks.

Triangles are sorted along a space-filling curve into cells, 32 to an axis, and the boxes of the cells are joined eight
by eight up to one box around everything. A cell that must be looked into is sorted again, 32 to an axis of its own. Of
a million triangles a search looks into a few thousand, so nothing more is built.

Source: the curve is Morton's (G. M. Morton, A computer oriented geodetic data base, IBM, 1966).
"""

from __future__ import annotations

import numpy as np

from clearance.geom.profile import Array

Ints = np.ndarray
_LEVELS = 5
_LEAF = 3
"""A box with no more triangles than this is not divided; its triangles are looked at one by one."""
_SPREAD = np.array(
    [sum(((i >> b) & 1) << (3 * b) for b in range(_LEVELS)) for i in range(1 << _LEVELS)], dtype=np.uint16
)


class Tree:
    """Boxes over triangles (n, 3, 3). Node 0 holds everything.

    `middle` and `half` are (m, 3); `held` counts the triangles of a node.
    """

    def __init__(self, triangles: Array) -> None:
        self.triangles = triangles
        a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
        self._low = np.minimum(np.minimum(a, b), c)
        self._high = np.maximum(np.maximum(a, b), c)
        everything = np.arange(len(triangles))
        low, high = self._low.min(axis=0), self._high.max(axis=0)
        self.middle = ((low + high) / 2)[None]
        self.half = ((high - low) / 2)[None]
        self.held = np.array([len(triangles)])
        self._first = np.array([-1])
        self._count = np.array([0])
        self._from = np.array([0])
        self._stuck = np.array([False])
        self._order = everything
        self._divide(np.array([0]))

    def is_leaf(self, nodes: Ints) -> Ints:
        """Are these nodes to be looked at triangle by triangle?"""
        leaf: Ints = (self.held[nodes] <= _LEAF) | self._stuck[nodes]
        return leaf

    def sample(self, nodes: Ints) -> Ints:
        """One triangle of each node."""
        sample: Ints = self._order[self._from[nodes] + self.held[nodes] // 2]
        return sample

    def children(self, nodes: Ints) -> tuple[Ints, Ints]:
        """Children of nodes that are no leaves, and for each the row of `nodes` that it belongs to."""
        unseen = np.unique(nodes[self._first[nodes] < 0])
        if len(unseen):
            self._divide(unseen)
        return _runs(self._first[nodes], self._count[nodes])

    def triangles_of(self, nodes: Ints) -> tuple[Ints, Ints]:
        """Triangles of nodes, and for each the row of `nodes` that it belongs to."""
        at, row = _runs(self._from[nodes], self.held[nodes])
        return self._order[at], row

    def _divide(self, nodes: Ints) -> None:
        """Give nodes their children, down to cells of one part in 32 of their size."""
        at, row = _runs(self._from[nodes], self.held[nodes])
        ids = self._order[at] if len(nodes) > 1 or self._from[nodes[0]] or len(at) < len(self._order) else self._order
        centre = (self._low[ids] + self._high[ids]) / 2 if ids is not self._order else (self._low + self._high) / 2
        size = np.maximum(2 * self.half[nodes], 1e-9)
        corner = self.middle[nodes] - self.half[nodes]
        if len(nodes) == 1:
            scaled = (centre - corner[0]) * (((1 << _LEVELS) - 1e-6) / size[0])
        else:
            scaled = (centre - corner[row]) * (((1 << _LEVELS) - 1e-6) / size[row])
        cell = np.clip(scaled, 0, (1 << _LEVELS) - 1).astype(np.uint8)
        code = _SPREAD[cell[:, 0]] | (_SPREAD[cell[:, 1]] << 1) | (_SPREAD[cell[:, 2]] << 2)
        if len(nodes) == 1:
            order = np.argsort(code, kind="stable")
            key = code[order].astype(np.int64)
        else:
            whole = (row.astype(np.int64) << (3 * _LEVELS)) | code
            order = np.argsort(whole, kind="stable")
            key = whole[order]
        ids = ids[order]
        self._order[at] = ids
        # the finest cells first, then eight by eight upward, until each node is reached again
        starts = np.concatenate([[0], np.flatnonzero(key[1:] != key[:-1]) + 1])
        low = np.minimum.reduceat(self._low[ids], starts, axis=0)
        high = np.maximum.reduceat(self._high[ids], starts, axis=0)
        key = key[starts]
        source = at[starts]
        held = np.diff(np.append(starts, len(ids)))
        stack = [(low, high, source, held, np.full(len(starts), -1), np.zeros(len(starts), dtype=np.intp))]
        for level in range(_LEVELS - 1, -1, -1):
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
            if level == 0:
                break
        self._append(nodes, stack)

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


def _runs(first: Ints, count: Ints) -> tuple[Ints, Ints]:
    """Every index of runs that start at `first` and are `count` long, and the run that each is of."""
    row = np.repeat(np.arange(len(first)), count)
    ends = np.cumsum(count)
    at = np.arange(ends[-1] if len(ends) else 0) - np.repeat(ends - count, count) + np.repeat(first, count)
    return at, row
