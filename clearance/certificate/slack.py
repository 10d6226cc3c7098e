"""A closed surface around a swept disc, checked: that it is closed, that it goes round the disc, how far out it lies.

* inside - at one setting the middle of the disc is inside the surface: no face is ever reached, so it always is
* slack  - the distance to a convex solid is a convex function of the place, so over a triangle it is greatest at a
           corner: three distances at one setting bound all of it. Faces are cut in four until they do
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.certificate.interval import Array, Ints
from clearance.certificate.motion import Motion, motion_at
from clearance.certificate.outline import Outline
from clearance.certificate.tree import Unproven

DONE, QUARTERED = 1, 2
_ROUNDING_MM = 1e-6
"""What distances measured in double precision are given on top: a thousand times what they can lose."""
_MOST_DEEP = 20


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Slack:
    """For every face, a setting at which its corners are near the disc, or its four quarters with theirs."""

    steps: Ints
    """Face after face, a triangle before its quarters."""
    settings: Array
    """(m, k): one for each that is done, in the order of the steps."""


def refuse_open(vertices: Array, faces: Ints) -> None:
    """Raise Unproven where the faces are no closed surface, each edge run once each way."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    there = {(int(a), int(b)) for a, b in edges}
    if len(there) != len(edges) or any((b, a) not in there for a, b in there):
        raise Unproven("the surface is not closed")
    if not np.all(np.isfinite(vertices)):
        raise Unproven("the surface has a place that is no number")


def refuse_outside(vertices: Array, faces: Ints, point: Array) -> None:
    """Raise Unproven where a point is not inside a closed surface, told by the solid angle that it fills from there."""
    a, b, c = (vertices[faces[:, i]] - point for i in range(3))
    la, lb, lc = (np.linalg.norm(v, axis=1) for v in (a, b, c))
    top = np.einsum("ij,ij->i", a, np.cross(b, c))
    bottom = la * lb * lc + np.einsum("ij,ij->i", a, b) * lc
    bottom = bottom + np.einsum("ij,ij->i", b, c) * la + np.einsum("ij,ij->i", c, a) * lb
    if abs(float(np.arctan2(top, bottom).sum()) / (2 * np.pi) - 1.0) > 1e-6:
        raise Unproven("the disc is not inside the surface")


def furthest_mm(vertices: Array, faces: Ints, motion: Motion, outline: Outline, slack: Slack) -> float:
    """How far outside the disc, at some setting, the surface lies at most. Raises Unproven where steps do not fit."""
    corners = _cut_to(vertices, faces, slack)
    if len(corners) != len(slack.settings):
        raise Unproven("faces and settings do not fit together")
    _refuse_settings(slack.settings, motion)
    places = np.array(corners).reshape(-1, 3)
    furthest = distance_at_most(places, np.repeat(slack.settings, 3, axis=0), motion, outline)
    return float(furthest.max()) + motion.error_mm


def _cut_to(vertices: Array, faces: Ints, slack: Slack) -> list[Array]:
    """The corners (3, 3) of every bit that the faces are cut to."""
    stack = [(vertices[face], 0) for face in faces[::-1]]
    corners = []
    for step in slack.steps.tolist():
        if not stack:
            raise Unproven("the steps go on after the last face")
        triangle, deep = stack.pop()
        if step == DONE:
            corners.append(triangle)
        elif step == QUARTERED and deep < _MOST_DEEP:
            stack += [(part, deep + 1) for part in quarters(triangle)[::-1]]
        else:
            raise Unproven(f"{step} is no step")
    if stack:
        raise Unproven("faces and settings do not fit together")
    return corners


def _refuse_settings(settings: Array, motion: Motion) -> None:
    low, high = motion.box.T
    if np.any(settings < low - 1e-9) or np.any(settings > high + 1e-9):
        raise Unproven("a setting lies outside the cycle")
    for i, j, most in motion.limits:
        if np.any(np.abs(settings[:, i] - settings[:, j]) > most + 1e-9):
            raise Unproven("a setting lies beyond a limit")


def quarters(triangle: Array) -> Array:
    """(4, 3, 3): a triangle cut at the middles of its sides."""
    a, b, c = triangle
    ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
    return np.array([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]])


def distance_at_most(places: Array, settings: Array, motion: Motion, outline: Outline) -> Array:
    """(n,): no place is further from the solid at its setting: the nearest of all lines and arcs, and inside none."""
    value, _ = motion_at(motion, settings)
    middle = (value.low + value.high) / 2
    offset, axis = places - middle[:, :3], middle[:, 3:6]
    along = np.einsum("ij,ij->i", offset, axis)
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along**2, 0.0))
    point = np.column_stack([along, radial])
    nearest = np.full(len(places), np.inf)
    for start, end in outline.lines:
        way = end - start
        share = np.clip((point - start) @ way / (way @ way), 0.0, 1.0)
        nearest = np.minimum(nearest, np.linalg.norm(point - start - share[:, None] * way, axis=1))
    for y0, r0, y1, r1, cy, cr, turn in outline.arcs:
        ends = np.minimum(np.hypot(along - y0, radial - r0), np.hypot(along - y1, radial - r1))
        start, end = (
            np.arctan2(r - cr, y - cy) for y, r in (((y0, r0), (y1, r1)) if turn > 0 else ((y1, r1), (y0, r0)))
        )
        on = (np.arctan2(radial - cr, along - cy) - start) % (2 * np.pi) <= (end - start) % (2 * np.pi)
        own = np.abs(np.hypot(along - cy, radial - cr) - np.hypot(y0 - cy, r0 - cr))
        nearest = np.minimum(nearest, np.where(on, own, ends))
    return nearest + _ROUNDING_MM
