"""The least change that clears: every knob on its own, exact and as it is sold; and the cheapest combinations.

The exact amount clears, certified over the whole cycle, and a step less does not. What is bought is the least of what
is sold that clears, since a thicker spacer may cure one part and hit another. Combinations of one, two and three
changes, all of them sold, are ranked by what they cost in the shop: see `combined`.

Amounts are millimetres or degrees, as the knob says.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.checked import Progress, all_clear, failing, gaps_of, silent, spare_mm
from clearance.answers.combined import Combination, cheapest
from clearance.answers.knobs import Knob, knobs_of
from clearance.answers.known import Known, Knows, Turned, state_of
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

STRIDES = 12
"""How many proven strides are made towards an amount that clears before the strides are lengthened."""
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
    exact_said: str
    """The exact amount in words."""
    bought_said: str | None
    """What is bought in words."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Smaller:
    """The next tire size down that clears on the same wheel."""

    size: str
    tire: Tire
    source: str
    gaps: tuple[Gap, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LeastChange:
    """Everything that was tried."""

    before: tuple[Gap, ...]
    changes: tuple[Change, ...]
    """Single changes that clear, least effort first."""
    smaller: Smaller | None
    combinations: tuple[Combination, ...]
    """One, two or three changes that are sold and clear together, cheapest first."""
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
        return LeastChange(before=before, changes=(), smaller=None, combinations=(), tried=())
    knobs = knobs_of(mockup, terms.limits, terms.sold, wanting)
    known = known_of(mockup, wanting, before)
    changes, tried = [], []
    for done, knob in enumerate(knobs):
        progress(done, len(knobs) + 1, knob.name)
        found = least_by(knob, known)
        if found is None:
            tried.append(knob.name)
        else:
            changes.append(found)
    smaller = next_size_down((mockup,), sizes) if terms.limits.tire_size else None
    return LeastChange(
        before=before,
        changes=ranked(changes, knobs),
        smaller=smaller,
        combinations=cheapest(knobs, known, terms.cost, progress),
        tried=tuple(tried),
    )


def ranked(changes: Sequence[Change], knobs: Sequence[Knob]) -> tuple[Change, ...]:
    """Single changes, least effort first, without those that turn more than one thing where one of them does it."""
    # one stop does it: shortening the other as well is no least change
    alone = {change.knob for change in changes}
    needless = {knob.name for knob in knobs if alone & set(knob.also)}
    return tuple(sorted((c for c in changes if c.knob not in needless), key=lambda c: (c.effort, c.knob)))


def known_of(mockup: MockUp, wanting: Sequence[str], before: Sequence[Gap] = ()) -> Known:
    """What is known of a corner of which these parts do not clear, and whose gaps are `before`."""
    lips = [name for name in wanting if mockup.part(name).kind == "lip"]
    return Known(mockup, wanting, lips, before)


def least_of(mockup: MockUp, knob: Knob, wanting: Sequence[str], known: Known | None = None) -> Change | None:
    """The least amount of one knob that clears every part, and the least that is sold; None where its limit does not
    reach.

    `wanting` are the parts that do not clear as they are; `known` is what was measured before.
    """
    return least_by(knob, known_of(mockup, wanting) if known is None else known)


def least_by(knob: Knob, known: Knows) -> Change | None:
    """The same of what is known already."""
    steps = _least_steps(knob, known)
    if steps is None:
        return None
    exact = round(steps * knob.step, 9)
    bought = next(
        (amount for amount in knob.offered if amount >= exact - 1e-9 and known.clears(((knob, amount),))), None
    )
    return Change(
        knob=knob.name,
        unit=knob.unit,
        exact=exact,
        exact_said=knob.said(exact),
        bought=bought,
        bought_said=None if bought is None else knob.said(bought),
        cost=knob.cost(bought) if bought is not None else NOT_SOLD,
        gaps=known.whole(((knob, exact),)),
        effort=(bought if bought is not None else exact) / knob.limit,
    )


NOT_SOLD = "nothing of it that [sold] has clears by itself"


def _least_steps(knob: Knob, known: Knows) -> int | None:
    """The least number of steps of a knob that clears; the one before does not."""
    limit = int(knob.limit / knob.step + 1e-6)

    def turned(steps: int) -> Turned:
        return ((knob, round(steps * knob.step, 9)),)

    found = limit if knob.only_grows else _reached(knob, known, turned, limit)
    if found is None or not known.clears(turned(found)):
        return None
    # between a step that clears and one that does not
    low, high = _last_that_fails(known, turned, found), found
    while high - low > 1:
        middle = (low + high) // 2
        if known.clears(turned(middle)):
            high = middle
        else:
            low = middle
    return high


def _last_that_fails(known: Knows, turned: Callable[[int], Turned], found: int) -> int:
    """The nearest step below that is proven not to clear; 0 is the corner as it is, which does not."""
    return next((step for step in range(found - 1, 0, -1) if known.room_for(state_of(turned(step))) < 0.0), 0)


def _reached(knob: Knob, known: Knows, turned: Callable[[int], Turned], limit: int) -> int | None:
    """The first step found to clear, walking out in strides that what is missing proves to be safe."""
    step, strides = 0, 0
    while step < limit:
        ahead = next((s for s in range(step + 1, limit + 1) if known.room_for(state_of(turned(s))) >= 0.0), None)
        if ahead is None:
            return None
        if strides > STRIDES:
            # a part that slants makes every proven stride shorter than the last
            ahead = max(ahead, min(limit, step + (strides - STRIDES)))
        if known.clears(turned(ahead)):
            return ahead
        step, strides = ahead, strides + 1
    return None


def next_size_down(mockups: Sequence[MockUp], sizes: Sequence[Listed]) -> Smaller | None:
    """The nearest smaller size for the same wheel that clears, nearest by diameter and width together.

    Of several corners on the same wheel and tire: that clears at all of them; its gaps are theirs, one corner after
    the other.
    """
    now = mockups[0].tire
    seen = [one for corner in mockups for one in seen_by_wheel(corner, within_mm=float(corner.solid.reach_mm))]
    for listed, tire in _smaller(mockups[0], sizes):
        others = [replace(corner, tire=tire) for corner in mockups]
        chain = others[0].solid.chain
        if any(s.gap_mm(chain) < s.required_mm - NEAR_MM for s in seen):
            continue
        gaps = tuple(gap for other in others for gap in gaps_of(other))
        if all_clear(gaps):
            return Smaller(size=listed.size, tire=tire, source=_source_of(listed, now), gaps=gaps)
    return None


def _source_of(listed: Listed, now: Tire) -> str:
    return listed.source or now.sources.get("marking", "")


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
