"""Trees of parts, each built once."""

from __future__ import annotations

from functools import lru_cache

from clearance.geom.tree import Tree
from clearance.well.part import Part


@lru_cache(maxsize=32)
def tree_of(part: Part) -> Tree:
    """The part's triangles in a tree, built once."""
    return Tree(part.triangles_mm)
