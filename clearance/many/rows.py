"""A list of wheels and tires on one corner: one line for each, between two proven ends.

* binds      - the part with the least to spare; of a row that hits, the deepest of those
* measured   - "outline" where the corner's outlines tell, "search" where they do not and the part was measured as
               `check` measures it
* near       - what lacks no more than `NEAR_MM`: the least change of its offset that clears is looked for, on
               millimetres, and proven as the row was
* confidence - that the part that binds keeps its required gap (see `sure`)
* batch      - rows of one tire on one rim: only their offsets differ, so they are laid at once

Lengths are millimetres, angles degrees.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np

from clearance.answers.candidates import BadCell, NotAnswered, Row, offset_of, one_line
from clearance.answers.checked import gaps_of, refuse_standing, spare_of
from clearance.answers.slid import Mount, Mounts, Rim
from clearance.answers.tires import rim_of
from clearance.errors import ClearanceError
from clearance.gap.found import CLEARS, HITS, TIGHT, UNDECIDED, Gap, verdict_of
from clearance.geom.witness import Roughly
from clearance.many.room import Ends, Room
from clearance.many.spots import Fields, Laid
from clearance.many.squares import Window
from clearance.many.sure import sure_of, sure_of_laid
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.pose import Array
from clearance.steady import steady
from clearance.suspension.position import Position
from clearance.tire.catalog import Listed

NEAR_MM = 6.0
MOST_SHIFT_MM = 25
"""No offset is looked for further from the row's own."""
_LOOKS, _SEARCHED_LOOKS = 6, 2
MARGIN_MM = 60.0
"""A part that stays further than this from every wheel of the list is said to be at least so far."""
_ROUGHLY = Roughly(from_mm=NEAR_MM, share=0.1)
"""A hit deeper than any change of the offset is looked for is told to a tenth of its depth: what it is, is certain."""
_AT_ONCE = 512
"""Rows of one batch laid together."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One row of the list on one corner."""

    row: Row
    corner: str
    backspace_mm: float
    offset_mm: float
    overall_mm: float
    section_mm: float
    verdict: str
    part: str
    at_least_mm: float | None
    """None where nothing is known from below."""
    at_most_mm: float | None
    """None where it stays further away than was looked."""
    required_mm: float
    position: Position | None
    confidence: float | None
    """None where no real place of the part is near enough to tell how it would move."""
    measured: str
    offset_change_mm: float | None
    """The least change of the offset that clears; None where none was looked for, or none found."""

    @property
    def margin_mm(self) -> float | None:
        """What is left over of the required gap, proven, or missing."""
        return None if self.at_least_mm is None else self.at_least_mm - self.required_mm


class Shelf:
    """What corners after one another have alike: tires on rims, and their fields."""

    def __init__(self) -> None:
        self.mounts, self.fields = Mounts(), Fields()


@dataclass(frozen=True, slots=True)
class _Found:
    """What binds a wheel, and how it was told."""

    part: str
    at_least_mm: float
    at_most_mm: float
    required_mm: float
    position: Position | None
    gap: Gap | None
    """Of a part that was searched."""
    place: tuple[int, int] | None
    """Of one that was not, or that has outlines too: its number, and that of its real place."""

    @property
    def measured(self) -> str:
        return "outline" if self.gap is None else "search"

    @property
    def verdict(self) -> str:
        """Of the search within its own tolerance; of outlines none that straddles is kept."""
        width = 0.0 if self.gap is None else self.gap.tolerance_mm
        return verdict_of(self.at_least_mm, self.at_most_mm, self.required_mm, width)

    @property
    def missing_mm(self) -> float:
        return self.required_mm - self.at_least_mm


@dataclass(slots=True, eq=False)
class _Batch:
    """Offsets of one tire on one rim on a corner, and what was found at each."""

    mount: Mount
    offsets: list[float] = field(default_factory=list)
    found: list[_Found] = field(default_factory=list)
    confidence: list[float | None] = field(default_factory=list)
    change: list[float | None] = field(default_factory=list)


