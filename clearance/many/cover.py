"""The outline of a part as the wheel sees it: all of the part, at every position of the cycle, in one half plane.

The tire and wheel are one solid of revolution, so a point of the well matters only by how far along the spin axis and
how far from it it is: (y, r) in hub axes. All points of a part at all settings of the path make an area of that half
plane, and the gap of any wheel is its distance to that area. Here the area is drawn once, from both sides:

* cells - small squares that hold the whole area, proven: every square that any of a finite number of boxes can reach
* edge  - real points of the part at real settings, close along the edge of it

A box is a piece of a triangle with a range of every number of the path. As seen from the hub its points move along
straight lines, but for a remainder that the bends of the path bound (see `geom.view`), and r is a convex function of
the place: it may exceed its straight part by the square of the sideways step over twice the least r. So a box reaches
no further than a polygon: the sum of the triangle and of one segment for every number, widened by what is not straight.
A box is split until what its polygon is widened by is little, or until it touches no square but those that are known
to be reached and those beside them.

Lengths are millimetres.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from clearance.geom.bounds import allowed
from clearance.geom.boxes import Boxes, joined, with_room
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import Path
from clearance.geom.profile import polygon
from clearance.geom.revolve import Solid
from clearance.geom.split import split_once
from clearance.geom.tree import Tree
from clearance.many.images import Images, images_of
from clearance.many.squares import CELL_MM, Squares, Window
from clearance.pose import Array

FINE_MM = 0.2
"""A box whose polygon is widened by no more is not split further."""
_ROUNDS = 40
_MOST_BOXES = 60_000
"""Looked at for one part; then what is open is taken as it is, which only widens the answer."""
_AT_A_TIME = 6_000
"""Boxes looked at together: what they reach takes some kilobytes each."""
_PLACES_AT_A_TIME = 16_000
"""Each takes the whole polynomial of a path, some kilobytes."""
_ALONG_MM = 0.5
"""Real places are kept no closer to each other than about this."""
_AXIS_MM, _BY_AXIS = 120.0, 0.4
"""Within so much of the axis a box may be coarser, by this share of what is left to there: no tire is so small."""
_AWAY = 0.05
"""And by this share of its distance from every wheel."""
_NOT_BENT_MM = 8.0
"""What is bent more than this is not worth taking before it is split."""
_PIECES = 4
"""So many steps along each side of a polygon are measured."""
_ANY = Solid(profile=polygon([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)]), pieces=())
"""A view is asked for no distances here."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Cover:
    """What the wheel sees of one part within a window; of what lies beyond it nothing is said."""

    cells_mm: Array
    """(m, 2): the middles of the squares along the edge of those that hold the part."""
    inner_mm: Array
    """(j, 2): middles of larger squares that hold all of them, edge or not."""
    taken: Squares
    """Every square."""
    error_mm: float
    """How far the fitted path may be from the truth."""
    edge_mm: Array
    """(n, 2): real (y, r)."""
    setting: Array
    """(n, k): of the path, for each."""
    point_mm: Array
    """(n, 3): of the part, at rest."""
    share: Array
    """(n,): of the path's far move."""
    boxes: int
    """How many were looked at."""

    def takes(self, places: Array) -> np.ndarray:
        """Which places (n, 2) lie in a square."""
        return self.taken.takes(places)


def cover_of(
    triangles: Array,
    share: Array | None,
    path: Path,
    limits: tuple[Limit, ...],
    tree: Tree,
    window: Window,
    *,
    fine_mm: float = FINE_MM,
) -> Cover:
    """The outline of triangles (n, 3, 3) along a path, as the hub sees them."""
    passing = Passing(triangles=triangles, share=share, path=path, solid=_ANY, limits=limits, tree=tree)
    squares = Squares(window)
    kept, looked = _settled(passing, window, squares, fine_mm)
    edge, setting, point, shares = _real(kept, squares, passing)
    return Cover(
        cells_mm=squares.along_edge(),
        inner_mm=squares.blocks(),
        taken=squares,
        error_mm=path.error_mm,
        edge_mm=edge,
        setting=setting,
        point_mm=point,
        share=shares,
        boxes=looked,
    )


# ---- splitting


