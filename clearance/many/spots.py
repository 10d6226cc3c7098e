"""Many places of the half plane, and how near an outline comes to them wherever it is slid to.

* spots - places (y, r) in blocks of a few millimetres, so that most are told by their block
* field - the distances from one outline on a grid, drawn once: between its knots no distance differs by more than the
          way there, so a look at it gives two proven ends
* laid  - an outline at many places along the axis at once

The field only chooses which places are measured; what is said is measured exactly. So it does not matter to any answer
whether there is one. Lengths are millimetres.
"""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import numpy.typing as npt

from clearance.answers.seen_at_once import Outline
from clearance.pose import Array

BLOCK_MM = 8.0
KNOT_MM = 2.0
_AROUND_MM = 64.0
"""So far about an outline its field goes; beyond, what is said at the border is still true from below."""
_AT_ONCE = 200_000
"""Places times shifts looked at together: what stays in the processor's cache, or nearly."""
WORTH = 30
"""From so many shifts on a field costs less than it spares."""
MOST_FIELDS = 400
"""Kept at once, some 150 kB each."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Field:
    """Distances from one outline as drawn, at knots."""

    low_mm: float
    """Along the axis, of the first column; the first row is the axis."""
    knots: npt.NDArray[np.float32]

    def ends(self, along: Array, radius: Array) -> tuple[Array, Array]:
        """The two ends of the distance of points, of the outline as drawn; arrays of shapes that go together."""
        u, v = (along - self.low_mm) / KNOT_MM, radius / KNOT_MM
        rows, columns = self.knots.shape
        inner_u = np.minimum(np.maximum(u, 0.0), columns - 1.0)
        inner_v = np.minimum(np.maximum(v, 0.0), rows - 1.0)
        i, j = np.rint(inner_u), np.rint(inner_v)
        known = self.knots.ravel().take((j * columns + i).astype(np.intp)).astype(np.float64)
        # nothing of the outline lies beyond the field: seen from there it is no nearer than from the border
        off = KNOT_MM * np.hypot(inner_u - i, inner_v - j) + 1e-3
        beyond = KNOT_MM * (np.abs(u - inner_u) + np.abs(v - inner_v))
        return known - off, known + off + beyond


def field_of(outline: Outline) -> Field:
    """The field of an outline."""
    low, high, _, far = outline.bounds
    start = low - _AROUND_MM
    columns, rows = (int(np.ceil(wide / KNOT_MM)) + 1 for wide in (high - start + _AROUND_MM, far + _AROUND_MM))
    along, radius = start + KNOT_MM * np.arange(columns), KNOT_MM * np.arange(rows)
    every = outline.chain.distance(np.tile(along, rows), np.repeat(radius, columns))
    # a thousandth is added to what is off, far more than these digits lose
    return Field(low_mm=start, knots=every.astype(np.float32).reshape(rows, columns))


class Fields:
    """The fields of the outlines that were asked for most often of late."""

    def __init__(self) -> None:
        self._fields: OrderedDict[int, tuple[Outline, Field]] = OrderedDict()
        self._asked: dict[int, tuple[Outline, int]] = {}

    def of(self, outline: Outline, shifts: int) -> Field | None:
        """The field of an outline if it has one, or if it pays to draw it for so many shifts more."""
        name = id(outline)
        if name in self._fields:
            self._fields.move_to_end(name)
            return self._fields[name][1]
        before = self._asked.pop(name, (outline, 0))[1]
        if before + shifts < WORTH:
            while len(self._asked) >= 10 * MOST_FIELDS:
                del self._asked[next(iter(self._asked))]
            # the outline is kept with its number, so that no other can come by it
            self._asked[name] = (outline, before + shifts)
            return None
        while len(self._fields) >= MOST_FIELDS:
            self._fields.popitem(last=False)
        self._fields[name] = (outline, field_of(outline))
        return self._fields[name][1]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Laid:
    """An outline slid outboard by each of some shifts."""

    outline: Outline
    shifts: Array
    """(n,): how far."""
    field: Field | None = None

    def take(self, which: np.ndarray) -> Laid:
        """Some of the shifts."""
        return replace(self, shifts=self.shifts[which])

    def moved(self, by_mm: Array) -> Laid:
        """Slid further, each by its own."""
        return replace(self, shifts=self.shifts + by_mm)

    def can_slide(self, which: np.ndarray, by_mm: Array) -> np.ndarray:
        """Whether the outline at some of the shifts, slid further, is still the wheel of that offset."""
        shifts = self.shifts[which] + by_mm
        slides: np.ndarray = (shifts >= 0.0) & (shifts <= self.outline.slides_mm)
        return slides

    def exact(self, at: np.ndarray, places: Array) -> Array:
        """Distance of places (m, 2), each from the outline at the shift of this number (m,)."""
        return self.outline.distance(places[:, 0], places[:, 1], self.shifts[at])

    def ends(self, shift: Array, along: Array, radius: Array) -> tuple[Array, Array]:
        """Two ends of the distance; arrays of shapes that go together."""
        if self.field is None:
            wide = np.broadcast_shapes(shift.shape, along.shape, radius.shape)
            flat = [np.broadcast_to(one, wide).ravel() for one in (along, radius, shift)]
            both = self.outline.distance(*flat).reshape(wide)
            return both, both
        low, high = self.field.ends(along - shift, radius)
        if self.outline.disc_mm is None:
            return low, high
        # no place outside of the barrel is nearer to the disc than to the rim
        inside = np.flatnonzero(radius.ravel() <= self.outline.disc_mm[1])
        if not len(inside):
            return low, high
        shift, along, radius = (one if one.shape[-1] == 1 else one[..., inside] for one in (shift, along, radius))
        disc = self.outline.disc_distance(along, radius, shift)
        low[..., inside], high[..., inside] = (np.minimum(one[..., inside], disc) for one in (low, high))
        return low, high


@dataclass(frozen=True, slots=True, eq=False)
class Look:
    """What the blocks of some spots say of a laid outline."""

    laid: Laid
    low: Array
    """(n, blocks): no place of a block is nearer."""
    high: Array
    """(n, blocks): some place of it is no further."""


class Spots:
    """The places of several groups, ready for outlines; all groups are looked at together."""

    def __init__(self, groups: Sequence[Array]) -> None:
        """Of groups of places (m, 2)."""
        places = np.concatenate([np.zeros((0, 2)), *groups])
        counts = np.array([len(one) for one in groups], dtype=np.intp)
        group = np.repeat(np.arange(len(groups)), counts)
        block = np.floor(places / BLOCK_MM).astype(np.int64)
        self.groups = len(groups)
        self._order = np.lexsort((places[:, 1], places[:, 0], block[:, 1], block[:, 0], group))
        self._places, block, group = places[self._order], block[self._order], group[self._order]
        # of a place, its number in its group
        self._order -= (np.cumsum(counts) - counts)[group]
        new = np.ones(len(places), dtype=bool)
        new[1:] = (np.diff(block, axis=0) != 0).any(axis=1) | (np.diff(group) != 0)
        self._begin = np.append(np.flatnonzero(new), len(places))
        which = np.cumsum(new) - 1
        count = np.diff(self._begin)
        self._middle = np.column_stack(
            [np.bincount(which, weights=self._places[:, i], minlength=len(count)) / count for i in (0, 1)]
        )
        apart = np.hypot(*(self._places - self._middle[which]).T)
        self._radius = np.maximum.reduceat(apart, self._begin[:-1]) if len(places) else np.zeros(0)
        self._group = group[self._begin[:-1]]
        """Of each block."""
        self._starts = _starts(self._group) if len(places) else np.zeros(0, dtype=np.intp)
        self._filled = self._group[self._starts]
        """The groups that have any place."""

    def __len__(self) -> int:
        return len(self._places)

    def looks(self, laid: Laid) -> Iterator[tuple[np.ndarray, Look]]:
        """Looks at some of the shifts after the others, with which those are; at none where there is no place."""
        if not len(self):
            return
        each = max(1, _AT_ONCE // len(self._radius))
        for at in range(0, len(laid.shifts), each):
            some = np.arange(at, min(at + each, len(laid.shifts)))
            yield some, self._look(laid.take(some))

    def _look(self, laid: Laid) -> Look:
        low, high = laid.ends(laid.shifts[:, None], self._middle[None, :, 0], self._middle[None, :, 1])
        return Look(laid, low - self._radius - 1e-9, high + self._radius + 1e-9)

    def between(self, look: Look) -> tuple[Array, Array]:
        """Two ends (n, groups) of the least distance of any place of a group; infinite where it has none."""
        ends = []
        for blocks in (look.low, look.high):
            found = np.full((len(blocks), self.groups), np.inf)
            found[:, self._filled] = np.minimum.reduceat(blocks, self._starts, axis=1)
            ends.append(found)
        return ends[0], ends[1]

    def nearest(self, look: Look, wanted: np.ndarray, most: Array) -> tuple[Array, np.ndarray]:
        """The least distance (n, groups) of a group's places where it is wanted, and which place it is to.

        `most` (n, groups) is an upper end of each. Infinite and -1 where it is not wanted, or there is no place.
        """
        distance = np.full(wanted.shape, np.inf)
        place = np.full(wanted.shape, -1, dtype=np.intp)
        limit = np.where(wanted, most, -np.inf)
        shift, block = np.nonzero(look.low <= limit[:, self._group])
        if len(shift):
            cell, found, at = self._nearest(look.laid, shift, block)
            distance.ravel()[cell], place.ravel()[cell] = found, at
        return distance, place

    def _nearest(self, laid: Laid, shift: np.ndarray, block: np.ndarray) -> tuple[np.ndarray, Array, np.ndarray]:
        """Of some blocks at some shifts: which shift and group (as one number), how near, and which place."""
        count = self._begin[block + 1] - self._begin[block]
        at = np.arange(count.sum()) - np.repeat(np.cumsum(count) - count, count) + np.repeat(self._begin[block], count)
        cell = np.repeat(shift * self.groups + self._group[block], count)
        shift = np.repeat(shift, count)
        if laid.field is not None:
            places = self._places[at]
            low, high = laid.ends(laid.shifts[shift], places[:, 0], places[:, 1])
            starts, rank = _starts(cell), _rank(cell)
            # the place that is likeliest the nearest is measured first: it leaves few others
            first = np.flatnonzero(high == np.minimum.reduceat(high, starts)[rank])
            first = first[_starts(cell[first])]
            known = laid.exact(shift[first], places[first])
            kept = np.flatnonzero(low <= known[rank])
            shift, at, cell = shift[kept], at[kept], cell[kept]
        found = laid.exact(shift, self._places[at])
        starts = _starts(cell)
        least = np.minimum.reduceat(found, starts)
        best = np.flatnonzero(found == least[_rank(cell)])
        return cell[starts], least, self._order[at[best[_starts(cell[best])]]]


def _starts(numbers: np.ndarray) -> np.ndarray:
    """Where each run of equal numbers begins."""
    return np.flatnonzero(np.append(True, np.diff(numbers) != 0))


def _rank(numbers: np.ndarray) -> np.ndarray:
    """Of sorted numbers, which of the different ones each is."""
    found: np.ndarray = np.cumsum(np.append(False, np.diff(numbers) != 0))
    return found
