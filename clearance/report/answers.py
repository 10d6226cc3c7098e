"""Answers to the letters: read as they come, and held against what is plausible and against each other.

* answer - what was written for a letter, as text with its unit; it is kept as it was written
* value  - the same in millimetres or degrees
* doubt  - something that cannot be (`stops`), or that is more often a slip of the tape than the truth

Nothing here asks or prints; the interview, the flags and the filled CSV all come through here.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass

from clearance.ends import families
from clearance.ends.ends import Ends, Number, Point, turned_over
from clearance.errors import FileError, InputError, TireError
from clearance.mockup.mockup import CORNERS
from clearance.opener import records_in
from clearance.plain import MOST_TITLE, cell_text, echoed, is_one_line
from clearance.report.forms import Form, form_of
from clearance.report.letters import ANGLE, BOLTS, LENGTH, MARKING, NUMBER, PLACE, POINT, ROW, WORD, Letter
from clearance.tire.dimensions import dimensions_of
from clearance.tire.doubts import about_overall, about_section
from clearance.tire.size import Marking
from clearance.tire.size import read as read_marking
from clearance.units import MM_PER_INCH, angle_deg, both, circle_text, length_mm

FLANGES_MM = 25.4
"""Both flanges of a rim together: the trade's "plus one inch" (common practice)."""

Answers = Mapping[str, str]
"""Letter, "title" or "corner": what was written, with its unit."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """Something about one answer, or about how several agree."""

    letters: tuple[str, ...]
    words: str
    stops: bool = False
    """True where no wheel, tire or well can be like that."""


def written(letter: Letter, text: str, unit: str | None) -> str:
    """An answer as it will be kept: with its unit, which a bare number takes from `unit` where the tape's was stated.

    Raises InputError for text that is not of the letter's kind, or not believable.
    """
    text = " ".join(text.split())
    read = _OTHERS.get(letter.measure)
    return _measure(letter, text, unit) if read is None else read(letter, text, unit)


def _measure(letter: Letter, text: str, unit: str | None, ends: Ends | None = None, axis: str = "") -> str:
    """One length or angle, with its unit, within the ends of its key."""
    ends = ends or (letter.ends if isinstance(letter.ends, Ends) else None)
    angle = letter.measure == ANGLE if ends is None else ends.unit == "deg"
    if re.search(r"[\d./\u00bc-\u00be\u2150-\u215e]$", text):
        # degrees need no unit of a tape
        text = f"{text} {'deg' if angle else unit}" if angle or unit is not None else text
    value = angle_deg(text) if angle else length_mm(text)
    if ends is not None and (wrong := _number_of(ends, text, value, axis).refusal):
        raise InputError(wrong)
    return text


def _number_of(ends: Ends, text: str, value: float, axis: str = "") -> Number:
    """One answer held against its ends; `value` in mm or degrees."""
    return Number(path=(), text=text, value=value / MM_PER_INCH if ends.unit == "in" else value, ends=ends, axis=axis)


def _parts(text: str) -> list[str]:
    """Several numbers of one answer, a comma or a semicolon between them; a decimal comma has no blank after it."""
    found = re.split(r";|,\s+", text)
    return [part.strip() for part in (found if len(found) > 1 else text.split(",")) if part.strip()]


def _place(letter: Letter, text: str, unit: str | None) -> str:
    """How far in something is, and between which heights it stands."""
    parts = _parts(text)
    if len(parts) not in (1, 3):
        raise InputError(
            f"{echoed(text)} is not a place. Write how far inboard of the hub face it is, then its lowest and its"
            " highest"
            " point above the hub's centre, as 9 in, 3 in, 8 in; or the first alone."
        )
    heights = (None, turned_over(families.SHEET_BELOW), families.SHEET_ABOVE)
    found = [_measure(letter, part, unit, ends) for part, ends in zip(parts, heights, strict=False)]
    if len(found) == 3 and length_mm(found[1]) >= length_mm(found[2]):
        raise InputError(f"{echoed(text)}: the second number is its lowest point and must be less than the third.")
    return ", ".join(found)


def _point(letter: Letter, text: str, unit: str | None) -> str:
    parts = _parts(text.strip("[]"))
    if len(parts) != 3:
        raise InputError(f"{echoed(text)} is not a point. Write ahead, outboard, above, as 12 in, -9 1/2 in, -4 in.")
    axes = letter.ends.axes if isinstance(letter.ends, Point) else dict.fromkeys(("ahead", "outboard", "above"))
    pairs = zip(parts, axes.items(), strict=True)
    return ", ".join(_measure(letter, part, unit, ends, axis) for part, (axis, ends) in pairs)


def _row(letter: Letter, text: str, unit: str | None) -> str:
    parts, heads = _parts(text.strip("[]")), ", ".join(name for name, *_ in letter.columns)
    if len(parts) != len(letter.columns):
        raise InputError(f"{echoed(text)} has {len(parts)} numbers. Write {len(letter.columns)}: {heads}.")
    pairs = zip(parts, letter.columns, strict=True)
    return ", ".join(_measure(letter, part, unit, ends, name) for part, (name, _, ends) in pairs)


def _word(letter: Letter, text: str, unit: str | None) -> str:
    if letter.choices and text not in letter.choices:
        raise InputError(f"{echoed(text)} cannot be used here. Write one of {', '.join(letter.choices)}.")
    return text


def _number(letter: Letter, text: str, unit: str | None) -> str:
    try:
        value = float(text)
    except ValueError:
        raise InputError(f"{echoed(text)} is not a number.") from None
    if isinstance(letter.ends, Ends) and (wrong := _number_of(letter.ends, text, value).refusal):
        raise InputError(wrong)
    return f"{value:g}"


_OTHERS: Mapping[str, Callable[[Letter, str, str | None], str]] = {
    MARKING: lambda letter, text, unit: read_marking(text).text,
    BOLTS: lambda letter, text, unit: _bolt_circle(text),
    PLACE: _place,
    POINT: _point,
    ROW: _row,
    WORD: _word,
    NUMBER: _number,
}
"""How what is not one length or angle is read."""


def _bolt_circle(text: str) -> str:
    match = re.fullmatch(r"(\d{1,2})\s*(?:[xX\u00d7]|on|by)\s*(.+)", text)
    if match is None:
        raise InputError(f'{echoed(text)} is not a bolt circle. Write the count and the diameter: "5 x 4.5 in".')
    diameter = circle_text(match[2].strip())
    ends = families.CIRCLE
    studs = _number_of(ends.studs, match[1], float(match[1]))
    across = _number_of(ends.diameter, diameter, length_mm(diameter))
    if wrong := studs.refusal or across.refusal:
        raise InputError(wrong)
    return f"{int(match[1])} x {diameter}"


def value_of(answers: Answers, letter: str) -> float | None:
    """The millimetres or degrees of an answered letter; None where it was left out."""
    # a comma with a blank behind it stands between two numbers, one without is a decimal comma
    text = answers.get(letter, "").partition(", ")[0]
    if not text:
        return None
    return angle_deg(text) if re.search(r"deg|\u00b0", text) else length_mm(text)


def marking_of(answers: Answers) -> Marking | None:
    """What the tire's marking says, where one was given."""
    return read_marking(answers["A"]) if answers.get("A") else None


