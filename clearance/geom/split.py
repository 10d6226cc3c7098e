"""How the boxes of a search are split: where most is uncertain, along a number of the path or among their points."""

from __future__ import annotations

import numpy as np

from clearance.geom.boxes import Boxes, bisected, halved, joined
from clearance.geom.passing import Passing


def split(boxes: Boxes, passing: Passing) -> list[Boxes]:
    """Every box split where most is uncertain; a few boxes are split twice over, to save rounds."""
    if not len(boxes):
        return []
    rounds = 3 if len(boxes) < 200 else 2 if len(boxes) < 1500 else 1
    current = [boxes]
    for _ in range(rounds):
        current = [part for b in current for part in split_once(b, passing) if len(part)]
    return joined(current)


def split_once(boxes: Boxes, passing: Passing) -> list[Boxes]:
    """Every box split in two, or opened, where most is uncertain."""
    which = np.argmax(boxes.score, axis=1)
    numbers = passing.path.numbers
    parts: list[Boxes] = []
    by_number = np.flatnonzero(which < numbers)
    if len(by_number):
        parts.append(halved(boxes.take(by_number), which[by_number]))
    by_place = np.flatnonzero(which == numbers)
    if len(by_place):
        placed = boxes.take(by_place)
        parts += _opened(placed, passing) if placed.node[0] >= 0 else [bisected(placed)]
    return parts


def _opened(boxes: Boxes, passing: Passing) -> list[Boxes]:
    """Nodes give way to their children, and the last of them to their triangles."""
    leaf = passing.tree.is_leaf(boxes.node)
    parts = []
    if not leaf.all():
        inner = boxes.take(np.flatnonzero(~leaf))
        child, row = passing.tree.children(inner.node)
        opened = inner.take(row)
        opened.node = child
        opened.score[:, -1] /= 4.0
        parts.append(opened)
    if leaf.any():
        last = boxes.take(np.flatnonzero(leaf))
        triangle, row = passing.tree.triangles_of(last.node)
        opened = last.take(row)
        opened.node = -1 - triangle
        opened.corners = passing.triangles[triangle]
        opened.weights = passing.shares_of(triangle)
        opened.score[:, -1] /= 4.0
        parts.append(opened)
    return parts
