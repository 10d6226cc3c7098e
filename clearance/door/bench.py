"""A corner on the bench: opened, changed number by number, measured, and written back.

* Bench   - what stands on it: a text, the corner that it makes, and what was certified of it so far
* Dial    - one number of the file that can be turned, with its ends and how it is written
* Look    - what is seen of a corner: every gap in words, the tightest places drawn
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import Progress, silent
from clearance.errors import InputError
from clearance.units import MM_PER_INCH, both, inch_text, led_by

if TYPE_CHECKING:
    from clearance.answers.dragged import Certified
    from clearance.description.again import Stood
    from clearance.door.answer import Answer
    from clearance.door.moving import Standing
    from clearance.door.questions import Check
    from clearance.ends.ends import Number
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp
    from clearance.suspension.position import Position

Step = str | int
KeyPath = tuple[Step, ...]

MOST_KNOWN = 8
"""Certified corners that are kept in mind for a bound."""
DRAWN = 3
"""Tightest places that are shown."""

_SECTIONS = ("wheel", "tire", "suspension", "steering", "part")
_TRAVEL = ("bump", "droop", "other_bump", "other_droop")
_LOCKS = ("left", "right")
_REACH = {"mm": 60.0, "deg": 12.0, "in": 3.0}
"""How far a dial goes to either side of what the file says, within the key's ends."""
_SHORT = {"mm": 1.0, "deg": 0.5, "in": 0.5}
"""One step of a dial."""
_SAME_RIM_IN = 0.01
_INCH_STEP_MM = MM_PER_INCH / 16
_TIRE_AND_RIM = ("backspace", "offset", "width", "overall_diameter", "section_width", "tread_width")


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """One number of the file that can be turned."""

    path: KeyPath
    """Where it stands in the corner; a part goes by its name."""
    group: str
    """Wheel, tire, travel, steering, or the name of the part."""
    name: str
    text: str
    """As it is written."""
    value: float
    """In `unit`."""
    unit: str
    least: float
    most: float
    step: float
    was: str = ""
    """As it was written when the file was opened."""
    was_at: float = 0.0

    def facts(self) -> dict[str, Any]:
        """As a page wants it."""
        return {
            "path": list(self.path),
            "group": self.group,
            "name": self.name,
            "text": self.text,
            "value": self.value,
            "unit": self.unit,
            "least": self.least,
            "most": self.most,
            "step": self.step,
            "was": self.was,
            "was_at": self.was_at,
        }

    def written(self, value: float) -> str:
        """A value as the file has it: in inches where it was in inches, to a sixteenth.

        >>> dial = Dial(path=(), group="", name="", text="3 3/4 in", value=95.25, unit="mm", least=0, most=200, step=1)
        >>> dial.written(100.0), replace(dial, text="95 mm").written(100.0)
        ('3 15/16 in', '100 mm')
        """
        held = min(max(value, self.least), self.most)
        if self.unit == "mm" and _in_inches(self.text):
            return inch_text(held)
        return f"{round(held, 4) + 0.0:g} {self.unit}"


def _in_inches(text: str) -> bool:
    return text.rstrip(' ."').endswith(("in", "inch", "inches")) or text.endswith(('"', "\u2033", "\u201d"))


def dials_of(stood: Stood) -> tuple[Dial, ...]:
    """Every number of tire, wheel, travel, locks and parts that stands by itself, in the order of the file."""
    measured = "size" not in stood.tables["tire"]
    found = [_dial(number, stood.tables) for number in stood.numbers if _turns(number, measured=measured)]
    return tuple(sorted(found, key=_place_of))


def _place_of(dial: Dial) -> tuple[int, int]:
    """What is turned most stands first; parts stay as the file has them."""
    section, key = str(dial.path[0]), dial.path[-1]
    return _SECTIONS.index(section), _TIRE_AND_RIM.index(str(key)) if key in _TIRE_AND_RIM and section != "part" else 99


def _turns(number: Number, *, measured: bool) -> bool:
    """Whether one hand can turn it: a size, and not a coordinate, a count or a row; `measured` is a tire without a
    marking."""
    path = number.path
    if path[0] not in _SECTIONS or number.ends.unit not in _REACH or number.axis:
        return False
    if path[0] == "part":
        return len(path) == 3 and path[2] not in ("thickness", "uncertainty")
    if path == ("wheel", "diameter"):
        # another rim is another tire: with a marking both are chosen by it, and of a measured one the rim is free
        return measured
    keys = {"suspension": _TRAVEL, "steering": _LOCKS}.get(str(path[0]), _TIRE_AND_RIM)
    return len(path) == 2 and path[1] in keys


