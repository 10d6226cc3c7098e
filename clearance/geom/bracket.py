"""The least gap between triangles and a moving solid of revolution, between two proven ends.

A *box* is a set of points (a tree node, or one triangle) together with a range of every number of the path. For each
box several lower bounds of the gap are known (`bounds`), and the best is used.

The upper end is the exact distance at real points and real settings (`witness`): the corner of each promising box that
its linear part says is closest. Boxes that cannot lower the answer by more than the tolerance are put aside, and the
least bound among them is the lower end; the rest are split (`split`) where most is uncertain, best first (`search`).

docs/how-gaps-are-measured.md has the derivation.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.geom.boxes import Boxes, with_room
from clearance.geom.kept import Kept
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import Path, stops_of
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid
from clearance.geom.search import BATCH, Progress, Search
from clearance.geom.split import split_once
from clearance.geom.tree import Tree
from clearance.geom.witness import DEEP_MM, DEEP_SHARE, Nearest, NearestOfEach, Roughly, TooNear

__all__ = [
    "DEEP_MM", "DEEP_SHARE", "DEEP_WORK", "DEFAULT_WORK", "TOLERANCE_MM", "Bracket", "Open", "Reached", "bracket",
    "least_at_settings", "reached",
]  # fmt: skip

Ints = np.ndarray

DEFAULT_WORK = 6_000_000
"""Boxes looked at before a search gives up and says so."""
DEEP_WORK = 400_000
"""The same for a depth: that it hits is certain by then, and only how deep is not."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Bracket:
    """at_least <= least gap <= at_most, and where the upper end was found."""

    at_least_mm: float
    at_most_mm: float
    setting: Array
    """(k,): the witness setting."""
    point_mm: Array
    """(3,): the witness point, at rest."""
    share: float
    """Of the far move that the witness point makes."""
    finished: bool
    boxes: int


def bracket(
    triangles: Array,
    path: Path,
    solid: Solid,
    *,
    share: Array | None = None,
    tolerance_mm: float = TOLERANCE_MM,
    limits: tuple[Limit, ...] = (),
    work: int = DEFAULT_WORK,
    deep_work: int = DEEP_WORK,
    tree: Tree | None = None,
    progress: Progress | None = None,
    kept: Kept | None = None,
    roughly: Roughly | None = None,
) -> Bracket:
    """The least signed distance from triangles (n, 3, 3) to the solid along the path, to within a tolerance.

    `share` (n, 3) is the share of the path's far move that each corner makes. `limits` cut corners off the box of
    settings. `work` and, once a hit is certain, `deep_work` limit how many boxes are looked at. `progress` is called
    with (boxes looked at, lower end, upper end). The path's own fit error is taken off the lower end. `kept` is what
    was proven of the same triangles on the same path for another solid: the search begins with it, and leaves there
    what it proves itself. The bracket is as true and as narrow without; its ends may then be others.
    `roughly` is for who need not know closely how deep a deep hit is.
    """
    witness = Nearest(_passing(triangles, share, path, solid, limits, tree), tolerance_mm, roughly)
    search = Search(witness, kept=kept)
    finished = search.run(work, min(work, deep_work), progress)
    if kept is None or tolerance_mm <= TOLERANCE_MM:
        witness.settle()
    if kept is not None:
        kept.close(witness.place)
    return Bracket(
        at_least_mm=search.at_least_mm(),
        at_most_mm=float(witness.upper),
        setting=witness.setting,
        point_mm=witness.point,
        share=float(witness.share),
        finished=finished,
        boxes=witness.looked,
    )


