"""What has to change on a car: of each axle the least change, and of each corner what must move."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import Progress, silent
from clearance.defaults import RELIEF_SLACK_MM
from clearance.door.answer import Answer
from clearance.errors import PartError
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.plain import echoed

if TYPE_CHECKING:
    from clearance.answers.axle_change import AxleChange
    from clearance.door.questions import Relieved

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


def relief_car(
    car: Car, *, mapped: Sequence[str] = (), processes: int = PROCESSES, progress: Progress = silent
) -> Answer[Mapping[str, Relieved]]:
    """How far each part must move at each corner, by corner; scans and `mapped` parts corner by corner of their mesh.

    Raises PartError for a part that no corner has.
    """
    _refuse_unknown(car, mapped)
    made = _beside([(_relieved, (corner, tuple(mapped))) for corner in car.corners.values()], processes)
    found = {}
    for done, name in enumerate(car.corners):
        progress(done, len(car.corners), name)
        found[name] = next(made)
    return _relief_told(car, found)


def relief_car_files(
    car: Car,
    answer: Answer[Mapping[str, Relieved]],
    *,
    slack_mm: float = RELIEF_SLACK_MM,
    folder: Path | None = None,
    processes: int = PROCESSES,
    progress: Progress = silent,
) -> tuple[dict[str, bytes], Answer[Mapping[str, Relieved]]]:
    """Every corner's files of `relief_files`, each with its corner's name in front, and the answer that names them.

    Raises OutputError where a tub cannot be proven.
    """
    asked = [(_files, (car.at(name), own, slack_mm)) for name, own in answer.value.items()]
    made = _beside(asked, processes)
    files: dict[str, bytes] = {}
    for done, name in enumerate(answer.value):
        progress(done, len(asked), f"{name}, files")
        files |= {f"{name}-{file}": content for file, content in next(made).items()}
    return files, _relief_told(car, answer.value, folder, sorted(files))


def _relief_told(
    car: Car, found: Mapping[str, Relieved], folder: Path | None = None, files: Sequence[str] = ()
) -> Answer[Mapping[str, Relieved]]:
    from clearance.facts.car_relief import facts
    from clearance.words.car_relief import page

    parts = {name: one.parts for name, one in found.items()}
    maps = {name: one.maps for name, one in found.items()}
    return Answer(
        value=found,
        told=partial(page, car, parts, maps, folder, files),
        plain=partial(facts, car, parts, maps, files),
        listed="corners",
        units=car.units,
    )


def _refuse_unknown(car: Car, mapped: Sequence[str]) -> None:
    names = [part.name for corner in car.corners.values() for part in corner.parts]
    for name in mapped:
        if name not in names:
            raise PartError(f"there is no part {echoed(name)}. The parts are: {', '.join(dict.fromkeys(names))}.")


def _relieved(corner: MockUp, mapped: tuple[str, ...]) -> Relieved:
    from clearance.door.questions import relief

    here = [part.name for part in corner.parts]
    return relief(corner, mapped=[name for name in mapped if name in here]).value


def _files(corner: MockUp, found: Relieved, slack_mm: float) -> dict[str, bytes]:
    from clearance.export.relief import relief_files

    grown_mm = max((one.before.required_mm for one in found.parts), default=None)
    return relief_files(corner, found.maps, grown_mm=grown_mm, slack_mm=slack_mm, progress=silent)


def _beside(rows: list[tuple[Any, ...]], processes: int) -> Any:
    from clearance.beside import in_order

    if processes < 2 or not sys.platform.startswith("linux"):
        return (_one(*row) for row in rows)
    return in_order(_one, rows, processes)


def _one(work: Any, given: tuple[Any, ...]) -> Any:
    return work(*given)
