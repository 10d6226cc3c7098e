"""One corner over a grid of changes: every combination measured over the whole cycle, and said between two ends.

* over  - one number that is changed, and the values that it takes
* cell  - one combination: the least that any part has to spare, between two proven ends
* clear - a cell whose lower end is not below zero; one that does not clear has its upper end below; of any other, and
          of one that cannot be made, it is not told

A row of cells that differ in the first number alone shares what was proven of its neighbours (see `gap.memory`), so
the answer depends on the grid and on nothing else.

Lengths are millimetres, angles degrees, rim widths inches.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from clearance.answers.changed import with_body_lifted, with_bump_stop, with_camber, with_locks, with_offset, with_tire
from clearance.answers.checked import Progress, gaps_of, silent
from clearance.answers.tires import on_width
from clearance.beside import in_order
from clearance.errors import ClearanceError, InputError
from clearance.gap.found import Gap
from clearance.gap.memory import Memory
from clearance.mockup.mockup import MockUp
from clearance.plain import echoed
from clearance.steady import steady

MOST_CELLS = 20_000
MOST_OVERS = 4


def _as_high(corner: MockUp, mm: float) -> MockUp:
    _refuse_traced(corner)
    return with_tire(corner, replace(corner.tire, overall_diameter_mm=mm))


def _as_wide(corner: MockUp, mm: float) -> MockUp:
    _refuse_traced(corner)
    return with_tire(corner, replace(corner.tire, section_width_mm=mm))


def _refuse_traced(corner: MockUp) -> None:
    if corner.tire.traced is not None:
        raise InputError("the tire is a traced section, which has one size only.")


CHANGES: Mapping[str, tuple[str, Callable[[MockUp, float], MockUp]]] = {
    "rim_width": ("in", on_width),
    "overall_diameter": ("mm", _as_high),
    "section_width": ("mm", _as_wide),
    "backspace": ("mm", lambda corner, mm: with_offset(corner, corner.wheel.with_backspace(mm).offset_mm)),
    "offset": ("mm", with_offset),
    "spacer": ("mm", lambda corner, mm: with_offset(corner, corner.wheel.offset_mm - mm)),
    "bump_stop": ("mm", with_bump_stop),
    "lock_less": ("deg", lambda corner, deg: with_locks(corner, deg, deg)),
    "camber_more": ("deg", with_camber),
    "raised": ("mm", with_body_lifted),
}
"""What can be changed, its unit and how, in the order in which it is done: the rim before the tire, both before the
offset."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Over:
    """One number that is changed.

    Raises InputError for one that is not known, or that takes no value.
    """

    name: str
    values: tuple[float, ...]

    def __post_init__(self) -> None:
        if self.name not in CHANGES:
            raise InputError(f"{echoed(self.name)} is nothing that can be changed. Known: {', '.join(CHANGES)}.")
        if not self.values:
            raise InputError(f"{self.name}: give at least one value.")

    @property
    def unit(self) -> str:
        """Of its values."""
        return CHANGES[self.name][0]


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """One combination."""

    at: tuple[float, ...]
    """The value of each number that is changed."""
    gap: Gap | None
    """Of the part that binds; None of one that cannot be made."""
    low_mm: float | None
    high_mm: float | None
    """The ends of the least that any part has beyond its required gap."""
    why: str = ""
    """Why it cannot be made."""

    @property
    def clears(self) -> bool | None:
        """Whether every part keeps its required gap, proven; None where that is not told."""
        if self.low_mm is None or self.high_mm is None:
            return None
        return True if self.low_mm >= 0.0 else False if self.high_mm < 0.0 else None


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Every cell, the first number changing fastest."""

    overs: tuple[Over, ...]
    cells: tuple[Cell, ...]


def grid(mockup: MockUp, overs: Sequence[Over], *, processes: int = 1, progress: Progress = silent) -> Grid:
    """Every combination of the values, measured.

    Raises InputError for a number that is named twice, for two that say the same thing, and for too many cells.
    """
    _refuse(overs)
    ordered = tuple(overs)
    rows = [tuple(reversed(rest)) for rest in itertools.product(*(over.values for over in reversed(ordered[1:])))]
    asked = [(mockup, ordered, rest) for rest in rows]
    made = in_order(_row, asked, processes) if processes > 1 and len(asked) > 1 else (_row(*one) for one in asked)
    cells: list[Cell] = []
    for row in made:
        cells += row
        progress(len(cells), len(rows) * len(ordered[0].values), "cells of the grid")
    return Grid(overs=ordered, cells=tuple(cells))


def _refuse(overs: Sequence[Over]) -> None:
    names = [over.name for over in overs]
    if not names or len(names) > MOST_OVERS:
        raise InputError(f"a grid is over one to {MOST_OVERS} numbers; found {len(names)}.")
    if len(set(names)) < len(names):
        raise InputError(f"{max(names, key=names.count)} is named twice. Name it once, with all its values.")
    same = [name for name in names if name in ("backspace", "offset", "spacer")]
    if len(same) > 1:
        raise InputError(f"{' and '.join(same)} move the same wheel. Name one of them.")
    count = math.prod(len(over.values) for over in overs)
    if count > MOST_CELLS:
        raise InputError(f"{count:,} cells are more than the {MOST_CELLS:,} that are gone through. Take larger steps.")


@steady
def _row(mockup: MockUp, overs: tuple[Over, ...], rest: tuple[float, ...]) -> list[Cell]:
    memory = Memory()
    return [_cell(mockup, overs, (value, *rest), memory) for value in overs[0].values]


def _cell(mockup: MockUp, overs: Sequence[Over], at: tuple[float, ...], memory: Memory) -> Cell:
    given = dict(zip((over.name for over in overs), at, strict=True))
    try:
        for name, (_, change) in CHANGES.items():
            if name in given:
                mockup = change(mockup, given[name])
        gaps = gaps_of(mockup, memory=memory)
    except ClearanceError as wrong:
        return Cell(at=at, gap=None, low_mm=None, high_mm=None, why=" ".join(str(wrong).split()))
    low = min(gap.spare_mm for gap in gaps)
    high = min(gap.at_most_mm - gap.required_mm for gap in gaps)
    return Cell(at=at, gap=min(gaps, key=lambda gap: gap.spare_mm), low_mm=low, high_mm=high)
