"""The least change after which both sides of an axle clear at once, and whether it is to centre the axle.

As `least_change` of one corner, with the knobs of an axle (`axle_knobs`): what is given clears at every corner of the
axle, certified over its whole cycle, and a step less does not. Single changes stand by effort, and one, two or three of
what is sold by what they cost.

* off - how far an axle stands from where both sides would have the same window (see `shared`), to the left where
        positive
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from clearance.answers.axle_knobs import Sides, axle_knobs, is_beam, own_of
from clearance.answers.changed import with_axle_moved
from clearance.answers.checked import Progress, all_clear, failing, gaps_of, silent, spare_mm
from clearance.answers.combined import Combination, cheapest
from clearance.answers.knobs import STATE_SIZE, Numbers
from clearance.answers.known import Known, Turned
from clearance.answers.least_change import Change, Smaller, known_of, least_by, next_size_down, ranked
from clearance.answers.shared import ALIKE_MM, shared_window
from clearance.gap.found import Gap
from clearance.pose import Array
from clearance.steady import steady

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp
    from clearance.tire.catalog import Listed

ByCorner = Mapping[str, tuple[Gap, ...]]
_SAME_TIRE_MM = 0.05


@dataclass(frozen=True, slots=True, kw_only=True)
class Off:
    """How an axle stands between its two wells."""

    to_left_mm: float
    """From where both sides would have the same window; negative to the right."""
    beam: bool
    """Whether the axle can be moved across the car at all; else it is the body that stands off."""
    centred: ByCorner | None
    """Every gap with the axle moved by that, measured so; None where it cannot be moved."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AxleChange:
    """Everything that was tried of one axle."""

    what: str
    """ "rear axle"."""
    before: ByCorner
    changes: tuple[Change, ...]
    """Single changes after which all of its corners clear, least effort first; their gaps are those of the corners, one
    after the other."""
    smaller: Smaller | None
    combinations: tuple[Combination, ...]
    """One, two or three changes that are sold and clear together at all of its corners, cheapest first."""
    tried: tuple[str, ...]
    off: Off | None = None
    """As `axle_off` found it."""

    @property
    def clear_as_is(self) -> bool:
        """Whether there was nothing to change."""
        return all(all_clear(gaps) for gaps in self.before.values())

    def by_corner(self, gaps: Sequence[Gap]) -> dict[str, tuple[Gap, ...]]:
        """Gaps of all its corners, one after the other, by corner."""
        found, at = {}, 0
        for name, own in self.before.items():
            found[name] = tuple(gaps[at : at + len(own)])
            at += len(own)
        return found

    @property
    def centring(self) -> str:
        """Whether moving the axle across is the least change: "least", "costs more", "not alone" or "not needed"."""
        if self.clear_as_is:
            return "not needed"
        alone = [one for one in self.combinations if len(one.changes) == 1 and is_across(one.changes[0].knob)]
        if not alone:
            return "costs more" if any(is_across(change.knob) for change in self.changes) else "not alone"
        return "least" if alone[0] is self.combinations[0] else "costs more"


def is_across(knob: str) -> bool:
    """Whether a change is a move of the axle across the car."""
    return knob.startswith("axle to the ")


class KnownOfAxle:
    """All that was measured of the changes at an axle's corners; see `known.Knows`."""

    def __init__(self, each: Mapping[str, Known]) -> None:
        self._each = dict(each)
        self._corners = list(each)
        self._order = list(each)

    def room_for(self, state: Numbers) -> float:
        """At most what the least spare of all parts at all corners can be."""
        return min(
            self._each[name].room_for(state[k * STATE_SIZE : (k + 1) * STATE_SIZE])
            for k, name in enumerate(self._corners)
        )

    def room_for_each(self, states: Array) -> Array:
        """(n,): the same of many states (n, numbers of all corners)."""
        own = np.split(states, len(self._corners), axis=1)
        rooms = [self._each[name].room_for_each(some) for name, some in zip(self._corners, own, strict=True)]
        least: Array = np.min(rooms, axis=0)
        return least

    def refuse(self, turned: Turned) -> None:
        """A whole check of this did not clear at some corner."""
        for name, known in self._each.items():
            if not all_clear(known.whole(own_of(turned, name))):
                known.refuse(own_of(turned, name))

    def clears(self, turned: Turned) -> bool:
        """Does every part at every corner keep its gap? The corner that said no last is asked first."""
        for name in self._order:
            if not self._each[name].clears(own_of(turned, name)):
                self._order.remove(name)
                self._order.insert(0, name)
                return False
        return True

    def may_clear(self, turned: Turned) -> bool:
        """False where some corner is proven not to clear, here or wherever less travel and lock is left out."""
        return all(self._each[name].may_clear(own_of(turned, name)) for name in self._order)

    def whole(self, turned: Turned) -> tuple[Gap, ...]:
        """Every certified gap, one corner after the other."""
        return tuple(gap for name in self._corners for gap in self._each[name].whole(own_of(turned, name)))