@steady
def lines_of(
    car: Car, corner: str, rows: Sequence[Row], window: Window, shelf: Shelf | None = None
) -> tuple[tuple[Line, ...], tuple[NotAnswered, ...]]:
    """Each row on one corner of a car, and the rows that nothing can be said of there.

    Raises InputError for a corner of which nothing but ride height is known.
    """
    mockup, shelf = car.at(corner), shelf or Shelf()
    refuse_standing(mockup)
    put, missing = _put(mockup, (row for row in rows if _is_for(row, corner)), shelf)
    batches = _batches(put)
    if not batches:
        return (), tuple(missing)
    room = Room(mockup, window, wheels=sum(len(one.offsets) for one in batches.values()))
    for batch in batches.values():
        _answer_all(room, shelf, batch)
    known = {
        (mount, offset): (batch, number)
        for mount, batch in batches.items()
        for number, offset in enumerate(batch.offsets)
    }
    return tuple(_line(row, corner, *known[mount, offset]) for row, mount, offset in put), tuple(missing)


def _is_for(row: Row, corner: str) -> bool:
    return row.axle is None or corner.startswith(row.axle)


def _answer_all(room: Room, shelf: Shelf, batch: _Batch) -> None:
    for at in range(0, len(batch.offsets), _AT_ONCE):
        _answer(room, shelf, batch, batch.offsets[at : at + _AT_ONCE])


def _put(mockup: MockUp, rows: Iterable[Row], shelf: Shelf) -> tuple[list[tuple[Row, Mount, float]], list[NotAnswered]]:
    """Each row with the mount and the offset that it has here, and those that cannot be put."""
    put, missing = [], []
    rims: dict[tuple[Listed, float], Rim] = {}
    for row in rows:
        try:
            rim = rims.get((row.tire, row.width_in))
            if rim is None:
                rim = rims[row.tire, row.width_in] = shelf.mounts.rim(mockup, row.tire, row.width_in)
            offset_mm = offset_of(row, rim.wheel)
            put.append((row, rim.at(offset_mm), offset_mm))
        except BadCell as bad:
            missing.append(NotAnswered(line=row.line, column=bad.column, why=bad.why))
        except ClearanceError as wrong:
            missing.append(NotAnswered(line=row.line, column="tire", why=one_line(str(wrong))))
    return put, missing


def _batches(put: Iterable[tuple[Row, Mount, float]]) -> dict[Mount, _Batch]:
    batches: dict[Mount, _Batch] = {}
    for mount, offset_mm in dict.fromkeys((mount, offset_mm) for _, mount, offset_mm in put):
        batches.setdefault(mount, _Batch(mount)).offsets.append(offset_mm)
    return batches


def _line(row: Row, corner: str, batch: _Batch, number: int) -> Line:
    found, tire = batch.found[number], batch.mount.tire
    offset_mm = batch.offsets[number]
    return Line(
        row=row,
        corner=corner,
        backspace_mm=batch.mount.wheel.overall_width_mm / 2 + offset_mm,
        offset_mm=offset_mm,
        overall_mm=tire.overall_diameter_mm,
        section_mm=tire.section_width_mm,
        verdict=found.verdict,
        part=found.part,
        at_least_mm=found.at_least_mm if math.isfinite(found.at_least_mm) else None,
        at_most_mm=found.at_most_mm if math.isfinite(found.at_most_mm) else None,
        required_mm=found.required_mm,
        position=found.position,
        confidence=batch.confidence[number],
        measured=found.measured,
        offset_change_mm=batch.change[number],
    )


# ---- a batch


def _answer(room: Room, shelf: Shelf, batch: _Batch, offsets: Sequence[float]) -> None:
    """What binds at each of some offsets, how sure it is, and what would make it clear."""
    outline = batch.mount.outline
    field_ = shelf.fields.of(outline, len(offsets)) if room.parts else None
    laid = Laid(outline=outline, shifts=outline.offset_mm - np.array(offsets), field=field_)
    stands = [_Stands(room.mockup, batch.mount, offset) for offset in offsets]
    found = [_binding(room, one, told) for one, told in zip(stands, _by_outline(room, laid), strict=True)]
    batch.found += found
    batch.confidence += _confidences(room, batch.mount, laid, stands, found)
    batch.change += _changes(room, laid, stands, found)


