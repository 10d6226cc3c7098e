"""A corner file written: the inverse of reading it.

* Document - the text of a file, changed key by key or part by part; comments, order and blank lines stay as they were
* Sheet    - a new file put together row by row, each row with the words that stand beside it
* in_file  - a value as the file writes it: a number gets the unit that its key is kept in

What is written is read back before it is handed on, so a document is never a text that means something else.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

import numpy as np
import tomlkit
from tomlkit.items import AoT, Array, InlineTable, Item
from tomlkit.items import Table as TomlTable

from clearance.description.agreed import AgreedTables
from clearance.description.lines import Path, path_text
from clearance.description.numbers import Declared, NumericKey, keys_of, keys_of_kind
from clearance.description.parts.kinds import PARTS
from clearance.description.refusal import Refusal, as_written
from clearance.description.schema import TireTable, TravelTable, WheelTable
from clearance.ends.ends import Circle, Point
from clearance.errors import InputError
from clearance.opener import NotToml, toml_tables
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS

REMARKS_AT = 44
"""The column where the words beside a row begin."""
_PLACES = 12
"""After the point, of a number that is written: less than the size of an atom, whatever its unit."""
_WIDE = 100
"""A list longer than this is written one item a line."""


# ---- values


def in_file(value: Any, path: Path, tables: Mapping[str, Any]) -> Any:
    """A value as the file writes it at `path`, where `tables` says of what kind the part or the suspension there is.

    A number gets the unit that the key is kept in, mm or deg or a rim's inches; text, true and false stay. Raises
    Refusal for a number without an end.
    """
    if isinstance(value, np.ndarray | np.generic):
        value = value.tolist()
    if isinstance(value, Mapping):
        return {key: in_file(item, (*path, key), tables) for key, item in value.items()}
    declared = _declared_at(path, tables)
    if isinstance(declared, Circle) and isinstance(value, Sequence) and not isinstance(value, str):
        return f"{int(value[0])} x {_digits(float(value[1]), path)} mm"
    if isinstance(value, list | tuple):
        return [in_file(item, (*path, i), tables) for i, item in enumerate(value)]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return value
    return _with_unit(value, declared, path)


def _with_unit(value: float, declared: Declared | None, path: Path) -> Any:
    unit = "" if declared is None or isinstance(declared, Circle) else _unit_of(declared)
    digits = _digits(100.0 * value if unit == "%" else value, path)
    return f"{digits} {unit}" if unit else value


def _unit_of(declared: Any) -> str:
    return str(next(iter(declared.axes.values())).unit if isinstance(declared, Point) else declared.unit)


def _digits(value: float, path: Path) -> str:
    """As few digits as read back to the same number, at most `_PLACES` of them after the point; no exponent."""
    if not math.isfinite(value):
        raise Refusal(path, f"{value} is no number that can be written.")
    return np.format_float_positional(float(value) + 0.0, precision=_PLACES, trim="-")


def _declared_at(path: Path, tables: Mapping[str, Any]) -> Declared | None:
    """The ends that the key at `path` is declared with; a number of a list belongs to the list."""
    home, index = _home(path, tables)
    steps = path[len(index) :]
    for length in range(len(steps), -1, -1):
        at: Path = (*home, *(0 if isinstance(step, int) else step for step in steps[:length]))
        if at in _language():
            return _language()[at].ends
    return _column(home, steps)


def _column(home: Path, steps: Path) -> Declared | None:
    """The ends of a number in a row of values; a row may be a list of points."""
    columns = [key.ends for at, key in _language().items() if at[:-1] == (*home, *steps[:1], 0)]
    places = [step for step in steps[2:] if isinstance(step, int)]
    place = 3 * places[0] + places[1] if len(places) == 2 else places[0] if places else len(columns)
    return columns[place] if place < len(columns) else None


def _home(path: Path, tables: Mapping[str, Any]) -> tuple[Path, Path]:
    """Where the language describes the table that a path is in, and the steps that lead to that table."""
    if path[0] == "part" and len(path) > 1 and isinstance(path[1], int):
        parts = tables.get("part", ())
        return ("part", str(parts[path[1]].get("kind") if path[1] < len(parts) else None)), path[:2]
    if path[0] == "suspension":
        return ("suspension", str(tables.get("suspension", {}).get("kind"))), path[:1]
    return path[:1], path[:1]


@cache
def _language() -> Mapping[Path, NumericKey]:
    """Every numeric key of the language, by its home."""
    keys = [
        *keys_of(TireTable, ("tire",)),
        *keys_of(WheelTable, ("wheel",)),
        *keys_of_kind(STEERING_KEYS, ("steering",)),
        *keys_of_kind(AXIS_KEYS, ("steering", "axis")),
        *keys_of(AgreedTables),
    ]
    for name, kind in KINDS.items():
        keys += [*keys_of(TravelTable, ("suspension", name)), *keys_of_kind(kind.keys, ("suspension", name))]
    for name, model in PARTS.items():
        keys += keys_of(model, ("part", name))
    return {_in_rows(key.path): key for key in keys}


def _in_rows(path: Path) -> Path:
    return tuple(0 if step == "*" else step for step in path)


# ---- a file that is there


@dataclass(frozen=True, slots=True)
class Document:
    """The text of a corner file. It is a value: every change gives another."""

    text: str

    def __post_init__(self) -> None:
        self.tables()

    def tables(self) -> Mapping[str, Any]:
        """As TOML gives them. Raises InputError for what is not TOML."""
        try:
            return toml_tables(self.text)
        except NotToml as wrong:
            raise InputError(f"line {wrong.line}: {wrong.words}") from None

    def changed(self, changes: Mapping[str | Path, Any]) -> Document:
        """The file with these keys otherwise: "wheel.backspace", or steps, where a part goes by its name.

        A value is written as the file has it ("3 3/4 in") or is a number in the unit that its key is kept in; None
        takes the key out. Nothing else in the file moves. Raises InputError for a table or a part that is not there.
        """
        tables = self.tables()
        steps = {self._steps(key, tables): value for key, value in changes.items()}
        written = tomlkit.parse(self.text)
        wanted = toml_tables(self.text)
        for path, value in steps.items():
            shown = None if value is None else in_file(value, path, tables)
            for document in (written, wanted):
                _set(document, path, shown)
        return _meaning(tomlkit.dumps(written), wanted)

    def with_part(self, table: Mapping[str, Any], corner: str = "") -> Document:
        """The file with one more [[part]] at its end; of a car file, one more of this corner's own.

        Raises InputError where its name is taken there, and where the file has no such corner.
        """
        tables = self.tables()
        home: Path = ("corner", corner) if corner else ()
        parts = list(_at(tables, home).get("part", ()))
        if any(part.get("name") == table.get("name") for part in parts):
            raise InputError(f"the name {as_written(table.get('name'))} is taken by another part.")
        place = len(parts)
        shown = in_file(table, ("part", place), {"part": [*parts, table]})
        end = "" if not self.text or self.text.endswith("\n\n") else "\n" if self.text.endswith("\n") else "\n\n"
        sheet = Sheet().section(f"[[{'.'.join(map(str, (*home, 'part')))}]]").rows(shown)
        wanted = toml_tables(self.text)
        _at(wanted, home)["part"] = [*parts, shown]
        return _meaning(self.text + end + sheet.text(), wanted)

    def with_row(self, path: Path, row: Mapping[str, Any]) -> Document:
        """The file with one more table in the list of tables at `path`, which is there. Its values are as written."""
        written, wanted = tomlkit.parse(self.text), toml_tables(self.text)
        lists: list[Any] = [written, wanted]
        for step in path:
            lists = [one[step] for one in lists]
        lists[1].append(dict(row))
        if isinstance(lists[0], AoT):
            table = tomlkit.table()
            for key, value in row.items():
                table[key] = _item(value)
            lists[0][-1].add(tomlkit.nl())
            lists[0].append(table)
        else:
            lists[0].append(_item(row))
        return _meaning(tomlkit.dumps(written), wanted)

    def without_part(self, name: str) -> Document:
        """The file without the part of that name. Raises InputError where there is none."""
        place = self._part(name, self.tables())
        written, wanted = tomlkit.parse(self.text), toml_tables(self.text)
        for document in (written, wanted):
            del document["part"][place]
            if not document["part"]:
                del document["part"]
        return _meaning(tomlkit.dumps(written), wanted)

    def _steps(self, key: str | Path, tables: Mapping[str, Any]) -> Path:
        steps: Path = tuple(key.split(".")) if isinstance(key, str) else key
        if steps[:1] == ("part",) and len(steps) > 1 and isinstance(steps[1], str):
            steps = ("part", self._part(steps[1], tables), *steps[2:])
        return steps

    @staticmethod
    def _part(name: str, tables: Mapping[str, Any]) -> int:
        names = [part.get("name") for part in tables.get("part", ())]
        if name not in names:
            raise InputError(f"no part is called {as_written(name)}. There are {', '.join(map(str, names))}.")
        return names.index(name)


def _at(tables: Any, home: Path) -> Any:
    """The table there. Raises InputError where there is none."""
    for step in home:
        tables = tables.get(step) if isinstance(tables, Mapping) else None
    if not isinstance(tables, Mapping):
        raise InputError(f"there is no [{path_text(home)}] in this file.")
    return tables


def _set(document: Any, path: Path, value: Any) -> None:
    """One key set, or taken out where the value is None; tables on the way are made where they are missing."""
    table = document
    for step in path[:-1]:
        if isinstance(step, str) and isinstance(table, Mapping) and step not in table and value is not None:
            table[step] = {}  # type: ignore[index]
        try:
            table = table[step]
        except (KeyError, IndexError, TypeError):
            if value is None:
                return
            raise InputError(f"{path_text(path)} cannot be set: there is no {path_text(path[:-1])}.") from None
    if not isinstance(table, Mapping | list):
        raise InputError(f"{path_text(path)} cannot be set: {path_text(path[:-1])} is no table.")
    last = path[-1]
    if value is None:
        if isinstance(table, Mapping) and last in table:
            del table[last]  # type: ignore[attr-defined]
        return
    _put(table, last, value)


def _put(table: Any, key: Any, value: Any) -> None:
    if isinstance(table, TomlTable | InlineTable | Array | AoT | tomlkit.TOMLDocument):
        item = _item(value)
        old = table[key] if isinstance(key, int) or key in table else None
        if isinstance(old, Item):
            item.trivia.comment, item.trivia.comment_ws = old.trivia.comment, old.trivia.comment_ws
        value = item
    table[key] = value


def _meaning(text: str, wanted: Mapping[str, Any]) -> Document:
    """The document, once it is known to say what was meant."""
    with contextlib.suppress(InputError):
        document = Document(text)
        if document.tables() == wanted:
            return document
    raise InputError("this file is laid out in a way that cannot be changed from here. Change it in an editor.")


# ---- a file that is new


class Sheet:
    """A corner file put together from its top, section by section."""

    def __init__(self) -> None:
        self._lines: list[str] = []

    def section(self, heading: str) -> Sheet:
        """A [section] or a [[part]], a blank line before it."""
        if self._lines and self._lines[-1]:
            self._lines.append("")
        self._lines.append(heading)
        return self

    def remark(self, words: str) -> Sheet:
        """A line of its own that is not read."""
        self._lines.append(f"# {words}")
        return self

    def gap(self) -> Sheet:
        """A blank line."""
        self._lines.append("")
        return self

    def row(self, key: str, value: Any, words: str = "") -> Sheet:
        """One key as the file writes it, with the words that stand beside it."""
        line = f"{tomlkit.key(key).as_string()} = {_item(value).as_string()}"
        self._lines.append(f"{line:<{REMARKS_AT}}  # {words}" if words else line)
        return self

    def rows(self, table: Mapping[str, Any]) -> Sheet:
        """Several keys."""
        for key, value in table.items():
            self.row(key, value)
        return self

    def text(self) -> str:
        """The whole file."""
        return "\n".join(self._lines).rstrip("\n") + "\n"


def in_a_line(value: Any) -> str:
    """A value as a corner file has it, in one line, as an option takes it.

    >>> in_a_line({"hub": [1.0, 2.5, -3.0], "up": "+y"})
    '{ hub = [1.0, 2.5, -3.0], up = "+y" }'
    """
    return " ".join(line.strip() for line in _item(value).as_string().splitlines())


def _item(value: Any) -> Item:
    """A value as this project lays it out: a table in a line, with air in its braces; a long list one item a line."""
    if isinstance(value, Mapping):
        inside = ", ".join(f"{tomlkit.key(key).as_string()} = {_item(one).as_string()}" for key, one in value.items())
        return _parsed(f"{{ {inside} }}" if inside else "{}")
    return _parsed(_list(value)) if isinstance(value, list | tuple) else tomlkit.item(value)


def _parsed(text: str) -> Item:
    found: Item = tomlkit.value(text)
    return found


def _list(items: Sequence[Any]) -> str:
    shown = [_item(one).as_string() for one in items]
    line = f"[{', '.join(shown)}]"
    if len(line) <= _WIDE or all("\n" not in one and len(one) < 20 for one in shown):
        return line
    return "[\n" + "".join(f"    {one},\n" for one in shown) + "]"


def corner_text(tables: Mapping[str, Any]) -> str:
    """A corner file from its tables, their values as the file writes them or as numbers; no comments.

    Raises Refusal for a number without an end.
    """
    sheet = Sheet()
    shown = {key: in_file(value, (key,), tables) for key, value in tables.items()}
    for key, value in shown.items():
        if not isinstance(value, Mapping) and key != "part":
            sheet.row(key, value)
    for heading, table in _sections(shown):
        sheet.section(heading).rows(table)
    return sheet.text()


def _sections(tables: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for key, value in tables.items():
        if isinstance(value, Mapping):
            yield f"[{tomlkit.key(key).as_string()}]", value
    parts: Iterable[Mapping[str, Any]] = tables.get("part", ())
    yield from (("[[part]]", part) for part in parts)
