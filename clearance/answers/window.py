"""The window: which backspace and offset keep every required gap, for the tire on each rim width.

Moving the wheel along its axis is the only change, so along one rim width the answer is one or more stretches of
offset. An end of a stretch is a tenth of a millimetre that clears beside a tenth that does not, both certified over the
whole cycle; a coarse look at what the wheel sees (see `seen`) only says where to measure.

* inner end - the least offset; beyond it the wheel stands too far out
* outer end - the greatest offset; beyond it the wheel stands too far in

Offsets and backspaces are mm; rim widths inches.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.changed import with_offset
from clearance.answers.checked import Progress, Spare, binding, gaps_of, silent, spare_mm, spare_of, tightest
from clearance.answers.search import Measured, edge, open_by_nearness, outermost
from clearance.answers.seen import Seen, seen_by_wheel
from clearance.answers.seen_at_once import least_of_each, rings_of
from clearance.answers.slid import rim_of_its_own, spares_at
from clearance.answers.tires import on_width, permitted_widths
from clearance.defaults import STEP_MM
from clearance.errors import InputError
from clearance.gap.foreseen import ForeseenGap, foreseen_gap
from clearance.gap.found import Gap
from clearance.gap.memory import Memory
from clearance.steady import steady
from clearance.units import MM_PER_INCH

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.terms import Limits

NEAR_MM = 3.0
"""What the coarse look may be wrong by: a place that misses by no more than this is measured all the same."""
SURE_MM = 6.0
"""A part that the coarse look leaves this much more room than the tightest is measured at the ends only."""


@dataclass(frozen=True, slots=True, kw_only=True)
class End:
    """One end of a stretch of offset."""

    offset_mm: float
    backspace_mm: float
    binds: Gap | None
    """The part that keeps the wheel from going further, measured one step past the end.

    None at a limit of the search.
    """

    @property
    def at_limit(self) -> bool:
        """Nothing was met before the limit of what may be ordered."""
        return self.binds is None


@dataclass(frozen=True, slots=True, kw_only=True)
class Stretch:
    """One stretch of offset that keeps every required gap."""

    least: End
    most: End
    best_offset_mm: float
    """The offset with the most to spare."""
    best_spare_mm: float
    """What the tightest part has left there, beyond its required gap."""

    @property
    def width_mm(self) -> float:
        """How long it is."""
        return self.most.offset_mm - self.least.offset_mm

    def past_mm(self, offset_mm: float) -> float:
        """How far an offset lies outside; negative inside, by the nearer end."""
        return max(self.least.offset_mm - offset_mm, offset_mm - self.most.offset_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class OnWidth:
    """The answer for one rim width."""

    width_in: float
    section_width_mm: float
    """Of the tire on this rim."""
    stretches: tuple[Stretch, ...]
    closest_offset_mm: float
    """Where nothing clears: the offset that comes closest, and by what it misses."""
    closest_spare_mm: float
    closest_binds: Gap | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """The answer for every rim width, and where the given wheel stands in it."""

    given_width_in: float
    given_offset_mm: float
    given_backspace_mm: float
    searched_mm: tuple[float, float]
    """Least and greatest offset looked at."""
    widths: tuple[OnWidth, ...]

    def given_past_mm(self) -> float | None:
        """How far the given wheel lies outside its own width's nearest stretch.

        Negative inside; None where none clears.
        """
        for row in self.widths:
            if abs(row.width_in - self.given_width_in) < 1e-6 and row.stretches:
                return min(s.past_mm(self.given_offset_mm) for s in row.stretches)
        return None


@steady
def window(
    mockup: MockUp, limits: Limits, *, widths_in: Sequence[float] | None = None, progress: Progress = silent
) -> Window:
    """The window of a mock-up on every permitted rim width, its own included."""
    widths = tuple(widths_in) if widths_in is not None else permitted_widths(mockup, limits)
    rows = []
    searched = limits.offsets_mm(mockup.wheel, mockup.wheel)
    seen: tuple[Seen, ...] | None = None
    memory = Memory()
    for done, width_in in enumerate(widths):
        progress(done, len(widths), f"rim {width_in:g} in")
        mounted = on_width(mockup, width_in)
        if seen is None:
            # The rings do not depend on the wheel: gathered once, with room for the widest.
            seen = seen_by_wheel(mounted, within_mm=_reach_mm(mounted, searched, max(widths)))
        rows.append(on_one_width(mounted, limits.offsets_mm(mounted.wheel, mockup.wheel), seen, memory))
    return Window(
        given_width_in=mockup.wheel.width_in,
        given_offset_mm=mockup.wheel.offset_mm,
        given_backspace_mm=mockup.wheel.backspace_mm,
        searched_mm=searched,
        widths=tuple(rows),
    )


def _reach_mm(mockup: MockUp, searched: tuple[float, float], widest_in: float) -> float:
    wider = max(0.0, widest_in - mockup.wheel.width_in) * MM_PER_INCH
    far = max(abs(searched[0] - mockup.wheel.offset_mm), abs(searched[1] - mockup.wheel.offset_mm))
    return float(mockup.solid.reach_mm) + far + wider


def estimate(mockup: MockUp, seen: Sequence[Seen], offsets_mm: np.ndarray) -> np.ndarray:
    """Least spare over all parts at each offset (n,), from the rings that the wheel sees; never below the true one."""
    return spares_at(rings_of(seen), rim_of_its_own(mockup), offsets_mm)


def on_one_width(mockup: MockUp, searched_mm: tuple[float, float], seen: Sequence[Seen], memory: Memory) -> OnWidth:
    """Every stretch of offset that clears on the mock-up's own rim width."""
    offsets = np.arange(np.ceil(searched_mm[0]), np.floor(searched_mm[1]) + 0.5, 1.0)
    if not len(offsets):
        offsets = np.array([searched_mm[0]])
    rough = estimate(mockup, seen, offsets)
    slid = _Slid(mockup, seen, memory)
    spare = Measured(slid.spare, STEP_MM)
    stretches: list[Stretch] = []
    for first, last in _runs(rough >= -NEAR_MM):
        stretches += _stretches(slid, spare, offsets[first : last + 1], rough[first : last + 1], searched_mm)
    if stretches:
        best = max(stretches, key=lambda s: s.best_spare_mm)
        closest, missing, binds = best.best_offset_mm, best.best_spare_mm, None
    else:
        closest = spare.value(spare.index(float(offsets[int(rough.argmax())])))
        binds = slid.tightest(closest)
        missing = spare_mm(binds)
    return OnWidth(
        width_in=mockup.wheel.width_in,
        section_width_mm=mockup.tire.section_width_mm,
        stretches=tuple(stretches),
        closest_offset_mm=closest,
        closest_spare_mm=missing,
        closest_binds=binds,
    )


