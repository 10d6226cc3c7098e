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
from clearance.answers.seen_at_once import Rings, rings_of
from clearance.answers.slid import rim_of_its_own, spare_at
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
    mockups: tuple[MockUp, ...]
    """On every corner that the wheel goes on, the one asked about first."""
    spare_mm: float
    """As estimated, at the best offset, at the worst corner; never below the true one."""

    @property
    def mockup(self) -> MockUp:
        """On the corner that was asked about."""
        return self.mockups[0]


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
    candidates.sort(key=lambda c: (*rank(c.mockup.tire), -round(c.spare_mm, 3), c.mockup.wheel.width_in, c.listed.size))
    fits, certified, reached = _certified(candidates, rings, terms, enough, progress)
    return Largest(
        fits=fits,
        combinations=sum(map(len, offsets)),
        screened_out=len(mounts) - len(candidates),
        certified=certified,
        not_reached=tuple(dict.fromkeys(c.listed.size for c in candidates if c.listed.size not in reached)),
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
        offset, spare = _best(list(zip(on, at_once, strict=True)), offsets[done])
        if spare >= 0.0:
            put = tuple(with_offset(one, offset) for one in on)
            kept.append(_Candidate(listed=listed, mockups=put, spare_mm=spare))
    return kept


def _tightest_first(mockup: MockUp, seen: Sequence[Seen]) -> tuple[str, ...]:
    """The parts as the coarse look ranks them."""
    chain = mockup.solid.chain
    return tuple(s.part for s in sorted(seen, key=lambda s: (s.gap_mm(chain) - s.required_mm, s.part)))


def best_offset(mockup: MockUp, seen: Sequence[Seen], offsets: np.ndarray) -> tuple[float, float]:
    """The offset of a lattice with the most to spare on one corner, as estimated, and that spare."""
    return _best([(mockup, rings_of(seen))], offsets)


def _best(sides: Sequence[tuple[MockUp, Rings]], offsets: np.ndarray) -> tuple[float, float]:
    """The offset of a lattice with the most to spare at the worst of these corners, as estimated, and that spare.

    A spare at one offset bounds it at every other, so most offsets are never looked at; the search ends when no bound
    is noticeably better than the best seen, or when none is left that could clear: the estimate is never below the
    truth, so a tire that it refuses everywhere is refused by real points of the well.
    """
    rims = [(rings, rim_of_its_own(one)) for one, rings in sides]
    ceiling = np.full(len(offsets), np.inf)
    best, best_spare = 0, -np.inf
    at = len(offsets) // 2
    for _ in range(len(offsets)):
        spare = min(spare_at(rings, rim, float(offsets[at])) for rings, rim in rims)
        if spare > best_spare:
            best, best_spare = at, spare
        ceiling = np.minimum(ceiling, spare + np.abs(offsets - offsets[at]))
        ceiling[at] = -np.inf
        at = int(ceiling.argmax())
        if ceiling[at] < 0.0 or (best_spare >= 0.0 and ceiling[at] < best_spare + ENOUGH_MM):
            break
    return float(offsets[best]), float(best_spare)


def _certified(
    candidates: Sequence[_Candidate],
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
    for candidate in candidates:
        if len(fits) >= enough:
            break
        size = candidate.listed.size
        reached.add(size)
        if size in done:
            continue
        progress(len(fits), enough, f"certifying {size}")
        count += 1
        corners = zip(candidate.mockups, rings, strict=True)
        if all(spare_of(one, _tightest_first(one, seen), memory).clears for one, seen in corners):
            done.add(size)
            fits.append(_fit(candidate, terms, memory))
    return tuple(fits), count, reached


def _fit(candidate: _Candidate, terms: Terms, memory: Memory) -> Fit:
    listed = candidate.listed
    bound = {one.corner: tightest(one, memory) for one in candidate.mockups}
    where = min(bound, key=lambda name: spare_mm(bound[name]))
    binds = bound[where]
    needed = terms.load.corner_kg
    index = listed.load_index
    return Fit(
        size=listed.size,
        tire=candidate.mockup.tire,
        wheel=candidate.mockup.wheel,
        spare_mm=spare_mm(binds),
        corner=where,
        binds=binds,
        swap=against_now(candidate.mockup),
        load_index=index,
        carries=None if index is None or needed is None else load_kg(index) >= needed,
        source=listed.source,
    )
