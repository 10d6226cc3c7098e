"""The room of one corner: what the wheel sees of every part, drawn once, and wheels laid against it.

* laid    - a tire on a rim at many offsets at once: for each part two proven ends
* outside - how far beyond the window's sides a wheel stays: of a part that no square shows, its gap is at least that

A part that an outline cannot answer for (a scan that may have holes, one that holds the wheel inside it, any part of a
corner whose links were not measured) is measured by the search, as `check` does it. Lengths are millimetres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clearance.gap.measure import swallows
from clearance.gap.memory import Memory
from clearance.gap.trees import tree_of
from clearance.many.cover import Cover, cover_of
from clearance.many.spots import Laid, Look, Spots
from clearance.many.squares import BLOCK, CELL_MM, Window
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, seen_by
from clearance.pose import Array
from clearance.suspension.position import HUB, Position
from clearance.well.part import Part

HALF_DIAGONAL_MM = CELL_MM * math.sqrt(0.5) + 1e-6
_FEW_WHERE_STRAIGHT, _FEW = 8, 200
"""Our own choice, from few measurements: a straight corner was outlined in the time of some six checks; one that steers
or tilts took from ten seconds on, and a few cars of them more than ten minutes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartRoom:
    """One part as the wheel sees it."""

    part: Part
    seen: Seen
    cover: Cover
    lower_mm: float
    """What is taken off every distance to a square for the lower end."""
    off_mm: float
    """Of that, what is not the square's own size."""


@dataclass(frozen=True, slots=True, eq=False)
class Ends:
    """Gaps (n, parts) between two ends, and the real places that give the upper ones; where they were asked for."""

    at_least_mm: Array
    at_most_mm: Array
    place: np.ndarray
    """Of each part's real places; -1 where there is none within the window."""


def worth_outlining(mockup: MockUp) -> int:
    """From how many wheels on the outlines of a corner cost less than a search for each."""
    cycle = mockup.suspension.cycle
    plain = cycle.steer_deg == (0.0, 0.0) and cycle.other_bump_mm == (0.0, 0.0)
    return _FEW_WHERE_STRAIGHT if plain else _FEW