class _Slid:
    """A mock-up with its wheel slid along the axis, mounted once at each offset and certified over the whole cycle."""

    def __init__(self, mockup: MockUp, seen: Sequence[Seen], memory: Memory) -> None:
        self._mockup, self._seen, self._memory = mockup, seen, memory
        self._mounted: dict[float, MockUp] = {}
        self._looked: dict[float, dict[str, float]] = {}

    def at(self, offset_mm: float) -> MockUp:
        """The mock-up with its wheel at this offset."""
        if offset_mm not in self._mounted:
            self._mounted[offset_mm] = with_offset(self._mockup, offset_mm)
        return self._mounted[offset_mm]

    def spare(self, offset_mm: float) -> Spare:
        """The least spare there of the parts that can be the tightest; the tightest first."""
        rough = self._rough(offset_mm)
        tight = max(min(rough.values()), 0.0) + SURE_MM
        near = sorted((name for name in rough if rough[name] <= tight), key=lambda name: (rough[name], name))
        return spare_of(self.at(offset_mm), near, self._memory)

    def spare_of_all(self, offset_mm: float) -> Spare:
        """The least spare of all parts there."""
        return spare_of(self.at(offset_mm), memory=self._memory)

    def tightest(self, offset_mm: float) -> Gap:
        """The gap of the part with the least to spare there, measured as closely as a check does."""
        # The coarse look knows nothing of what unmeasured links may do, so there it lets no part go.
        if self._mockup.unmeasured is not None:
            return tightest(self.at(offset_mm), self._memory)
        rough = self._rough(offset_mm)
        least = min(rough.values())
        near = [part.name for part in self._mockup.parts if rough[part.name] <= least + NEAR_MM]
        return tightest(self.at(offset_mm), self._memory, near)

    def _rough(self, offset_mm: float) -> dict[str, float]:
        if offset_mm not in self._looked:
            gaps = least_of_each(self._seen, self._mockup.solid, self._mockup.wheel.offset_mm - offset_mm)
            self._looked[offset_mm] = {s.part: gaps[s.part] - s.required_mm for s in self._seen}
        return self._looked[offset_mm]

    def open_between(self, spare: Measured, one: int, other: int) -> int | None:
        """A step between two that clear at which some part may not; None where there is none.

        The same planes that hold at both ends hold for every wheel between (see `geom.foreseen`): rim and tire slide,
        and what of disc and collar lies off the rim is longest at one of the ends. Else it is told from how near the
        ends are.
        """
        begins, ends = (self._foreseen(spare.value(at)) for at in (one, other))
        known = [spare.at(at).low for at in (one, other)]
        for part in self._mockup.parts:
            gaps, required = (begins[part.name], ends[part.name]), part.required_mm
            if max(gaps[0].open_ends(gaps[1], required)) * abs(other - one) < 1.0:
                continue
            lows = [max(low, gap.at_least_mm - required) for low, gap in zip(known, gaps, strict=True)]
            left_open = open_by_nearness(lows, spare.step, one, other)
            if left_open is not None:
                return left_open
        return None

    def _foreseen(self, offset_mm: float) -> dict[str, ForeseenGap]:
        mounted = self.at(offset_mm)
        return {part.name: foreseen_gap(mounted, part, self._memory) for part in mounted.parts}

    def end(self, offset_mm: float, binds: Gap | None) -> End:
        """An end at this offset."""
        return End(offset_mm=offset_mm, backspace_mm=self.at(offset_mm).wheel.backspace_mm, binds=binds)