def _settled(passing: Passing, window: Window, squares: Squares, fine_mm: float) -> tuple[list[Boxes], int]:
    """Take every square that the part can reach; and the boxes that were as fine as asked, with how many were looked
    at.
    """
    box = passing.path.box
    numbers = passing.path.numbers
    now = [passing.whole(box.mean(axis=1)[None] if numbers else np.zeros((1, 0)), _half(box)[None])]
    settled: list[Boxes] = []
    looked = 0
    for round_ in range(_ROUNDS):
        last = round_ == _ROUNDS - 1 or looked > _MOST_BOXES
        opened: list[Boxes] = []
        ready = _ready(now, passing)
        looked += sum(len(one) for one in ready)
        for one in _some_at_a_time(ready):
            images = _within(images_of(one, passing), window)
            done, left = _looked_at(images, squares, passing, fine_mm, last=last)
            settled.append(done)
            opened.append(left)
        now = _split(opened, passing)
        if not now:
            break
    return [one for one in settled if len(one) and one.node[0] < 0], looked


def _split(opened: Sequence[Boxes], passing: Passing) -> list[Boxes]:
    """Boxes split once, those of one sort together; empty where there is none."""
    parts = [part for one in opened if len(one) for part in split_once(one, passing) if len(part)]
    return joined(parts) if parts else []


def _some_at_a_time(boxes: Sequence[Boxes]) -> Iterator[Boxes]:
    for one in boxes:
        for at in range(0, len(one), _AT_A_TIME):
            yield one.take(np.arange(at, min(at + _AT_A_TIME, len(one))))


def _looked_at(
    images: Images, squares: Squares, passing: Passing, fine_mm: float, *, last: bool
) -> tuple[Boxes, Boxes]:
    """Boxes that are settled, their squares taken, and those to be split."""
    if not len(images.boxes):
        return images.boxes, images.boxes
    fine = _fine(images, squares.window, fine_mm) | last
    rings = images.rings()
    squares.take(squares.runs(rings[fine]))
    rest = np.flatnonzero(~fine)
    if not len(rest):
        return images.boxes, images.boxes.take(rest)
    if images.boxes.node[0] < 0:
        _reach(images.take(rest), squares, passing)
    beside = squares.beside()
    corner = squares.holds(beside, rings[rest])
    # a polygon with a corner elsewhere is not held: most are told by that alone
    maybe = np.flatnonzero(corner.all(axis=1))
    held = np.zeros(len(rest), dtype=bool)
    if len(maybe):
        runs = squares.runs(rings[rest[maybe]])
        held[maybe] = squares.held(runs, len(maybe), beside)
        squares.take(runs.of(held[maybe]))
    settled = fine.copy()
    settled[rest] = held
    return images.boxes.take(np.flatnonzero(settled)), images.boxes.take(rest[~held])


def _reach(images: Images, squares: Squares, passing: Passing) -> None:
    """Say which squares are reached, so that boxes about them are done with early."""
    corners = images.corners()
    # a corner whose square is known to be reached, or nearly, has no more to say
    new = ~squares.holds(squares.reached, corners[:, :, :2])
    places, rows = images.along_sides(new, 2)
    squares.reach_at(_measured(images.boxes, rows, places, passing)[0])
    # what of a straight part lies this far within it
    less = 1.5 * (images.bent_mm + images.out_mm) + 2 * CELL_MM
    straight = images.straight()
    wide = (np.ptp(straight, axis=1).min(axis=1) > 2 * less + 2 * CELL_MM) & (less < _NOT_BENT_MM)
    squares.reach(squares.runs(straight[wide], less[wide]))


def _half(box: Array) -> Array:
    half: Array = (box[:, 1] - box[:, 0]) / 2
    return half


def _ready(boxes: Sequence[Boxes], passing: Passing) -> list[Boxes]:
    numbers = passing.path.numbers
    ready = [with_room(one, numbers) if len(one.bound) != len(one) else one for one in boxes]
    return [one for one in (allowed(one, passing.limits, numbers) for one in ready) if len(one)]


def _within(images: Images, window: Window) -> Images:
    ring = images.rings()
    reach = np.concatenate([ring.min(axis=1), ring.max(axis=1)], axis=1)
    return images.take(np.flatnonzero(~window.misses(reach)))