def missing(form: Form, answers: Answers) -> tuple[str, ...]:
    """What is still needed, as "G (backspace)"; empty where a corner file can be written."""
    lacking = [f"{x.letter} ({x.name})" for x in form.letters if form.needs(x) and not answers.get(x.letter)]
    if not answers.get("A"):
        lacking += [f"{key} (or A, the marking)" for key in ("B", "C", "E") if not answers.get(key)]
    return tuple(lacking)


def needed_now(form: Form, letter: Letter, answers: Answers) -> bool:
    """Whether a letter can no longer be left out: without a marking the tire and rim must be measured."""
    return form.needs(letter) or (letter.letter in ("B", "C", "E") and not answers.get("A"))


# ---- how answers agree


def doubts(form: Form, answers: Answers) -> tuple[Doubt, ...]:
    """Everything that cannot be, or is more often a slip than the truth, in the order of the letters."""
    found: list[Doubt] = []
    for check in (_tire_doubts, _wheel_doubts, _ride_doubts, _hanging_doubts, _steer_doubts, _rail_doubts):
        found += check(answers)
    return (*found, *_travel_doubts(form, answers), *_corner_doubts(form, answers), *_unusual(form, answers))


def _unusual(form: Form, answers: Answers) -> Iterator[Doubt]:
    """What most cars have otherwise: by the usual ends of the key that a letter becomes."""
    for letter in form.letters:
        if not isinstance(letter.ends, Ends) or letter.measure not in (LENGTH, ANGLE, PLACE):
            continue
        value = value_of(answers, letter.letter)
        if value is None:
            continue
        text = answers[letter.letter].partition(", ")[0]
        if words := _number_of(letter.ends, text, value).doubt:
            yield Doubt(letters=(letter.letter,), words=words)