def _runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of every run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _stretches(
    slid: _Slid, spare: Measured, offsets: np.ndarray, rough: np.ndarray, searched_mm: tuple[float, float]
) -> list[Stretch]:
    """The stretch around the best of one run of the estimate; none where even that does not clear."""
    low, high = _limit_steps(spare, searched_mm)
    best = max(low, min(high, spare.index(float(offsets[int(rough.argmax())]))))
    if not spare.clears(best):
        best = _climbed(spare, best, low, high)
    if not spare.clears(best):
        return []
    positive = np.flatnonzero(rough >= 0)
    guesses = (float(offsets[positive[0]]), float(offsets[positive[-1]])) if len(positive) else (None, None)
    least = _proven(slid, spare, best, low, guesses[0])
    most = _proven(slid, spare, best, high, guesses[1])
    at = spare.value(best)
    # what a check says of it there, to the last digit
    room = spare_mm(binding(gaps_of(slid.at(at), [slid.tightest(at).part])))
    return [Stretch(least=least, most=most, best_offset_mm=at, best_spare_mm=room)]


def _proven(slid: _Slid, spare: Measured, best: int, limit: int, guess: float | None) -> End:
    """One end, with every part measured there, and nothing clearing again within two steps past it."""
    way = 1 if limit > best else -1

    def open_between(one: int, other: int) -> int | None:
        return slid.open_between(spare, one, other)

    at, free = outermost(spare, best, limit, guess=guess, open_between=open_between)
    at, free = _past_flat(spare, at, limit, free)
    if not slid.spare_of_all(spare.value(at)).clears:
        # A part that the coarse look let go is the tightest after all: the end is found again with every part.
        spare = Measured(slid.spare_of_all, spare.step)
        if not spare.clears(best):
            raise InputError("the coarse look missed a part at the middle of the window; tell us with the corner file.")
        at, free = edge(spare, best, at), False
        at, free = _past_flat(spare, at, limit, free)
    return slid.end(spare.value(at), None if free else slid.tightest(spare.value(at + way)))


def _past_flat(spare: Measured, at: int, limit: int, free: bool) -> tuple[int, bool]:
    """Where the spare is nearly level, the bracket's own width hides the edge: on while two steps past clear again."""
    way = 1 if limit > at else -1
    while not free and abs(limit - at) > 2 and spare.clears(at + 2 * way):
        at, free = outermost(spare, at + 2 * way, limit)
    return at, free


def _limit_steps(spare: Measured, searched_mm: tuple[float, float]) -> tuple[int, int]:
    """The steps just inside the limits."""
    return -int(np.floor(-searched_mm[0] / spare.step + 1e-6)), int(np.floor(searched_mm[1] / spare.step + 1e-6))


def _climbed(spare: Measured, start: int, low: int, high: int) -> int:
    """From the estimate's best offset, which does not quite clear, to one nearby that does.

    A few looks to either side.
    """
    at, stride = start, 16
    while stride >= 2 and not spare.clears(at):
        near = [i for i in (at - stride, at, at + stride) if low <= i <= high]
        better = max(near, key=lambda i: spare.at(i).number)
        at, stride = better, stride if better != at else stride // 2
    return at
