"""The largest: which sizes of a list clear, each on its best rim width at its best backspace.

Every tire on every permitted rim at every backspace step is looked at through what the wheel sees of the well (see
`seen`); one measurement there decides many backspaces, because a shift of the wheel by a millimetre changes a gap by no
more. Those that may clear are then certified over the whole cycle, best first, until enough have been. A size in the
answer is certified; a size left out either failed by a real point of the well, or was not reached.

Lengths are millimetres; rim widths inches.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import with_offset
from clearance.answers.checked import Progress, binding, gaps_of, silent, spare_mm, spare_of
from clearance.answers.seen import Seen, seen_by_wheel
from clearance.answers.swap import Swap, against_now
from clearance.answers.tires import listed_widths, mounted, rim_of
from clearance.errors import InputError, TireError
from clearance.gap.found import Gap
from clearance.plain import echoed
from clearance.steady import steady
from clearance.terms import Terms
from clearance.tire.catalog import Listed
from clearance.tire.load import load_index_for, load_kg
from clearance.units import SAME_RIM_IN

if TYPE_CHECKING:
    from clearance.geom.chain import Chain
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
    """What the tightest part has left beyond its required gap."""
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
    mockup: MockUp
    spare_mm: float
    """As estimated, at the best offset; never below the true one."""
    parts: tuple[str, ...]
    """The tightest first, as estimated."""


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
    progress: Progress = silent,
) -> Largest:
    """The sizes that clear, in the order asked for: the largest diameter, the widest, or the closest to a diameter.

    Raises InputError for an order that is not known, or a load on the corner that no load index carries.
    """
    needed_kg = terms.load.corner_kg
    needed = None if needed_kg is None else load_index_for(needed_kg)
    rank = _rank(by, target_mm)
    rims = tuple(rim_diameters_in or (mockup.wheel.diameter_in,))
    mounts, unknown = _mounts(mockup, sizes, rims, terms)
    offsets = [_offsets(one.wheel, mockup.wheel, terms) for _, one in mounts]
    candidates = _screened(mockup, mounts, offsets, progress)
    candidates.sort(key=lambda c: (*rank(c.mockup.tire), -round(c.spare_mm, 3), c.mockup.wheel.width_in, c.listed.size))
    fits, certified, reached = _certified(mockup, candidates, terms, enough, progress)
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


def _mounts(
    mockup: MockUp, sizes: Sequence[Listed], rims: Sequence[float], terms: Terms
) -> tuple[list[tuple[Listed, MockUp]], tuple[str, ...]]:
    """Every listed tire on every permitted rim width, and the sizes whose dimensions are not known."""
    found: list[tuple[Listed, MockUp]] = []
    unknown: list[str] = []
    for listed in sizes:
        if not any(abs(listed.marking.rim_in - rim) < SAME_RIM_IN for rim in rims):
            continue
        try:
            for width in terms.limits.widths_in(listed_widths(listed)):
                wheel = rim_of(mockup.wheel, width, listed.marking.rim_in)
                found.append((listed, replace(mockup, tire=mounted(listed, width, mockup.tire), wheel=wheel)))
        except TireError:
            unknown.append(listed.size)
    return found, tuple(unknown)


def _offsets(rim: Wheel, given: Wheel, terms: Terms) -> np.ndarray:
    """Offsets of a rim that can be had: those of the backspaces that are sold, within [limits]."""
    low, high = terms.limits.offsets_mm(rim, given)
    if high <= low:
        return np.array([low])
    half = rim.overall_width_mm / 2
    return np.array(terms.sold.backspace_mm.between(low + half, high + half)) - half


def _screened(
    mockup: MockUp, mounts: Sequence[tuple[Listed, MockUp]], offsets: Sequence[np.ndarray], progress: Progress
) -> list[_Candidate]:
    if not any(map(len, offsets)):
        return []
    widest = max(m.tire.full_diameter_mm for _, m in mounts) / 2
    across = max(m.tire.full_width_mm for _, m in mounts) / 2 + float(np.abs(np.concatenate(offsets)).max())
    seen = seen_by_wheel(mockup, within_mm=float(np.hypot(widest, across)), margin_mm=40.0)
    kept = []
    for done, (listed, one) in enumerate(mounts):
        progress(done, len(mounts), "tires on rims looked at")
        if not len(offsets[done]):
            continue
        offset, spare = best_offset(one, seen, offsets[done])
        if spare < 0.0:
            continue
        chain, shifted = one.solid.chain, one.wheel.offset_mm - offset
        tightest_first = sorted(seen, key=lambda s: (s.gap_mm(chain, shifted) - s.required_mm, s.part))
        parts = tuple(s.part for s in tightest_first)
        kept.append(_Candidate(listed=listed, mockup=with_offset(one, offset), spare_mm=spare, parts=parts))
    return kept


def best_offset(mockup: MockUp, seen: Sequence[Seen], offsets: np.ndarray) -> tuple[float, float]:
    """The offset of a lattice with the most to spare, as estimated, and that spare.

    A spare at one offset bounds it at every other, so most offsets are never looked at; the search ends when no bound
    is noticeably better than the best seen, or when none is left that could clear: the estimate is never below the
    truth, so a tire that it refuses everywhere is refused by real points of the well.
    """
    chain, now = mockup.solid.chain, mockup.wheel.offset_mm
    ceiling = np.full(len(offsets), np.inf)
    best, best_spare = 0, -np.inf
    at = len(offsets) // 2
    for _ in range(len(offsets)):
        spare = _spare(chain, seen, now - float(offsets[at]))
        if spare > best_spare:
            best, best_spare = at, spare
        ceiling = np.minimum(ceiling, spare + np.abs(offsets - offsets[at]))
        ceiling[at] = -np.inf
        at = int(ceiling.argmax())
        if ceiling[at] < 0.0 or (best_spare >= 0.0 and ceiling[at] < best_spare + ENOUGH_MM):
            break
    return float(offsets[best]), float(best_spare)


def _spare(chain: Chain, seen: Sequence[Seen], shifted_mm: float) -> float:
    return min((s.gap_mm(chain, shifted_mm) - s.required_mm for s in seen), default=float("inf"))


def _certified(
    mockup: MockUp, candidates: Sequence[_Candidate], terms: Terms, enough: int, progress: Progress
) -> tuple[tuple[Fit, ...], int, set[str]]:
    """Measure the candidates in their order until enough sizes have cleared; each size on its best rim only."""
    fits: list[Fit] = []
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
        if spare_of(candidate.mockup, candidate.parts).clears:
            done.add(size)
            fits.append(_fit(candidate, gaps_of(candidate.mockup), terms))
    return tuple(fits), count, reached


def _fit(candidate: _Candidate, gaps: Sequence[Gap], terms: Terms) -> Fit:
    listed = candidate.listed
    tightest = binding(gaps)
    needed = terms.load.corner_kg
    index = listed.load_index
    return Fit(
        size=listed.size,
        tire=candidate.mockup.tire,
        wheel=candidate.mockup.wheel,
        spare_mm=spare_mm(tightest),
        binds=tightest,
        swap=against_now(candidate.mockup),
        load_index=index,
        carries=None if index is None or needed is None else load_kg(index) >= needed,
        source=listed.source,
    )