@steady
def axle_change(
    sides: Sides, what: str, sizes: Sequence[Listed] = (), *, each_side: bool = False, progress: Progress = silent
) -> AxleChange:
    """The least of every change after which these corners clear; nothing to change where they clear as they are.

    With `each_side` a spacer may differ from side to side.
    """
    before = {name: gaps_of(corner) for name, corner in sides.items()}
    wanting = {name: failing(sorted(gaps, key=spare_mm)) for name, gaps in before.items()}
    if not any(wanting.values()):
        return AxleChange(what=what, before=before, changes=(), smaller=None, combinations=(), tried=())
    knobs = axle_knobs(sides, wanting, each_side=each_side)
    known = KnownOfAxle({name: known_of(corner, wanting[name], before[name]) for name, corner in sides.items()})
    changes, tried = [], []
    for done, knob in enumerate(knobs):
        progress(done, len(knobs) + 1, f"{what}: {knob.name}")
        found = least_by(knob, known)
        if found is None:
            tried.append(knob.name)
        else:
            changes.append(found)
    first = next(iter(sides.values()))
    return AxleChange(
        what=what,
        before=before,
        changes=ranked(changes, knobs),
        smaller=_smaller(sides, sizes),
        combinations=cheapest(knobs, known, first.terms.cost, progress),
        tried=tuple(tried),
    )


def _smaller(sides: Sides, sizes: Sequence[Listed]) -> Smaller | None:
    """The next size down for all of them; None where they are on several sizes or may not change."""
    first, *others = sides.values()
    if not all(corner.terms.limits.tire_size for corner in sides.values()):
        return None
    for other in others:
        alike = (
            abs(other.tire.overall_diameter_mm - first.tire.overall_diameter_mm) < _SAME_TIRE_MM
            and abs(other.tire.section_width_mm - first.tire.section_width_mm) < _SAME_TIRE_MM
            and other.wheel.width_in == first.wheel.width_in
        )
        if not alike:
            return None
    return next_size_down(tuple(sides.values()), sizes)


@steady
def axle_off(sides: Sides) -> Off | None:
    """How an axle that does not clear stands between its wells, by the windows of both sides on the wheels they have.

    None where there is nothing to change, where its sides are alike, where one is described, or where it cannot be
    said: a window that ends at what may be ordered is not the well's.
    """
    before = {name: gaps_of(corner) for name, corner in sides.items()} if len(sides) == 2 else {}
    if all(all_clear(gaps) for gaps in before.values()) or _alike(*before.values()):
        return None
    first, second = sides.values()
    if first.wheel.width_in != second.wheel.width_in:
        return None
    # where the well ends, not what may be ordered
    open_sides = {name: _any_backspace(corner) for name, corner in sides.items()}
    (row, *_) = shared_window(open_sides, "axle", widths_in=(first.wheel.width_in,)).widths or (None,)
    if row is None or row.off_mm is None or abs(row.off_mm) < ALIKE_MM / 2:
        return None
    beam = all(is_beam(corner) for corner in sides.values())
    return Off(to_left_mm=row.off_mm, beam=beam, centred=_moved(sides, -row.off_mm) if beam else None)


def _any_backspace(corner: MockUp) -> MockUp:
    limits = replace(corner.terms.limits, backspace_mm=None, other_backspace=True)
    return replace(corner, terms=replace(corner.terms, limits=limits))


def _alike(here: Sequence[Gap], there: Sequence[Gap]) -> bool:
    """Whether two sides have the same parts at the same gaps, as closely as these are known."""
    if [gap.part for gap in here] != [gap.part for gap in there]:
        return False
    return all(
        one.at_least_mm <= other.at_most_mm and other.at_least_mm <= one.at_most_mm
        for one, other in zip(here, there, strict=True)
    )


def _moved(sides: Sides, to_left_mm: float) -> ByCorner:
    return {
        name: gaps_of(with_axle_moved(corner, outboard_mm=to_left_mm if name.endswith("left") else -to_left_mm))
        for name, corner in sides.items()
    }
