"""PLY: a header that says what follows, then exactly that (Greg Turk, The PLY Polygon File Format, 1994).

The header counts every element, so a PLY that was cut short, or whose counts were damaged, is always noticed: what
follows must be what was counted, to the last byte.

* element  - a kind of row: vertex, face, or something that is passed over
* property - a column of it: a number, or a list, which is its own count and then so many numbers
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from clearance.errors import MeshError
from clearance.plain import quoted
from clearance.pose import Array
from clearance.well.scan_raw import AGAIN, Colours, Faces, Piece, fan, no_faces
from clearance.well.scan_text import numbers_in

_KINDS = {
    "char": "i1", "uchar": "u1", "int8": "i1", "uint8": "u1", "short": "i2", "ushort": "u2", "int16": "i2",
    "uint16": "u2", "int": "i4", "uint": "u4", "int32": "i4", "uint32": "u4", "float": "f4", "float32": "f4",
    "double": "f8", "float64": "f8", "int64": "i8", "uint64": "u8",
}  # fmt: skip
_FORMATS = {"ascii": "", "binary_little_endian": "<", "binary_big_endian": ">"}
_CORNERS = ("vertex_indices", "vertex_index")
MOST_CORNERS = 1000
"""Of one face, or of any other list in a row."""
MOST_COUNT = 2_000_000_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Column:
    """A property: its name, what each number is, and what its count is where it is a list."""

    name: str
    kind: str
    count: str = ""


@dataclass(slots=True, kw_only=True)
class Element:
    """A kind of row, as the header names it."""

    name: str
    count: int
    columns: list[Column] = field(default_factory=list)

    @property
    def lists(self) -> list[Column]:
        """The properties that are lists."""
        return [column for column in self.columns if column.count]


@dataclass(frozen=True, slots=True, kw_only=True)
class Header:
    """What a PLY says of itself."""

    order: str
    """ "<" or ">" for binary, empty for text."""
    elements: tuple[Element, ...]
    ends_at: int
    """Where the first row begins, in bytes."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Rows:
    """The rows of one element: a table of its numbers, and for each list its rows by how long they are."""

    numbers: Mapping[str, Array]
    lists: Mapping[str, list[Faces]]


def ply(content: bytes) -> tuple[Piece, tuple[str, ...]]:
    """The mesh or the points of a PLY, and notes. Raises MeshError."""
    header = _header(content)
    read = _binary if header.order else _text
    rows = read(content, header)
    vertex = rows["vertex"]
    if not {"x", "y", "z"} <= set(vertex.numbers):
        raise MeshError(f"the PLY header gives a vertex no x, y and z. {AGAIN}")
    vertices = np.column_stack([vertex.numbers[way] for way in "xyz"]).astype(float)
    faces, fanned = _faces(rows.get("face"))
    notes = (f"{fanned:,} faces with more than four corners were split into triangles from their first corner",)
    return Piece(vertices=vertices, faces=faces, colours=_colours(vertex.numbers)), notes if fanned else ()


# ---- the header


def _header(content: bytes) -> Header:
    end = content.find(b"end_header")
    if not content.startswith((b"ply\n", b"ply\r")) or end < 0 or end > 1_000_000:
        raise MeshError(f"no PLY header at its start. {AGAIN}")
    lines = [line.strip() for line in content[:end].decode("ascii", "replace").splitlines()]
    after = content[end + 10 : end + 12]
    ends_at = end + 10 + (2 if after == b"\r\n" else 1)
    order, elements = _declared(lines)
    if order is None:
        raise MeshError(f"the PLY header does not say whether it is text or binary. {AGAIN}")
    _hold_elements(elements)
    _hold_room(elements, order, len(content) - ends_at)
    return Header(order=order, elements=tuple(elements), ends_at=ends_at)


def _declared(lines: list[str]) -> tuple[str | None, list[Element]]:
    """The order of bytes and the elements that the lines of a header declare."""
    elements: list[Element] = []
    order: str | None = None
    for line in lines[1:]:
        words = line.split()
        if words[:1] == ["format"]:
            order = _FORMATS.get(words[1]) if len(words) == 3 else None
        elif words[:1] == ["element"]:
            elements.append(_element(words, line))
        elif words[:1] == ["property"]:
            _add_column(elements, words, line)
        elif words and words[0] not in ("comment", "obj_info"):
            raise MeshError(f"the PLY header line {quoted(line)} is damaged. {AGAIN}")
    return order, elements