def _fine(images: Images, window: Window, fine_mm: float) -> np.ndarray:
    """Which boxes are as fine as they need be: coarser ones will do by the axis, and far from every wheel."""
    if images.boxes.node[0] >= 0:
        none: np.ndarray = np.zeros(len(images.boxes), dtype=bool)
        return none
    ring = images.rings()
    least, most = ring.min(axis=1), ring.max(axis=1)
    away = np.maximum(np.maximum(window.inner_low_mm - most[:, 0], least[:, 0] - window.inner_high_mm), 0.0)
    away = np.maximum(away, least[:, 1] - window.inner_far_mm)
    by_axis = _BY_AXIS * (_AXIS_MM - most[:, 1])
    allowed_mm = np.maximum(np.maximum(fine_mm, by_axis), _AWAY * away)
    fine: np.ndarray = images.bent_mm + 2.0 * images.out_mm + images.over_mm <= allowed_mm
    return fine


# ---- real places along the edge


def _real(kept: Sequence[Boxes], squares: Squares, passing: Passing) -> tuple[Array, Array, Array, Array]:
    """(y, r), setting, point and share of real places close to the edge of what is taken."""
    found = []
    # what boxes reach is found again: to keep it for all of them would take a gigabyte
    for one in _some_at_a_time(kept):
        places, rows = _on_sides(images_of(one, passing), squares)
        if len(rows):
            found.append(_measured(one, rows, places, passing))
    if not found:
        numbers = passing.path.numbers
        return np.zeros((0, 2)), np.zeros((0, numbers)), np.zeros((0, 3)), np.zeros(0)
    edge, setting, point, share = (np.concatenate(some) for some in zip(*found, strict=True))
    near = np.flatnonzero(squares.near_edge(edge))
    chosen = near[_thinned(edge[near])]
    return edge[chosen], setting[chosen], point[chosen], share[chosen]


def _on_sides(images: Images, squares: Squares) -> tuple[Array, np.ndarray]:
    """Places in boxes (m, 3 + k) along the sides of straight parts that lie near the edge, and the boxes' rows."""
    corners = images.corners()
    close = squares.near_edge(corners[:, :, :2].reshape(-1, 2)).reshape(corners.shape[:2])
    return images.along_sides(close | np.roll(close, -1, axis=1), _PIECES)


def _measured(boxes: Boxes, rows: np.ndarray, places: Array, passing: Passing) -> tuple[Array, Array, Array, Array]:
    """(y, r), setting, point and share of places in these rows of boxes."""
    every = []
    for at in range(0, max(len(places), 1), _PLACES_AT_A_TIME):
        some = slice(at, at + _PLACES_AT_A_TIME)
        every.append(_measured_at(boxes.take(rows[some]), places[some], passing))
    edge, setting, point, share = (np.concatenate(some) for some in zip(*every, strict=True))
    return edge, setting, point, share


def _measured_at(boxes: Boxes, places: Array, passing: Passing) -> tuple[Array, Array, Array, Array]:
    weights = np.clip(places[:, :3], 0.0, 1.0)
    weights = weights / weights.sum(axis=1)[:, None]
    setting = passing.within(places[:, 3:]) if passing.path.numbers else places[:, 3:]
    point = np.einsum("ni,nij->nj", weights, boxes.corners)
    share = np.einsum("ni,ni->n", weights, boxes.weights)
    centre, axis = passing.path.at(setting)
    offset = point - centre
    if passing.share is not None:
        offset = offset + share[:, None] * passing.path.far_at(setting)
    along = np.einsum("ij,ij->i", offset, axis)
    radial = np.sqrt(np.maximum(np.einsum("ij,ij->i", offset, offset) - along * along, 0.0))
    return np.column_stack([along, radial]), setting, point, share


def _thinned(edge: Array) -> np.ndarray:
    """One of the places in each small square."""
    square = np.floor(edge / _ALONG_MM).astype(np.int64)
    order = np.lexsort((edge[:, 1], edge[:, 0], square[:, 1], square[:, 0]))
    first = np.ones(len(order), dtype=bool)
    first[1:] = (np.diff(square[order], axis=0) != 0).any(axis=1)
    chosen: np.ndarray = order[first]
    return chosen
