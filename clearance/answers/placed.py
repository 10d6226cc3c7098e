"""Which wheel goes where: every wheel on a corner of its own, so that the tightest corner has as much as it can have.

* room    - what a wheel surely has left at a corner beyond what must be kept there, mm; below zero it is not told to
            clear there, and does not go there
* sure    - wheels that nothing but their place is still open of; they have the first choice

Best is the placing with the most sure wheels on a corner, then the most wheels; of these the one whose least room is
the largest; of these the one with the most room in all. The largest sum alone would starve one corner for the others.
A car has four corners, so every placing is looked at.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Mapping, Sequence

Rooms = Mapping[str, Mapping[str, float]]
"""Wheel: corner: room."""
Placing = Mapping[str, str]
"""Wheel: the corner that it goes to; a wheel that goes nowhere is not in it."""
EQUAL_MM = 1e-6
"""Rooms that differ by less are one: arithmetic, not a wheel."""


def best_placing(rooms: Rooms, *, sure: Collection[str] = ()) -> dict[str, str]:
    """Each wheel that has a corner with its corner; of two placings as good, the one nearer to the order given.

    >>> best_placing({"one": {"left": 4.0, "right": 1.0}, "two": {"left": 3.0, "right": 2.0}})
    {'one': 'left', 'two': 'right'}
    """
    return max(_placings(list(rooms), rooms), key=lambda placing: _worth(placing, rooms, sure))


def least_mm(placing: Placing, rooms: Rooms) -> float:
    """The room of the tightest wheel; infinite where none was placed."""
    return min((rooms[wheel][corner] for wheel, corner in placing.items()), default=math.inf)


def _placings(wheels: Sequence[str], rooms: Rooms, taken: tuple[str, ...] = ()) -> Iterator[dict[str, str]]:
    """Every placing of these wheels on the corners that are free, with and without the first of them."""
    if not wheels:
        yield {}
        return
    first, *others = wheels
    for corner, room_mm in rooms[first].items():
        if corner not in taken and room_mm >= 0.0:
            for rest in _placings(others, rooms, (*taken, corner)):
                yield {first: corner, **rest}
    yield from _placings(others, rooms, taken)


def _worth(placing: Placing, rooms: Rooms, sure: Collection[str]) -> tuple[float, ...]:
    least = least_mm(placing, rooms)
    total = sum(rooms[wheel][corner] for wheel, corner in placing.items())
    return (
        sum(wheel in sure for wheel in placing),
        len(placing),
        least if math.isinf(least) else round(least / EQUAL_MM),
        total if math.isinf(total) else round(total / EQUAL_MM),
    )
