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
from clearance.answers.checked import Progress, binding, gaps_of, silent, spare_mm
from clearance.answers.search import Measured, edge, outermost
from clearance.answers.seen import Seen, seen_by_wheel
from clearance.answers.tires import on_width, permitted_widths
from clearance.gap.found import Gap

if TYPE_CHECKING:
    from clearance.answers.sections import Limits
    from clearance.mockup.mockup import MockUp

STEP_MM = 0.1
"""Ends are exact to this."""
REACH_MM = 50.0
"""How far each way from the wheel's own offset is searched where [limits] says nothing."""
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
    """The part that keeps the wheel from going further, measured one step past the end; None at a limit of the search."""

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
        """How far the given wheel lies outside its own width's nearest stretch; negative inside; None where none clears."""
        for row in self.widths:
            if abs(row.width_in - self.given_width_in) < 1e-6 and row.stretches:
                return min(s.past_mm(self.given_offset_mm) for s in row.stretches)
        return None


def window(
    mockup: MockUp, limits: Limits, *, widths_in: Sequence[float] | None = None, progress: Progress = silent
) -> Window:
    """The window of a mock-up on every permitted rim width, its own included."""
    widths = tuple(widths_in) if widths_in is not None else permitted_widths(mockup, limits)
    rows = []
    searched = _limits_of(mockup, limits)
    seen: tuple[Seen, ...] | None = None
    for done, width_in in enumerate(widths):
        progress(done, len(widths), f"rim {width_in:g} in")
        mounted = on_width(mockup, width_in)
        if seen is None:
            # The rings do not depend on the wheel: gathered once, with room for the widest.
            seen = seen_by_wheel(mounted, within_mm=_reach_mm(mounted, searched, max(widths)))
        rows.append(on_one_width(mounted, _limits_of(mounted, limits), seen))
    return Window(
        given_width_in=mockup.wheel.width_in,
        given_offset_mm=mockup.wheel.offset_mm,
        given_backspace_mm=mockup.wheel.backspace_mm,
        searched_mm=searched,
        widths=tuple(rows),
    )


def _limits_of(mockup: MockUp, limits: Limits) -> tuple[float, float]:
    """Least and greatest offset of this rim that may be ordered."""
    if limits.backspace_mm is None:
        return mockup.wheel.offset_mm - REACH_MM, mockup.wheel.offset_mm + REACH_MM
    half = mockup.wheel.overall_width_mm / 2
    return limits.backspace_mm[0] - half, limits.backspace_mm[1] - half


def _reach_mm(mockup: MockUp, searched: tuple[float, float], widest_in: float) -> float:
    wider = max(0.0, widest_in - mockup.wheel.width_in) * 25.4
    far = max(abs(searched[0] - mockup.wheel.offset_mm), abs(searched[1] - mockup.wheel.offset_mm))
    return float(mockup.solid.reach_mm) + far + wider


def estimate(mockup: MockUp, seen: Sequence[Seen], offsets_mm: np.ndarray) -> np.ndarray:
    """Least spare over all parts at each offset (n,), from the rings that the wheel sees; never below the true one."""
    chain = mockup.solid.chain
    now = mockup.wheel.offset_mm
    # More offset moves the rim inboard.
    return np.array([min((s.gap_mm(chain, now - o) - s.required_mm for s in seen), default=np.inf) for o in offsets_mm])


def on_one_width(mockup: MockUp, searched_mm: tuple[float, float], seen: Sequence[Seen]) -> OnWidth:
    """Every stretch of offset that clears on the mock-up's own rim width."""
    offsets = np.arange(np.ceil(searched_mm[0]), np.floor(searched_mm[1]) + 0.5, 1.0)
    if not len(offsets):
        offsets = np.array([searched_mm[0]])
    rough = estimate(mockup, seen, offsets)
    spare = Measured(lambda offset: _spare(mockup, offset, seen), STEP_MM)
    stretches: list[Stretch] = []
    for first, last in _runs(rough >= -NEAR_MM):
        stretches += _stretches(mockup, spare, offsets[first : last + 1], rough[first : last + 1], searched_mm)
    closest = _closest(spare, offsets, rough) if not stretches else 0
    return OnWidth(
        width_in=mockup.wheel.width_in,
        section_width_mm=mockup.tire.section_width_mm,
        stretches=tuple(stretches),
        closest_offset_mm=stretches[0].best_offset_mm if stretches else spare.value(closest),
        closest_spare_mm=stretches[0].best_spare_mm if stretches else spare.at(closest),
        closest_binds=None if stretches else binding(_gaps(mockup, spare.value(closest))),
    )


