"""What is already known of a corner with some knobs turned, and what that proves of others.

* spare   - of one part at one state: proven from below, found from above (`Spare`)
* nearness - moving the wheel, leaning it or turning up a lip changes no gap by more than the way that it goes
* order   - a cycle that lies within another has no smaller gap: what does not clear with more travel left out does not
            with less, and what clears with less left out does with more

Each measurement is kept with its state; whether another state can clear is asked of all of them before it is measured.
Both rules hold for the true gap, and what is kept are ends that hold it, so nothing is passed over that clears.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Protocol

import numpy as np

from clearance.answers.checked import gaps_of, part_spare
from clearance.answers.knobs import ROLLED, STATE_SIZE, STOP, TRIMMED, Knob, Numbers
from clearance.defaults import TOLERANCE_MM
from clearance.gap.found import Gap
from clearance.gap.memory import Memory
from clearance.pose import Array

if TYPE_CHECKING:
    from clearance.mockup.mockup import MockUp

_ROUNDING = 1e-9
_AT_ONCE = 4000
"""States that are asked about at once."""
AS_IT_IS: Numbers = (0.0,) * STATE_SIZE
"""The state of a corner with no knob turned."""
Turned = tuple[tuple[Knob, float], ...]
"""Knobs, each with how far it is turned."""


def state_of(turned: Turned) -> Numbers:
    """The state that some knobs come to together."""
    rows = [knob.state(amount) for knob, amount in turned]
    return tuple(round(float(sum(column)), 9) for column in zip(*rows, strict=True)) if rows else AS_IT_IS


def mockup_of(mockup: MockUp, turned: Turned) -> MockUp:
    """The corner with these knobs turned."""
    for knob, amount in turned:
        mockup = knob.apply(mockup, amount)
    return mockup


class Knows(Protocol):
    """What a search for changes asks: of one corner (`Known`), or of the sides of an axle together."""

    def room_for(self, state: Numbers) -> float:
        """At most what the least spare of all parts can be; below zero it is proven that this state does not clear."""

    def room_for_each(self, states: Array) -> Array:
        """(n,): the same of many states (n, numbers)."""

    def refuse(self, turned: Turned) -> None:
        """A whole check of this state did not clear, whatever its parts did one by one."""

    def clears(self, turned: Turned) -> bool:
        """Does every part keep its gap?"""

    def may_clear(self, turned: Turned) -> bool:
        """False where some part is proven not to keep its gap, here or wherever less travel and lock is left out."""

    def whole(self, turned: Turned) -> tuple[Gap, ...]:
        """The certified gap of every part, all of them measured."""


class _Measured:
    """One part at every state at which it was measured."""

    def __init__(self, *, lip: bool, below: bool) -> None:
        # what a hole may hide, or a link that was not measured, is no smooth thing from below
        self._below = below
        # what is done to the lips is nothing to the other parts
        self.own = np.array([lip or k not in (ROLLED, TRIMMED) for k in range(STATE_SIZE)])
        self._rows: list[tuple[Numbers, float, float]] = []
        self._table = np.zeros((0, STATE_SIZE + 2))

    def add(self, state: Numbers, low: float, high: float) -> None:
        self._rows.append((state, low, high))
        self._table = np.array([(*one, low, high) for one, low, high in self._rows])

    def at_least(self, state: Numbers) -> float:
        """At least what the true spare at a state can be."""
        if not len(self._table):
            return -np.inf
        apart = (self._table[:, :STATE_SIZE] - np.array(state)) * self.own
        way = np.abs(apart[:, :STOP]).sum(axis=1)
        stops = apart[:, STOP:]
        fewer = (stops <= _ROUNDING).all(axis=1)
        if not self._below:
            fewer &= (way <= _ROUNDING) & (stops >= -_ROUNDING).all(axis=1)
        return float(np.max(self._table[fewer, -2] - way[fewer], initial=-np.inf))


class _Ceilings:
    """What was found from above of all parts at all states, in one table: asked far more often than it grows."""

    def __init__(self) -> None:
        self._rows: list[tuple[Array, Array, float]] = []
        self._at, self._own, self._high = np.zeros((0, STATE_SIZE)), np.zeros((0, STATE_SIZE)), np.zeros(0)

    def add(self, state: Numbers, own: Array, high: float) -> None:
        """A part, to which `own` numbers of a state matter, has no more than this to spare at that state."""
        self._rows.append((np.array(state), own, high))
        self._at, self._own = (np.array([row[k] for row in self._rows], dtype=float) for k in (0, 1))
        self._high = np.array([row[2] for row in self._rows])

    def of(self, states: Array) -> Array:
        """(n,): at most what the least spare of all parts at states (n, numbers) can be."""
        found = np.full(len(states), np.inf)
        for first in range(0, len(states), _AT_ONCE):
            apart = (self._at - states[first : first + _AT_ONCE, None]) * self._own
            way = np.abs(apart[..., :STOP]).sum(axis=2)
            more = (apart[..., STOP:] >= -_ROUNDING).all(axis=2)
            room = np.where(more, self._high + way, np.inf)
            found[first : first + _AT_ONCE] = room.min(axis=1, initial=np.inf)
        return found


class Known:
    """All that was measured of one corner's changes."""

    def __init__(
        self, mockup: MockUp, first: Sequence[str], moved_lips: Sequence[str], before: Sequence[Gap] = ()
    ) -> None:
        """`first` are the parts to ask first, `moved_lips` those that may be rolled or trimmed; `before` are the gaps
        of the corner as it is, where they were measured."""
        self._mockup = mockup
        self._memory = Memory()
        rest = [part.name for part in mockup.parts if part.name not in first]
        self._order = [*first, *rest]
        self._parts = {
            part.name: _Measured(
                lip=part.name in moved_lips,
                below=mockup.unmeasured is None and not part.holes and not part.unseen,
            )
            for part in mockup.parts
        }
        self._ceilings = _Ceilings()
        for gap in before:
            self._add(gap.part, AS_IT_IS, gap.spare_mm, gap.at_most_mm - gap.required_mm)
        self._refused: set[Numbers] = set()
        self.measured = 0
        """How many gaps of one part were measured."""

    def room_for(self, state: Numbers) -> float:
        """At most what the least spare of all parts can be; below zero it is proven that this state does not clear."""
        return float(self._ceilings.of(np.array([state]))[0])

    def room_for_each(self, states: Array) -> Array:
        """(n,): the same of many states (n, numbers)."""
        return self._ceilings.of(states)

    def _add(self, part: str, state: Numbers, low: float, high: float) -> None:
        self._parts[part].add(state, low, high)
        self._ceilings.add(state, self._parts[part].own, high)

    def whole(self, turned: Turned) -> tuple[Gap, ...]:
        """The certified gap of every part, all of them measured."""
        return gaps_of(mockup_of(self._mockup, turned), memory=self._memory)

    def refuse(self, turned: Turned) -> None:
        """A whole check of this state did not clear, whatever its parts did one by one."""
        self._refused.add(state_of(turned))

    def clears(self, turned: Turned) -> bool:
        """Does every part keep its gap? Only what is not proven already is measured, up to the first that does not."""
        state = state_of(turned)
        if state in self._refused or self.room_for(state) < 0.0:
            return False
        made = None
        for name in self._order:
            if self._parts[name].at_least(state) >= TOLERANCE_MM:
                continue
            made = made or mockup_of(self._mockup, turned)
            self.measured += 1
            spare = part_spare(made, name, self._memory)
            self._add(name, state, spare.low, spare.high)
            if not spare.clears:
                # what stopped this one stops its neighbours: ask it first
                self._order.remove(name)
                self._order.insert(0, name)
                return False
        return True

    def may_clear(self, turned: Turned) -> bool:
        """False where some part is proven not to keep its gap, here or wherever less travel and lock is left out."""
        return self.clears(turned) or self.room_for(state_of(turned)) >= 0.0
