"""The wheels of a whole car as they come in their boxes: the sheets to fill, what becomes of each, where each goes."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

from clearance.answers.checked import Progress, silent
from clearance.door.answer import Answer
from clearance.mockup.car import Car

if TYPE_CHECKING:
    from clearance.answers.car_received import CarReceived
    from clearance.wheel.inspection import Measured

PROCESSES = 2


def inspect_car(
    car: Car, wheels: Sequence[Measured], *, processes: int = PROCESSES, progress: Progress = silent
) -> Answer[CarReceived]:
    """Every wheel of a car against its order, and which goes to which corner: keep, read again, return or not told.

    Wheels are those of `boxes`; where the car has several kinds, their names begin with the kind, as on the sheets of
    `car_box_sheets`. Raises WheelError for a box that is not of the order, or stands twice.
    """
    from clearance.answers.car_received import car_received
    from clearance.facts.car_inspect import facts
    from clearance.words.car_inspect import page

    found = car_received(car, wheels, processes=processes, progress=progress)
    return Answer(
        value=found,
        told=partial(page, car, found),
        plain=partial(facts, car, found),
        listed="wheels",
        units=car.units,
    )


def car_box_sheets(
    car: Car, *, sheet: str = "", blank: str = "", paper: str = "letter"
) -> tuple[dict[str, bytes], Answer[CarReceived]]:
    """What to fill for `inspect_car`: a page, and a row of the CSV, for every box of the car's order.

    In the unit that the car's pages have first. Raises OutputError for a paper that is not known.
    """
    from clearance.answers.car_received import nothing_received
    from clearance.answers.wheel_kinds import wheel_kinds
    from clearance.facts.car_inspect import facts
    from clearance.report.wheel_sheet import Boxes, box_csv, box_sheet
    from clearance.words.inspect import blank_page

    every = [
        Boxes(order=kind.order, names=kind.boxes, heads=kind.heads, kind=f"{kind.name} wheels" if kind.name else "")
        for kind in wheel_kinds(car)
    ]
    files: dict[str, bytes] = {}
    if sheet:
        files[sheet] = box_sheet(every, title=car.title, unit=car.units, paper=paper)
    if blank:
        files[blank] = box_csv(every, unit=car.units)
    found = nothing_received(car)
    return files, Answer(
        value=found,
        told=partial(blank_page, sum(len(boxes.names) for boxes in every), blank),
        plain=partial(facts, car, found, tuple(files)),
        units=car.units,
    )
