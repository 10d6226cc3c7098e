"""The loop of a search: boxes are bounded, put aside where they cannot matter, and split, best first.

The least bound among what was put aside is the lower end of the answer. What bounds a box is in `bounds`, what real
places say in `witness`, how a box is split in `split`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import numpy as np

from clearance.geom.bounds import allowed, by_cover, by_hull, by_touch, hull_plane, on_surface
from clearance.geom.boxes import Boxes, joined, with_lowest, with_room
from clearance.geom.kept import Kept, bound_by_plane
from clearance.geom.passing import Passing
from clearance.geom.profile import Array
from clearance.geom.split import split
from clearance.geom.view import View
from clearance.geom.witness import EXACT_DEPTH_WORK, Nearest, Witness

Ints = np.ndarray
Progress = Callable[[int, float, float], None]
"""Told of boxes looked at, lower end and upper end, mm."""

BATCH = 4_000
_FLOOR_FROM = 10_000
"""Boxes after which it pays to ask how deep anything can lie at all."""
_LOOK_FROM = 2_000
"""Boxes after which the most promising are followed downhill; again whenever there are so many times more."""
_LOOK_AGAIN = 4


class Search:
    """What is still open of a question, and the least that was proven of the rest."""

    def __init__(
        self, witness: Witness, batch: int = BATCH, kept: Kept | None = None, begun: Boxes | None = None
    ) -> None:
        """`begun` are the boxes that are open, where all else is settled."""
        self.passing: Passing = witness.passing
        self.witness = witness
        self.batch = batch
        self.aside = np.inf
        """The least bound of what was put aside, mm."""
        self.floor = -np.inf
        """No bound need be lower than this, mm."""
        self._tight = on_surface(self.passing.solid)
        self._hollow = not self._tight.all()
        self._now: list[Boxes] = []
        self._later: list[tuple[float, Boxes]] = []
        self._look_at = _LOOK_FROM
        self._polished = False
        self._kept = kept
        self._begun = begun

    def run(self, work: int, deep_work: int, progress: Progress | None = None) -> bool:
        """Look until nothing is open: True; or at so many boxes (of a depth, `deep_work`): False."""
        self._now = self._begin()
        while self._now or self._later:
            if self.witness.looked > (deep_work if self.witness.upper < 0 else work):
                self._put_all_aside()
                return False
            if self.witness.upper < 0:
                self._look_deep()
            self._round()
            self._look_downhill()
            if progress is not None and self._now:
                progress(self.witness.looked, min(float(b.bound.min()) for b in self._now), self.witness.upper)
        return True

    def _begin(self) -> list[Boxes]:
        """Everything in one box; or what was begun; or what was kept, as far as it does not settle itself."""
        if self._begun is not None:
            return joined([self.bounded(some) for some in self._some_at_once(self._begun)])
        if self._kept is not None and self._kept:
            return self._taken_up(self._kept)
        box = self.passing.path.box
        return [self.bounded(self.passing.whole(box.mean(axis=1)[None], ((box[:, 1] - box[:, 0]) / 2)[None]))]

    def _taken_up(self, kept: Kept) -> list[Boxes]:
        if isinstance(self.witness, Nearest):
            self.witness.take_up(kept.places)
        hull, drop = self.passing.solid.hull_chain, self.witness.drop()
        open_boxes = []
        for boxes in kept.taken():
            boxes.bound = bound_by_plane(boxes.plane, hull)
            for some in self._some_at_once(self._without_settled(boxes, drop)):
                bound, plane = some.bound, some.plane
                some = self.bounded(some)
                held = bound > some.bound
                some.bound[held], some.plane[held] = bound[held], plane[held]
                open_boxes.append(some)
        return joined(open_boxes)

    def _some_at_once(self, boxes: Boxes) -> Iterator[Boxes]:
        """Boxes, no more at once than are worked on at once."""
        for at in range(0, len(boxes), self.batch):
            yield boxes.take(np.arange(at, min(at + self.batch, len(boxes))))

    def at_least_mm(self) -> float:
        """The lower end; the path's own fit error is taken off it."""
        return float(min(max(self.aside, self.floor), self.witness.upper) - self.passing.path.error_mm)

    def _round(self) -> None:
        """Split the most promising boxes, and bound what they give."""
        drop = self.witness.drop()
        now = with_lowest(self._now, self._later)
        taken = [part for boxes in now for part in self._best_of(self.witness.undecided(boxes), drop)]
        children = [child for boxes in taken for child in split(boxes, self.passing)]
        bounded = [self.bounded(child) for child in children if len(child)]
        self._now = joined([boxes for boxes in bounded if len(boxes)])

    def _best_of(self, boxes: Boxes, drop: float | Array) -> list[Boxes]:
        """The most promising of some boxes; the rest wait, and what cannot matter is put aside."""
        boxes = self._without_settled(boxes, drop)
        if len(boxes) <= self.batch:
            return [boxes] if len(boxes) else []
        order = np.argpartition(boxes.bound, self.batch)
        waiting = boxes.take(order[self.batch :])
        self._later.append((float(waiting.bound.min()), waiting))
        return [boxes.take(order[: self.batch])]

    def _without_settled(self, boxes: Boxes, drop: float | Array) -> Boxes:
        """The boxes that matter; what cannot is put aside."""
        keep = boxes.bound < drop
        if keep.all():
            return boxes
        settled = np.flatnonzero(~keep)
        self.aside = min(self.aside, float(boxes.bound[settled].min()))
        if self._kept is not None:
            self._kept.put(boxes.take(settled))
        return boxes.take(np.flatnonzero(keep))

    def _put_all_aside(self) -> None:
        if self._kept is not None:
            for boxes in (*self._now, *(boxes for _, boxes in self._later)):
                self._kept.put(boxes)
        lows = (*(float(b.bound.min()) for b in self._now), *(low for low, _ in self._later))
        self.aside = min(self.aside, *lows)

    def _look_deep(self) -> None:
        """What helps a depth that takes long."""
        looked = self.witness.looked
        if looked > EXACT_DEPTH_WORK and not self._polished and isinstance(self.witness, Nearest):
            self.witness.polish()
            self._polished = True
        if looked > _FLOOR_FROM and not np.isfinite(self.floor):
            # near the middle of the section no bound is tight, but none need be lower than this
            self.floor = -self.passing.solid.deepest_mm()

    def _look_downhill(self) -> None:
        if self.witness.looked > self._look_at and self._now:
            self._look_at = _LOOK_AGAIN * self.witness.looked
            self.witness.look_downhill(self._now[-1])

    def bounded(self, boxes: Boxes) -> Boxes:
        """Boxes with their bounds and scores; drops what limits forbid, and shows real places to the witness."""
        numbers = self.passing.path.numbers
        boxes = allowed(boxes, self.passing.limits, numbers)
        if not len(boxes):
            return with_room(boxes, numbers)
        self.witness.looked += len(boxes)
        view = View(boxes, self.passing.path, self.passing.solid, self.passing.tree, self.passing.limits)
        bound_by_hull(boxes, view)
        self.witness.measure_corners(boxes)
        tight = self._tight[view.element]
        drop = np.broadcast_to(self.witness.drop(boxes), len(boxes))
        if boxes.node[0] < 0 or self.witness.touches_nodes:
            told = self._touch(boxes, view, np.flatnonzero((boxes.bound < drop) & tight), drop)
            tight[told] &= not self._hollow
        matters = boxes.bound < self.witness.drop(boxes)
        weak, deep = np.flatnonzero(matters & ~tight), np.flatnonzero(matters & tight & (view.distance < 0))
        bound_by_cover(boxes, view, np.concatenate([weak, deep]), self.passing)
        boxes.bound = np.maximum(boxes.bound, self.floor)
        return boxes

    def _touch(self, boxes: Boxes, view: View, rows: Ints, drop: Array) -> Ints:
        """Raise the hull's bound of some boxes by touching planes; of which of them it has told all that it can."""
        if not len(rows):
            return rows
        chain, by_size = self.passing.solid.hull_chain, boxes.score[rows]
        touched = by_touch(view, rows, chain, by_size=by_size, drop=drop[rows], hollow=self._hollow)
        better = touched.bound > boxes.bound[rows]
        boxes.plane[rows[better]] = touched.plane[better]
        boxes.bound[rows] = np.maximum(boxes.bound[rows], touched.bound)
        boxes.score[rows] = touched.score
        self.witness.measure_touched(boxes, rows, touched)
        told: Ints = rows[touched.told]
        return told


def bound_by_hull(boxes: Boxes, view: View) -> None:
    """Give boxes the bound of the hull, where in them to look, and what to split."""
    boxes.bound, lean = by_hull(view)
    boxes.best_setting = boxes.middle + lean.ends
    boxes.best_corner = lean.corner
    boxes.score = view.score(lean)
    boxes.plane = hull_plane(view, lean)


def bound_by_cover(boxes: Boxes, view: View, rows: Ints, passing: Passing) -> None:
    """Raise the bounds of some rows by the solid itself."""
    if not len(rows):
        return
    covered = by_cover(view, rows, passing.solid)
    raised = covered.bound > boxes.bound[rows]
    boxes.bound[rows] = np.maximum(boxes.bound[rows], covered.bound)
    # what bounds a box also says where in it to look, and what to split; the hull cannot where others are nearer
    steer = np.flatnonzero(raised | covered.nearer)
    at = rows[steer]
    boxes.best_setting[at] = boxes.middle[at] + covered.lean.ends[steer]
    boxes.best_corner[at] = covered.lean.corner[steer]
    boxes.score[at] = view.take(at).score(covered.lean.take(steer))
