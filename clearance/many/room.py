"""The room of one corner: what the wheel sees of every part, drawn once, and wheels laid against it.

* laid    - for a tire on a rim at an offset, the part with the least to spare, between two proven ends
* outside - how far beyond the window's sides a wheel stays: of a part that no square shows, its gap is at least that

A part that an outline cannot answer for (a scan that may have holes, one that holds the wheel inside it, any part of a
corner whose links were not measured) is measured by the search, as `check` does it. Lengths are millimetres.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from clearance.answers.seen_at_once import Outline
from clearance.gap.measure import swallows
from clearance.gap.trees import tree_of
from clearance.many.cover import CELL_MM, Cover, Window, cover_of
from clearance.mockup.mockup import MockUp
from clearance.mockup.paths import Seen, seen_by
from clearance.pose import Array
from clearance.suspension.position import HUB, Position
from clearance.well.part import Part

HALF_DIAGONAL_MM = CELL_MM * math.sqrt(0.5) + 1e-6
_BLOCK_MM = 8.0
_FEW_WHERE_STRAIGHT, _FEW = 8, 200
"""Our own choice, from few measurements: a straight corner was outlined in the time of some six checks; one that steers
or tilts took from ten seconds on, and a few cars of them more than ten minutes."""
_NEAREST = 24
"""So many real places about the nearest square are measured for the upper end."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartRoom:
    """One part as the wheel sees it."""

    part: Part
    seen: Seen
    cover: Cover
    off_mm: float
    """What is taken off every distance to a square for the lower end."""


@dataclass(frozen=True, slots=True)
class Ends:
    """A part's gap between two ends, and the real place that gives the upper one."""

    part: int
    at_least_mm: float
    at_most_mm: float
    place: int
    """Of the part's real places; -1 where there is none within the window."""

    def spare_mm(self, required_mm: float) -> float:
        """The lower end less the required gap."""
        return self.at_least_mm - required_mm


def worth_outlining(mockup: MockUp) -> int:
    """From how many wheels on the outlines of a corner cost less than a search for each."""
    cycle = mockup.suspension.cycle
    plain = cycle.steer_deg == (0.0, 0.0) and cycle.other_bump_mm == (0.0, 0.0)
    return _FEW_WHERE_STRAIGHT if plain else _FEW


