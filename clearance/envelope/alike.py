"""Envelopes of several corners: those that are alike are built once, and the next is begun while the last is written.

The two sides of an axle move alike as a rule, and every corner is kept as a left one, so the same disc goes the same
way. Alike means equal to the last digit: the envelope is then the same to the last byte.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

from clearance.defaults import SLACK_MM
from clearance.envelope.build import Envelope, begin_envelopes, swept_disc
from clearance.mockup.mockup import MockUp
from clearance.suspension.position import BODY

Told = Callable[[int, int], None] | None
Wait = Callable[[Told], tuple[Envelope, ...]]
"""Gives the envelopes once they are built, and may be told of progress."""


def begin_alike(
    asked: Sequence[tuple[MockUp, tuple[float, ...]]], *, slack_mm: float = SLACK_MM, processes: int = 1
) -> list[Wait]:
    """For each mock-up and its growths what `begin_envelopes` gives; of those not alike one is built at a time.

    The first are begun at once, and each of the others when the one before it is there.
    """
    found: dict[Any, _Once] = {}
    rows = []
    for mockup, grown_mm in asked:
        key = (*_way_of(mockup), grown_mm)
        if key not in found:
            found[key] = _Once(mockup=mockup, grown_mm=grown_mm, slack_mm=slack_mm, processes=processes)
        rows.append(found[key])
    every = list(found.values())
    for one, following in pairwise(every):
        one.following = following
    if every:
        every[0].begin()
    return [one.wait for one in rows]


def _way_of(mockup: MockUp) -> tuple[Any, ...]:
    """All that an envelope is made of but its growth and slack: equal where the envelopes are the same to a byte."""
    disc = swept_disc(mockup.solid, mockup.suspension)
    path = disc.path
    numbers = [path.box, path.coefficients, path.by, path.centre_bend, path.axis_bend, path.axis_turn, path.far_bend]
    if path.slide is not None:
        numbers += [path.slide.ranges, path.slide.by]
    return (
        tuple(array.tobytes() for array in numbers),
        path.sizes,
        path.slide is not None and path.slide.turns,
        path.error_mm,
        disc.limits,
        repr(disc.solid.profile.elements),
        mockup.suspension.uncertainty_mm + mockup.off_mm(BODY),
    )


@dataclass(slots=True, kw_only=True, eq=False)
class _Once:
    """Envelopes that are built once, whoever asks for them."""

    mockup: MockUp
    grown_mm: tuple[float, ...]
    slack_mm: float
    processes: int
    following: _Once | None = None
    _coming: Wait | None = field(default=None, init=False)
    _made: tuple[Envelope, ...] | None = field(default=None, init=False)

    def begin(self) -> None:
        if self._coming is None:
            self._coming = begin_envelopes(self.mockup, self.grown_mm, slack_mm=self.slack_mm, processes=self.processes)

    def wait(self, progress: Told = None) -> tuple[Envelope, ...]:
        if self._made is None:
            self.begin()
            assert self._coming is not None
            self._made = self._coming(progress)
            if self.following is not None:
                self.following.begin()
        return self._made