def _tire_doubts(answers: Answers) -> Iterator[Doubt]:
    marking, across = marking_of(answers), _values(answers, "BCDE")
    diameter, section, tread, rim = across
    if marking is not None and rim is not None and abs(marking.rim_in * MM_PER_INCH - rim) > 3.0:
        yield Doubt(
            letters=("A", "E"), stops=True, words=f"the marking is for a {marking.rim_in:g} in rim, E says {both(rim)}."
        )
    yield from _against_its_marking(marking, diameter, section, next(iter(_values(answers, "F"))))
    if tread is not None and section is not None and tread >= section:
        yield Doubt(
            letters=("C", "D"),
            stops=True,
            words=f"the tread ({both(tread)}) cannot be as wide as the tire ({both(section)}).",
        )
    if diameter is not None and rim is not None and diameter <= rim + 40:
        yield Doubt(
            letters=("B", "E"),
            stops=True,
            words=f"a tire {both(diameter)} over all does not go round a rim of {both(rim)}.",
        )


def _against_its_marking(
    marking: Marking | None, diameter_mm: float | None, section_mm: float | None, rim_mm: float | None
) -> Iterator[Doubt]:
    """Where the tape and the marking disagree by more than the marking's standard allows, on the rim used."""
    if marking is None:
        return
    try:
        known = dimensions_of(marking)
    except TireError:
        # a size that only a tape can know
        return
    rim_in = None if rim_mm is None else rim_mm / MM_PER_INCH
    if diameter_mm is not None and (words := about_overall(known, diameter_mm, section_mm, rim_in)):
        yield Doubt(letters=("A", "B"), words=words)
    if section_mm is not None and (words := about_section(known, diameter_mm, section_mm, rim_in)):
        yield Doubt(letters=("A", "C"), words=words)


def _nominal_diameter_mm(marking: Marking | None) -> float | None:
    """About how high the tire stands, for what would touch while the car is parked; no more than that."""
    if marking is None:
        return None
    if marking.overall_mm:
        return marking.overall_mm
    if marking.width_mm and marking.aspect:
        return marking.rim_in * MM_PER_INCH + 2 * marking.width_mm * marking.aspect / 100
    return None


def _wheel_doubts(answers: Answers) -> Iterator[Doubt]:
    width, backspace, section = _values(answers, "FGC")
    if width is not None and backspace is not None:
        over_all = width + FLANGES_MM
        if backspace > over_all:
            yield Doubt(
                letters=("F", "G"),
                stops=True,
                words=f"a backspace of {both(backspace)} is more than the whole wheel, about {both(over_all)}."
                f" Is it in another"
                " unit, or an offset?",
            )
        elif backspace < 0.15 * over_all or backspace > 0.95 * over_all:
            yield Doubt(
                letters=("F", "G"),
                words=f"a backspace of {both(backspace)} on a wheel of about {both(over_all)} over all is"
                f" unusual: is it the"
                " offset, or measured to the spokes?",
            )
    if width is not None and section is not None and not 0.5 <= width / section <= 1.1:
        yield Doubt(
            letters=("C", "F"),
            words=f"a rim of {both(width)} is unusual for a tire {both(section)} wide: is F over the flanges?",
        )


def tire_reach_mm(answers: Answers) -> tuple[float, float] | None:
    """How far the tire stands inboard and outboard of the hub face, where C (or A), F and G tell."""
    width, backspace, section = _values(answers, "FGC")
    marking = marking_of(answers)
    if section is None and marking is not None:
        section = marking.width_mm
    if width is None or backspace is None or section is None:
        return None
    offset = backspace - (width + FLANGES_MM) / 2
    return section / 2 + offset, section / 2 - offset