@dataclass(frozen=True, slots=True)
class _Stands:
    """One tire and rim on the corner at one offset; the mock-up is made where it is asked for."""

    like: MockUp
    mount: Mount
    offset_mm: float

    def at(self, offset_mm: float) -> MockUp:
        """At another offset. Raises WheelError for one that no wheel has."""
        rim = rim_of(self.like.wheel, self.mount.wheel.width_in, self.mount.wheel.diameter_in)
        return replace(self.like, tire=self.mount.tire, wheel=rim.with_offset(offset_mm))

    @property
    def corner(self) -> MockUp:
        return self.at(self.offset_mm)


# ---- what binds


def _by_outline(room: Room, laid: Laid) -> list[list[_Found]]:
    """For each shift the parts that could bind: those with the least to spare, and all that do not surely clear."""
    found: list[list[_Found]] = [[] for _ in laid.shifts]
    if not room.parts:
        return found
    least = room.least(laid)
    spare = least - room.required
    wanted = (spare < 0.0) | (spare <= spare.min(axis=1)[:, None])
    ends = room.ends(laid, wanted, least)
    for number in range(len(room.parts)):
        rows = np.flatnonzero(wanted[:, number])
        for row, one in zip(rows.tolist(), _of_part(room, number, ends, rows), strict=True):
            found[row].append(one)
    return found


def _of_part(room: Room, number: int, ends: Ends, rows: np.ndarray) -> Iterator[_Found]:
    part, places = room.parts[number].part, ends.place[rows, number]
    known = len(room.parts[number].cover.edge_mm) > 0
    positions = room.positions(number, places) if known else [None] * len(places)
    least_mm, most_mm = (one[rows, number].tolist() for one in (ends.at_least_mm, ends.at_most_mm))
    for least, most, place, position in zip(least_mm, most_mm, places.tolist(), positions, strict=True):
        yield _Found(
            part=part.name,
            at_least_mm=least,
            at_most_mm=most,
            required_mm=part.required_mm,
            position=position,
            gap=None,
            place=None if place < 0 else (number, place),
        )


def _binding(room: Room, stands: _Stands, outlined: Sequence[_Found]) -> _Found:
    """The part that binds: the worst of what is said of any, then the least to spare."""
    told = [one for one in outlined if one.verdict != UNDECIDED]
    open_ = _left_open(outlined, told)
    searched = _by_search(room, stands, (*room.searched, *(one.part for one in open_)))
    places = {one.part: one.place for one in open_}
    every = [*told, *(replace(one, place=places.get(one.part)) for one in searched)]
    return every[0] if len(every) == 1 else min(every, key=_rank)


def _rank(found: _Found) -> tuple[int, float]:
    return _WORST.index(found.verdict), found.at_least_mm - found.required_mm


def _left_open(outlined: Sequence[_Found], told: Sequence[_Found]) -> list[_Found]:
    """Those that a search must tell, for none that is told is surely worse."""
    return [one for one in outlined if one.verdict == UNDECIDED and not any(_worse(by, one) for by in told)]


def _worse(told: _Found, open_: _Found) -> bool:
    """Whether a part that is told is worse than one that is not, whatever a search would say of that."""
    if told.at_least_mm - told.required_mm > open_.at_least_mm - open_.required_mm:
        return told.verdict == HITS and open_.at_least_mm >= 0.0
    return told.verdict == HITS or (told.verdict == TIGHT and open_.at_least_mm >= 0.0)


_WORST = (HITS, UNDECIDED, TIGHT, CLEARS)


def _by_search(room: Room, stands: _Stands, parts: Sequence[str]) -> list[_Found]:
    if not parts:
        return []
    return [
        _Found(
            part=gap.part,
            at_least_mm=gap.at_least_mm,
            at_most_mm=gap.at_most_mm,
            required_mm=gap.required_mm,
            position=gap.position,
            gap=gap,
            place=None,
        )
        for gap in gaps_of(stands.corner, parts, memory=room.memory, roughly=_ROUGHLY)
    ]


# ---- how sure