class Room:
    """Every part of one corner, ready for wheels."""

    def __init__(self, mockup: MockUp, window: Window, wheels: int | None = None) -> None:
        """Of so few `wheels` that outlines are not worth their while, every part is searched."""
        self.mockup, self.window, self.memory = mockup, window, Memory()
        few = wheels is not None and wheels < worth_outlining(mockup)
        self.searched = tuple(part.name for part in mockup.parts if few or _needs_search(mockup, part))
        self.parts = tuple(_part_room(mockup, part, window) for part in mockup.parts if part.name not in self.searched)
        self.required = np.array([one.part.required_mm for one in self.parts])
        self._lower = np.array([one.lower_mm for one in self.parts])
        self._off = np.array([one.off_mm for one in self.parts])
        self._skin = np.array([one.part.skin_mm for one in self.parts])
        covers = [one.cover for one in self.parts]
        self._cells = Spots([one.cells_mm for one in covers])
        """The squares along the edge."""
        self._inner = Spots([one.inner_mm for one in covers])
        """The larger squares that hold all of each part."""
        self._edge = Spots([one.edge_mm for one in covers])
        """The real places."""

    def number(self, name: str) -> int | None:
        """Of a part that outlines answer for; None of any other."""
        return next((number for number, one in enumerate(self.parts) if one.part.name == name), None)

    def least(self, laid: Laid) -> Array:
        """(n, parts): lower ends, exact for those that could bind or touch and no more than true of the others."""
        found = np.full((len(laid.shifts), len(self.parts)), np.inf)
        capped = self._outside(laid)[:, None] - self._lower
        for some, look in self._cells.looks(laid):
            found[some] = self._least(look, capped[some])
        return self._whole(laid, np.minimum(found, capped))

    def _least(self, look: Look, capped: Array) -> Array:
        """Of some shifts, but for what lies among squares; what stays outside is no less than `capped`."""
        low, high = self._cells.between(look)
        least, most = (np.minimum(one - self._lower, capped) for one in (low, high))
        # what cannot matter is not looked at again
        matters = np.maximum((most - self.required).min(axis=1, initial=np.inf), 0.0)
        wanted = least - self.required <= matters[:, None]
        exact = self._cells.nearest(look, wanted, high)[0] - self._lower
        found: Array = np.where(wanted, exact, least)
        return found

    def spare(self, laid: Laid) -> Array:
        """(n,): the least of any part's lower end less what it must keep; infinite where there is no part."""
        found: Array = (self.least(laid) - self.required).min(axis=1, initial=np.inf)
        return found

    def _outside(self, laid: Laid) -> Array:
        """How far a wheel stays from the window's sides."""
        low, high, _, far = laid.outline.bounds
        window, shifts = self.window, laid.shifts
        sides = np.minimum(low + shifts - window.low_mm, window.high_mm - high - shifts)
        found: Array = np.minimum(sides, window.far_mm - far)
        return found

    def _whole(self, laid: Laid, least: Array) -> Array:
        """The same, for a wheel that may lie wholly among squares without touching their edge."""
        start = laid.outline.chain.surfaces[0].start
        places = np.column_stack([start[0] + laid.shifts, np.full(len(laid.shifts), start[1])])
        for number, one in enumerate(self.parts):
            least[one.cover.takes(places), number] = -math.inf
        return least

    def ends(self, laid: Laid, wanted: np.ndarray, at_least_mm: Array) -> Ends:
        """Both ends of gaps (n, parts) where they are wanted, the lower ones given."""
        distance, place = _nearest(self._edge, laid, wanted)
        at_most = distance - self._skin
        at_least = np.minimum(at_least_mm, np.where(wanted, at_most, np.inf))
        deep = at_most < 0.0
        rows = np.flatnonzero(deep.any(axis=1))
        if len(rows):
            deepest = self._deepest(laid.take(rows), deep[rows])
            at_least[rows] = np.minimum(at_least[rows], deepest)
        return Ends(at_least, at_most, place)

    def _deepest(self, laid: Laid, wanted: np.ndarray) -> Array:
        """(n, parts): no point of a part is deeper than this; infinite where it is not wanted."""
        half = BLOCK * CELL_MM * math.sqrt(0.5)
        deep: Array = _nearest(self._inner, laid, wanted)[0] - half - self._off
        if laid.outline.disc_mm is None:
            return deep
        for number in np.flatnonzero(wanted.any(axis=0)):
            # two solids that touch are no deeper than the one, and the way through the other; who is further from the
            # disc than from daylight has no need of it
            rows = np.flatnonzero(wanted[:, number])
            blocks, shifts, own = self.parts[number].cover.inner_mm, laid.shifts[rows], deep[rows, number]
            apart = laid.outline.disc_distance(blocks[None, :, 0], blocks[None, :, 1], shifts[:, None])
            beside = apart.min(axis=1, initial=np.inf) - half - self._off[number] <= -own
            deep[rows, number] = np.where(beside, own - np.maximum(shifts, 0.0), own)
        return deep

    def positions(self, part: int, places: np.ndarray) -> list[Position]:
        """Where in the cycle real places of a part stand."""
        one = self.parts[part]
        rows = one.seen.positions(one.cover.setting[places]).tolist()
        return [Position(bump_mm=bump, other_bump_mm=other, steer_deg=steer) for bump, other, steer in rows]


def _nearest(spots: Spots, laid: Laid, wanted: np.ndarray) -> tuple[Array, np.ndarray]:
    """The least distance (n, parts) of each part's spots where it is wanted, and which of them it is to."""
    distance, place = np.full(wanted.shape, np.inf), np.full(wanted.shape, -1, dtype=np.intp)
    for some, look in spots.looks(laid):
        distance[some], place[some] = spots.nearest(look, wanted[some], spots.between(look)[1])
    return distance, place


def _needs_search(mockup: MockUp, part: Part) -> bool:
    """Whether an outline cannot answer for a part."""
    if mockup.unmeasured is not None:
        return True
    hub = mockup.suspension.pose(Position().row()[None], HUB)
    return bool(part.holes) or part.unseen or swallows(part, part.triangles_mm[0, 0], hub.origin_mm[0])


def _part_room(mockup: MockUp, part: Part, window: Window) -> PartRoom:
    reach_mm = math.hypot(max(abs(window.low_mm), abs(window.high_mm)), window.far_mm)
    seen = seen_by(mockup, part, reach_mm=reach_mm)
    share = None if part.far_end is None else part.far_end.share
    cover = cover_of(part.triangles_mm, share, seen.path, seen.limits, tree_of(part), window)
    off_mm = cover.error_mm + part.skin_mm + part.drawn_mm
    return PartRoom(
        part=part,
        seen=seen,
        cover=cover,
        lower_mm=off_mm + HALF_DIAGONAL_MM,
        off_mm=off_mm,
    )