def _spare(mockup: MockUp, offset_mm: float, seen: Sequence[Seen]) -> float:
    """Least spare at one offset, certified, of the parts that can be the tightest there."""
    chain, shifted = mockup.solid.chain, mockup.wheel.offset_mm - offset_mm
    rough = {s.part: s.gap_mm(chain, shifted) - s.required_mm for s in seen}
    tight = max(min(rough.values()), 0.0) + SURE_MM
    near = [part.name for part in mockup.parts if rough[part.name] <= tight]
    return spare_mm(binding(gaps_of(with_offset(mockup, offset_mm), near)))


def _gaps(mockup: MockUp, offset_mm: float) -> tuple[Gap, ...]:
    return gaps_of(with_offset(mockup, offset_mm))


def _runs(flags: np.ndarray) -> list[tuple[int, int]]:
    """First and last index of every run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], flags, [False]]).astype(int)))
    return [(int(a), int(b) - 1) for a, b in zip(edges[::2], edges[1::2], strict=True)]


def _stretches(
    mockup: MockUp, spare: Measured, offsets: np.ndarray, rough: np.ndarray, searched_mm: tuple[float, float]
) -> list[Stretch]:
    """The stretch around the best of one run of the estimate; none where even that does not clear."""
    best = spare.index(float(offsets[int(rough.argmax())]))
    best = _climbed(spare, best, spare.index(searched_mm[0]), spare.index(searched_mm[1]))
    if not spare.clears(best):
        return []
    positive = np.flatnonzero(rough >= 0)
    guesses = (float(offsets[positive[0]]), float(offsets[positive[-1]])) if len(positive) else (None, None)
    low, high = _limit_steps(spare, searched_mm)
    least, most = _proven(mockup, spare, best, low, guesses[0]), _proven(mockup, spare, best, high, guesses[1])
    return [Stretch(least=least, most=most, best_offset_mm=spare.value(best), best_spare_mm=spare.at(best))]


def _proven(mockup: MockUp, spare: Measured, best: int, limit: int, guess: float | None) -> End:
    """One end, with every part measured there, and nothing clearing again within two steps past it."""
    way = 1 if limit > best else -1
    at, free = outermost(spare, best, limit, guess=guess)
    while True:
        at, free = _past_flat(spare, at, limit, free)
        tightest = binding(_gaps(mockup, spare.value(at)))
        if spare_mm(tightest) >= 0.0 or at == best:
            break
        # A part that the coarse look let go is the tightest after all: its shortfall joins what is known, and the walk
        # is made again with it.
        spare.known[at] = spare_mm(tightest)
        every = Measured(lambda offset: spare_mm(binding(_gaps(mockup, offset))), spare.step)
        at, free = edge(every, best, at), False
        spare = every
    wheel = mockup.wheel.with_offset(spare.value(at))
    binds = None if free else binding(_gaps(mockup, spare.value(at + way)))
    return End(offset_mm=spare.value(at), backspace_mm=wheel.backspace_mm, binds=binds)


def _past_flat(spare: Measured, at: int, limit: int, free: bool) -> tuple[int, bool]:
    """Where the spare is nearly level, the bracket's own width can hide the edge: go on while two steps past still clear."""
    way = 1 if limit > at else -1
    while not free and abs(limit - at) > 2 and spare.clears(at + 2 * way):
        at, free = outermost(spare, at + 2 * way, limit)
    return at, free


def _limit_steps(spare: Measured, searched_mm: tuple[float, float]) -> tuple[int, int]:
    """The steps just inside the limits."""
    return -int(np.floor(-searched_mm[0] / spare.step + 1e-6)), int(np.floor(searched_mm[1] / spare.step + 1e-6))


def _climbed(spare: Measured, start: int, low: int, high: int) -> int:
    """From the estimate's best offset to one that clears, or the best nearby: a few looks to either side."""
    at = max(low, min(high, start))
    stride = 16
    while stride >= 1 and len(spare.known) < 40:
        better = max((at - stride, at, at + stride), key=lambda i: spare.at(i) if low <= i <= high else -np.inf)
        if better == at:
            stride //= 2
            if spare.clears(at) and stride < 8:
                break
        at = better
    return at


def _closest(spare: Measured, offsets: np.ndarray, rough: np.ndarray) -> int:
    at = spare.index(float(offsets[int(rough.argmax())]))
    low, high = spare.index(float(offsets[0])), spare.index(float(offsets[-1]))
    return _climbed(spare, at, low, high)
