"""What is still open on a sheet, and how far each of it could move the answer.

The answer is the least room of the corner: over all parts, what the gap is at least above what it must keep. Each open
letter is taken at both ends of what it can be, all else as it is, and the corner is measured again. How far the three
answers (as it is, at the one end, at the other) lie apart is how much that letter could move it.

* its ends  - for the steering axis, how far it is taken to be off where it was not measured; else the usual ends of the
              key that the letter becomes
* not told  - before every needed letter is answered there is no corner to measure; of what else may stand near nothing
              is known, not even whether it is there; and two ends that make no corner tell nothing

Lengths are millimetres.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from clearance.answers.room import where_it_stands
from clearance.ends.ends import Ends
from clearance.errors import ClearanceError
from clearance.gap.cycle import over_cycle
from clearance.report.answers import missing
from clearance.report.corner_text import corner_text
from clearance.report.forms import Form
from clearance.report.letters import ANGLE, KEEP, LENGTH, PLACE, STANDING, TRAVEL_DEPTH, WITHOUT_KEY, Letter
from clearance.steady import steady
from clearance.suspension.by_travel import (
    CASTER_DEG,
    KINGPIN_INCLINATION_DEG,
    KINGPIN_OFFSET_MM,
    LEAN_WITHIN_DEG,
    OFFSET_WITHIN_MM,
)
from clearance.units import both

if TYPE_CHECKING:
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp

TOLERANCE_MM = 2.0
"""How closely each answer is measured: a tape reads most letters to 3 mm, and a finer search takes ten times longer."""
_BOUNDS: Mapping[str, tuple[float, float]] = {
    "N": (KINGPIN_OFFSET_MM - OFFSET_WITHIN_MM, KINGPIN_OFFSET_MM + OFFSET_WITHIN_MM),
    "P": (KINGPIN_INCLINATION_DEG - LEAN_WITHIN_DEG, KINGPIN_INCLINATION_DEG + LEAN_WITHIN_DEG),
    "Q": (CASTER_DEG - LEAN_WITHIN_DEG, CASTER_DEG + LEAN_WITHIN_DEG),
}
"""Of the steering axis, what holds where it was not measured; mm or deg."""


@dataclass(frozen=True, slots=True, kw_only=True)
class OpenLetter:
    """One letter that is not answered."""

    letter: str
    name: str
    needed: bool
    moves_mm: float | None
    """How far the least room could move; None where that cannot be told."""
    part: str
    """The part that then has the least room."""
    ends: tuple[str, str]
    """What it was taken at, as a tape gives it; empty where it was not."""
    why_not: str
    """Why it cannot be told; empty where it can."""


@steady
def still_open(
    form: Form, answers: Mapping[str, str], *, progress: Callable[[int, int, str], None] = lambda *_: None
) -> tuple[OpenLetter, ...]:
    """Every open letter of a sheet, the one that could move the answer most first; then those that cannot be told."""
    letters = [letter for letter in form.letters if not answers.get(letter.letter) and _is_asked(form, letter, answers)]
    lacking = missing(form, answers)
    if lacking:
        why = "there is no corner to measure before every needed letter is answered"
        return tuple(_untold(form, letter, why) for letter in letters)
    before = _least_room(form, answers)
    found = []
    for number, letter in enumerate(letters):
        progress(number, len(letters), letter.letter)
        found.append(_moved(form, answers, letter, before))
    return tuple(sorted(found, key=lambda one: (one.moves_mm is None, -(one.moves_mm or 0.0))))


def _is_asked(form: Form, letter: Letter, answers: Mapping[str, str]) -> bool:
    """Whether it is of use: a rim that the marking says, the ends of what is not there, a gap to keep are not open."""
    near = [one.letter for one in form.letters if one.measure == PLACE]
    # a sheet of a corner as it stands asks less than its letters, and what it leaves out is open all the same
    whole = replace(form, depth=TRAVEL_DEPTH) if form.depth == STANDING else form
    return letter.group != KEEP and letter in whole.asked(answers, near)


def _moved(form: Form, answers: Mapping[str, str], letter: Letter, before: tuple[float, str] | None) -> OpenLetter:
    if letter.measure == PLACE:
        return _untold(form, letter, "nothing is known of it, not even whether it is there")
    shown = _ends_of(letter)
    if shown is None:
        return _untold(form, letter, WITHOUT_KEY.get(letter.letter, "it is no length and no angle"))
    if before is None:
        return _untold(form, letter, "the corner as it stands is not told")
    found = [before]
    for end, words in shown:
        room = _least_room(form, {**answers, letter.letter: end})
        if room is None:
            return _untold(form, letter, f"with {words} there is no such corner, or it is not told")
        found.append(room)
    rooms = [room for room, _ in found]
    return OpenLetter(
        letter=letter.letter,
        name=letter.name,
        needed=form.needs(letter),
        moves_mm=max(rooms) - min(rooms),
        part=min(found)[1],
        ends=(shown[0][1], shown[1][1]),
        why_not="",
    )


def _untold(form: Form, letter: Letter, why: str) -> OpenLetter:
    return OpenLetter(
        letter=letter.letter,
        name=letter.name,
        needed=form.needs(letter),
        moves_mm=None,
        part="",
        ends=("", ""),
        why_not=why,
    )


def _ends_of(letter: Letter) -> tuple[tuple[str, str], tuple[str, str]] | None:
    """Both ends of what it can be, each as an answer and in words."""
    if letter.measure not in (LENGTH, ANGLE) or not isinstance(letter.ends, Ends):
        return None
    low, high = _BOUNDS.get(letter.letter, letter.ends.usual)
    return _written(low, letter.ends.unit), _written(high, letter.ends.unit)


def _written(value: float, unit: str) -> tuple[str, str]:
    text = f"{value:g} {unit}"
    return text, both(value, digits=0) if unit == "mm" else text


def _least_room(form: Form, answers: Mapping[str, str]) -> tuple[float, str] | None:
    """The least room of the corner that these answers make, and the part that has it; None where there is none."""
    from clearance.description.load import of_text

    try:
        mockup = of_text(corner_text(form, answers), Path("corner.toml"))
        rooms = [(gap.at_least_mm - gap.required_mm, gap.part) for gap in _gaps(form, mockup)]
    except ClearanceError:
        return None
    told = [one for one in rooms if math.isfinite(one[0])]
    return min(told) if told and len(told) == len(rooms) else None


def _gaps(form: Form, mockup: MockUp) -> Sequence[Gap]:
    """Where nothing is known of the travel, as it stands; else over the whole cycle, whatever its links may do."""
    if form.depth == STANDING:
        return where_it_stands(mockup)
    return over_cycle(mockup, tolerance_mm=TOLERANCE_MM, at_worst=True)
