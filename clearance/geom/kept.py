"""What a search proved of triangles on a path, kept for another solid.

The signed distance F to a convex hull is the greatest of n.X - h(n) over all unit vectors n, where h(n) says how far
the hull reaches along n. A search bounds a box by one n: it finds that every place X of the box, seen from the hub,
begins no nearer than g along it, n.X >= g. That is said of the box and the path alone. For any solid, then,

    F(X)  >=  g - h(n)

with that solid's own h: another offset, another tire, another rim. So the boxes of one search settle most of another,
each by one product and no look at its places; what they leave open is bounded and split as ever. Boxes that only the
cover or a depth settled are among what is left open.

* kept   - the boxes of the last search, which together hold every place and setting, and places that were the nearest
* frontier - those boxes
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from clearance.geom.boxes import Boxes, joined
from clearance.geom.chain import Chain
from clearance.geom.profile import Array
from clearance.geom.revolve import HULL_SLACK_MM
from clearance.geom.witness import Place

MOST_BOXES = 150_000
"""More are not kept: the next question begins anew."""
_MOST_PLACES = 24
_ROUNDING_MM = 1e-9


def bound_by_plane(plane: Array, hull: Chain) -> Array:
    """(n,) lower bounds of the distance to a hull, mm, by planes (n, 3) that were found for any.

    A closed outline that is not convex reaches as far as its hull does, and stands for it.
    """
    return plane[:, 0] - hull.support(plane[:, 1], plane[:, 2]) - HULL_SLACK_MM - _ROUNDING_MM


class Kept:
    """Of one part, on one path. False as long as there is nothing to begin with."""

    def __init__(self) -> None:
        self._frontier: list[Boxes] = []
        self._found: list[Boxes] = []
        self.places: list[Place] = []
        """Where one solid or another was nearest, the last one last."""
        self.told: dict[Any, Any] = {}
        """What was worked out of the frontier and the places; forgotten when they change."""

    def __bool__(self) -> bool:
        return bool(self._frontier)

    def __len__(self) -> int:
        return sum(len(boxes) for boxes in self._frontier)

    @property
    def frontier(self) -> tuple[Boxes, ...]:
        """The boxes, to be looked at and left as they are."""
        return tuple(self._frontier)

    def taken(self) -> list[Boxes]:
        """The frontier, to begin with."""
        self._found = []
        return [replace(boxes) for boxes in self._frontier]

    def put(self, boxes: Boxes) -> None:
        """Boxes that a search is done with."""
        self._found.append(boxes)

    def close(self, place: Place) -> None:
        """A search is at its end: what it put here is the frontier, and this the nearest place."""
        self.told.clear()
        self._frontier, self._found = joined(self._found), []
        if len(self) > MOST_BOXES:
            self._frontier = []
        self.places = [*self.places[1 - _MOST_PLACES :], place]
