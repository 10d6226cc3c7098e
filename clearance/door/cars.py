"""Every question that is asked of a whole car: each gives an `Answer`."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import Progress, silent
from clearance.defaults import SLACK_MM, TOLERANCE_MM
from clearance.door.answer import Answer
from clearance.door.questions import Check, check, checked, files_of
from clearance.mockup.car import Car

if TYPE_CHECKING:
    from clearance.answers.candidates import Candidates
    from clearance.answers.car_card import WheelCard
    from clearance.answers.largest import Largest
    from clearance.answers.shared import SharedWindow
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp
    from clearance.tire.catalog import Listed

PROCESSES = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class CarCheck:
    """Every corner's check, worst first."""

    corners: Mapping[str, Answer[Check]]

    @property
    def verdict(self) -> str:
        """clears, tight, hits or undecided: of the worst corner."""
        return next(iter(self.corners.values())).value.verdict


def check_car(
    car: Car,
    *,
    tolerance_mm: float = TOLERANCE_MM,
    work: int | None = None,
    processes: int = PROCESSES,
    progress: Progress = silent,
) -> Answer[CarCheck]:
    """Does everything clear at every corner? As `check`, for each of them, in several processes where it can be."""
    from clearance.beside import in_order

    asked = [(corner, tolerance_mm, work) for corner in car.corners.values()]
    if processes < 2 or len(asked) < 2 or not sys.platform.startswith("linux"):
        made = iter([_gaps(*one) for one in asked])
    else:
        made = in_order(_gaps, asked, processes)
    answers = {}
    for done, corner in enumerate(car.corners.values()):
        progress(done, len(asked), corner.corner)
        gaps, findings = next(made)
        answers[corner.corner] = checked(corner, gaps, findings)
    return _told(car, answers)


def _gaps(corner: MockUp, tolerance_mm: float, work: int | None) -> tuple[tuple[Gap, ...], Mapping[str, Any]]:
    found = check(corner, tolerance_mm=tolerance_mm, work=work).value
    return found.gaps, found.findings


def _told(
    car: Car, answers: Mapping[str, Answer[Check]], *, folder: Path | None = None, files: int = 0
) -> Answer[CarCheck]:
    from clearance.facts.car_check import facts
    from clearance.report.findings import WORST_FIRST
    from clearance.words.car_check import page

    def rank(name: str) -> tuple[int, float, int]:
        found = answers[name].value
        spare_mm = found.worst.spare_mm if found.gaps else 0.0
        return WORST_FIRST.index(found.verdict), round(spare_mm, 6), list(car.corners).index(name)

    ranked = {name: answers[name] for name in sorted(answers, key=rank)}
    findings = [answer.value.findings for answer in ranked.values()]
    worst = {name: answer.value.worst if answer.value.gaps else None for name, answer in ranked.items()}
    return Answer(
        value=CarCheck(corners=ranked),
        told=partial(page, car, findings, folder, files),
        plain=partial(facts, car, findings, worst),
        listed="corners",
        units=car.units,
    )


def car_files(
    car: Car,
    answer: Answer[CarCheck],
    *,
    slack_mm: float = SLACK_MM,
    folder: Path | None = None,
    progress: Progress = silent,
) -> tuple[dict[str, bytes], Answer[CarCheck]]:
    """Every file of a car's check: car.html, and each corner's own with its name in front.

    The plotting script stands once beside the reports. Raises OutputError where an envelope cannot be proven.
    """
    from clearance.report.car_drawings import car_pictures
    from clearance.report.car_page import write_car
    from clearance.report.page import SCRIPT, plotting_script
    from clearance.report.shapes import begin_shapes

    files: dict[str, bytes] = {SCRIPT: plotting_script().encode()}
    answers = {}
    each = begin_shapes([car.corners[name] for name in answer.value.corners], slack_mm)
    for (name, one), begun in zip(answer.value.corners.items(), each, strict=True):
        made, whole, _ = files_of(
            one, slack_mm=slack_mm, folder=folder, progress=progress, before=f"{name}-", begun=begun
        )
        files |= made
        answers[name] = whole
    told = _told(car, answers, folder=folder, files=len(files) + 1)
    files["car.html"] = write_car(
        car,
        {name: one.value.findings for name, one in told.value.corners.items()},
        {name: "".join(one.pictures()[:1]) for name, one in told.value.corners.items()},
        car_pictures(car),
    )
    return files, told


