"""What of a corner on the bench can be turned by hand, and what that writes into its file.

* key's own - one number of the file: backspace, a width, bump, a lock, a wall's place. It writes that key
* spacer    - under the wheel that the file was opened with: it writes backspace or offset, less its thickness
* ride height - the car higher or lower than it was measured, its stops along with it: as much bump and droop about the
              new height. The file counts both from the height that was measured, so one grows as the other shrinks
* moved     - a part that stands where its points say: all of them go ahead, outboard or up by the same way
* must keep - the gap of a part, which the file has as `required`; where it says none, that of its kind, and back there
              the key goes

Whatever a dial writes stays in the unit in which the file has it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from clearance.errors import InputError
from clearance.units import MM_PER_INCH, both, inch_text, length_mm

if TYPE_CHECKING:
    from clearance.description.again import Stood
    from clearance.ends.ends import Number
    from clearance.suspension.position import Suspension

Step = str | int
KeyPath = tuple[Step, ...]

_SECTIONS = ("wheel", "tire", "suspension", "steering", "part")
_TRAVEL = ("bump", "droop", "other_bump", "other_droop")
_LOCKS = ("left", "right", "rack_left", "rack_right")
_REACH = {"mm": 60.0, "deg": 12.0, "in": 3.0}
"""How far a dial goes to either side of what the file says, within the key's ends."""
_SHORT = {"mm": 1.0, "deg": 0.5, "in": 0.5}
"""One step of a dial."""
_INCH_STEP_MM = MM_PER_INCH / 16
_ORDER = (
    "backspace", "offset", "spacer", "width", "overall_diameter", "section_width", "tread_width", "bump", "droop",
    "other_bump", "other_droop", "ride_height",
)  # fmt: skip
_MOVED = {"outboard": "moved outboard", "above": "moved up", "ahead": "moved ahead"}
_IN_ITS_PLACE = ("box", "plate", "bar", "cylinder", "lip", "tub")
"""Kinds of parts that stand where points say; a wall has keys for that, a scan is placed by its own points."""
_SAID = {
    "other_bump": "other wheel's bump",
    "other_droop": "other wheel's droop",
    "left": "lock to the left",
    "right": "lock to the right",
    "rack_left": "rack travel to the left",
    "rack_right": "rack travel to the right",
}
"""What a key is called beside its dial, where the key alone says too little there."""
_MUST_KEEP = "must keep"
"""What a part's `required` is called, as in every table of an answer."""
_SAME_MM = 1e-6
_PLACES = 4


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """One number of the file that a dial takes along, as it was at first."""

    path: KeyPath
    text: str
    value: float
    """In mm."""
    way: float
    """What becomes of it for each millimetre of the dial: 1 or -1."""

    def at(self, value_mm: float) -> str:
        """As the file has it where the dial stands there: in inches where it was in inches."""
        found = self.value + self.way * value_mm
        if abs(found - self.value) < _SAME_MM:
            return self.text
        if not _in_inches(self.text):
            return f"{round(found, _PLACES) + 0.0:g} mm"
        sixteenths = found / _INCH_STEP_MM
        if abs(sixteenths - round(sixteenths)) < _SAME_MM:
            return inch_text(found)
        return f"{round(found / MM_PER_INCH, _PLACES) + 0.0:g} in"


@dataclass(frozen=True, slots=True, kw_only=True)
class Dial:
    """Something of the file that can be turned."""

    path: KeyPath
    """Where it stands in the corner; a part goes by its name. Of a dial that carries several numbers, its own name."""
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
    carries: tuple[Carried, ...] = ()
    """Empty: its own key alone."""
    unsaid: bool = False
    """The file does not say it: it is what holds where nothing is said."""
    told: str = ""
    """What has to be known of it."""

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
            "told": self.told,
        }

    @property
    def goes(self) -> bool:
        """Whether it can be turned at all."""
        return self.most - self.least > _SAME_MM

    def written(self, value: float) -> str:
        """A value as the file has it: in inches where it was in inches, to a sixteenth.

        >>> dial = Dial(path=(), group="", name="", text="3 3/4 in", value=95.25, unit="mm", least=0, most=200, step=1)
        >>> dial.written(100.0), replace(dial, text="95 mm").written(100.0)
        ('3 15/16 in', '100 mm')
        """
        held = min(max(value, self.least), self.most)
        if self.unit == "mm" and _in_inches(self.text):
            return inch_text(held)
        return f"{round(held, _PLACES) + 0.0:g} {self.unit}"

    def changes(self, text: str) -> dict[KeyPath, str | None]:
        """What is written into the file where this stands in the dial's box; None takes a key out.

        Raises InputError for what is no length, where the dial carries other numbers along.
        """
        if self.carries:
            value_mm = length_mm(text)
            if not self.least - _SAME_MM <= value_mm <= self.most + _SAME_MM:
                fits = f"Write {self.written(self.least)} to {self.written(self.most)}."
                raise InputError(f"{self.group}, {self.name}: {text} is too far. {fits if self.goes else self.told}")
            return {one.path: one.at(value_mm) for one in self.carries}
        if self.unsaid and text == self.was:
            return {self.path: None}
        return {self.path: text}