def _passing(
    triangles: Array, share: Array | None, path: Path, solid: Solid, limits: tuple[Limit, ...], tree: Tree | None
) -> Passing:
    tree = tree if tree is not None else Tree(triangles)
    return Passing(triangles=triangles, share=share, path=path, solid=solid, limits=limits, tree=tree)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Open:
    """What is not proven yet, pair by pair: a triangle, and the settings at which it is open."""

    triangle: Ints
    """(m,)"""
    middle: Array
    """(m, k)"""
    half: Array
    """(m, k): half the range of every number."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reached:
    """The triangles that come nearer than asked, each with a place and a setting at which it does."""

    triangle: Ints
    """(m,)"""
    setting: Array
    """(m, k)"""
    at_least_mm: float
    """Proven of all the others."""
    finished: bool
    """Were all the others proven? If not, `at_least_mm` says no more than that they are no nearer."""
    boxes: int


def reached(
    triangles: Array,
    path: Path,
    solid: Solid,
    *,
    nearer_than_mm: float,
    doubt_mm: float,
    limits: tuple[Limit, ...] = (),
    work: int = DEFAULT_WORK,
    left: Open | None = None,
) -> Reached:
    """Which triangles (n, 3, 3) the solid comes nearer to than asked, somewhere along the path.

    All others are proven to keep at least that, the path's fit error allowed for. Triangles that miss it by less than
    `doubt_mm` are counted among those that do not: to tell them apart would take far longer. `left` is what is open,
    where everything else is proven already; `at_least_mm` speaks of that alone.
    """
    if not len(triangles) or (left is not None and not len(left.triangle)):
        none = np.zeros(0, dtype=np.intp)
        return Reached(triangle=none, setting=np.zeros((0, path.numbers)), at_least_mm=np.inf, finished=True, boxes=0)
    witness = TooNear(_passing(triangles, None, path, solid, limits, None), nearer_than_mm + path.error_mm, doubt_mm)
    begun = None if left is None else _triangles_at(triangles, left)
    search = Search(witness, batch=2 * BATCH, begun=begun)
    finished = search.run(work, work)
    return Reached(
        triangle=np.array(list(witness.nearer), dtype=np.intp),
        setting=np.array(list(witness.nearer.values())).reshape(len(witness.nearer), path.numbers),
        at_least_mm=search.at_least_mm(),
        finished=finished,
        boxes=witness.looked,
    )


def _triangles_at(triangles: Array, left: Open) -> Boxes:
    """Boxes of single triangles at their settings."""
    count, numbers = left.middle.shape
    boxes = Boxes(
        node=-1 - left.triangle,
        corners=triangles[left.triangle],
        weights=np.zeros((count, 3)),
        middle=left.middle,
        half=left.half,
        group=np.zeros(count, dtype=np.intp),
    )
    return with_room(boxes, numbers)


def least_at_settings(
    triangles: Array,
    path: Path,
    solid: Solid,
    settings: Array,
    *,
    share: Array | None = None,
    tolerance_mm: float = 0.1,
    tree: Tree | None = None,
) -> Array:
    """The least distance from triangles (n, 3, 3) to the solid at each of m settings, for maps and pictures.

    `settings` (m, k), or (m, j, k) of which the least of each j is wanted. Measured at real points, so never less than
    the truth, and no more than `tolerance_mm` above it (a depth: 5 %).
    """
    flat = settings.reshape(-1, settings.shape[-1])
    passing = _passing(triangles, share, stops_of(path, flat), solid, (), tree)
    witness = NearestOfEach(passing, len(settings), tolerance_mm)
    search = Search(witness)
    stop = np.arange(len(flat))
    of_each = max(1, len(flat) // max(1, len(settings)))
    now = [search.bounded(passing.whole(stop[:, None].astype(np.float64), np.zeros((len(flat), 1)), stop // of_each))]
    while now:
        keep = [(boxes, np.flatnonzero(boxes.bound < witness.drop(boxes))) for boxes in now]
        children = [child for boxes, rows in keep if len(rows) for child in split_once(boxes.take(rows), passing)]
        now = [boxes for boxes in (search.bounded(child) for child in children if len(child)) if len(boxes)]
    return witness.uppers