def window_car(
    car: Car, *, widths_in: Sequence[float] | None = None, progress: Progress = silent
) -> Answer[tuple[SharedWindow, ...]]:
    """Which wheel clears at both sides of each axle, and at every corner where one wheel could go on all."""
    from clearance.answers.shared import shared_window, windows_of
    from clearance.facts.car_window import facts
    from clearance.words.car_window import page

    windows = windows_of(car.corners, widths_in=widths_in, progress=progress)
    found = []
    for what, names in _groups(car):
        corners = {name: car.corners[name] for name in names}
        found.append(shared_window(corners, what, windows={name: windows[name] for name in names}))
    return Answer(
        value=tuple(found),
        told=partial(page, car, tuple(found)),
        plain=partial(facts, car, tuple(found)),
        listed="groups",
        units=car.units,
    )


def largest_car(
    car: Car,
    *,
    sizes: Sequence[Listed] | None = None,
    by: str = "diameter",
    target_mm: float | None = None,
    rim_diameters_in: Sequence[float] | None = None,
    enough: int = 10,
    progress: Progress = silent,
) -> Answer[Mapping[str, Largest]]:
    """The tire sizes that clear at both sides of each axle, by axle; as `largest` for one corner. Raises InputError."""
    from clearance.answers.largest import largest as asked
    from clearance.facts.car_largest import facts
    from clearance.tire.catalog import standard_sizes
    from clearance.words.car_largest import page

    found = {}
    for axle in car.axles:
        first, *others = car.sides(axle)
        found[axle] = asked(
            first,
            standard_sizes() if sizes is None else sizes,
            first.terms,
            by=by,
            target_mm=target_mm,
            rim_diameters_in=rim_diameters_in,
            enough=enough,
            beside=others,
            progress=progress,
        )
    return Answer(
        value=found, told=partial(page, car, found), plain=partial(facts, car, found), listed="axles", units=car.units
    )


def order_car(car: Car, *, progress: Progress = silent) -> Answer[tuple[WheelCard, ...]]:
    """A card for each kind of wheel on the car, with the backspaces that clear at all of its corners."""
    from clearance.answers.car_card import car_cards
    from clearance.facts.car_order import facts
    from clearance.words.car_order import page

    cards = car_cards(car, progress=progress)
    return Answer(
        value=cards, told=partial(page, car, cards), plain=partial(facts, car, cards), listed="cards", units=car.units
    )


def candidates(
    car: Car, file: str | Path, *, by: str = "fill", enough: int = 10, progress: Progress = silent
) -> Answer[Candidates]:
    """Tires on wheels of a list (CSV), each on every corner that it is for, ranked by what matters.

    Raises InputError for a list that is none; rows that cannot be read are in the answer.
    """
    from clearance.answers.candidates import candidates as asked
    from clearance.answers.candidates import rows_from_csv
    from clearance.facts.candidates import facts
    from clearance.opener import text_of
    from clearance.words.candidates import page

    rows, not_answered = rows_from_csv(text_of(file), name=str(file))
    found = asked(car, rows, not_answered, by=by, enough=enough, progress=progress)
    return Answer(
        value=found, told=partial(page, car, found), plain=partial(facts, car, found), listed="rows", units=car.units
    )


def _groups(car: Car) -> list[tuple[str, list[str]]]:
    """The corners that one wheel is to serve: each axle's, and all where the tires are of one size."""
    groups = [(f"{axle} axle", [one.corner for one in car.sides(axle)]) for axle in car.axles]
    if len(car.axles) > 1 and len({_size(corner) for corner in car.corners.values()}) == 1:
        groups.append(("all corners", list(car.corners)))
    return groups


def _size(corner: MockUp) -> tuple[float, float, float]:
    tire = corner.tire
    return corner.wheel.diameter_in, round(tire.overall_diameter_mm, 1), round(tire.section_width_mm, 1)