def _in_inches(text: str) -> bool:
    return text.rstrip(' ."').endswith(("in", "inch", "inches")) or text.endswith(('"', "\u2033", "\u201d"))


def dials_of(stood: Stood) -> tuple[Dial, ...]:
    """Everything of tire, wheel, travel, locks and parts that turns by itself, in the order of the file."""
    measured = "size" not in stood.tables["tire"]
    numbers = stood.numbers
    found = [_dial(number, stood.tables) for number in numbers if _turns(number, measured=measured)]
    found += [
        *_spacer(numbers),
        *_ride_height(numbers, stood.mockup.suspension),
        *_required(stood.tables, found),
        *_moved(numbers, stood.tables),
    ]
    parts = [str(part.get("name")) for part in stood.tables["part"]]
    return tuple(sorted(found, key=lambda dial: _place_of(dial, parts)))


def as_far_as(dials: Sequence[Dial], first: Sequence[Dial]) -> tuple[Dial, ...]:
    """Dials that go as far as they did at first, and stand as their numbers stand now."""
    before = {dial.path: dial for dial in first}
    return tuple(_as_far_as(dial, before.get(dial.path, dial)) for dial in dials)


def _as_far_as(dial: Dial, first: Dial) -> Dial:
    if dial.carries:
        return _carried_as_far_as(dial, first)
    least, most = min(first.least, dial.value), max(first.most, dial.value)
    return replace(dial, least=least, most=most, was=first.text, was_at=first.value, unsaid=first.unsaid)


def _carried_as_far_as(dial: Dial, first: Dial) -> Dial:
    if [one.path for one in dial.carries] != [one.path for one in first.carries]:
        return replace(dial, was=dial.text, was_at=dial.value)
    now, then = dial.carries[0], first.carries[0]
    value = min(max((now.value - then.value) * then.way, first.least), first.most)
    value = 0.0 if abs(value) < _SAME_MM else value
    return replace(first, value=value, text=first.written(value), was=first.text, was_at=first.value)


def _place_of(dial: Dial, parts: Sequence[str]) -> tuple[int, int, int]:
    """What is turned most stands first; parts stay as the file has them."""
    section, key = str(dial.path[0]), dial.path[-1]
    if section == "part":
        return (
            _SECTIONS.index(section),
            parts.index(dial.group),
            0 if key in _MOVED.values() or key == "required" else 1,
        )
    return _SECTIONS.index(section), 0, _ORDER.index(str(key)) if key in _ORDER else 99


# ---- a key's own number


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
    keys = {"suspension": _TRAVEL, "steering": _LOCKS}.get(str(path[0]), _ORDER)
    return len(path) == 2 and path[1] in keys


def _dial(number: Number, tables: Mapping[str, Any]) -> Dial:
    path, group = number.path, str(number.path[0])
    if path[0] == "part" and isinstance(path[1], int):
        group = str(tables["part"][path[1]]["name"])
        path = ("part", group, path[2])
    unit, ends = number.ends.unit, number.ends
    key = str(path[-1])
    said = _SAID.get(key, key) if path[0] in ("suspension", "steering") else key
    if path[0] == "part" and key == "required":
        said = _MUST_KEEP
    return Dial(
        path=path,
        group={"suspension": "travel"}.get(group, group),
        name=said.replace("_", " "),
        text=number.text,
        value=number.value,
        unit=unit,
        least=max(ends.least, number.value - _REACH[unit]),
        most=min(ends.most, number.value + _REACH[unit]),
        step=_INCH_STEP_MM if unit == "mm" and _in_inches(number.text) else _SHORT[unit],
    )


# ---- what carries other numbers along


