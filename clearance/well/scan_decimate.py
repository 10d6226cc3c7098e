"""Fewer triangles for a scan that has too many, with a proven bound on how far the surface moved.

The simplifying itself is the quadric method of the fast-simplification library, which leaves open edges where they
are. What it returns is then measured, both ways: how far the scan reaches from the new surface, and how far the new
surface reaches from the scan.

Why the number is a bound and not a sample. The distance to one triangle is a convex function of the point, because a
triangle is a convex set; so over a piece of the other surface it is greatest at one of the piece's corners. For a piece
and any single triangle, the greatest of three corner distances is therefore an upper bound for every point of the
piece; the least of these over some near triangles is a better one. A piece whose bound is too large is cut where the
side of its nearest triangle stands (beyond that side another triangle is nearer), or in four where no side crosses it,
and each part is asked again. Stopping early, at the work limit, leaves a bound that is loose but still true.
"""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING

import numpy as np

from clearance.errors import MeshError
from clearance.pose import Array

if TYPE_CHECKING:
    from clearance.well.scan_read import Faces

ASKED = (2, 4, 4, 8, 16, 32, 64)
"""How many near spots a piece is held against, turn by turn. Most settle with two; where small triangles lie beside
large ones, the right one may be far down the list."""
CHUNK = 200_000
"""Pairs of piece and triangle measured at once: bounds the memory, not the answer."""


def decimated(vertices_mm: Array, faces: Faces, count: int) -> tuple[Array, Faces, float]:
    """About `count` triangles instead of `faces`, and how far any point of either surface is from the other, mm.

    Raises MeshError where the library is not installed or nothing is left.
    """
    if count < 4:
        raise MeshError(f"decimate to {count} triangles leaves no surface. State some thousands.", key="decimate")
    try:
        import fast_simplification
    except ImportError:
        raise MeshError(
            "decimation needs the library fast-simplification: pip install fast-simplification, or leave decimate out.",
            key="decimate",
        ) from None
    middle = vertices_mm.mean(axis=0)
    # an edge of the scan that is eaten away is the furthest move of all, and lips are edges
    points, triangles = fast_simplification.simplify(
        np.ascontiguousarray(vertices_mm - middle),
        np.ascontiguousarray(faces),
        target_count=count,
        preserve_border=True,
    )
    points = np.asarray(points, dtype=float) + middle
    triangles = np.asarray(triangles, dtype=np.int64)
    if not len(triangles):
        raise MeshError(f"nothing is left at {count:,} triangles. State more.", key="decimate")
    new, old = points[triangles], vertices_mm[faces]
    there = furthest_mm(old, new)
    return points, triangles, max(there, furthest_mm(new, old, settle_mm=there))


def furthest_mm(surface: Array, other: Array, *, settle_mm: float = 0.05, work: int = 3_000_000) -> float:
    """An upper bound for the distance from any point of `surface` (n, 3, 3) to `other` (m, 3, 3).

    Pieces are split until the bound is within a tenth and 0.01 mm of a distance that is really reached, or until
    `work` pieces have been measured. What is found to be nearer than `settle_mm` is not looked at any closer.
    """
    near = _Near(other)
    pieces, done, reached, settled = surface, 0, 0.0, 0.0
    asked = itertools.chain(ASKED, itertools.repeat(ASKED[-1]))
    while len(pieces):
        most, nearest, found = near.bounds(pieces, next(asked))
        done += len(pieces)
        reached = max(reached, found)
        open_ones = most > max(1.1 * reached + 0.01, settle_mm)
        if done + 4 * int(open_ones.sum()) > work:
            return max(settled, float(most.max()))
        settled = max(settled, float(most[~open_ones].max(initial=0.0)))
        pieces = _split(pieces[open_ones], other[nearest[open_ones]])
    return settled


