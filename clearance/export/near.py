"""What of an endless sheet is drawn: the neighbourhood of the wheel. Pictures only; gaps are measured on all of it.

* endless - going on without bound to a side, because the corner file gives no bound there; cut far away to be measured
* near    - within reach of the wheel over its whole cycle, plus the gap that the part must keep and a margin
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_by
from clearance.pose import Array, read_only
from clearance.well.part import Part

MARGIN = 0.25
"""Of the wheel's reach: how much further an endless sheet is drawn than anything has to do with it."""
_SIDES = {"behind": (0, 0), "ahead": (0, 1), "below": (2, 0), "above": (2, 1)}
"""Axis, and which of its ends."""


def near_the_wheel(mockup: MockUp, part: Part) -> Part:
    """The part as it is drawn: to the sides where it is endless, no further than near the wheel."""
    if not part.endless:
        return part
    box = near_box_mm(mockup, part)
    triangles = part.triangles_mm
    for side in part.endless:
        axis, end = _SIDES[side]
        kept = _cut(triangles, axis, float(box[end, axis]), keep_less=bool(end))
        # a sheet whose given edge lies past this side has nothing near the wheel, and is drawn as it is
        triangles = kept if len(kept) else triangles
    return replace(part, triangles_mm=read_only(triangles))


def near_box_mm(mockup: MockUp, part: Part) -> Array:
    """(2, 3): least and greatest corner of the box near the wheel, in the axes of what the part rides on at rest."""
    path = seen_by(mockup, part).path
    ends = [np.linspace(low, high, 5) for low, high in path.box]
    settings = np.array(np.meshgrid(*ends, indexing="ij")).reshape(len(ends), -1).T if ends else np.zeros((1, 0))
    centre, _ = path.at(settings)
    room = (1.0 + MARGIN) * mockup.solid.reach_mm + part.required_mm
    return np.stack([centre.min(axis=0) - room, centre.max(axis=0) + room])


def _cut(triangles: Array, axis: int, at_mm: float, *, keep_less: bool) -> Array:
    """What of triangles (n, 3, 3) lies on one side of a plane square to an axis."""
    beyond = (triangles[:, :, axis] - at_mm) * (1.0 if keep_less else -1.0)
    crossed = (beyond > 0).any(axis=1) & (beyond < 0).any(axis=1)
    kept = [triangles[(beyond <= 0).all(axis=1)]]
    kept += [_one_cut(triangle, side) for triangle, side in zip(triangles[crossed], beyond[crossed], strict=True)]
    return np.concatenate(kept)


def _one_cut(triangle: Array, beyond: Array) -> Array:
    """The part of a triangle (3, 3) where `beyond` (3,), linear over it, is not positive: one triangle or two."""
    ring = []
    for i in range(3):
        j = (i + 1) % 3
        if beyond[i] <= 0:
            ring.append(triangle[i])
        if (beyond[i] < 0 < beyond[j]) or (beyond[j] < 0 < beyond[i]):
            ring.append(triangle[i] + beyond[i] / (beyond[i] - beyond[j]) * (triangle[j] - triangle[i]))
    return np.array([[ring[0], ring[k], ring[k + 1]] for k in range(1, len(ring) - 1)])
