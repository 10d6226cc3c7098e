"""The largest: which sizes of a list clear, each on its best rim width at its best backspace.

Every tire on every permitted rim at every backspace step is looked at through what the wheel sees of the well (see
`seen`); one measurement there decides many backspaces, because a shift of the wheel by a millimetre changes a gap by no
more. Those that may clear are then certified over the whole cycle, best first, until enough have been. A size in the
answer is certified; a size left out either failed by a real point of the well, or was not reached.

Where the wheel goes on several corners (both sides of an axle), a size is looked at and certified at all of them, and
its backspace is the one that leaves most at the worst.

Lengths are millimetres; rim widths inches.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import with_offset
from clearance.answers.checked import Progress, silent, spare_mm, spare_of, tightest
from clearance.answers.seen import Seen, seen_by_wheel
from clearance.answers.seen_at_once import Rings, least_of_each, rings_of
from clearance.answers.slid import rim_of_its_own, spares_at
from clearance.answers.swap import Swap, against_now
from clearance.answers.tires import listed_widths, mounted, rim_of
from clearance.errors import InputError, TireError
from clearance.gap.found import Gap
from clearance.gap.memory import Memory
from clearance.plain import echoed
from clearance.steady import steady
from clearance.terms import Terms
from clearance.tire.catalog import Listed
from clearance.tire.load import load_index_for, load_kg
from clearance.units import SAME_RIM_IN

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.tire import Tire
    from clearance.wheel.wheel import Wheel

ENOUGH_MM = 0.5
"""A backspace this close to the best one is the best one."""
_AT_ONCE = 4
ORDERS = ("diameter", "width", "target")


@dataclass(frozen=True, slots=True, kw_only=True)
class Fit:
    """One size that clears."""

    size: str
    tire: Tire
    wheel: Wheel
    spare_mm: float
    """What the tightest part has left beyond its required gap, at the worst of the corners."""
    corner: str
    """Which corner that is."""
    binds: Gap
    swap: Swap | None
    """Against what is on the car today; None where no [now] says."""
    load_index: int | None
    carries: bool | None
    """Does its load index carry the corner's stated load? None where either is not known."""
    source: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Largest:
    """The sizes that clear, best first, and how much was looked at."""

    fits: tuple[Fit, ...]
    combinations: int
    """Tire x rim x backspace."""
    screened_out: int
    """Tires on rims that fail at every backspace by a point that was found."""
    certified: int
    """Combinations that were measured over the whole cycle."""
    not_reached: tuple[str, ...]
    """Sizes that may clear but stood too far down the list to be certified."""
    unknown: tuple[str, ...]
    """Sizes whose dimensions are not known."""
    needed_index: int | None
    """The least load index that carries the corner's stated load; None where none is stated."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Candidate:
    listed: Listed
    on: tuple[MockUp, ...]
    """The tire and rim on every corner that the wheel goes on, the one asked about first, at whatever offset."""
    looked: _Lattice
    """Of its offsets: one of them may clear."""

    @property
    def mockups(self) -> tuple[MockUp, ...]:
        """At the offset that is the best by the coarse look."""
        return tuple(with_offset(one, self.looked.best()[0]) for one in self.on)

    @property
    def order(self) -> tuple[float, float, str]:
        """Among those of as large a tire: the most to spare, the narrowest rim."""
        return -round(self.looked.best()[1], 3), self.on[0].wheel.width_in, self.listed.size


@steady
def largest(
    mockup: MockUp,
    sizes: Sequence[Listed],
    terms: Terms,
    *,
    by: str = "diameter",
    target_mm: float | None = None,
    rim_diameters_in: Sequence[float] | None = None,
    enough: int = 10,
    beside: Sequence[MockUp] = (),
    progress: Progress = silent,
) -> Largest:
    """The sizes that clear, in the order asked for: the largest diameter, the widest, or the closest to a diameter.

    The same wheel goes on the corners `beside` too. Raises InputError for an order that is not known, or a load on the
    corner that no load index carries.
    """
    needed_kg = terms.load.corner_kg
    needed = None if needed_kg is None else load_index_for(needed_kg)
    rank = _rank(by, target_mm)
    rims = tuple(rim_diameters_in or (mockup.wheel.diameter_in,))
    corners = (mockup, *beside)
    mounts, unknown = _mounts(corners, sizes, rims, terms)
    offsets = [_offsets(on, corners, terms) for _, on in mounts]
    rings = _rings(corners, mounts, offsets)
    candidates = _screened(rings, mounts, offsets, progress)
    alike = _alike(candidates, rank)
    fits, certified, reached = _certified(alike, rings, terms, enough, progress)
    left = [one.listed.size for some in alike for one in some if one.listed.size not in reached]
    return Largest(
        fits=fits,
        combinations=sum(map(len, offsets)),
        screened_out=len(mounts) - len(candidates),
        certified=certified,
        not_reached=tuple(dict.fromkeys(left)),
        unknown=unknown,
        needed_index=needed,
    )


def _rank(by: str, target_mm: float | None) -> Callable[[Tire], tuple[float, ...]]:
    if by not in ORDERS:
        raise InputError(f"{echoed(by)} is not an order. Sort by one of: {', '.join(ORDERS)}.")
    if by == "target":
        if target_mm is None:
            raise InputError('sorting by target needs a diameter. Write --target "28 in".')
        return lambda t: (round(abs(t.overall_diameter_mm - target_mm), 3), -t.section_width_mm)
    if by == "width":
        return lambda t: (-round(t.section_width_mm, 1), -t.overall_diameter_mm)
    return lambda t: (-round(t.overall_diameter_mm, 1), -t.section_width_mm)


Mount = tuple[Listed, tuple["MockUp", ...]]
"""A listed tire on a rim, on every corner."""


def _mounts(
    corners: Sequence[MockUp], sizes: Sequence[Listed], rims: Sequence[float], terms: Terms
) -> tuple[list[Mount], tuple[str, ...]]:
    """Every listed tire on every permitted rim width, and the sizes whose dimensions are not known."""
    found: list[Mount] = []
    unknown: list[str] = []
    for listed in sizes:
        if not any(abs(listed.marking.rim_in - rim) < SAME_RIM_IN for rim in rims):
            continue
        try:
            for width in terms.limits.widths_in(listed_widths(listed)):
                found.append((listed, tuple(_mounted(corner, listed, width) for corner in corners)))
        except TireError:
            unknown.append(listed.size)
    return found, tuple(unknown)


def _mounted(corner: MockUp, listed: Listed, width_in: float) -> MockUp:
    wheel = rim_of(corner.wheel, width_in, listed.marking.rim_in)
    return replace(corner, tire=mounted(listed, width_in, corner.tire), wheel=wheel)


def _offsets(on: Sequence[MockUp], corners: Sequence[MockUp], terms: Terms) -> np.ndarray:
    """Offsets of a rim that can be had: those of the backspaces that are sold, within the [limits] of every corner."""
    ends = [one.terms.limits.offsets_mm(one.wheel, given.wheel) for one, given in zip(on[1:], corners[1:], strict=True)]
    ends.append(terms.limits.offsets_mm(on[0].wheel, corners[0].wheel))
    low, high = max(end[0] for end in ends), min(end[1] for end in ends)
    if high <= low:
        return np.array([low] if len(on) == 1 else [])
    half = on[0].wheel.overall_width_mm / 2
    return np.array(terms.sold.backspace_mm.between(low + half, high + half)) - half


def _rings(
    corners: Sequence[MockUp], mounts: Sequence[Mount], offsets: Sequence[np.ndarray]
) -> tuple[tuple[Seen, ...], ...]:
    """What the largest of the wheels, at the offset that stands out most, sees of every corner; none of it where there
    is no wheel to look at."""
    if not any(map(len, offsets)):
        return ()
    widest = max(m.tire.full_diameter_mm for _, on in mounts for m in on) / 2
    farthest = max(float(np.abs(some).max()) for some in offsets if len(some))
    across = max(m.tire.full_width_mm for _, on in mounts for m in on) / 2 + farthest
    within_mm = float(np.hypot(widest, across))
    return tuple(seen_by_wheel(corner, within_mm=within_mm, margin_mm=40.0) for corner in corners)


def _screened(
    rings: Sequence[Sequence[Seen]], mounts: Sequence[Mount], offsets: Sequence[np.ndarray], progress: Progress
) -> list[_Candidate]:
    at_once = [rings_of(seen) for seen in rings]
    kept = []
    for done, (listed, on) in enumerate(mounts):
        progress(done, len(mounts), "tires on rims looked at")
        if not len(offsets[done]):
            continue
        looked = _Lattice(list(zip(on, at_once, strict=True)), offsets[done])
        if looked.may_clear():
            kept.append(_Candidate(listed=listed, on=on, looked=looked))
    return kept


def _alike(candidates: Sequence[_Candidate], rank: Callable[[Tire], tuple[float, ...]]) -> list[list[_Candidate]]:
    """Candidates of tires that are as large as one another together, the first to be certified first.

    Of one size alone it is not yet asked which rim leaves the most to spare: most are never certified.
    """
    some: dict[tuple[float, ...], list[_Candidate]] = {}
    for one in candidates:
        some.setdefault(rank(one.on[0].tire), []).append(one)
    alike = [some[key] for key in sorted(some)]
    return [sorted(each, key=lambda c: c.order) if len({c.listed.size for c in each}) > 1 else each for each in alike]


def _tightest_first(mockup: MockUp, seen: Sequence[Seen]) -> tuple[str, ...]:
    """The parts as the coarse look ranks them."""
    gaps = least_of_each(seen, mockup.solid, 0.0)
    return tuple(s.part for s in sorted(seen, key=lambda s: (gaps[s.part] - s.required_mm, s.part)))


def best_offset(mockup: MockUp, seen: Sequence[Seen], offsets: np.ndarray) -> tuple[float, float]:
    """The offset of a lattice with the most to spare on one corner, as estimated, and that spare."""
    return _Lattice([(mockup, rings_of(seen))], offsets).best()


class _Lattice:
    """Offsets on a lattice, looked at where it matters for the one with the most to spare at the worst of corners.

    A spare at one offset bounds it at every other, so most offsets are never looked at; the search ends when no bound
    is noticeably better than the best seen, or when none is left that could clear: the estimate is never below the
    truth, so a tire that it refuses everywhere is refused by real points of the well.
    """

    def __init__(self, sides: Sequence[tuple[MockUp, Rings]], offsets: np.ndarray) -> None:
        self._rims = [(rings, rim_of_its_own(one)) for one, rings in sides]
        self._offsets = offsets
        self._looked: dict[int, float] = {}
        self._ceiling = np.full(len(offsets), np.inf)
        self._best, self._best_spare = 0, -np.inf
        self._next: int | None = len(offsets) // 2

    def may_clear(self) -> bool:
        """Is there an offset that the coarse look lets pass?"""
        while self._next is not None and self._best_spare < 0.0:
            self._step(self._next)
        return self._best_spare >= 0.0

    def best(self) -> tuple[float, float]:
        """The offset with the most to spare, as estimated, and that spare; never below the true one."""
        while self._next is not None:
            self._step(self._next)
        return float(self._offsets[self._best]), float(self._best_spare)

    def _step(self, at: int) -> None:
        """Look at a place, and find where to look next."""
        spare = self._spare(at)
        if spare > self._best_spare:
            self._best, self._best_spare = at, spare
        self._ceiling = np.minimum(self._ceiling, spare + np.abs(self._offsets - self._offsets[at]))
        self._ceiling[at] = -np.inf
        at = int(self._ceiling.argmax())
        top = self._ceiling[at]
        done = top < 0.0 or (self._best_spare >= 0.0 and top < self._best_spare + ENOUGH_MM)
        self._next = None if done else at

    def _spare(self, at: int) -> float:
        if at not in self._looked:
            # what is asked next is known but for one, and a few places at once cost little more than one
            places = _next_places(self._ceiling, at)
            spares = np.min([spares_at(rings, rim, self._offsets[places]) for rings, rim in self._rims], axis=0)
            self._looked |= dict(zip(places.tolist(), spares.tolist(), strict=True))
        return self._looked[at]


def _next_places(ceiling: np.ndarray, at: int) -> np.ndarray:
    """A place to look at, and those that are likely to be looked at after it: the tops of what others leave open."""
    if np.isinf(ceiling).all():
        return np.array([at])
    higher = np.concatenate([[-np.inf], ceiling, [-np.inf]])
    tops = np.flatnonzero((ceiling >= 0.0) & (ceiling >= higher[:-2]) & (ceiling > higher[2:]))
    few = tops[np.argsort(-ceiling[tops], kind="stable")[:_AT_ONCE]]
    return np.unique([at, *few.tolist()])


def _certified(
    alike: Sequence[Sequence[_Candidate]],
    rings: Sequence[Sequence[Seen]],
    terms: Terms,
    enough: int,
    progress: Progress,
) -> tuple[tuple[Fit, ...], int, set[str]]:
    """Measure the candidates in their order until enough sizes have cleared; each size on its best rim only."""
    fits: list[Fit] = []
    memory = Memory()
    done: set[str] = set()
    reached: set[str] = set()
    count = 0
    for candidate in (one for some in alike for one in sorted(some, key=lambda c: c.order)):
        if len(fits) >= enough:
            break
        size = candidate.listed.size
        reached.add(size)
        if size in done:
            continue
        progress(len(fits), enough, f"certifying {size}")
        count += 1
        mockups = candidate.mockups
        corners = zip(mockups, rings, strict=True)
        if all(spare_of(one, _tightest_first(one, seen), memory).clears for one, seen in corners):
            done.add(size)
            fits.append(_fit(candidate.listed, mockups, terms, memory))
    return tuple(fits), count, reached


def _fit(listed: Listed, mockups: Sequence[MockUp], terms: Terms, memory: Memory) -> Fit:
    bound = {one.corner: tightest(one, memory) for one in mockups}
    where = min(bound, key=lambda name: spare_mm(bound[name]))
    binds = bound[where]
    needed = terms.load.corner_kg
    index = listed.load_index
    return Fit(
        size=listed.size,
        tire=mockups[0].tire,
        wheel=mockups[0].wheel,
        spare_mm=spare_mm(binds),
        corner=where,
        binds=binds,
        swap=against_now(mockups[0]),
        load_index=index,
        carries=None if index is None or needed is None else load_kg(index) >= needed,
        source=listed.source,
    )