def _dial(number: Number, tables: Mapping[str, Any]) -> Dial:
    path, group = number.path, str(number.path[0])
    if path[0] == "part" and isinstance(path[1], int):
        group = str(tables["part"][path[1]]["name"])
        path = ("part", group, path[2])
    unit, ends = number.ends.unit, number.ends
    step = _INCH_STEP_MM if unit == "mm" and _in_inches(number.text) else _SHORT[unit]
    reach = _REACH[unit]
    return Dial(
        path=path,
        group={"suspension": "travel"}.get(group, group),
        name=str(path[-1]).replace("_", " "),
        text=number.text,
        value=number.value,
        unit=unit,
        least=max(ends.least, number.value - reach),
        most=min(ends.most, number.value + reach),
        step=step,
    )


def _as_far_as(dial: Dial, first: Dial) -> Dial:
    """A dial that goes as far as it did at first, and as its number stands now."""
    least, most = min(first.least, dial.value), max(first.most, dial.value)
    return replace(dial, least=least, most=most, was=first.text, was_at=first.value)


@dataclass(frozen=True, kw_only=True, eq=False)
class Bench:
    """A corner that is being chosen. It is a value: every change gives another."""

    text: str
    """Of the file."""
    place: Path
    """The file, whose folder has what it names."""
    stood: Stood
    known: tuple[Certified, ...] = ()
    """What was certified of corners that move alike."""
    first: tuple[Dial, ...] = ()
    """The dials as the file was opened: they say how far each goes, and what was measured."""

    @property
    def mockup(self) -> MockUp:
        """The corner as it stands now."""
        return self.stood.mockup

    @property
    def corner(self) -> str:
        """Which corner of the car it is."""
        return self.stood.mockup.corner

    @property
    def corners(self) -> tuple[str, ...]:
        """All of the file, as they stand on the car."""
        return self.stood.corners

    @cached_property
    def dials(self) -> tuple[Dial, ...]:
        """What can be turned."""
        first = {dial.path: dial for dial in self.first}
        return tuple(_as_far_as(dial, first.get(dial.path, dial)) for dial in dials_of(self.stood))

    @property
    def marking(self) -> str:
        """The tire's size as it is written; empty where it is described by its measures alone."""
        return str(self.stood.tables["tire"].get("size", ""))

    def dial(self, path: Iterable[Step]) -> Dial:
        """The dial of this key. Raises InputError where the file has none."""
        wanted = tuple(path)
        for dial in self.dials:
            if dial.path == wanted:
                return dial
        raise InputError("this file has no such number. Load the page again.")

    def turned(self, path: Iterable[Step], value: float) -> Bench:
        """The corner with one dial elsewhere, quick, nothing measured. Raises CornerFileError for what cannot be."""
        from clearance.description.again import again, put

        dial = self.dial(path)
        return replace(self, stood=again(self.stood, put(self.stood.tables, {dial.path: dial.written(value)})))

    def meanwhile(self) -> tuple[Gap, ...]:
        """What is sure of every gap before it is measured; both ends hold."""
        from clearance.answers.dragged import meanwhile

        return meanwhile(self.mockup, self.known)

    def changed(self, changes: Mapping[KeyPath, str]) -> Bench:
        """The file with these keys otherwise, read again as a whole. Raises InputError for what cannot be."""
        return self.with_text(changed_text(self.text, self.corner, changes))

    def with_text(self, text: str) -> Bench:
        """The same corner of another text. Raises CornerFileError for one that cannot be read."""
        from clearance.description.again import on_same_ride, same_ride, stood

        found = on_same_ride(stood(text, self.place, self.corner), self.stood)
        kept = tuple(one for one in self.known) if same_ride(found, self.stood) else ()
        return replace(self, text=text, stood=found, known=kept)

    def shod(self, marking: str) -> Bench:
        """The same with another tire size, on a rim of its diameter. Raises InputError for what is no marking."""
        from clearance.door.tires import marking as read_marking

        if not self.marking:
            raise InputError("the tire of this file was measured and has no size: turn its measures.")
        rim_in = read_marking(marking).value.marking.rim_in
        changes: dict[KeyPath, str] = {("tire", "size"): marking}
        if abs(rim_in - self.mockup.wheel.diameter_in) > _SAME_RIM_IN:
            changes[("wheel", "diameter")] = f"{rim_in:g} in"
        return self.changed(changes)

    def at(self, corner: str) -> Bench:
        """Another corner of the same file. Raises InputError where it has none."""
        return on_bench(self.text, self.place, corner=corner)

    def opened_as(self, text: str) -> Bench:
        """The same with its dials as this text has them: what was measured before anything was turned."""
        if text == self.text:
            return self
        return replace(self, first=on_bench(text, self.place, corner=self.corner).first)

    @property
    def on_it_now(self) -> MockUp | None:
        """The corner with what [now] says is on the car; None where it says nothing, or not enough to be put there.

        Raises TireError or WheelError for a [now] that cannot be.
        """
        from clearance.answers.said import put_on

        now = self.mockup.terms.now
        return None if now is None else put_on(self.mockup, now)

    # ---- moved by hand

    def shapes(self, known: Mapping[str, str]) -> dict[str, Any]:
        """Everything that is drawn of the corner; of its parts those whose sum is not among the known ones."""
        from clearance.door.moving import shapes

        return shapes(self.mockup, known)

    @property
    def sums(self) -> dict[str, str]:
        """What every part's shape is known by."""
        from clearance.report.moving import sum_of

        return {part.name: sum_of(self.mockup, part) for part in self.mockup.parts}

    def position_of(self, bump_mm: float, other_bump_mm: float, steer_deg: float) -> Position:
        """The position of the cycle that is nearest to what is asked; steer is the car's own."""
        from clearance.door.moving import place

        return place(self.mockup, bump_mm, other_bump_mm, steer_deg)

    def standing_at(self, position: Position, part: str) -> Standing:
        """The corner at a position, and the gap of one part there. Raises PartError for a name that is not there."""
        from clearance.door.moving import standing_at

        return standing_at(self.mockup, position, part)

    def standing_worst(self, gaps: Sequence[Gap], part: str = "", *, certified: bool = True) -> Standing:
        """The corner where its tightest part, or this one, comes closest. Raises PartError for no such part."""
        from clearance.door.moving import MEANWHILE, WORST, standing_worst

        return standing_worst(self.mockup, gaps, part, known=WORST if certified else MEANWHILE)

    def all_at(self, position: Position, go_on: Callable[[], None]) -> list[dict[str, str]]:
        """The gap of every part at one position, in words, the nearest first; `go_on` is asked between two parts."""
        from clearance.door.moving import all_at

        return all_at(self.mockup, position, go_on)

    def measured(self, *, progress: Progress = silent) -> tuple[Bench, Answer[Check]]:
        """The answer of `check`, to the last digit, and a bench that has it in mind."""
        from clearance.answers.dragged import Certified
        from clearance.door.questions import check

        answer = check(self.mockup, progress=progress)
        certified = Certified(mockup=self.mockup, gaps=answer.value.gaps)
        return replace(self, known=(*self.known, certified)[-MOST_KNOWN:]), answer