def _split(pieces: Array, nearest: Array) -> Array:
    """Pieces (n, 3, 3), each cut by the side of its nearest triangle that it reaches furthest across, or in four."""
    inside = _inside_sides(pieces, nearest)
    size = np.sqrt(((pieces - np.roll(pieces, 1, axis=1)) ** 2).sum(axis=2)).max(axis=1)
    side = inside.min(axis=1).argmin(axis=1)
    across = np.take_along_axis(inside, side[:, None, None], axis=2)[:, :, 0]
    # a side that only grazes the piece would cut off next to nothing, again and again; and a piece that is far larger
    # than its nearest triangle is sooner small by quarters
    other = np.sqrt(((nearest - np.roll(nearest, 1, axis=1)) ** 2).sum(axis=2)).max(axis=1)
    cut = (across.max(axis=1) > 1e-3 * size) & (across.min(axis=1) < -1e-3 * size) & (size < 2.0 * other)
    return np.concatenate([_halved(pieces[cut], across[cut]), quartered(pieces[~cut])])


def _inside_sides(pieces: Array, triangles: Array) -> Array:
    """(n, corner, side): how far each corner of a piece stands inside the upright plane on each side of a triangle."""
    normal = np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0])
    columns = []
    for k in range(3):
        start, along = triangles[:, k], triangles[:, (k + 1) % 3] - triangles[:, k]
        inward = np.cross(normal, along)
        length = np.sqrt((inward**2).sum(axis=1))
        inward = inward / np.where(length > 0.0, length, 1.0)[:, None]
        columns.append(((pieces - start[:, None, :]) * inward[:, None, :]).sum(axis=2))
    return np.stack(columns, axis=2)


def _halved(pieces: Array, across: Array) -> Array:
    """Each piece (n, 3, 3) as the three triangles that a plane leaves of it; `across` (n, 3) is signed, both ways."""
    positive = across > 0.0
    # the corner that stands alone on its side comes first
    alone = np.where(positive.sum(axis=1) == 1, positive.argmax(axis=1), (~positive).argmax(axis=1))
    order = (alone[:, None] + np.arange(3)) % 3
    a, b, c = np.moveaxis(np.take_along_axis(pieces, order[:, :, None], axis=1), 1, 0)
    at, bt, ct = np.moveaxis(np.take_along_axis(across, order, axis=1), 1, 0)
    ab = a + (at / (at - bt))[:, None] * (b - a)
    ac = a + (at / (at - ct))[:, None] * (c - a)
    return np.concatenate([np.stack(three, axis=1) for three in ((a, ab, ac), (ab, b, c), (ab, c, ac))])


