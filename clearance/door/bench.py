"""A corner on the bench: opened, changed number by number, measured, and written back.

* Bench   - what stands on it: a text, the corner that it makes, and what was certified of it so far
* Look    - what is seen of a corner: every gap in words, the tightest places drawn
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.answers.checked import Progress, silent
from clearance.door.dials import Dial, KeyPath, Step, as_far_as, dials_of
from clearance.errors import InputError
from clearance.units import both, led_by

if TYPE_CHECKING:
    from clearance.answers.dragged import Certified
    from clearance.description.again import Stood
    from clearance.door.answer import Answer
    from clearance.door.moving import Standing
    from clearance.door.questions import Check
    from clearance.gap.again import Again
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp
    from clearance.suspension.position import Position

_SAME_RIM_IN = 0.01
MOST_KNOWN = 8
"""Certified corners that are kept in mind for a bound."""
DRAWN = 3
"""Tightest places that are shown."""


def _again() -> Again:
    from clearance.gap.again import Again

    return Again()


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
    again: Again = field(default_factory=_again)
    """What this sitting has measured, part by part."""

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
        return as_far_as(dials_of(self.stood), self.first)

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
        return replace(self, stood=again(self.stood, put(self.stood.tables, dial.changes(dial.written(value)))))

    def meanwhile(self) -> tuple[Gap, ...]:
        """What is sure of every gap before it is measured; both ends hold."""
        from clearance.answers.dragged import meanwhile

        return meanwhile(self.mockup, self.known)

    def changed(self, changes: Mapping[KeyPath, str | None]) -> Bench:
        """The file with these keys otherwise, read again as a whole; None takes one out.

        Raises InputError for what cannot be.
        """
        return self.with_text(changed_text(self.text, self.corner, changes, self.stood.tables))

    def dialled(self, path: Iterable[Step], text: str) -> Bench:
        """The file with this in the box of a dial. Raises InputError for what cannot be."""
        return self.changed(self.dial(path).changes(text))

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
        changes: dict[KeyPath, str | None] = {("tire", "size"): marking}
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

    def standing_worst(self, gaps: Sequence[Gap], part: str = "", *, known: str = "worst") -> Standing:
        """The corner where its tightest part, or this one, comes closest, and how that is known: "worst", "soon" or
        "meanwhile". Raises PartError for no such part."""
        from clearance.door.moving import standing_worst

        return standing_worst(self.mockup, gaps, part, known=known)

    def all_at(self, position: Position, go_on: Callable[[], None]) -> list[dict[str, str]]:
        """The gap of every part at one position, in words, the nearest first; `go_on` is asked between two parts."""
        from clearance.door.moving import all_at

        return all_at(self.mockup, position, go_on)

    def measured(self, *, progress: Progress = silent) -> tuple[Bench, Answer[Check]]:
        """The answer of `check`, to the last digit, and a bench that has it in mind."""
        from clearance.door.questions import found_in

        answer = found_in(self.mockup, self.again.as_check(self.mockup, progress))
        return self.knowing(answer.value.gaps), answer

    def soon(self, *, progress: Progress = silent) -> tuple[Gap, ...] | None:
        """Every gap certified as closely as by `check`, sooner, but for the last digit; None where it would not be."""
        return self.again.soon(self.mockup, progress)

    def knowing(self, gaps: Sequence[Gap]) -> Bench:
        """A bench that has these gaps in mind, certified of this corner."""
        from clearance.answers.dragged import Certified

        certified = Certified(mockup=self.mockup, gaps=tuple(gaps))
        others = tuple(one for one in self.known if one.mockup is not self.mockup)
        return replace(self, known=(*others, certified)[-MOST_KNOWN:])


def on_bench(text: str, place: str | Path, *, corner: str | None = None) -> Bench:
    """A corner of a corner or car file on the bench, the first of a car where none is named.

    Raises CornerFileError, and InputError for a corner that the file has not.
    """
    from clearance.description.again import stood

    found = stood(text, place, corner)
    return Bench(text=text, place=Path(place), stood=found, first=dials_of(found))


# ---- the text


def changed_text(
    text: str, corner: str, changes: Mapping[KeyPath, str | None], stood: Mapping[str, Any] | None = None
) -> str:
    """The text of a corner file, or of this corner of a car file, with these keys otherwise; remarks stay.

    `stood` are the corner's tables as they were read: a car says a list of points of a part whole, or not at all.
    Raises InputError where the file is laid out in a way that cannot be changed.
    """
    from clearance.description.writing import Document

    document = Document(text)
    tables = document.tables()
    if not isinstance(tables.get("corner"), Mapping):
        keys: dict[str | KeyPath, Any] = {path: value for path, value in changes.items()}  # noqa: C416
        return document.changed(keys).text
    for path, value in _whole_lists(changes, stood or {}).items():
        document = _with_own_key(document, corner, path, value)
    return document.text


def _whole_lists(changes: Mapping[KeyPath, str | None], stood: Mapping[str, Any]) -> dict[KeyPath, Any]:
    """The same changes, those of numbers inside a part's list as the whole list."""
    from clearance.description.again import put

    found: dict[KeyPath, Any] = {}
    for path, value in changes.items():
        if path[0] != "part" or len(path) <= 3:
            found[path] = value
            continue
        stood = put(stood, {path: value})
        part = next(one for one in stood["part"] if one["name"] == path[1])
        found[path[:3]] = part[path[2]]
    return found


