"""Changes that clear together: one, two or three, of what is sold, cheapest first, and none cheaper was missed.

* change      - one knob, turned by an amount that is sold
* combination - up to `MOST_TOGETHER` changes of different things; a spacer under another wheel is one too many
* cost        - in hours: the work, what is bought, what cannot be put back, and the share of travel and lock that is
                lost (see `terms.Cost`); of equal ones, that which uses less of its limits
* column      - amounts of everything that moves something, with every amount of the stops beside them

Combinations come off a heap in the order of their cost. All columns of some knobs stand in it as one until they come
up, and then those that are not proven already to clear nowhere. A column stands in it at the least that it can cost,
and is opened when it comes up: where not even all of its travel and lock clears, the whole column is proven not to. In
it, the cheapest that clears is found along the edge between what clears and what does not, since a shorter cycle lies
within a longer one. What is given is checked whole once more.

A combination that has all the changes of a cheaper one, and more, is of no use and left out.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, count, product

import numpy as np

from clearance.answers.checked import Progress, all_clear
from clearance.answers.knobs import Knob
from clearance.answers.known import Knows, Turned, state_of
from clearance.gap.found import Gap
from clearance.terms import Cost, Work

MOST_TOGETHER = 3
_ROUNDING_MM = 1e-6
MOST_SHOWN = 8
"""How many combinations are given."""
Price = tuple[float, float]
"""Hours, and how much of the limits is used."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """One change of a combination, as it is sold."""

    knob: str
    unit: str
    amount: float
    said: str
    """The amount in words."""
    cost: str
    """What it costs the car, in words."""
    work: Work


@dataclass(frozen=True, slots=True, kw_only=True)
class Combination:
    """Changes that clear together."""

    changes: tuple[Bought, ...]
    hours: float
    """All that it costs, in hours; see `terms.Cost`."""
    effort: float
    """How much of its limits it uses, added up: 1 is all of one."""
    gaps: tuple[Gap, ...]
    """Of every part, with all of it changed."""

    @property
    def work_hours(self) -> float:
        """Of work alone."""
        return sum(change.work.hours for change in self.changes)

    @property
    def money(self) -> float:
        """For what is bought, as far as the file gives it."""
        return sum(change.work.money for change in self.changes)

    @property
    def reversible(self) -> bool:
        """Whether all of it can be put back."""
        return all(change.work.reversible for change in self.changes)


def price_of(turned: Turned, cost: Cost) -> Price:
    """What some changes cost together."""
    hours = sum(cost.hours(knob.key, knob.share(amount), knob.portion) for knob, amount in turned)
    return round(hours, 9), round(sum(amount / knob.limit for knob, amount in turned), 9)


def sets_of(knobs: Sequence[Knob]) -> Iterator[tuple[Knob, ...]]:
    """Every one, two or three knobs that change different things."""
    for size in range(1, MOST_TOGETHER + 1):
        for some in combinations(knobs, size):
            taken = [one for knob in some for one in knob.takes]
            if len(taken) == len(set(taken)):
                yield some


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Column:
    """What moves something, each with its amount, and the stops that may be set beside it."""

    moved: Turned
    stops: tuple[Knob, ...]

    @property
    def names(self) -> frozenset[str]:
        return _names_of((*(knob for knob, _ in self.moved), *self.stops))

    @property
    def first(self) -> Turned:
        """The cheapest of the column: every stop by the least that is sold."""
        return (*self.moved, *((knob, knob.offered[0]) for knob in self.stops))

    @property
    def last(self) -> Turned:
        """Every stop as far as it goes."""
        return (*self.moved, *((knob, knob.offered[-1]) for knob in self.stops))


class _Set:
    """Every column of some knobs. All of them take the same hours, and the first uses least of the limits."""

    def __init__(self, knobs: tuple[Knob, ...]) -> None:
        self._moving = tuple(knob for knob in knobs if not knob.only_grows)
        self._stops = tuple(knob for knob in knobs if knob.only_grows)
        self.names = _names_of(knobs)
        self.first: Turned = tuple((knob, knob.offered[0]) for knob in (*self._moving, *self._stops))

    def open_to(self, knobs: Sequence[Knob], known: Knows) -> Iterator[_Column]:
        """The columns that are not proven already to clear nowhere, in the order of their amounts."""
        columns = list(product(*(knob.offered for knob in self._moving)))
        # the states of a column's changes add up; with stops, all is left out that can be
        rest = _all_left_out((), knobs) if self._stops else ()
        states = np.zeros((1, len(self.first[0][0].state(0.0)))) + np.array(state_of(rest) if rest else 0.0)
        for knob in self._moving:
            own = np.array([knob.state(amount) for amount in knob.offered])
            states = (states[:, None] + own[None]).reshape(-1, own.shape[1])
        for row in np.flatnonzero(known.room_for_each(states) >= -_ROUNDING_MM):
            yield _Column(moved=tuple(zip(self._moving, columns[row], strict=True)), stops=self._stops)


def _names_of(knobs: Sequence[Knob]) -> frozenset[str]:
    return frozenset(name for knob in knobs for name in (knob.also or (knob.name,)))


def cheapest(knobs: Sequence[Knob], known: Knows, cost: Cost, progress: Progress) -> tuple[Combination, ...]:
    """The cheapest combinations that clear, each of other changes, cheapest first; none where nothing sold clears."""
    number = count()
    offered = [knob for knob in knobs if knob.offered]
    heap: list[tuple[Price, tuple[str, ...], int, _Column | _Set, Turned | None]] = [
        (price_of(one.first, cost), _order(one.first), next(number), one, None) for one in map(_Set, sets_of(offered))
    ]
    heapq.heapify(heap)
    whole, found = len(heap), dict[frozenset[str], Combination]()
    while heap and len(found) < MOST_SHOWN:
        _, _, _, column, turned = heapq.heappop(heap)
        if any(names <= column.names for names in found):
            continue
        if isinstance(column, _Set):
            for one in column.open_to(offered, known):
                heapq.heappush(heap, (price_of(one.first, cost), _order(one.first), next(number), one, None))
        elif turned is None:
            progress(max(0, whole - len(heap)), whole, "changes together")
            turned = _opened(column, offered, known, cost)
            if turned is not None:
                heapq.heappush(heap, (price_of(turned, cost), _order(turned), next(number), column, turned))
        else:
            gaps = known.whole(turned)
            if all_clear(gaps):
                found[column.names] = _combination(turned, cost, gaps)
            else:
                known.refuse(turned)
                heapq.heappush(heap, (price_of(turned, cost), _order(turned), next(number), column, None))
    return tuple(found.values())


def _order(turned: Turned) -> tuple[str, ...]:
    return tuple(sorted(knob.name for knob, _ in turned))


def _combination(turned: Turned, cost: Cost, gaps: tuple[Gap, ...]) -> Combination:
    hours, effort = price_of(turned, cost)
    changes = tuple(
        Bought(
            knob=knob.name,
            unit=knob.unit,
            amount=amount,
            said=knob.said(amount),
            cost=knob.cost(amount),
            work=cost.of(knob.key, knob.portion),
        )
        for knob, amount in turned
    )
    return Combination(changes=changes, hours=hours, effort=effort, gaps=gaps)


# ---- one column


def _opened(column: _Column, knobs: Sequence[Knob], known: Knows, cost: Cost) -> Turned | None:
    """The cheapest of a column that clears; None where none does."""
    if not column.stops:
        return column.first if known.clears(column.first) else None
    # asked first with everything left out that can be: what fails then fails beside any stop
    if not known.may_clear(_all_left_out(column.moved, knobs)) or not known.may_clear(column.last):
        return None
    best: tuple[Price, Turned] | None = None
    for turned in _edge(column.moved, column.stops, known):
        price = price_of(turned, cost)
        if best is None or price < best[0]:
            best = price, turned
    return None if best is None else best[1]


def _all_left_out(moved: Turned, knobs: Sequence[Knob]) -> Turned:
    taken, left_out = set[str](), list(moved)
    for knob in sorted((k for k in knobs if k.only_grows), key=lambda k: (-len(k.takes), -k.offered[-1], k.name)):
        if not taken & knob.takes:
            taken |= knob.takes
            left_out.append((knob, knob.offered[-1]))
    return tuple(left_out)


def _edge(moved: Turned, stops: Sequence[Knob], known: Knows) -> Iterator[Turned]:
    """What clears with no stop of it to be had smaller, the others as they are."""
    first, *rest = stops
    if not rest:
        least = _least(first.offered, moved, first, known)
        if least < len(first.offered):
            yield (*moved, (first, first.offered[least]))
        return
    if len(rest) > 1:
        for amount in first.offered:
            yield from _edge((*moved, (first, amount)), rest, known)
        return
    (second,) = rest
    # as one stop grows the other needs no more than before
    high = len(second.offered)
    for amount in first.offered:
        fixed = (*moved, (first, amount))
        high = _least(second.offered[:high], fixed, second, known)
        if high < len(second.offered):
            yield (*fixed, (second, second.offered[high]))
        if high == 0:
            return


def _least(amounts: Sequence[float], fixed: Turned, knob: Knob, known: Knows) -> int:
    """Which is the least amount of a stop that clears; the number of amounts where none does."""
    low, high = 0, len(amounts)
    while low < high:
        middle = (low + high) // 2
        if known.clears((*fixed, (knob, amounts[middle]))):
            high = middle
        else:
            low = middle + 1
    return low
