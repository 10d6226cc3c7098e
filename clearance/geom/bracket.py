"""The least gap between triangles and a moving solid of revolution, between two proven ends.

A *box* is a set of points (a tree node, or one triangle) together with a range of every number of the path. For each
box several lower bounds of the gap are known (`bounds`), and the best is used.

The upper end is the exact distance at real points and real settings (`witness`): the corner of each promising box that
its linear part says is closest. Boxes that cannot lower the answer by more than the tolerance are put aside, and the
least bound among them is the lower end; the rest are split (`split`) where most is uncertain, best first (`search`).

docs/how-gaps-are-measured.md has the derivation.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from clearance.defaults import TOLERANCE_MM
from clearance.geom.boxes import Boxes, joined, with_room
from clearance.geom.kept import Kept
from clearance.geom.limit import Limit
from clearance.geom.passing import Passing
from clearance.geom.path import Path, Stops, stops_of
from clearance.geom.profile import Array
from clearance.geom.revolve import Solid
from clearance.geom.search import BATCH, Progress, Search
from clearance.geom.split import split_once
from clearance.geom.tree import Tree
from clearance.geom.witness import DEEP_MM, DEEP_SHARE, Nearest, NearestOfEach, Roughly, TooNear

__all__ = [
    "DEEP_MM", "DEEP_SHARE", "DEEP_WORK", "DEFAULT_WORK", "TOLERANCE_MM", "AtSettings", "Bracket", "Open", "Reached",
    "bracket", "least_at_settings", "reached",
]  # fmt: skip

Ints = np.ndarray

DEFAULT_WORK = 6_000_000
"""Boxes looked at before a search gives up and says so."""
DEEP_WORK = 400_000
"""The same for a depth: that it hits is certain by then, and only how deep is not."""
_FEW_PAIRS = 4_000
"""Up to so many pairs of a triangle and a setting are looked at one by one, beside those of other parts."""


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
    begun = None if left is None else _triangles_at(witness.passing, left)
    search = Search(witness, batch=2 * BATCH, begun=begun)
    finished = search.run(work, work)
    return Reached(
        triangle=np.array(list(witness.nearer), dtype=np.intp),
        setting=np.array(list(witness.nearer.values())).reshape(len(witness.nearer), path.numbers),
        at_least_mm=search.at_least_mm(),
        finished=finished,
        boxes=witness.looked,
    )


def _triangles_at(passing: Passing, left: Open) -> Boxes:
    """Boxes of single triangles at their settings."""
    count, numbers = left.middle.shape
    boxes = Boxes(
        node=-1 - left.triangle,
        corners=passing.triangles[left.triangle],
        weights=passing.shares_of(left.triangle),
        middle=left.middle,
        half=left.half,
        group=np.zeros(count, dtype=np.intp),
    )
    return with_room(boxes, numbers)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class AtSettings:
    """Triangles at some settings of a path: what `least_at_settings` is asked of."""

    triangles: Array
    """(n, 3, 3)"""
    path: Path
    settings: Array
    """(m, k), or (m, j, k) of which the least of each j is wanted."""
    share: Array | None = None
    """(n, 3) of the path's far move that each corner makes."""
    tree: Tree | None = None

    @property
    def stops(self) -> Array:
        """(m * j, k): every setting, one below the other."""
        return self.settings.reshape(-1, self.settings.shape[-1])

    @property
    def pairs(self) -> int:
        """How many pairs of a triangle and a setting there are."""
        return len(self.triangles) * len(self.stops)


def least_at_settings(asked: Sequence[AtSettings], solid: Solid, *, tolerance_mm: float = 0.1) -> list[Array]:
    """The least distance (m,) from triangles to the solid at each of m settings, of each that is asked.

    For maps and pictures. Measured at real points, so never less than the truth, and no more than `tolerance_mm` above
    it (a depth: 5 %). Those of few triangles and settings are looked at side by side.
    """
    few = [one for one in asked if one.pairs <= _FEW_PAIRS]
    found = iter(_least_of(few, solid, tolerance_mm) if few else ())
    return [next(found) if one.pairs <= _FEW_PAIRS else _least_of([one], solid, tolerance_mm)[0] for one in asked]


def _least_of(asked: Sequence[AtSettings], solid: Solid, tolerance_mm: float) -> list[Array]:
    """The same of some, all at once: their stops one below the other are one path, and their triangles one part."""
    stops = stops_of([(one.path, one.stops) for one in asked])
    counts = np.array([len(one.settings) for one in asked])
    passing, boxes = _whole(asked[0], stops, solid) if len(asked) == 1 else _one_by_one(asked, stops, solid)
    witness = NearestOfEach(passing, int(counts.sum()), tolerance_mm)
    search = Search(witness)
    now = [search.bounded(boxes)]
    while now:
        keep = [(boxes, np.flatnonzero(boxes.bound < witness.drop(boxes))) for boxes in now]
        children = [child for boxes, rows in keep if len(rows) for child in split_once(boxes.take(rows), passing)]
        now = joined([search.bounded(child) for child in joined(children)])
    return np.split(witness.uppers, np.cumsum(counts)[:-1])


def _whole(one: AtSettings, stops: Stops, solid: Solid) -> tuple[Passing, Boxes]:
    """All triangles in one box at every stop."""
    passing = _passing(one.triangles, one.share, stops, solid, (), one.tree)
    stop = np.arange(len(one.stops))
    of_each = max(1, len(stop) // max(1, len(one.settings)))
    return passing, passing.whole(stop[:, None].astype(np.float64), np.zeros((len(stop), 1)), stop // of_each)


def _one_by_one(asked: Sequence[AtSettings], stops: Stops, solid: Solid) -> tuple[Passing, Boxes]:
    """Every triangle by itself at every stop of its own."""
    triangles = np.concatenate([one.triangles for one in asked])
    share = np.concatenate([np.zeros((len(one.triangles), 3)) if one.share is None else one.share for one in asked])
    stop, triangle, group = [], [], []
    before = np.zeros(3, dtype=np.intp)
    for one in asked:
        count, own = len(one.stops), len(one.triangles)
        at = np.repeat(np.arange(count), own)
        stop.append(before[0] + at)
        triangle.append(before[1] + np.tile(np.arange(own), count))
        group.append(before[2] + at // max(1, count // max(1, len(one.settings))))
        before += (count, own, len(one.settings))
    passing = _passing(triangles, share if share.any() else None, stops, solid, (), None)
    middle = np.concatenate(stop)[:, None].astype(np.float64)
    left = Open(triangle=np.concatenate(triangle), middle=middle, half=np.zeros_like(middle))
    return passing, replace(_triangles_at(passing, left), group=np.concatenate(group))