def _with_own_key(document: Any, corner: str, path: KeyPath, value: Any) -> Any:
    """What a corner of a car says itself lies over whatever it is like."""
    home: KeyPath = ("corner", corner)
    if path[0] != "part":
        return document.changed({(*home, *path): value})
    own = document.tables()["corner"][corner].get("part", [])
    names = [part.get("name") for part in own]
    if path[1] in names:
        return document.changed({(*home, "part", names.index(path[1]), *path[2:]): value})
    if value is None:
        return document
    if own:
        return document.with_row((*home, "part"), {"name": path[1], path[2]: value})
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
    """Is it what `check` says? Else it is what is sure meanwhile."""
    certified: bool
    """Is it certified over the whole cycle? Then only the last digit may be another than `check`'s."""
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
            "certified": self.certified,
            "verdict": self.verdict,
            "sentence": self.sentence,
            "parts": [{name: getattr(row, name) for name in names} for row in self.rows],
            "drawn": [{"part": part, "svg": svg} for part, svg in self.drawn],
            "notes": list(self.notes),
        }


def look_at(mockup: MockUp, gaps: Sequence[Gap], *, exact: bool, certified: bool = False, drawn: int = DRAWN) -> Look:
    """What is seen of these gaps: of a check's as `check` says it, of others as far as it is sure.

    `certified` says of those others that they are a check's but for the last digit.
    """
    from clearance.gap.rest import as_a_whole, at_rest
    from clearance.report.findings import overall_verdict, worst_first

    said = {gap.part: led_by(said_of(gap, exact), mockup.units) for gap in gaps}
    worst = worst_first(gaps)
    sure = exact or certified
    places = [at_rest(mockup, gap) for gap in worst[:drawn]] if exact else []
    if not exact:
        # while a hand is on a dial there is no time to ask whether a part sees the wheel move at all
        whole = at_rest if certified else as_a_whole
        worst = [whole(mockup, gap) for gap in worst]
        places = worst[:drawn]
    return Look(
        exact=exact,
        certified=sure,
        verdict=overall_verdict(gaps),
        sentence=_sentence(mockup, gaps) if exact else _meanwhile_sentence(said, worst, sure),
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
    if gap.at_least_mm < 0.0:
        return f"about {told(gap)}"
    return f"at least {both(math.floor(10.0 * gap.at_least_mm) / 10.0)}"


def _meanwhile_sentence(said: Mapping[str, str], worst: Sequence[Gap], certified: bool) -> str:
    """What is sure of the part that has least to spare."""
    if not worst:
        return "no part stands around this wheel."
    if certified:
        return f"Certified: {worst[0].part} {said[worst[0].part]}. The last digit is being measured."
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


def sure_bar(bench: Bench, gaps: Sequence[Gap]) -> tuple[Mark, Mark] | None:
    """The stretch of backspace or offset that is sure to clear by these gaps alone; None where there is none.

    No point of tire or wheel moves further than the offset does, so no gap is less by more than that. A check's own
    tolerance is taken off, so that it says so too, anywhere in the stretch.
    """
    spare = min((gap.at_least_mm - gap.required_mm - gap.tolerance_mm for gap in gaps), default=-math.inf)
    if not spare > 0.0 or not math.isfinite(spare):
        return None
    wheel = bench.mockup.wheel
    back = "backspace" in bench.stood.tables["wheel"]
    here = wheel.offset_mm + (wheel.overall_width_mm / 2 if back else 0.0)
    ends = (here - spare, here + spare)
    low, high = (Mark(value=end, words=led_by(both(end), bench.mockup.units)) for end in ends)
    return low, high


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
