"""Every section of a corner file read, key by key, and nothing built yet.

What is wrong with one key alone is said here: a key that is not known, a value that cannot be read, a number that no
road vehicle has. What two keys say against each other is for `pairs`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from pydantic import BaseModel

from clearance.description import motion
from clearance.description.agreed import AgreedTables
from clearance.description.numbers import numbers_in, refuse_beyond
from clearance.description.parts.kinds import PARTS
from clearance.description.parts.part import PartTable
from clearance.description.reading import key_names, read
from clearance.description.refusal import Refusal, as_written, nearest
from clearance.description.schema import TireTable, TravelTable, WheelTable, listed
from clearance.description.surroundings import part_table, read_parts
from clearance.ends.ends import Number
from clearance.mockup.mockup import CORNERS
from clearance.plain import MOST_TITLE, is_one_line
from clearance.terms import Terms
from clearance.units import FIRST

OWN_SECTIONS = ("title", "corner", "units", "tire", "wheel", "suspension", "steering", "part")
AGREED = tuple(key_names(AgreedTables))
"""The sections beside the corner's shape."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Heading:
    """What stands above the first section."""

    title: str
    corner: str
    units: str
    """Which unit its pages have first."""

    @property
    def right_hand(self) -> bool:
        """Whether it is a wheel of the right side."""
        return self.corner.endswith("right")

    @property
    def front(self) -> bool:
        """Whether it is a wheel of the front axle."""
        return self.corner.startswith("front")


@dataclass(frozen=True, slots=True, kw_only=True)
class Description:
    """A corner file, read."""

    tables: Mapping[str, Any]
    """As TOML gave it."""
    heading: Heading
    wheel: WheelTable
    tire: TireTable
    motion: motion.Written
    parts: tuple[PartTable, ...]
    terms: Terms
    numbers: tuple[Number, ...]
    """Every number of the file, with its ends; none is outside its hard ones."""


def described(tables: Mapping[str, Any], *, title: str) -> Description:
    """The file that these tables are; `title` is for one that gives itself none. Raises Refusal."""
    _refuse_unknown(tables)
    _refuse_moved(tables)
    heading = _heading(tables, title)
    wheel, tire = read(WheelTable, tables["wheel"], ("wheel",)), read(TireTable, tables["tire"], ("tire",))
    moves = motion.read_motion(tables["suspension"], tables.get("steering"))
    parts = read_parts(tables.get("part"))
    sections = {name: tables[name] for name in AGREED if name in tables}
    agreed = read(AgreedTables, sections, ())
    numbers = (
        *numbers_in(WheelTable, tables["wheel"], ("wheel",)),
        *numbers_in(TireTable, tables["tire"], ("tire",)),
        *moves.numbers,
        *(
            number
            for i, (part, table) in enumerate(zip(parts, tables["part"], strict=True))
            for number in numbers_in(type(part), table, ("part", i))
        ),
        *numbers_in(AgreedTables, sections, ()),
    )
    refuse_beyond(numbers)
    return Description(
        tables=tables,
        heading=heading,
        wheel=wheel,
        tire=tire,
        motion=moves,
        parts=parts,
        terms=agreed.value(),
        numbers=numbers,
    )


def numbers_otherwise(tables: Mapping[str, Any], before: Mapping[str, Any]) -> tuple[Number, ...]:
    """The numbers of every table that is not as it was in a file of the same parts that was read. Raises Refusal."""
    found: list[Number] = []
    changed = {name for name in tables if tables[name] != before.get(name)}
    for name, model in (("wheel", WheelTable), ("tire", TireTable)):
        if name in changed:
            read(model, tables[name], (name,))
            found += numbers_in(model, tables[name], (name,))
    if changed & {"suspension", "steering"}:
        found += motion.read_motion(tables["suspension"], tables.get("steering")).numbers
    for i, (table, old) in enumerate(zip(tables["part"], before["part"], strict=True)):
        if table != old:
            found += numbers_in(type(part_table(table, ("part", i))), table, ("part", i))
    sections = {name: tables[name] for name in AGREED if name in changed}
    return (*found, *numbers_in(AgreedTables, sections, ()))


def _refuse_unknown(tables: Mapping[str, Any]) -> None:
    known = (*OWN_SECTIONS, *AGREED)
    for name in tables:
        if name not in known:
            what = "section" if isinstance(tables[name], (Mapping, list)) else "key"
            raise Refusal(
                (name,), f"the {what} {as_written(name)} is not known here. {_home(name) or nearest(name, known)}"
            )
    if "corner" not in tables:
        raise Refusal(("corner",), f'"corner" is missing: which wheel this is. {listed(CORNERS)}')
    for name in ("tire", "wheel", "suspension"):
        if name not in tables:
            raise Refusal((name,), f"the section [{name}] is missing. Write [{name}] and its keys below it.")


_MOVED: Mapping[tuple[str, str], tuple[str, str]] = {("order", "center_bore"): ("wheel", "center_bore")}
"""A key that was also read elsewhere once, and the one place where it stands."""


def _refuse_moved(tables: Mapping[str, Any]) -> None:
    """A fact stands once: a key in its old place is refused, with what its own place says where that says something."""
    for (section, key), home in _MOVED.items():
        old, new = tables.get(section), tables.get(home[0])
        if not isinstance(old, Mapping) or key not in old:
            continue
        there = new.get(home[1]) if isinstance(new, Mapping) else None
        if there is None:
            raise Refusal(
                (section, key), f"{key} belongs below [{home[0]}]. Write {key} = {as_written(old[key])} there."
            )
        raise Refusal(
            (section, key),
            f"{key} is {as_written(old[key])} here and {as_written(there)} below [{home[0]}], where it belongs."
            " Keep the right one there, once.",
            other=home,
        )


def _home(key: str) -> str:
    """The section that a key would be known in, for one that stands outside it."""
    homes: dict[str, type[BaseModel]] = {"[tire]": TireTable, "[wheel]": WheelTable, "[suspension]": TravelTable}
    homes |= {f"a [[part]] of kind {kind}": model for kind, model in PARTS.items()}
    found = [home for home, model in homes.items() if key in key_names(model)]
    return f"It belongs below {found[0]}." if found else ""


def _heading(tables: Mapping[str, Any], stem: str) -> Heading:
    corner = tables["corner"]
    if corner not in CORNERS:
        hint = nearest(corner, CORNERS) if isinstance(corner, str) else listed(CORNERS)
        raise Refusal(
            ("corner",), f"{as_written(corner)} is not a corner. {hint if 'Did' in hint else listed(CORNERS)}"
        )
    title = tables.get("title", stem or "corner")
    if not isinstance(title, str) or not title.strip():
        raise Refusal(("title",), f"{as_written(title)} is not a title. Write some words between quotes.")
    if not is_one_line(title.strip(), MOST_TITLE):
        raise Refusal(("title",), f"the title must be one line of at most {MOST_TITLE} letters.")
    units = tables.get("units", FIRST[0])
    if units not in FIRST:
        raise Refusal(("units",), f"{as_written(units)} is not a unit that a page can have first. {listed(FIRST)}")
    return Heading(title=title.strip(), corner=corner, units=units)