def _ride_doubts(answers: Answers) -> Iterator[Doubt]:
    """What would already touch with the car parked: then the number is wrong, or the job is."""
    reach = tire_reach_mm(answers)
    if reach is not None:
        inboard = {"R": "inner wall", "Y": "spring or strut", "Z": "frame rail"}
        for letter, what in inboard.items():
            yield from _touching(answers, letter, reach[0], what, ("C", "F", "G"))
        yield from _touching(answers, "S", reach[1], "fender lip", ("C", "F", "G"))
    diameter = value_of(answers, "B") or _nominal_diameter_mm(marking_of(answers))
    if diameter is not None:
        for letter, what in {"V": "top of the well", "W": "front of the well", "X": "rear of the well"}.items():
            yield from _touching(answers, letter, diameter / 2, what, ("B",))


def _touching(answers: Answers, letter: str, reach_mm: float, what: str, others: tuple[str, ...]) -> Iterator[Doubt]:
    distance = value_of(answers, letter)
    if letter == "Z" and _rail_clear_of_tire(answers):
        return
    if distance is not None and distance < reach_mm:
        yield Doubt(
            letters=(letter, *others),
            words=f"the tire reaches {both(reach_mm)} from the hub that way, the {what} is at {both(distance)}:"
            f" they would touch by {both(reach_mm - distance)} at ride height.",
        )


def _rail_clear_of_tire(answers: Answers) -> bool:
    """A rail above or below the whole tire does not stand beside it."""
    bottom, top = value_of(answers, "Z1"), value_of(answers, "Z2")
    radius = (value_of(answers, "B") or _nominal_diameter_mm(marking_of(answers)) or 0.0) / 2
    return (bottom is not None and bottom > radius) or (top is not None and top < -radius)


def _steer_doubts(answers: Answers) -> Iterator[Doubt]:
    left, right = value_of(answers, "L"), value_of(answers, "M")
    if left is None or right is None:
        return
    if left == right:
        yield Doubt(
            letters=("L", "M"), words="left and right lock of one wheel are rarely the same: were both measured?"
        )
    elif abs(left - right) > 15:
        yield Doubt(
            letters=("L", "M"),
            words=f"left and right lock of one wheel differ by {abs(left - right):g} deg; 0 to 10 is usual.",
        )


def _rail_doubts(answers: Answers) -> Iterator[Doubt]:
    bottom, top = value_of(answers, "Z1"), value_of(answers, "Z2")
    if bottom is not None and top is not None and top <= bottom:
        yield Doubt(letters=("Z1", "Z2"), stops=True, words="the top of the rail must be above its bottom.")
    lip, crown = value_of(answers, "T"), value_of(answers, "V")
    if lip is not None and crown is not None and crown < lip:
        yield Doubt(letters=("T", "V"), words=f"the top of the well ({both(crown)}) is below the lip ({both(lip)}).")


def _hanging_doubts(answers: Answers) -> Iterator[Doubt]:
    """The axle hung while the well was measured, and further than it can."""
    ride, then, droop = _values(answers, ("T", "T1", "K"))
    if ride is None or then is None or droop is None:
        return
    if then - ride > droop + 10.0:
        yield Doubt(
            letters=("T", "T1", "K"),
            words=f"the hub hung {both(then - ride)} below ride height, and its droop is {both(droop)}. Which is"
            " right?",
        )
    if ride - then > 150.0:
        yield Doubt(letters=("T", "T1"), words=f"the hub stood {both(ride - then)} above ride height. Was it held up?")


def _travel_doubts(form: Form, answers: Answers) -> Iterator[Doubt]:
    """The travel against the well and against itself."""
    bump, droop, track = _values(answers, ("J", "K", "K1"))
    yield from _crown_doubts(answers, bump)
    for letter, value in (("J", bump), ("K", droop)):
        if value is not None and value > 250.0:
            yield Doubt(letters=(letter,), words=f"{both(value)} is a long way for a wheel: 60 to 130 mm is usual.")
    if form.carrier.axle and track is not None and bump is not None and droop is not None and bump + droop > track / 2:
        yield Doubt(letters=("J", "K", "K1"), words="the axle would stand steeper than 1 in 2. Check all three.")


def _crown_doubts(answers: Answers, bump: float | None) -> Iterator[Doubt]:
    crown = value_of(answers, "V")
    diameter = value_of(answers, "B") or _nominal_diameter_mm(marking_of(answers))
    if bump is None or crown is None or diameter is None or diameter / 2 + bump <= crown:
        return
    yield Doubt(
        letters=("J", "V", "B"),
        words=f"the tire would be {both(diameter / 2 + bump - crown)} into the top of the well at full bump. Is J"
        " at the wheel, and V up to the metal?",
    )