def _carrying(
    path: KeyPath, group: str, name: str, numbers: Sequence[tuple[Number, float]], *, least: float, told: str = ""
) -> Dial:
    """A dial of several numbers, each with its way; it begins at nothing."""
    low, high = least, _REACH["mm"]
    for number, way in numbers:
        room = sorted(way * (end - number.value) for end in (number.ends.least, number.ends.most))
        low, high = max(low, room[0]), min(high, room[1])
    inches = _in_inches(numbers[0][0].text)
    return Dial(
        path=path,
        group=group,
        name=name,
        text="0 in" if inches else "0 mm",
        value=0.0,
        unit="mm",
        least=min(0.0, low),
        most=max(0.0, high),
        step=_INCH_STEP_MM if inches else _SHORT["mm"],
        carries=tuple(
            Carried(path=number.path, text=number.text, value=number.value, way=way) for number, way in numbers
        ),
        told=told,
    )


def _spacer(numbers: Sequence[Number]) -> Iterator[Dial]:
    for number in numbers:
        if number.path in (("wheel", "backspace"), ("wheel", "offset")):
            told = f"Under the wheel as it was opened; written as {number.path[1]}, less its thickness."
            yield _carrying(("wheel", "spacer"), "wheel", "spacer", [(number, -1.0)], least=0.0, told=told)


def _ride_height(numbers: Sequence[Number], suspension: Suspension) -> Iterator[Dial]:
    ways = {"bump": -1.0, "droop": 1.0, "other_bump": -1.0, "other_droop": 1.0}
    travel = {number.path[1]: number for number in numbers if number.path[0] == "suspension" and len(number.path) == 2}
    carried = [(travel[key], way) for key, way in ways.items() if key in travel]
    if "bump" in travel and "droop" in travel:
        told = (
            "Higher than measured with its stops along, as much bump and droop about the new height; written as bump"
            " and droop, which the file counts from the height that was measured."
        )
        path = ("suspension", "ride_height")
        dial = _carrying(path, "travel", "ride height", carried, least=-_REACH["mm"], told=told)
        yield _within_table(dial, travel["bump"].value, travel["droop"].value, suspension)


def _within_table(dial: Dial, bump_mm: float, droop_mm: float, suspension: Suspension) -> Dial:
    """No further than both stops stand within the rows of a table: beyond them the way of the wheel is not known."""
    from clearance.suspension.table import Table

    if not isinstance(suspension, Table):
        return dial
    bottom, top = float(suspension.rows[:, 0].min()), float(suspension.rows[:, 0].max())
    least, most = min(0.0, max(dial.least, bump_mm - top)), max(0.0, min(dial.most, -bottom - droop_mm))
    ends = f"The measured rows end at {both(bottom)} and {both(top)} of bump, and beyond them nobody has measured"
    told = (
        f"{ends}: with its stops along the car can stand no higher and no lower here. Measure rows further out; or"
        " write less bump and droop into the file, and open it anew."
        if most - least < _SAME_MM
        else f"{dial.told} {ends}, so it goes no further."
    )
    return replace(dial, least=least, most=most, told=told)


def _moved(numbers: Sequence[Number], tables: Mapping[str, Any]) -> Iterator[Dial]:
    for place, part in enumerate(tables["part"]):
        if part.get("kind") in _IN_ITS_PLACE:
            yield from _moved_part([number for number in numbers if number.path[:2] == ("part", place)], part)


def _moved_part(numbers: Sequence[Number], part: Mapping[str, Any]) -> Iterator[Dial]:
    name, told = str(part["name"]), "Its crown alone." if part["kind"] == "tub" else ""
    for axis, words in _MOVED.items():
        along = [(replace(one, path=("part", name, *one.path[2:])), 1.0) for one in numbers if one.axis == axis]
        if along:
            yield _carrying(("part", name, words), name, words, along, least=-_REACH["mm"], told=told)


def _required(tables: Mapping[str, Any], found: Sequence[Dial]) -> Iterator[Dial]:
    """The required gap of every part whose table does not say it."""
    from clearance.description.parts.part import required
    from clearance.ends.families import REQUIRED

    said = {dial.path for dial in found}
    for part in tables["part"]:
        path: KeyPath = ("part", str(part["name"]), "required")
        if path in said:
            continue
        value, who = required(str(part["kind"]), _rides_on(part), None)
        text = f"{value:g} mm"
        yield Dial(
            path=path,
            group=str(part["name"]),
            name=_MUST_KEEP,
            text=text,
            value=value,
            unit="mm",
            least=max(REQUIRED.least, value - _REACH["mm"]),
            most=min(REQUIRED.most, value + _REACH["mm"]),
            step=_SHORT["mm"],
            was=text,
            was_at=value,
            unsaid=True,
            told=f"{who[:1].upper()}{who[1:]}.",
        )


def _rides_on(part: Mapping[str, Any]) -> str:
    return str(part.get("rides_on", "body"))