def _element(words: list[str], line: str) -> Element:
    digits = words[2] if len(words) == 3 else ""
    if not (digits.isascii() and digits.isdigit()) or len(digits) > 18:
        raise MeshError(f"the PLY header line {quoted(line)} is damaged. {AGAIN}")
    return Element(name=words[1], count=int(digits))


def _add_column(elements: list[Element], words: list[str], line: str) -> None:
    if not elements:
        raise MeshError(f"the PLY header line {quoted(line)} is damaged. {AGAIN}")
    column = _column(words, line)
    if any(other.name == column.name for other in elements[-1].columns):
        raise MeshError(f"the PLY header gives {quoted(column.name)} twice. {AGAIN}")
    elements[-1].columns.append(column)


def _column(words: list[str], line: str) -> Column:
    is_list = words[1:2] == ["list"]
    kinds = words[2:4] if is_list else words[1:2]
    if len(words) != (5 if is_list else 3):
        raise MeshError(f"the PLY header line {quoted(line)} is damaged. {AGAIN}")
    if any(kind not in _KINDS for kind in kinds) or (is_list and _KINDS[kinds[0]][0] == "f"):
        raise MeshError(f"the PLY header line {quoted(line)} names an unknown type. {AGAIN}")
    return Column(name=words[-1], kind=_KINDS[kinds[-1]], count=_KINDS[kinds[0]] if is_list else "")


def _hold_elements(elements: list[Element]) -> None:
    names = [element.name for element in elements]
    if "vertex" not in names:
        raise MeshError(f"the PLY header names no vertices. {AGAIN}")
    if len(set(names)) < len(names):
        raise MeshError(f"the PLY header counts the same thing twice. {AGAIN}")
    if "tristrips" in names:
        raise MeshError("its triangles are in strips, which are not read. Export it with plain faces.")
    for element in elements:
        if element.count and not element.columns:
            raise MeshError(
                f"the PLY header gives {element.count:,} of {quoted(element.name)} without any property. {AGAIN}"
            )


def _hold_room(elements: list[Element], order: str, room: int) -> None:
    """Refuses a header that claims more than the file can hold, before any memory is taken."""
    least = 0
    for element in elements:
        for column in element.columns:
            # a number in words is a digit and a blank at least
            least += element.count * (np.dtype(column.count or column.kind).itemsize if order else 2)
    if least > room + 2:
        raise MeshError(
            f"the PLY header claims at least {least:,} bytes of vertices and faces, but only {room:,} follow:"
            f" it was cut short. {AGAIN}"
        )


# ---- rows in binary


def _binary(content: bytes, header: Header) -> dict[str, Rows]:
    at = header.ends_at
    found: dict[str, Rows] = {}
    for element in header.elements:
        found[element.name], at = _element_rows(content, at, element, header.order)
    rest = content[at:]
    if rest.strip(b"\r\n \0"):
        raise MeshError(
            f"{len(rest):,} bytes follow the last row that the PLY header counts: its counts are damaged. {AGAIN}"
        )
    return found


def _element_rows(content: bytes, at: int, element: Element, order: str) -> tuple[Rows, int]:
    """The rows of one element that begin at a byte, and the byte after them."""
    if not element.count:
        return Rows(numbers={c.name: np.zeros(0) for c in element.columns if not c.count}, lists={}), at
    lengths = _first_lengths(content, at, element, order)
    even = _row_type(element, lengths, order)
    if len(content) - at >= element.count * even.itemsize:
        table = np.frombuffer(content, even, count=element.count, offset=at)
        if all((table[f"{c.name}#"] == n).all() for c, n in zip(element.lists, lengths, strict=True)):
            numbers = {c.name: table[c.name] for c in element.columns if not c.count}
            lists = {c.name: [_as_corners(table[c.name], n)] for c, n in zip(element.lists, lengths, strict=True)}
            return Rows(numbers=numbers, lists=lists), at + element.count * even.itemsize
    return _uneven_rows(content, at, element, order)


def _as_corners(table: Any, length: int) -> Faces:
    return np.asarray(table, dtype=np.int64).reshape(len(table), length)


def _row_type(element: Element, lengths: list[int], order: str) -> np.dtype[Any]:
    """One row, where every list is as long as said."""
    left = iter(lengths)
    fields: list[Any] = []
    for column in element.columns:
        if column.count:
            fields.append((f"{column.name}#", order + column.count))
            fields.append((column.name, order + column.kind, (next(left),)))
        else:
            fields.append((column.name, order + column.kind))
    return np.dtype(fields)