def _corner_doubts(form: Form, answers: Answers) -> Iterator[Doubt]:
    title = answers.get("title", "")
    if title and not is_one_line(title, MOST_TITLE):
        words = f"the title must be one line of at most {MOST_TITLE} letters that can be seen."
        yield Doubt(letters=("title",), stops=True, words=words)
    corner = answers.get("corner", "")
    if corner and corner not in CORNERS:
        yield Doubt(
            letters=("corner",),
            stops=True,
            words=f"{echoed(corner)} is not a corner. Write one of {', '.join(CORNERS)}.",
        )
    elif corner and corner.startswith("front") != form.carrier.front:
        yield Doubt(letters=("corner",), words=f"the sheet is for a {form.carrier.words}, the corner is {corner}.")


def _values(answers: Answers, letters: Iterable[str]) -> list[float | None]:
    return [value_of(answers, letter) for letter in letters]


# ---- a filled CSV


def read_csv(text: str, *, named: str, note: Callable[[str], None] = lambda _: None) -> tuple[Form, dict[str, str]]:
    """The sheet and the answers of a filled CSV; every answer read and believable.

    A bare number takes the unit of its row. `note` is told of rows that no letter claims.

    Raises InputError with file and letter.
    """
    given = _cells(text, named)
    try:
        form = form_of(given.get("sheet", ("", ""))[0])
    except InputError as wrong:
        raise InputError(f'{named}: the row "sheet": {wrong}') from None
    answers = {key: given[key][0] for key in HEADER if key in given}
    known = {letter.letter: letter for letter in form.letters}
    for key, (answer, unit) in given.items():
        letter = known.get(key.removesuffix(OTHER))
        if letter is not None:
            answers[key] = _read_cell(letter, key, answer, unit, named)
        elif key != "sheet" and key not in HEADER:
            note(f"{named}: the sheet for a {form.words} has no letter {echoed(key)}; its row was not read.")
    return form, {key: answer for key, answer in answers.items() if answer}


def _read_cell(letter: Letter, key: str, answer: str, unit: str, named: str) -> str:
    read = of_other_side if key.endswith(OTHER) else written
    try:
        return read(letter, answer, unit or None) if answer else ""
    except InputError as wrong:
        raise InputError(f"{named}, letter {key} ({letter.name}): {wrong}") from None


# ---- the other side

OTHER = " other"
"""Behind a letter: its answer on the other side of the car."""
SAME = "same"
"""Of the other side: measured there too, and found the same."""
LOCKS = ("L", "M")
"""The wheel that is the inner one to the left is the outer one on the other side."""


def of_other_side(letter: Letter, text: str, unit: str | None) -> str:
    """An answer of the other side, as it is kept.

    Raises InputError for what is no answer, and for "same" of a lock.
    """
    if text.strip().lower() != SAME:
        return written(letter, text, unit)
    if letter.letter in LOCKS:
        raise InputError(
            "the two wheels of an axle turn by different angles, the inner one further. Measure it on that wheel too,"
            " or leave it out."
        )
    return SAME


HEADER = {"title": "a name for this corner", "corner": "front-left, front-right, rear-left or rear-right"}
"""What is asked before the letters."""


def _cells(text: str, named: str) -> dict[str, tuple[str, str]]:
    """The answer and the unit of every row that names a letter. Raises InputError."""
    try:
        heading, records = records_in(text.lstrip("\ufeff"), named)
    except FileError as wrong:
        raise InputError(str(wrong)) from None
    if "letter" not in heading or "answer" not in heading:
        raise InputError(
            f'{named}: not a measuring sheet. It needs the columns "letter" and "answer"; print one with'
            f" `clearance measure`."
        )
    given: dict[str, tuple[str, str]] = {}
    for line, row in records:
        key = cell_text(row["letter"])
        if key in given:
            raise InputError(f"{named}:{line}: the letter {echoed(key)} stands twice. Keep one of the two.")
        given[key] = (cell_text(row["answer"]), cell_text(row.get("unit", "")))
        if other := cell_text(row.get("other side", "")):
            given[f"{key}{OTHER}"] = (other, given[key][1])
    return given
