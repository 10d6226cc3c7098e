"""What is on a car now against what is next, and wheels that change places on it."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from clearance.answers.checked import Progress, silent
from clearance.door.answer import Answer
from clearance.mockup.car import Car

if TYPE_CHECKING:
    from clearance.answers.rotated import Rotated
    from clearance.answers.stance import Stance
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp

PROCESSES = 2


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class NowNext:
    """What changes, and what each leaves."""

    stance: Stance
    gaps: Mapping[str, tuple[Gap | None, Gap | None]]
    """Corner: the tightest gap with what is on it now, and with what is next."""

    @property
    def verdicts(self) -> list[str]:
        """Of the tightest part of every corner that was measured, with what is next."""
        return [after.verdict for _, after in self.gaps.values() if after is not None]


def now_next(car: Car, *, processes: int = PROCESSES, progress: Progress = silent) -> Answer[NowNext]:
    """What [now] says is on the car against what its file describes: reach, height, rake, track, speedometer, load,
    scrub radius; and the tightest gap of both at every corner.

    Raises TireError or WheelError for a [now] that cannot be.
    """
    from clearance.answers.said import put_on
    from clearance.answers.stance import stance_of
    from clearance.facts.stance import facts
    from clearance.words.stance import page

    stance = stance_of(car)
    pairs: dict[str, tuple[MockUp | None, MockUp]] = {}
    for name, corner in car.corners.items():
        pairs[name] = (None if corner.terms.now is None else put_on(corner, corner.terms.now), corner)
    stood = [one for pair in pairs.values() for one in pair]
    found = iter(gaps_together(stood, processes=processes, progress=progress))
    gaps = {name: (_first(next(found)), _first(next(found))) for name in pairs}
    return Answer(
        value=NowNext(stance=stance, gaps=gaps),
        told=partial(page, car, stance, gaps),
        plain=partial(facts, car, stance, gaps),
        listed="corners",
        units=car.units,
    )


def _first(gaps: Sequence[Gap]) -> Gap | None:
    return gaps[0] if gaps else None


def gaps_together(
    stood: Sequence[MockUp | None], *, processes: int = PROCESSES, progress: Progress = silent
) -> list[tuple[Gap, ...]]:
    """The gaps of each as a check has them, worst first, in several processes where it can be; none of None."""
    from clearance.beside import in_order

    asked = [(one,) for one in stood if one is not None]
    if processes < 2 or len(asked) < 2 or not sys.platform.startswith("linux"):
        made = iter([_worst_first(*one) for one in asked])
    else:
        made = in_order(_worst_first, asked, processes)
    found: list[tuple[Gap, ...]] = []
    done = 0
    for one in stood:
        if one is None:
            found.append(())
            continue
        progress(done, len(asked), one.corner)
        found.append(next(made))
        done += 1
    return found


def _worst_first(corner: MockUp) -> tuple[Gap, ...]:
    from clearance.gap.cycle import over_cycle
    from clearance.report.findings import worst_first

    return tuple(worst_first(over_cycle(corner)))


def rotate(car: Car, *, processes: int = PROCESSES, progress: Progress = silent) -> Answer[Rotated]:
    """Wheels that change places, and the spare where it stands in: does each clear where it would go?

    Raises TireError or WheelError for a [spare] that cannot be, InputError for two of them.
    """
    from clearance.answers.rotated import asked_of, carried_of, kinds_of, rotated
    from clearance.facts.rotated import facts
    from clearance.words.rotated import page

    # two spares are refused before anything is measured
    carried_of(car)
    kinds = kinds_of(car)
    gaps = gaps_together(asked_of(car, kinds), processes=processes, progress=progress)
    found = rotated(car, kinds, gaps)
    return Answer(
        value=found,
        told=partial(page, car, found),
        plain=partial(facts, car, found),
        listed="goings",
        units=car.units,
    )


def draw_car(
    car: Car, *, paper: str = "a4", folder: Path = Path("drawings")
) -> tuple[dict[str, bytes], Answer[tuple[str, ...]]]:
    """Both axles to scale from the side, the rear from behind, the front from ahead: now dashed, next in full line.

    The answer names the files. Raises InputError for a paper that is none.
    """
    from clearance.facts.draw import car_facts
    from clearance.report.car_drawings import car_drawings
    from clearance.words.draw import car_page

    files = car_drawings(car, paper=paper)
    names = tuple(files)
    told = partial(car_page, car, names, folder)
    return files, Answer(value=names, told=told, plain=partial(car_facts, car, names), units=car.units)