def _first_lengths(content: bytes, at: int, element: Element, order: str) -> list[int]:
    """How long each list of the first row is."""
    lengths = []
    for column in element.columns:
        if column.count:
            length = _list_length(content, at, order + column.count)
            lengths.append(length)
            at += np.dtype(column.count).itemsize + length * np.dtype(column.kind).itemsize
        else:
            at += np.dtype(column.kind).itemsize
    return lengths


def _list_length(content: bytes, at: int, kind: str) -> int:
    if at + np.dtype(kind).itemsize > len(content):
        raise _cut_short()
    length = int(np.frombuffer(content, kind, count=1, offset=at)[0])
    if not 0 <= length <= MOST_CORNERS:
        raise MeshError(f"a list of {length:,} numbers stands in one row: the PLY is damaged. {AGAIN}")
    return length


def _uneven_rows(content: bytes, at: int, element: Element, order: str) -> tuple[Rows, int]:
    """Row by row, where lists differ: a mesh of triangles and squares."""
    wide = {c.name: np.dtype(order + c.kind) for c in element.columns}
    numbers: dict[str, list[float]] = {c.name: [] for c in element.columns if not c.count}
    lists: dict[str, dict[int, list[bytes]]] = {c.name: {} for c in element.lists}
    for _ in range(element.count):
        for column in element.columns:
            kind = wide[column.name]
            if column.count:
                length = _list_length(content, at, order + column.count)
                at += np.dtype(column.count).itemsize
                _hold_inside(content, at + length * kind.itemsize)
                lists[column.name].setdefault(length, []).append(content[at : at + length * kind.itemsize])
                at += length * kind.itemsize
            else:
                _hold_inside(content, at + kind.itemsize)
                numbers[column.name].append(float(np.frombuffer(content, kind, count=1, offset=at)[0]))
                at += kind.itemsize
    tables = {name: _tables(by_length, wide[name]) for name, by_length in lists.items()}
    return Rows(numbers={name: np.array(column) for name, column in numbers.items()}, lists=tables), at


def _hold_inside(content: bytes, after: int) -> None:
    if after > len(content):
        raise _cut_short()


def _tables(by_length: dict[int, list[bytes]], kind: np.dtype[Any]) -> list[Faces]:
    return [
        _as_corners(np.frombuffer(b"".join(rows), kind).reshape(len(rows), length), length)
        for length, rows in sorted(by_length.items())
    ]


def _cut_short() -> MeshError:
    return MeshError(f"it ends before the last row that the PLY header counts: it was cut short. {AGAIN}")


# ---- rows in words


def _text(content: bytes, header: Header) -> dict[str, Rows]:
    lines = [line for line in content[header.ends_at :].splitlines() if line.strip()]
    counted = sum(element.count for element in header.elements)
    if len(lines) < counted:
        raise MeshError(f"the PLY header counts {counted:,} rows and {len(lines):,} follow: it was cut short. {AGAIN}")
    if len(lines) > counted:
        raise MeshError(
            f"the PLY header counts {counted:,} rows and {len(lines):,} follow: its counts are damaged. {AGAIN}"
        )
    found, at = {}, 0
    for element in header.elements:
        found[element.name] = _worded_rows(lines[at : at + element.count], element, at)
        at += element.count
    return found


def _worded_rows(lines: list[bytes], element: Element, before: int) -> Rows:
    even = _even_words(lines, element)
    if even is not None:
        return even
    numbers: dict[str, list[float]] = {c.name: [] for c in element.columns if not c.count}
    lists: dict[str, dict[int, list[list[int]]]] = {c.name: {} for c in element.lists}
    for number, line in enumerate(lines, start=before + 1):
        try:
            _worded_row(line.split(), element, numbers, lists)
        except (ValueError, IndexError, OverflowError):
            raise MeshError(
                f"row {number} after the header cannot be read: {quoted(line[:80].decode('ascii', 'replace'))}. {AGAIN}"
            ) from None
    kinds = {column.name: column.kind for column in element.columns}
    return Rows(
        numbers={name: _of_kind(np.array(column), kinds[name]) for name, column in numbers.items()},
        lists={
            name: [_as_corners(np.array(rows, dtype=np.int64), length) for length, rows in sorted(by_length.items())]
            for name, by_length in lists.items()
        },
    )


