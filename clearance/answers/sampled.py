"""Cars built at random within what their measurements are worth, each measured in full, held against the budget.

* car    - one draw: every source of doubt off by something within its plus-or-minus (see `budget`), a normal curve with
           its ends at two deviations cut off there, or evenly between a maker's ends
* spread - the standard deviation of a part's gap over all cars; beside it the root sum square of the budget, which
           takes every part for a straight line
* bound  - no car should lie below the budget's worst case; where the gap bends, one may, and by how much is said

The generator is started from a fixed number, so the same file gives the same cars. Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from clearance.answers.budget import GENERATOR, Source, drawn, reachable, sources_of, worst_of
from clearance.answers.checked import Progress, gaps_of, silent
from clearance.beside import in_order
from clearance.errors import ClearanceError, InputError
from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp
from clearance.pose import Array
from clearance.steady import steady
from clearance.terms import Uncertainty

MOST_CARS = 100_000
_TOGETHER = 20
"""Cars that one process measures after one another."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PartSampled:
    """One part over all cars."""

    part: str
    required_mm: float
    gap_mm: float
    """As it is described."""
    worst_mm: float
    """By the budget: everything off at once, the wrong way."""
    straight_mm: float
    """The standard deviation by root sum square."""
    least_mm: float
    """Of all cars: the least lower end."""
    mean_mm: float
    spread_mm: float
    clear: float
    """The share of cars in which it keeps its required gap."""

    @property
    def below_worst_mm(self) -> float:
        """By how much a car lies below the worst case; 0 where none does."""
        return max(0.0, self.worst_mm - self.least_mm)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Sampled:
    """All cars."""

    sources: tuple[Source, ...]
    draws: Array
    """(cars, sources): how far each is off."""
    at_least_mm: Array
    """(cars, parts): the lower end of every gap; nan of a car that cannot be built."""
    parts: tuple[PartSampled, ...]

    @property
    def cars(self) -> int:
        """How many were drawn."""
        return len(self.draws)

    @property
    def not_built(self) -> int:
        """How many of them cannot be: a tire larger than its arch lets it be mounted, say."""
        return int(np.isnan(self.at_least_mm).any(axis=1).sum())

    @property
    def clear(self) -> float:
        """The share of the others in which every part keeps its required gap."""
        built = self.at_least_mm[~np.isnan(self.at_least_mm).any(axis=1)]
        required = np.array([part.required_mm for part in self.parts])
        return float((built >= required).all(axis=1).mean()) if len(built) else math.nan


def sampled(
    mockup: MockUp, stated: Uncertainty, cars: int, *, processes: int = 1, progress: Progress = silent
) -> Sampled:
    """So many cars, each measured in full.

    Raises InputError for fewer than two cars or too many, and where none can be built.
    """
    if not 2 <= cars <= MOST_CARS:
        raise InputError(f"{cars:,} cars cannot be drawn. Ask for 2 to {MOST_CARS:,}.")
    gaps = gaps_of(mockup)
    sources = sources_of(mockup, gaps, stated)
    draws = _draws(sources, cars)
    asked = [(mockup, gaps, sources, draws[at : at + _TOGETHER]) for at in range(0, cars, _TOGETHER)]
    made = in_order(_measured, asked, processes) if processes > 1 else (_measured(*one) for one in asked)
    rows = []
    for row in made:
        rows.append(row)
        progress(min(len(rows) * _TOGETHER, cars), cars, "cars measured")
    at_least = np.concatenate(rows)
    if np.isnan(at_least).all():
        raise InputError("none of the cars that were drawn can be built. Look at what the tire and the car allow.")
    parts = tuple(_part(gap, number, sources, at_least[:, number]) for number, gap in enumerate(gaps))
    return Sampled(sources=sources, draws=draws, at_least_mm=at_least, parts=parts)


def _draws(sources: Sequence[Source], cars: int) -> Array:
    """(cars, sources), each within its ends."""
    rng = np.random.default_rng(GENERATOR)
    columns = [np.zeros((cars, 0))]
    for source in sources:
        if source.even:
            values = rng.uniform(source.low, source.high, cars)
        else:
            values = rng.normal(0.0, source.deviation, cars)
            while (beyond := np.flatnonzero((values < source.low) | (values > source.high))).size:
                values[beyond] = rng.normal(0.0, source.deviation, len(beyond))
        columns.append(values[:, None])
    return np.concatenate(columns, axis=1)


@steady
def _measured(mockup: MockUp, gaps: Sequence[Gap], sources: Sequence[Source], draws: Array) -> Array:
    """(cars, parts): the lower end of every gap."""
    rows = np.full((len(draws), len(gaps)), np.nan)
    for row, values in zip(rows, draws, strict=True):
        try:
            car = drawn(mockup, sources, reachable(mockup, sources, values), gaps)
            row[:] = [gap.at_least_mm for gap in gaps_of(car)]
        except ClearanceError:
            continue
    return rows


def _part(gap: Gap, number: int, sources: Sequence[Source], at_least: Array) -> PartSampled:
    built = at_least[~np.isnan(at_least)]
    return PartSampled(
        part=gap.part,
        required_mm=gap.required_mm,
        gap_mm=gap.stands_at_mm,
        worst_mm=gap.stands_at_mm - sum(worst_of(source, number) for source in sources),
        straight_mm=math.sqrt(sum((float(one.per_unit[number]) * one.deviation) ** 2 for one in sources)),
        least_mm=float(built.min()),
        mean_mm=float(built.mean()),
        spread_mm=float(built.std()),
        clear=float((built >= gap.required_mm).mean()),
    )