def _confidences(
    room: Room, mount: Mount, laid: Laid, stands: Sequence[_Stands], found: Sequence[_Found]
) -> list[float | None]:
    """That the part which binds keeps its required gap: of the search by its own slopes, else at the real place."""
    sure: list[float | None] = [None] * len(found)
    by_part: dict[int, list[int]] = {}
    for row, one in enumerate(found):
        if one.gap is not None:
            sure[row] = sure_of(stands[row].corner, one.gap)
        elif one.place is not None:
            by_part.setdefault(one.place[0], []).append(row)
    for number, rows in by_part.items():
        places = np.array([found[row].place[1] for row in rows])  # type: ignore[index]
        at = np.array([_where(found[row]) for row in rows])
        some = sure_of_laid(room.mockup, mount.tire, room.parts[number], laid.take(np.array(rows)), places, at)
        for row, share in zip(rows, some.tolist(), strict=True):
            sure[row] = share
    return sure


def _where(found: _Found) -> float:
    return found.at_least_mm if math.isfinite(found.at_least_mm) else found.at_most_mm


# ---- the least change


def _changes(room: Room, laid: Laid, stands: Sequence[_Stands], found: Sequence[_Found]) -> list[float | None]:
    """The least change of the offset, in whole millimetres, at which every part is proven to clear."""
    change: list[float | None] = [None] * len(found)
    near = [row for row, one in enumerate(found) if one.verdict != CLEARS and 0.0 < one.missing_mm <= NEAR_MM]
    if not near:
        return change
    if room.searched:
        for row in near:
            change[row] = _change_searched(room, laid.take(np.array([row])), stands[row], found[row])
        return change
    missing = np.array([found[row].missing_mm for row in near])
    some = laid.take(np.array(near))
    # both ways are looked at together
    ways = np.repeat((1.0, -1.0), len(near))
    both = some.take(np.tile(np.arange(len(near)), 2))
    outboard, inboard = np.split(_least_shift(both, np.tile(missing, 2), ways, room.spare), 2)
    for row, out_, in_ in zip(near, outboard.tolist(), inboard.tolist(), strict=True):
        change[row] = _lesser(out_, in_)
    return change


def _lesser(outboard: float, inboard: float) -> float | None:
    """The lesser of two shifts, as a change of the offset: a greater offset stands further inboard."""
    if math.isinf(outboard) and math.isinf(inboard):
        return None
    return -outboard if outboard <= inboard else inboard


def _least_shift(
    laid: Laid, missing: Array, way: Array, spare_of: Callable[[Laid], Array], looks: int = _LOOKS
) -> Array:
    """(n,): how far each must slide its own way until all is spared; infinite where that is not found.

    The gap changes by no more than a millimetre for a millimetre, so what is missing may be stepped over.
    """
    shift, at = np.full(len(missing), np.inf), np.ceil(missing)
    open_ = np.arange(len(missing))
    for _ in range(looks):
        open_ = open_[(at[open_] <= MOST_SHIFT_MM) & laid.can_slide(open_, way[open_] * at[open_])]
        if not len(open_):
            break
        spare = spare_of(laid.take(open_).moved(way[open_] * at[open_]))
        done = spare >= 0.0
        shift[open_[done]] = at[open_[done]]
        on = ~done & (spare >= -2.0 * missing[open_] - 1.0)
        open_, spare = open_[on], spare[on]
        at[open_] += np.maximum(1.0, np.ceil(-spare))
    return shift


def _change_searched(room: Room, laid: Laid, stands: _Stands, found: _Found) -> float | None:
    """The same of one row, where some parts are known by the search alone."""
    # what binds now tells soonest that a look is in vain
    parts = sorted(room.searched, key=lambda name: name != found.part)

    def spare(moved: Laid) -> Array:
        outlined = room.spare(moved)
        if outlined[0] < 0.0:
            return outlined
        offset_mm = stands.offset_mm - float(moved.shifts[0] - laid.shifts[0])
        searched = spare_of(stands.at(offset_mm), parts, room.memory)
        return np.array([0.0 if searched.clears else min(searched.high, -1e-9)])

    only = np.array([found.missing_mm])
    if found.gap is not None:
        # each look is a search, so the way alone is looked that opens the gap which binds
        way = -1.0 if found.gap.per_mm.get("backspace", 0.0) > 0.0 else 1.0
        shift = float(_least_shift(laid, only, np.array([way]), spare, looks=_SEARCHED_LOOKS)[0])
        return _lesser(shift, math.inf) if way > 0.0 else _lesser(math.inf, shift)
    outboard, inboard = (float(_least_shift(laid, only, np.array([way]), spare)[0]) for way in (1.0, -1.0))
    return _lesser(outboard, inboard)