class _Near:
    """A surface, asked for the triangles near a point."""

    def __init__(self, triangles: Array) -> None:
        from scipy.spatial import cKDTree

        self._triangles = triangles
        spots, self._owner = _spread(triangles)
        self._tree = cKDTree(spots)

    def bounds(self, pieces: Array, beside: int) -> tuple[Array, Faces, float]:
        """For each piece (n, 3, 3) how far any of its points can be, and which triangle is nearest to its middle;
        and a distance that some corner certainly has. Only the triangles at `beside` spots near it are asked.
        """
        bound = np.empty(len(pieces))
        nearest = np.empty(len(pieces), dtype=np.int64)
        reached = 0.0
        chunk = max(1, CHUNK // beside)
        for start in range(0, len(pieces), chunk):
            part = pieces[start : start + chunk]
            near = min(beside, len(self._owner))
            middle = part.mean(axis=1)
            _, at = self._tree.query(middle, k=near, workers=1)
            owners = self._owner[np.asarray(at).reshape(len(part), near)]
            squares = squared_distance(part[:, None, :, :], self._triangles[owners][:, :, None])
            first = squared_distance(middle[:, None, :], self._triangles[owners]).argmin(axis=1)
            nearest[start : start + len(part)] = owners[np.arange(len(part)), first]
            bound[start : start + len(part)] = np.sqrt(squares.max(axis=-1).min(axis=-1))
            reached = max(reached, self._reached(part, squares.min(axis=1)))
        return bound, nearest, reached

    def _reached(self, part: Array, squares: Array) -> float:
        """A distance that a corner certainly has: the worst few, held against many more triangles."""
        worst = np.argsort(squares.max(axis=1))[-64:]
        corners = part[worst].reshape(-1, 3)
        near = min(64, len(self._owner))
        _, at = self._tree.query(corners, k=near, workers=1)
        owners = self._owner[np.asarray(at).reshape(len(corners), near)]
        return float(np.sqrt(squared_distance(corners[:, None, :], self._triangles[owners]).min(axis=1).max()))


def _spread(triangles: Array) -> tuple[Array, Faces]:
    """Points over a surface, and the triangle that each is on: large triangles get many."""
    owner = np.arange(len(triangles))
    area = np.sqrt((np.cross(triangles[:, 1] - triangles[:, 0], triangles[:, 2] - triangles[:, 0]) ** 2).sum(axis=1))
    fine = 2.0 * float(np.sqrt(area.sum() / 2.0 / (len(triangles) + 30_000)))
    spots, owners, pieces = [], [], triangles
    budget = 4 * len(triangles) + 100_000
    while True:
        sides = np.sqrt(((pieces - np.roll(pieces, 1, axis=1)) ** 2).sum(axis=2)).max(axis=1)
        coarse = sides > fine
        budget -= 4 * int(coarse.sum())
        if budget < 0:
            coarse[:] = False
        spots.append(pieces[~coarse].mean(axis=1))
        owners.append(owner[~coarse])
        if not coarse.any():
            return np.concatenate(spots), np.concatenate(owners)
        pieces, owner = quartered(pieces[coarse]), np.tile(owner[coarse], 4)


def quartered(triangles: Array) -> Array:
    """Each triangle (n, 3, 3) as four (4 n, 3, 3), by the middles of its sides."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]
    ab, bc, ca = (a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0
    quarters = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
    return np.concatenate([np.stack(quarter, axis=1) for quarter in quarters])


def squared_distance(points: Array, triangles: Array) -> Array:
    """The squared distance (...) from points (..., 3) to triangles (..., 3, 3), broadcast against each other.

    Inside the prism over the triangle it is the height above the plane, elsewhere the nearest of the three sides.
    """
    a, b, c = triangles[..., 0, :], triangles[..., 1, :], triangles[..., 2, :]
    normal = _cross(b - a, c - a)
    length = _dot(normal, normal)
    over = length > 0.0
    least: Array = np.full(np.broadcast_shapes(points.shape, a.shape)[:-1], np.inf)
    for start, end in ((a, b), (b, c), (c, a)):
        along, away = end - start, points - start
        over = over & (_dot(away, _cross(normal, along)) >= 0.0)
        least = np.minimum(least, _to_side(away, along))
    height = _dot(points - a, normal)
    squares: Array = np.where(over, height**2 / np.where(length > 0.0, length, 1.0), least)
    return squares


def _to_side(away: Array, along: Array) -> Array:
    """The squared distance to a segment `along`, of points seen from its start."""
    length = _dot(along, along)
    share = np.clip(_dot(away, along) / np.where(length > 0.0, length, 1.0), 0.0, 1.0)
    rest = away - share[..., None] * along
    return _dot(rest, rest)


def _dot(a: Array, b: Array) -> Array:
    # three products are quicker than a general contraction over an axis of three
    product: Array = a[..., 0] * b[..., 0] + a[..., 1] * b[..., 1] + a[..., 2] * b[..., 2]
    return product


def _cross(a: Array, b: Array) -> Array:
    x = a[..., 1] * b[..., 2] - a[..., 2] * b[..., 1]
    y = a[..., 2] * b[..., 0] - a[..., 0] * b[..., 2]
    z = a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]
    return np.stack([x, y, z], axis=-1)