def on_bench(text: str, place: str | Path, *, corner: str | None = None) -> Bench:
    """A corner of a corner or car file on the bench, the first of a car where none is named.

    Raises CornerFileError, and InputError for a corner that the file has not.
    """
    from clearance.description.again import stood

    found = stood(text, place, corner)
    return Bench(text=text, place=Path(place), stood=found, first=dials_of(found))


# ---- the text


def changed_text(text: str, corner: str, changes: Mapping[KeyPath, str]) -> str:
    """The text of a corner file, or of this corner of a car file, with these keys otherwise; remarks stay.

    Raises InputError where the file is laid out in a way that cannot be changed.
    """
    from clearance.description.writing import Document

    document = Document(text)
    tables = document.tables()
    if not isinstance(tables.get("corner"), Mapping):
        keys: dict[str | KeyPath, str] = {path: value for path, value in changes.items()}  # noqa: C416
        return document.changed(keys).text
    for path, value in changes.items():
        document = _with_own_key(document, corner, path, value)
    return document.text


def _with_own_key(document: Any, corner: str, path: KeyPath, value: str) -> Any:
    """What a corner of a car says itself lies over whatever it is like."""
    home: KeyPath = ("corner", corner)
    if path[0] != "part":
        return document.changed({(*home, *path): value})
    own = document.tables()["corner"][corner].get("part", [])
    names = [part.get("name") for part in own]
    if path[1] in names:
        return document.changed({(*home, "part", names.index(path[1]), *path[2:]): value})
    if own:
        raise InputError(f"this corner has parts of its own, and {path[1]} is not among them: change it in an editor.")
    return document.changed({(*home, "part"): [{"name": path[1], path[2]: value}]})


