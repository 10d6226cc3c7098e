"""Gaps for pictures: of a part over a grid of positions, and of every vertex over the cycle.

Both are measured, never less than the truth by more than the path's fit; `cycle` is what certifies.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np

from clearance.geom.field import least_over_path
from clearance.geom.places import each_once
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import seen_by
from clearance.pose import Array
from clearance.steady import steady
from clearance.well.blocks import in_blocks
from clearance.well.part import Part

MEASURED_MM = 1.0
"""How far above the truth what is measured on a grid of settings may be, for what is left out by it."""


@steady
def over_vertices(
    mockup: MockUp,
    part: Part,
    *,
    edge_mm: float | None = None,
    nearer_than_mm: float = np.inf,
    progress: Callable[[int, int], None] | None = None,
) -> tuple[Array, np.ndarray, Array]:
    """The part's vertices (v, 3) where they rest, its faces (t, 3), and each vertex's least gap (v,) over the cycle.

    Corners at the same place become one vertex. With `edge_mm`, large triangles are cut first until no side is longer,
    so that a wall of two triangles can show where it is close. Triangles none of whose places have a gap less than
    `nearer_than_mm` may be left out.
    """
    part = part if edge_mm is None else _near_alone(mockup, part, edge_mm, nearer_than_mm)
    triangles = part.triangles_mm
    share = None if part.far_end is None else part.far_end.share
    if edge_mm is not None:
        triangles, share = _cut(triangles, share, edge_mm)
    corners = triangles.reshape(-1, 3)
    tags = corners if share is None else np.column_stack([corners, share.reshape(-1)])
    first, inverse = each_once(tags)
    vertices = corners[first]
    seen = seen_by(mockup, part)
    least = least_over_path(
        vertices,
        seen.path,
        mockup.solid,
        share=None if share is None else share.reshape(-1)[first],
        limits=seen.limits,
        progress=progress,
    )
    return vertices, inverse.reshape(-1, 3), least - part.skin_mm - mockup.off_mm(part.rides_on)


def _near_alone(mockup: MockUp, part: Part, edge_mm: float, nearer_than_mm: float) -> Part:
    """The part less triangles that are too far away at every position, cut as far as it takes to tell.

    Over the cycle the gap of two places of one part differs by no more than they are apart.
    """
    if not np.isfinite(nearer_than_mm) or part.far_end is not None:
        return part
    for coarse_mm in (64.0 * edge_mm, 16.0 * edge_mm, 4.0 * edge_mm, 2.0 * edge_mm):
        triangles, _ = _cut(part.triangles_mm, None, coarse_mm)
        part = replace(part, triangles_mm=triangles)
        vertices, faces, gap = over_vertices(mockup, part)
        least = np.empty(len(faces))
        for some in in_blocks(len(faces)):
            corners = vertices[faces[some]]
            sides = np.linalg.norm(np.roll(corners, -1, axis=1) - corners, axis=2)
            # from a corner, the furthest place of a triangle is one of the two others
            least[some] = (gap[faces[some]] - np.maximum(sides, np.roll(sides, 1, axis=1))).max(axis=1)
        kept = least < nearer_than_mm + MEASURED_MM
        if not kept.any():
            kept[np.argmin(least)] = True
        part = replace(part, triangles_mm=vertices[faces[kept]])
    return part


def _cut(triangles: Array, share: Array | None, edge_mm: float) -> tuple[Array, Array | None]:
    """Triangles bisected across their longest side until none is longer than `edge_mm`, or a million stand."""
    weights = np.zeros(triangles.shape[:2]) if share is None else share
    done: list[tuple[Array, Array]] = []
    count = len(triangles)
    while len(triangles):
        sides = np.linalg.norm(np.roll(triangles, -1, axis=1) - triangles, axis=2)
        longest = np.argmax(sides, axis=1)
        rows = np.arange(len(triangles))
        long = sides[rows, longest] > edge_mm
        if count > 1_000_000:
            long[:] = False
        done.append((triangles[~long], weights[~long]))
        triangles, weights, longest = triangles[long], weights[long], longest[long]
        count += len(triangles)
        rows = np.arange(len(triangles))
        a, b, c = longest, (longest + 1) % 3, (longest + 2) % 3
        middle, weight = (triangles[rows, a] + triangles[rows, b]) / 2, (weights[rows, a] + weights[rows, b]) / 2
        pa, pb, pc = triangles[rows, a], triangles[rows, b], triangles[rows, c]
        wa, wb, wc = weights[rows, a], weights[rows, b], weights[rows, c]
        triangles = np.concatenate([np.stack([pa, middle, pc], axis=1), np.stack([middle, pb, pc], axis=1)])
        weights = np.concatenate([np.stack([wa, weight, wc], axis=1), np.stack([weight, wb, wc], axis=1)])
    cut = np.concatenate([t for t, _ in done])
    return cut, None if share is None else np.concatenate([w for _, w in done])
