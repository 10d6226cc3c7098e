"""What has to change on a car: of each axle the least change, and of each corner what must move."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from functools import partial
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import Progress, silent
from clearance.door.answer import Answer
from clearance.mockup.car import Car

if TYPE_CHECKING:
    from clearance.answers.axle_change import AxleChange

PROCESSES = 2


def least_change_car(
    car: Car, *, each_side: bool = False, processes: int = PROCESSES, progress: Progress = silent
) -> Answer[Mapping[str, AxleChange]]:
    """The smallest change after which both sides of each axle clear, by axle, and whether it is to centre the axle.

    With `each_side` a spacer may differ from side to side; else it is one thickness for both.
    """
    from dataclasses import replace

    from clearance.facts.car_least_change import facts
    from clearance.words.car_least_change import page

    asked = [(car, axle, each_side) for axle in car.axles]
    rows: list[tuple[Any, ...]] = [(_changes, one) for one in asked] + [(_off, one) for one in asked]
    made = _beside(rows, processes)
    changes = {}
    for done, axle in enumerate(car.axles):
        progress(done, len(rows), f"{axle} axle")
        changes[axle] = next(made)
    found = {}
    for done, axle in enumerate(car.axles, len(car.axles)):
        progress(done, len(rows), f"{axle} axle, how it stands between its wells")
        found[axle] = replace(changes[axle], off=next(made))
    return Answer(
        value=found, told=partial(page, car, found), plain=partial(facts, car, found), listed="axles", units=car.units
    )


def _changes(car: Car, axle: str, each_side: bool) -> AxleChange:
    from clearance.answers.axle_change import axle_change
    from clearance.tire.catalog import standard_sizes

    sides = {corner.corner: corner for corner in car.sides(axle)}
    return axle_change(sides, f"{axle} axle", standard_sizes(), each_side=each_side)


def _off(car: Car, axle: str, each_side: bool) -> Any:
    from clearance.answers.axle_change import axle_off

    return axle_off({corner.corner: corner for corner in car.sides(axle)})


def _beside(rows: list[tuple[Any, ...]], processes: int) -> Any:
    from clearance.beside import in_order

    if processes < 2 or not sys.platform.startswith("linux"):
        return (_one(*row) for row in rows)
    return in_order(_one, rows, processes)


def _one(work: Any, given: tuple[Any, ...]) -> Any:
    return work(*given)