# ---- what is seen


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One part as a page shows it, in words; every number has its unit."""

    part: str
    verdict: str
    gap: str
    must_keep: str
    when: str
    where: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Look:
    """What is seen of a corner: worst first, as `check` has it."""

    exact: bool
    """Is it certified as closely as `check` does? Else it is what is sure meanwhile."""
    verdict: str
    sentence: str
    """What it comes to."""
    rows: tuple[Row, ...]
    drawn: tuple[tuple[str, str], ...]
    """The tightest places: the part, and its section as SVG."""
    notes: tuple[str, ...]

    def facts(self) -> dict[str, Any]:
        """As a page wants it."""
        names = Row.__dataclass_fields__
        return {
            "exact": self.exact,
            "verdict": self.verdict,
            "sentence": self.sentence,
            "parts": [{name: getattr(row, name) for name in names} for row in self.rows],
            "drawn": [{"part": part, "svg": svg} for part, svg in self.drawn],
            "notes": list(self.notes),
        }


def look_at(mockup: MockUp, gaps: Sequence[Gap], *, exact: bool, drawn: int = DRAWN) -> Look:
    """What is seen of these gaps: of certified ones as `check` says it, of others as far as it is sure."""
    from clearance.gap.rest import at_rest
    from clearance.report.findings import overall_verdict, worst_first

    said = {gap.part: led_by(said_of(gap, exact), mockup.units) for gap in gaps}
    worst = worst_first(gaps)
    # while a hand is on a dial there is no time to ask whether a part sees the wheel move at all
    places = [at_rest(mockup, gap) if exact else gap for gap in worst[: drawn if gaps else 0]]
    return Look(
        exact=exact,
        verdict=overall_verdict(gaps),
        sentence=_sentence(mockup, gaps) if exact else _meanwhile_sentence(said, worst),
        rows=_rows(mockup, gaps, said) if exact else tuple(_meanwhile_row(mockup, gap, said) for gap in worst),
        drawn=tuple((gap.part, section_of(mockup, gap, said[gap.part])) for gap in places),
        notes=tuple(led_by(note, mockup.units) for note in mockup.warnings),
    )


def _sentence(mockup: MockUp, gaps: Sequence[Gap]) -> str:
    from clearance.report.findings import findings_of
    from clearance.words.sentence import verdict_sentence

    return led_by(verdict_sentence(findings_of(mockup, gaps)), mockup.units)


def _rows(mockup: MockUp, gaps: Sequence[Gap], said: Mapping[str, str]) -> tuple[Row, ...]:
    from clearance.report.findings import findings_of

    findings = findings_of(mockup, gaps)
    return tuple(_row(part, findings, said[part["name"]], mockup.units) for part in findings["parts"])


def _meanwhile_row(mockup: MockUp, gap: Gap, said: Mapping[str, str]) -> Row:
    from clearance.words.text import position_words

    return Row(
        part=gap.part,
        verdict=gap.verdict,
        gap=said[gap.part],
        must_keep=led_by(both(gap.required_mm), mockup.units),
        when=led_by(f"at {position_words(mockup, gap)}", mockup.units),
        where=led_by(f"{gap.region}; {gap.where}", mockup.units),
    )


def said_of(gap: Gap, exact: bool) -> str:
    """A gap in words: as `check` says it, or what is sure of it meanwhile."""
    from clearance.words.text import told

    if exact or not math.isfinite(gap.at_least_mm):
        return told(gap)
    return f"at least {both(gap.at_least_mm)}"


def _meanwhile_sentence(said: Mapping[str, str], worst: Sequence[Gap]) -> str:
    """What is sure of the part that has least to spare."""
    if not worst:
        return "no part stands around this wheel."
    return f"While you turn it: {worst[0].part} {said[worst[0].part]}. Let go to measure."


def _row(part: Mapping[str, Any], findings: Mapping[str, Any], said: str, units: str) -> Row:
    from clearance.words.sentence import when_words

    return Row(
        part=str(part["name"]),
        verdict=str(part["verdict"]),
        gap=said,
        must_keep=led_by(both(part["required"]), units),
        when=led_by(when_words(part, findings["cycle"]), units),
        where=led_by(f"{part['tire_region']}; {part['where']}", units),
    )


def section_of(mockup: MockUp, gap: Gap, said: str) -> str:
    """Its section as SVG, the gap as a dimension."""
    from clearance.export.svg import picture
    from clearance.report.sections import section_drawing

    place = led_by(gap.where, mockup.units)
    drawing = section_drawing(mockup, gap, mockup.part(gap.part), said)
    return picture(drawing, title=f"{gap.part}, {said}", description=f"{gap.region}; {place}")


# ---- the window, as marks on the dial of backspace or offset


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """One end of what clears, on a dial."""

    value: float
    """In mm, on the dial that the file has: backspace or offset."""
    words: str
    """What binds there."""


def window_marks(bench: Bench, *, progress: Progress = silent) -> tuple[Mark, ...]:
    """The ends of the window on this rim width, for the dial of backspace or offset; none where nothing clears."""
    from clearance.door.questions import window

    mockup = bench.mockup
    found = window(mockup, widths_in=[mockup.wheel.width_in], progress=progress).value
    back = any(dial.path == ("wheel", "backspace") for dial in bench.dials)
    marks = []
    for stretch in (stretch for width in found.widths for stretch in width.stretches):
        for end in (stretch.least, stretch.most):
            binds = "the limit of what may be ordered" if end.binds is None else end.binds.part
            at = end.backspace_mm if back else end.offset_mm
            marks.append(Mark(value=at, words=led_by(f"{both(at)}: {binds}", mockup.units)))
    return tuple(marks)
