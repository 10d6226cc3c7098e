"""The least change that clears: every knob on its own, exact, then rounded up to what is sold; pairs where none does.

The exact amount clears, certified over the whole cycle, and a step less does not. What is bought is measured again,
since a thicker spacer may cure one part and hit another. Where no knob does it alone, every pair is tried: some of
one, and the least of the other that then clears.

Amounts are millimetres or degrees, as the knob says.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.checked import (
    Progress,
    Spare,
    all_clear,
    failing,
    gaps_of,
    silent,
    spare_mm,
    spare_of,
)
from clearance.answers.knobs import Knob, knobs_of
from clearance.answers.search import Measured, first_that_clears, least_that_clears
from clearance.answers.seen import seen_by_wheel
from clearance.answers.tires import listed_widths, mounted
from clearance.errors import TireError
from clearance.gap.found import Gap
from clearance.steady import steady
from clearance.terms import Terms
from clearance.units import SAME_RIM_IN

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.catalog import Listed
    from clearance.tire.tire import Tire

PAIR_STEPS = 4
"""How many amounts of the first knob of a pair are tried, evenly up to its limit."""
NEAR_MM = 3.0
"""What the coarse look may be wrong by."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Change:
    """One change that clears."""

    knob: str
    unit: str
    exact: float
    """The least that clears, to the knob's step."""
    bought: float | None
    """The least of what is sold that clears; None where nothing sold within the limit does."""
    cost: str
    gaps: tuple[Gap, ...]
    """Of every part, with the exact amount."""
    effort: float
    """Bought, or exact, over the limit: 0 is nothing, 1 is all that [limits] allows."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smaller:
    """The next tire size down that clears on the same wheel."""

    size: str
    tire: Tire
    source: str
    gaps: tuple[Gap, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """Two changes that clear together."""

    first: Change
    second: Change

    @property
    def effort(self) -> float:
        """Both together."""
        return self.first.effort + self.second.effort


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastChange:
    """Everything that was tried."""

    before: tuple[Gap, ...]
    changes: tuple[Change, ...]
    """Single changes that clear, least effort first."""
    smaller: Smaller | None
    pairs: tuple[Pair, ...]
    """Only where no single change clears."""
    tried: tuple[str, ...]
    """Knobs that do not clear on their own, as far as [limits] lets them go."""

    @property
    def clear_as_is(self) -> bool:
        """Whether there was nothing to change."""
        return all_clear(self.before)


@steady
def least_change(
    mockup: MockUp, terms: Terms, sizes: Sequence[Listed] = (), *, progress: Progress = silent
) -> LeastChange:
    """The least of every change that clears this mock-up; nothing to change where it clears as it is."""
    before = gaps_of(mockup)
    # the worst first: whatever does not clear that one need not be measured further
    wanting = failing(sorted(before, key=spare_mm))
    if not wanting:
        return LeastChange(before=before, changes=(), smaller=None, pairs=(), tried=())
    knobs = knobs_of(mockup, terms.limits, terms.sold, wanting)
    changes, tried = [], []
    for done, knob in enumerate(knobs):
        progress(done, len(knobs) + 1, knob.name)
        found = least_of(mockup, knob, wanting)
        if found is None:
            tried.append(knob.name)
        else:
            changes.append(found)
    changes = _without_both_stops(changes)
    smaller = _next_size_down(mockup, sizes) if terms.limits.tire_size else None
    pairs = () if changes else _pairs(mockup, knobs, wanting, progress)
    return LeastChange(
        before=before,
        changes=tuple(sorted(changes, key=lambda c: (c.effort, c.knob))),
        smaller=smaller,
        pairs=pairs,
        tried=tuple(tried),
    )


def _without_both_stops(changes: list[Change]) -> list[Change]:
    """Where one steering stop does it, shortening the other as well is no least change."""
    if any(c.knob.startswith("steering stop") and not c.knob.endswith("both") for c in changes):
        return [c for c in changes if c.knob != "steering stop, both"]
    return changes


def least_of(mockup: MockUp, knob: Knob, wanting: Sequence[str]) -> Change | None:
    """The least amount of one knob that clears every part; None where its limit does not reach."""
    spare = Measured(lambda amount: _spare(knob.apply(mockup, amount), wanting), knob.step)
    limit = int(knob.limit / knob.step + 1e-6)
    scaled = _Scaled(spare, knob.mm_per_unit)
    steps = least_that_clears(spare, limit) if knob.only_grows else first_that_clears(scaled, limit)
    if steps is None:
        return None
    exact = spare.value(steps)
    bought = _bought(mockup, knob, exact)
    return Change(
        knob=knob.name,
        unit=knob.unit,
        exact=exact,
        bought=bought,
        cost=knob.cost(bought if bought is not None else exact),
        gaps=gaps_of(knob.apply(mockup, exact)),
        effort=(bought if bought is not None else exact) / knob.limit,
    )


class _Scaled(Measured):
    """A spare per degree, for a search that counts on a millimetre for a millimetre: shortfalls shrink by the reach."""

    def __init__(self, inner: Measured, mm_per_unit: float) -> None:
        def scaled(value: float) -> Spare:
            found = inner.at(inner.index(value))
            return Spare(found.low / mm_per_unit, found.high / mm_per_unit)

        super().__init__(scaled, inner.step)


def _spare(mockup: MockUp, wanting: Sequence[str]) -> Spare:
    """Least spare of all parts; the wanting ones first, and the others only once those clear."""
    others = [part.name for part in mockup.parts if part.name not in wanting]
    return spare_of(mockup, [*wanting, *others])


def _bought(mockup: MockUp, knob: Knob, exact: float) -> float | None:
    amount = knob.sold.round_up(exact)
    if amount is None or amount > knob.limit + 1e-9:
        return None
    return amount if spare_of(knob.apply(mockup, amount)).clears else None


def _pairs(mockup: MockUp, knobs: Sequence[Knob], wanting: Sequence[str], progress: Progress) -> tuple[Pair, ...]:
    best: dict[frozenset[str], Pair] = {}
    tries = [(a, b) for a, b in permutations(knobs, 2) if _sensible(a, b)]
    for done, (one, other) in enumerate(tries):
        progress(done, len(tries), f"{one.name} with {other.name}")
        for amount in _amounts(one):
            part_way = one.apply(mockup, amount)
            if not _might_clear(part_way, other, wanting):
                continue
            second = least_of(part_way, other, wanting)
            if second is None:
                continue
            first = Change(
                knob=one.name,
                unit=one.unit,
                exact=amount,
                bought=amount,
                cost=one.cost(amount),
                gaps=second.gaps,
                effort=amount / one.limit,
            )
            pair = Pair(first=first, second=second)
            key = frozenset((one.name, other.name))
            if key not in best or pair.effort < best[key].effort:
                best[key] = pair
    return tuple(sorted(best.values(), key=lambda p: (p.effort, p.first.knob, p.second.knob)))


def _sensible(one: Knob, other: Knob) -> bool:
    """Not two of one kind: a spacer with less backspace is one change, and stops by height or by length are one."""
    return _kind(one) != _kind(other)


def _kind(knob: Knob) -> str:
    kinds = {"spacer": "offset", "less backspace": "offset", "more backspace": "offset", "ride height": "bump stop"}
    if knob.name.startswith("lip"):
        return "lip"
    return kinds.get(knob.name, knob.name.split(",")[0])


def _amounts(knob: Knob) -> list[float]:
    sold = [knob.sold.round_up(knob.limit * k / PAIR_STEPS) for k in range(1, PAIR_STEPS + 1)]
    return sorted({a for a in sold if a is not None and a <= knob.limit + 1e-9})


def _might_clear(mockup: MockUp, knob: Knob, wanting: Sequence[str]) -> bool:
    """Could any amount of this knob clear the parts that fail? Asked before a search is begun.

    Stops only help: where all of one does not clear, none of it does. A move opens a gap by no more than itself.
    """
    if knob.only_grows:
        return spare_of(knob.apply(mockup, knob.limit), wanting).clears
    return -spare_of(mockup, wanting).high <= knob.limit * knob.mm_per_unit


def _next_size_down(mockup: MockUp, sizes: Sequence[Listed]) -> Smaller | None:
    """The nearest smaller size for the same wheel that clears, nearest by diameter and width together."""
    now = mockup.tire
    seen = seen_by_wheel(mockup, within_mm=float(mockup.solid.reach_mm))
    for listed, tire in _smaller(mockup, sizes):
        other = replace(mockup, tire=tire)
        chain = other.solid.chain
        if any(s.gap_mm(chain) < s.required_mm - NEAR_MM for s in seen):
            continue
        gaps = gaps_of(other)
        if all_clear(gaps):
            return Smaller(
                size=listed.size, tire=tire, source=listed.source or now.sources.get("marking", ""), gaps=gaps
            )
    return None


def _smaller(mockup: MockUp, sizes: Sequence[Listed]) -> list[tuple[Listed, Tire]]:
    now, width = mockup.tire, mockup.wheel.width_in
    found = []
    for listed in sizes:
        if abs(listed.marking.rim_in - now.rim_diameter_in) > SAME_RIM_IN:
            continue
        try:
            if not any(abs(w - width) < 0.3 for w in listed_widths(listed)):
                continue
            tire = mounted(listed, width, now)
        except TireError:
            continue
        less = np.array(
            [now.overall_diameter_mm - tire.overall_diameter_mm, now.section_width_mm - tire.section_width_mm]
        )
        if (less > -0.5).all() and less.max() > 0.5:
            found.append((float(np.abs(less).sum()), listed, tire))
    return [(listed, tire) for _, listed, tire in sorted(found, key=lambda row: (row[0], row[1].size))]