def _even_words(lines: list[bytes], element: Element) -> Rows | None:
    """The rows in one go, where all have equally many words and lists; None where they do not, or one is no number."""
    if not lines or len(set(map(len, map(bytes.split, lines)))) > 1:
        return None
    try:
        table = numbers_in(b" ".join(lines)).reshape(len(lines), -1)
    except ValueError:
        return None
    numbers: dict[str, Array] = {}
    lists: dict[str, list[Faces]] = {}
    at = 0
    for column in element.columns:
        if at >= table.shape[1]:
            return None
        if not column.count:
            numbers[column.name] = _of_kind(table[:, at], column.kind)
            at += 1
            continue
        rows = _even_lists(table[:, at:], column)
        if rows is None:
            return None
        lists[column.name] = [rows.astype(np.int64)]
        at += 1 + rows.shape[1]
    return Rows(numbers=numbers, lists=lists) if at == table.shape[1] else None


def _even_lists(table: Array, column: Column) -> Array | None:
    """The lists that a table begins with, their lengths first; None where they differ or one is no list."""
    length = table[0, 0]
    rows = table[:, 1 : 1 + int(length)] if 0 <= length <= MOST_CORNERS else table[:, :0]
    if (table[:, 0] != length).any() or rows.shape[1] != length or (column.kind[0] != "f" and _broken(rows)):
        return None
    return rows


def _broken(table: Array) -> bool:
    """Whether a number that must be whole is not."""
    return bool((~np.isfinite(table) | (np.abs(table) > 2.0**53) | (table != np.rint(table))).any())


def _of_kind(column: Array, kind: str) -> Any:
    """A column of numbers as what the header says it is. Raises MeshError where one cannot be that."""
    if kind[0] == "f":
        return column
    ends = np.iinfo(kind)
    if _broken(column) or (len(column) and (column.min() < ends.min or column.max() > ends.max)):
        raise MeshError(f"a number is not of the kind that the PLY header says. {AGAIN}")
    return column.astype(kind)


def _worded_row(
    words: list[bytes],
    element: Element,
    numbers: dict[str, list[float]],
    lists: dict[str, dict[int, list[list[int]]]],
) -> None:
    """Sort the words of one row into its columns. Raises ValueError or IndexError where they are not what was said."""
    at = 0
    for column in element.columns:
        if column.count:
            length = int(words[at])
            if not 0 <= length <= MOST_CORNERS:
                raise ValueError
            corners = [int(float(word)) if column.kind[0] == "f" else int(word) for word in words[at + 1 :][:length]]
            if len(corners) < length:
                raise IndexError
            lists[column.name].setdefault(length, []).append(corners)
            at += 1 + length
        else:
            if b"_" in words[at]:
                raise ValueError
            numbers[column.name].append(float(words[at]))
            at += 1
    if at != len(words):
        raise ValueError


# ---- what is wanted of them


def _faces(rows: Rows | None) -> tuple[Faces, int]:
    """Triangles, and how many faces had more than four corners. Raises MeshError for a face that is none."""
    if rows is None:
        return no_faces(), 0
    name = next((name for name in _CORNERS if name in rows.lists), None)
    if name is None:
        if rows.lists:
            raise MeshError(f"the PLY header gives a face no vertex_indices. {AGAIN}")
        return no_faces(), 0
    fans, fanned = [no_faces()], 0
    for corners in rows.lists[name]:
        if corners.shape[1] < 3:
            raise MeshError(
                f"{len(corners):,} faces have {corners.shape[1]} corners: the file is damaged, or was not written to"
                f" its end. {AGAIN}"
            )
        fans.append(fan(corners))
        fanned += len(corners) if corners.shape[1] > 4 else 0
    return np.concatenate(fans), fanned


def _colours(numbers: Mapping[str, Array]) -> Colours | None:
    names = next((n for n in (("red", "green", "blue"), ("r", "g", "b")) if set(n) <= set(numbers)), None)
    if names is None:
        return None
    table = _of_255(np.column_stack([np.asarray(numbers[name], dtype=float) for name in names]), numbers[names[0]])
    if not _are_colours(table):
        return None
    colours = np.full((len(table), 4), 255, dtype=np.uint8)
    colours[:, :3] = np.rint(table)
    if "alpha" in numbers and numbers["alpha"].dtype.kind == "u":
        colours[:, 3] = np.minimum(numbers["alpha"], 255)
    return colours


def _of_255(table: Array, first: Array) -> Array:
    """Colours that were written as shares of one, as shares of 255; `first` has the kind of their numbers."""
    return table * 255.0 if first.dtype.kind == "f" and len(table) and table.max() <= 1.0 else table


def _are_colours(table: Array) -> bool:
    return bool(np.isfinite(table).all() and (not len(table) or (table.min() >= 0 and table.max() <= 255)))
