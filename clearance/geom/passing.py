"""Triangles that a solid of revolution passes: what every part of a search asks about."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.geom.boxes import Boxes
from clearance.geom.limit import Limit, kept_within
from clearance.geom.path import Path
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid
from clearance.geom.tree import Tree

Ints = np.ndarray


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Passing:
    """Triangles, the solid, and the path along which it passes them."""

    triangles: Array
    """(n, 3, 3), mm."""
    share: Array | None
    """(n, 3) of the path's far move that each corner makes; None where all of them stand."""
    path: Path
    solid: Solid
    limits: tuple[Limit, ...]
    """What they cut off the box of settings."""
    tree: Tree
    """Of the triangles."""

    def within(self, settings: Array) -> Array:
        """Settings (m, k), moved into the box and the limits."""
        return kept_within(settings, self.path.box, self.limits)

    def distance_mm(self, points: Array, share: Array, settings: Array) -> Array:
        """(m,) exact signed distance of points (m, 3) that make a share (m,) of the far move, at settings (m, k)."""
        centre, axis = self.path.at(settings)
        place = points if self.share is None else points + share[:, None] * self.path.far_at(settings)
        offset = place - centre
        along = np.einsum("ij,ij->i", offset, axis)
        radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
        return self.solid.chain.distance(along, radial)

    def shares_of(self, triangle: Ints) -> Array:
        """(m, 3) share of the far move that each corner of triangles (m,) makes."""
        return np.zeros((len(triangle), 3)) if self.share is None else self.share[triangle]

    def first_share_of(self, triangle: Ints) -> Array:
        """(m,) the same of their first corner alone."""
        return np.zeros(len(triangle)) if self.share is None else self.share[triangle, 0]

    def whole(self, middle: Array, half: Array, group: np.ndarray | None = None) -> Boxes:
        """All of the triangles, for each of some settings (m, k) with their half ranges; each a group of its own, or
        of `group` (m,).
        """
        count = len(middle)
        weights = np.zeros(2) if self.share is None else np.array([self.share.min(), self.share.max()])
        return Boxes(
            node=np.zeros(count, dtype=np.intp),
            corners=np.zeros((0, 3, 3)),
            weights=np.repeat(weights[None], count, axis=0),
            middle=middle,
            half=half,
            group=np.arange(count) if group is None else group,
        )
