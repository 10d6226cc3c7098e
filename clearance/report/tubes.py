"""The surface of a part that can be looked at: sheets as they are, bars as round tubes, both where they stand.

A bar is kept as its centre line with a skin of its radius, which has no area to draw; here it gets a tube of eight
sides.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from clearance.mockup.paths import far_move, posed, shares_of
from clearance.pose import Array
from clearance.suspension.position import Suspension
from clearance.well.blocks import in_blocks
from clearance.well.part import Part

SIDES = 8
_NO_AREA_MM2 = 1e-6


def seen_triangles(part: Part, suspension: Suspension, position: Array) -> Array:
    """The part's surface as triangles (n, 3, 3) in corner axes at one position (3,)."""
    corners = part.triangles_mm
    moved = carried(corners.reshape(-1, 3), part, suspension, position).reshape(corners.shape)
    if part.skin_mm <= 0 or not is_line(corners):
        return moved
    return tube(moved[:, 0], moved[:, 1], part.skin_mm)


def seen_in_blocks(part: Part, suspension: Suspension, position: Array) -> Iterator[Array]:
    """The same a block at a time."""
    if part.skin_mm > 0 and is_line(part.triangles_mm):
        yield seen_triangles(part, suspension, position)
        return
    for some in in_blocks(len(part.triangles_mm)):
        corners = part.triangles_mm[some]
        yield carried(corners.reshape(-1, 3), part, suspension, position).reshape(corners.shape)


def carried(points_mm: Array, part: Part, suspension: Suspension, position: Array) -> Array:
    """Points (n, 3) of a part at ride height, where it has gone at one position (3,)."""
    row = np.asarray(position, dtype=float)[None, :]
    if part.far_end is not None:
        points_mm = points_mm + shares_of(part, points_mm)[:, None] * far_move(suspension, part, row)
    here: Array = posed(suspension, row, part.rides_on).carry(points_mm[:, None, :])[:, 0]
    return here


def is_line(triangles_mm: Array) -> bool:
    """Whether these triangles (n, 3, 3) are a centre line: none has an area."""
    twice = np.cross(triangles_mm[:, 1] - triangles_mm[:, 0], triangles_mm[:, 2] - triangles_mm[:, 0])
    return bool(np.all(np.linalg.norm(twice, axis=1) < _NO_AREA_MM2))


def tube(starts_mm: Array, ends_mm: Array, radius_mm: float) -> Array:
    """Triangles (n, 3, 3) of round tubes about segments (m, 3) to (m, 3)."""
    along = ends_mm - starts_mm
    length = np.linalg.norm(along, axis=1, keepdims=True)
    along = along[length[:, 0] > 1e-9] / length[length[:, 0] > 1e-9]
    starts, ends = starts_mm[length[:, 0] > 1e-9], ends_mm[length[:, 0] > 1e-9]
    least = np.eye(3)[np.argmin(np.abs(along), axis=1)]
    one = np.cross(along, least)
    one /= np.linalg.norm(one, axis=1, keepdims=True)
    other = np.cross(along, one)
    angle = np.arange(SIDES + 1) * (2 * np.pi / SIDES)
    ring = radius_mm * (np.cos(angle)[:, None, None] * one + np.sin(angle)[:, None, None] * other)
    low, high = starts + ring, ends + ring
    one_half = np.stack([low[:-1], low[1:], high[1:]], axis=2)
    other_half = np.stack([low[:-1], high[1:], high[:-1]], axis=2)
    triangles: Array = np.concatenate([one_half.reshape(-1, 3, 3), other_half.reshape(-1, 3, 3)])
    return triangles