class Room:
    """Every part of one corner, ready for wheels."""

    def __init__(self, mockup: MockUp, window: Window, wheels: int | None = None) -> None:
        """Of so few `wheels` that outlines are not worth their while, every part is searched."""
        self.mockup, self.window = mockup, window
        few = wheels is not None and wheels < worth_outlining(mockup)
        self.searched = tuple(part.name for part in mockup.parts if few or _needs_search(mockup, part))
        self.parts = tuple(_part_room(mockup, part, window) for part in mockup.parts if part.name not in self.searched)
        self.required = np.array([one.part.required_mm for one in self.parts])
        self._lower = np.array([one.off_mm + HALF_DIAGONAL_MM for one in self.parts])
        self._gather()

    def _gather(self) -> None:
        """All squares of all parts in blocks, each with its middle and how far its squares lie from it."""
        cells = [one.cover.cells_mm for one in self.parts]
        every = np.concatenate([np.zeros((0, 2)), *cells])
        owner = np.repeat(np.arange(len(cells)), [len(one) for one in cells])
        block = np.floor(every / _BLOCK_MM).astype(np.int64)
        order = np.lexsort((every[:, 1], every[:, 0], block[:, 1], block[:, 0], owner))
        every, owner, block = every[order], owner[order], block[order]
        new = np.ones(len(every), dtype=bool)
        new[1:] = (np.diff(block, axis=0) != 0).any(axis=1) | (np.diff(owner) != 0)
        self._begin = np.append(np.flatnonzero(new), len(every))
        self._cells, self._owner = every, owner
        which = np.cumsum(new) - 1
        count = np.maximum(np.diff(self._begin), 1)
        self._middle = np.column_stack([np.bincount(which, weights=every[:, i]) / count for i in (0, 1)])
        apart = np.hypot(*(every - self._middle[which]).T) if len(every) else np.zeros(0)
        self._radius = np.maximum.reduceat(apart, self._begin[:-1]) if len(every) else np.zeros(0)
        self._of = owner[self._begin[:-1]]

    # ---- a wheel

    def least(self, outline: Outline, shifted_mm: float) -> Array:
        """(parts,): lower ends, exact for those that could bind or touch and no more than true of the others."""
        capped = np.full(len(self.parts), self._outside(outline, shifted_mm)) - self._lower
        if not len(self._middle):
            return self._whole(outline, shifted_mm, capped)
        near = outline.chain.near(self._middle[:, 0] - shifted_mm, self._middle[:, 1]).distance
        low, high = near - self._radius - self._lower[self._of], near + self._radius - self._lower[self._of]
        required = self.required[self._of]
        # one block of a part's squares is no further than this; what cannot matter is not looked at again
        wanted = low - required <= max(float((high - required).min()), 0.0)
        found = np.full(len(self.parts), np.inf)
        np.minimum.at(found, self._of, low)
        exact = self._exact(outline, shifted_mm, np.flatnonzero(wanted))
        rest = np.full(len(self.parts), np.inf)
        np.minimum.at(rest, self._of[~wanted], low[~wanted])
        found = np.maximum(found, np.minimum(exact, rest))
        return self._whole(outline, shifted_mm, np.minimum(found, capped))

    def _exact(self, outline: Outline, shifted_mm: float, blocks: np.ndarray) -> Array:
        """(parts,): lower ends by the squares of some blocks alone."""
        count = self._begin[blocks + 1] - self._begin[blocks]
        at = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(self._begin[blocks], count)
        distance = outline.chain.near(self._cells[at, 0] - shifted_mm, self._cells[at, 1]).distance
        found = np.full(len(self.parts), np.inf)
        np.minimum.at(found, self._owner[at], distance - self._lower[self._owner[at]])
        return found

    def _outside(self, outline: Outline, shifted_mm: float) -> float:
        """How far a wheel stays from the window's sides."""
        low, high, _, far = outline.bounds
        window = self.window
        return min(low + shifted_mm - window.low_mm, window.high_mm - high - shifted_mm, window.far_mm - far)

    def _whole(self, outline: Outline, shifted_mm: float, least: Array) -> Array:
        """The same, for a wheel that may lie wholly among squares without touching their edge."""
        start = outline.chain.surfaces[0].start
        place = np.array([[start[0] + shifted_mm, start[1]]])
        for number, one in enumerate(self.parts):
            if one.cover.takes(place)[0]:
                least[number] = -math.inf
        return least

    def ends(self, outline: Outline, shifted_mm: float, part: int, at_least_mm: float) -> Ends:
        """Both ends of one part's gap."""
        one = self.parts[part]
        edge = one.cover.edge_mm
        if not len(edge):
            return Ends(part, at_least_mm, math.inf, -1)
        place, distance = self._nearest_real(outline, shifted_mm, part)
        at_most = distance - one.part.skin_mm
        if at_most < 0.0:
            at_least_mm = min(at_least_mm, self._deepest(outline, shifted_mm, one))
        return Ends(part, min(at_least_mm, at_most), at_most, place)

    def _nearest_real(self, outline: Outline, shifted_mm: float, part: int) -> tuple[int, float]:
        edge = self.parts[part].cover.edge_mm
        along = edge[:, 0] - shifted_mm
        hopes = _from_bounds(outline.bounds, along, edge[:, 1])
        first = np.argpartition(hopes, _NEAREST)[:_NEAREST] if len(hopes) > _NEAREST else np.arange(len(hopes))
        least = outline.chain.near(along[first], edge[first, 1]).distance.min()
        rest = np.flatnonzero(hopes <= least + 1e-9)
        rest = rest if len(rest) else first
        distance = outline.chain.near(along[rest], edge[rest, 1]).distance
        best = int(distance.argmin())
        return int(rest[best]), float(distance[best])

    def _deepest(self, outline: Outline, shifted_mm: float, one: PartRoom) -> float:
        """No point of a part is deeper than this."""
        blocks = one.cover.inner_mm
        distance = outline.chain.near(blocks[:, 0] - shifted_mm, blocks[:, 1]).distance
        return float(distance.min()) - one.cover.block_mm * math.sqrt(0.5) - one.off_mm

    def position(self, ends: Ends) -> Position | None:
        """Where in the cycle the upper end was found."""
        if ends.place < 0:
            return None
        one = self.parts[ends.part]
        return one.seen.position(one.cover.setting[ends.place])


def _needs_search(mockup: MockUp, part: Part) -> bool:
    """Whether an outline cannot answer for a part."""
    if mockup.unmeasured is not None:
        return True
    hub = mockup.suspension.pose(Position().row()[None], HUB)
    return bool(part.holes) or part.unseen or swallows(part, part.triangles_mm[0, 0], hub.origin_mm[0])


def _part_room(mockup: MockUp, part: Part, window: Window) -> PartRoom:
    seen = seen_by(mockup, part)
    share = None if part.far_end is None else part.far_end.share
    cover = cover_of(part.triangles_mm, share, seen.path, seen.limits, tree_of(part), window)
    return PartRoom(
        part=part,
        seen=seen,
        cover=cover,
        off_mm=cover.error_mm + part.skin_mm + part.drawn_mm,
    )


def _from_bounds(bounds: tuple[float, float, float, float], along: Array, radius: Array) -> Array:
    """Signed distance to the bounds, negative inside: never above that to what lies within them."""
    low, high, near, far = bounds
    across, away = np.maximum(low - along, along - high), np.maximum(near - radius, radius - far)
    found: Array = np.hypot(np.maximum(across, 0.0), np.maximum(away, 0.0))
    found = found + np.minimum(np.maximum(across, away), 0.0) - 1e-9
    return found
