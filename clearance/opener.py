"""The one way in: every file that a person names is opened here, and held before it is read.

A name can lead to anything: a pipe that nobody writes to, a disk, a terminal, /dev/zero, a folder, a terabyte.
What is no plain file is refused before a byte is asked for, what is too large before it is taken into memory, and what
is nested too deep before anything walks through it. What a library says about a damaged file stays inside: a refusal
has our words, with the line where there is one.

* kind  - what the caller wants: "corner file", "list of sizes"; it names the file in a refusal
* most  - bytes that are taken at most
* depth - lists and tables inside one another
"""

from __future__ import annotations

import csv
import errno
import io
import json
import math
import os
import re
import stat
import tomllib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO, NoReturn

from clearance.errors import FileError
from clearance.plain import line as one_line
from clearance.plain import quoted

MOST_TEXT = 4_000_000
"""Bytes of a page that a person wrote: a corner file, a list of sizes, readings."""
MOST_FINDINGS = 64_000_000
"""Bytes of a findings.json; the longest of the shipped corners is a hundredth of this."""
MOST_DEPTH = 32
"""Nothing that is read here stands in more than a handful of brackets."""
MOST_DIGITS = 40
"""Of a whole number; no measure, count or mark has more than a few."""
MOST_CELLS = 200
MOST_ROWS = 100_000

_CHUNK = 1 << 24

_NO_FILE = {
    stat.S_IFDIR: "this is a folder. Name one file inside it.",
    stat.S_IFIFO: "this is a pipe and no file: it may never end. Save what comes out of it as a file, and name that.",
    stat.S_IFCHR: "this is a device and no file. Name a file.",
    stat.S_IFBLK: "this is a disk and no file. Name a file on it.",
    stat.S_IFSOCK: "this is a socket and no file. Name a file.",
}
_TROUBLE = {
    errno.ENOENT: "there is no such file. Check the name and the folder.",
    errno.ENOTDIR: "there is no such file: what stands before a / in its name is no folder.",
    errno.EACCES: "it may not be read: your account has no right to it.",
    errno.EPERM: "it may not be read: your account has no right to it.",
    errno.ELOOP: "it is a link that leads back to itself. Name the file that is meant.",
    errno.ENAMETOOLONG: "the name is longer than a file's name can be.",
    errno.EIO: "the disk cannot read it back. Copy it from where it came from again.",
    errno.ENODEV: "this is a device and no file. Name a file.",
    errno.ENXIO: "this is a device and no file. Name a file.",
}


def bytes_of(path: str | Path, *, most: int = MOST_TEXT) -> bytes:
    """What stands in a plain file of at most `most` bytes.

    Raises FileError, at once, for anything that is not one: a folder, a pipe, a device, also behind a link.
    """
    try:
        # looked at before it is opened, since opening is enough to wake some devices, and once more after
        _plain_file(path, os.stat(path))
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    except OSError as trouble:
        raise _refused(path, trouble) from None
    except ValueError:
        # an empty sign, or half a pair, which no file's name can hold
        raise FileError(path, "no file can have such a name.") from None
    with os.fdopen(handle, "rb", buffering=0) as stream:
        try:
            length = _plain_file(path, os.fstat(handle)).st_size
            if length > most:
                raise _too_large(path, most)
            return _whole(path, stream, most)
        except OSError as trouble:
            raise _refused(path, trouble) from None


def _plain_file(path: str | Path, status: os.stat_result) -> os.stat_result:
    kind = stat.S_IFMT(status.st_mode)
    if kind != stat.S_IFREG:
        raise FileError(path, _NO_FILE.get(kind, "this is no file that can be read. Name a plain file."))
    return status


def _whole(path: str | Path, stream: io.RawIOBase | BinaryIO, most: int) -> bytes:
    """Everything to its end: some files of the system say that they are empty and never end."""
    pieces: list[bytes] = []
    taken = 0
    while True:
        piece = stream.read(_CHUNK)
        if piece is None:
            raise FileError(path, "nothing can be read from it now. Name a plain file.")
        if not piece:
            return b"".join(pieces)
        taken += len(piece)
        if taken > most:
            raise _too_large(path, most)
        pieces.append(piece)


def _refused(path: str | Path, trouble: OSError) -> FileError:
    words = _TROUBLE.get(trouble.errno or 0, "the system cannot read it. Copy it to another place and try again.")
    return FileError(path, words)


def _too_large(path: str | Path, most: int) -> FileError:
    return FileError(path, f"the file is larger than {_size(most)}, which none of its kind is.")


def _size(count: int) -> str:
    for unit, one in (("GiB", 2**30), ("MB", 10**6), ("kB", 10**3)):
        if count >= one:
            return f"{count / one:.3g} {unit}"
    return f"{count} bytes"


def text_of(path: str | Path, *, most: int = MOST_TEXT) -> str:
    """The text of a plain file in UTF-8, without the byte order mark that some editors put first.

    Raises FileError, with the line of the first byte that is no letter.
    """
    return _text_in(bytes_of(path, most=most), path)


def text_from(stream: io.RawIOBase | BinaryIO, name: str, *, most: int = MOST_TEXT) -> str:
    """The text that comes from a stream to its end, as `text_of` reads it; `name` is for what is said of it.

    Raises FileError.
    """
    try:
        return _text_in(_whole(name, stream, most), name)
    except OSError as trouble:
        raise _refused(name, trouble) from None


def _text_in(content: bytes, path: str | Path) -> str:
    if content[:2] in (b"\xff\xfe", b"\xfe\xff"):
        raise FileError(path, "this is UTF-16 text. Save it as UTF-8 from your editor.", line=1)
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError as wrong:
        raise FileError(
            path,
            f"the file is not UTF-8 text: byte 0x{content[wrong.start]:02x} stands where a letter should."
            " Save it as UTF-8 from your editor.",
            line=content.count(b"\n", 0, wrong.start) + 1,
        ) from None


def beside(folder: str | Path, name: str) -> Path:
    """A file that another file names: from its folder, from the root, or from a home with ~.

    Raises FileError for what can be no file's name.
    """
    if "\0" in name:
        raise FileError(name, "the file's name has a sign that no file name can have.")
    try:
        return Path(folder) / Path(name).expanduser()
    except RuntimeError:
        raise FileError(name, "there is no such home folder. Write the path without ~.") from None


# ---- TOML


class NotToml(Exception):  # noqa: N818 - a finding, turned into a refusal by whoever knows the file
    """Where a text stops being TOML, and why, in our words."""

    def __init__(self, *, line: int, words: str) -> None:
        self.line = line
        self.words = words
        super().__init__(words)


def toml_tables(text: str) -> dict[str, Any]:
    """The tables of a TOML text, nothing in it deeper than MOST_DEPTH.

    Raises NotToml.
    """
    try:
        tables = tomllib.loads(text)
    except tomllib.TOMLDecodeError as wrong:
        line, words = _toml_words(str(wrong), text)
        raise NotToml(line=line, words=words) from None
    except RecursionError:
        raise NotToml(line=1, words="brackets stand inside one another far too deep.") from None
    except ValueError:
        words = "a value cannot be read: a date that is none, or a number of far too many digits."
        raise NotToml(line=_odd_line(text), words=words) from None
    if is_deeper(tables, MOST_DEPTH):
        raise NotToml(line=1, words="brackets or dotted keys stand inside one another far too deep.")
    return tables


_SAID_TWICE = (
    ("Cannot overwrite a value", "this key stands here for the second time. Keep one of the two."),
    ("Duplicate inline table key", "a key stands here for the second time. Keep one of the two."),
    ("Cannot declare", "this section stands here for the second time. Keep one, or use [[part]] for a list."),
    ("Cannot redefine", "this section stands here for the second time. Keep one of the two."),
    ("Cannot mutate", "this key adds to something that is already closed. Put it into its own section."),
)
_NOT_TOML = (
    ("Invalid statement", "a line is a key = value, a [section] or a # remark; this is none of them."),
    ("Expected newline", "something stands after the value. One key to a line; a remark begins with #."),
    ("Found invalid character", "there is a sign here that no text may have. Delete it."),
    ("Illegal character", "there is a sign here that no text may have, or a line ends inside quotes."),
    ("Expected ']'", "a [section] needs its closing bracket."),
    ("Expected ']]'", "a [[part]] needs both closing brackets."),
    ("Expected '='", "a key needs = and a value after it."),
    ("Expected", "a quotation mark is missing."),
    ("Invalid initial character", "a key is made of letters, digits, - and _, or stands between quotes."),
    ("Unclosed array", "a list needs its closing bracket ]."),
    ("Unclosed inline table", "a table needs its closing bracket }."),
    ("Unescaped", "a backslash inside double quotes means a special sign: write two, or use single quotes."),
    ("Invalid hex value", "a backslash inside double quotes means a special sign: write two, or use single quotes."),
    ("Escaped character", "a backslash inside double quotes means a special sign: write two, or use single quotes."),
    ("Unterminated string", "a quotation mark is missing."),
    ("Invalid date", "this is no date. Text and measures stand between quotes."),
    ("Invalid value", "a value is text or a measure between quotes, a number, true, false, or a [list]."),
)
"""How the standard library's reader begins each of its sentences, and what is said instead."""


def _toml_words(message: str, text: str) -> tuple[int, str]:
    """The line of a syntax error, and what is wrong with it."""
    reason, _, place = message.rpartition(" (at ")
    rows = text.splitlines() or [""]
    digits = place.removeprefix("line ").split(",")[0]
    line = int(digits) if digits.isascii() and digits.isdigit() else len(rows)
    twice = _begins(reason, _SAID_TWICE)
    if twice is not None:
        return line, twice
    words = _begins(reason, _NOT_TOML) or "this cannot be read."
    row = rows[line - 1].strip() if 0 < line <= len(rows) else ""
    return line, f"this is not TOML: {words}" + (f" The line reads: {one_line(row)}" if row else "")


def _begins(reason: str, known: tuple[tuple[str, str], ...]) -> str | None:
    """What is said instead of a sentence that begins as one of these."""
    return next((ours for start, ours in known if reason.startswith(start)), None)


def _odd_line(text: str) -> int:
    """The line of the number of too many digits, or of a date; the first where neither is found."""
    for number, row in enumerate(text.splitlines(), start=1):
        run = longest = 0
        for sign in row:
            run = run + 1 if sign.isdigit() or sign == "_" else 0
            longest = max(longest, run)
        if longest > 4000:
            return number
    return next((n for n, row in enumerate(text.splitlines(), start=1) if _dated(row)), 1)


def _dated(row: str) -> bool:
    value = row.partition("=")[2].strip()
    return len(value) >= 10 and value[:4].isdigit() and value[4] == "-" and value[7] == "-"


# ---- JSON


class NotJson(Exception):  # noqa: N818 - a finding, turned into a refusal by whoever knows the file
    """Why a text is not JSON, in our words."""

    def __init__(self, *, words: str, line: int | None = None) -> None:
        self.words = words
        self.line = line
        super().__init__(words)


def json_value(text: str | bytes, *, depth: int = MOST_DEPTH) -> Any:
    """The value of a JSON text (RFC 8259): finite numbers, no name twice in a table, nothing deeper than `depth`.

    Raises NotJson.
    """
    try:
        # an int of thousands of digits and NaN are no numbers of a file; they are met before they are made
        value = json.loads(
            text, parse_int=_whole_number, parse_float=_finite, parse_constant=_no_number, object_pairs_hook=_once
        )
    except json.JSONDecodeError as wrong:
        raise NotJson(words="this is not JSON, or it was cut short", line=wrong.lineno) from None
    except UnicodeDecodeError:
        raise NotJson(words="this is not text in UTF-8") from None
    except RecursionError:
        raise NotJson(words="brackets stand inside one another far too deep") from None
    if is_deeper(value, depth):
        raise NotJson(words="brackets stand inside one another far too deep")
    return value


def _whole_number(digits: str) -> int:
    if len(digits) > MOST_DIGITS:
        raise NotJson(words=f"a number of {len(digits):,} digits stands in it")
    return int(digits)


def _finite(digits: str) -> float:
    value = float(digits[:400])
    if len(digits) > 400 or not math.isfinite(value):
        raise NotJson(words=f"the number {one_line(digits, 20)} is too large")
    return value


def _no_number(word: str) -> NoReturn:
    raise NotJson(words=f"{word} stands where a number should")


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    table = dict(pairs)
    if len(table) < len(pairs):
        seen: set[str] = set()
        for key, _ in pairs:
            if key in seen:
                raise NotJson(words=f"{quoted(key)} stands twice in one table")
            seen.add(key)
    return table


def is_deeper(value: Any, most: int) -> bool:
    """Whether lists and tables stand more than `most` inside one another."""
    level = [value]
    for _ in range(most + 1):
        level = [
            inside
            for one in level
            if isinstance(one, (list, dict))
            for inside in (one.values() if isinstance(one, dict) else one)
            if isinstance(inside, (list, dict))
        ]
        if not level:
            return False
    return True


# ---- tables


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row of a table: its line in the file, and its cells."""

    line: int
    cells: tuple[str, ...]

    @property
    def empty(self) -> bool:
        """Nothing but blanks."""
        return not any(cell.strip() for cell in self.cells)


def rows_in(text: str, path: str | Path, *, most_rows: int = MOST_ROWS) -> tuple[Row, ...]:
    """The rows of a CSV text that is not empty, each with its line.

    Between cells stands a comma, a semicolon or a tab: whichever the first row has.

    Raises FileError for a quotation mark that is never closed, a cell or a row too long, too many rows.
    """
    reader = csv.reader(io.StringIO(text, newline=""), strict=True, delimiter=_between_cells(text))
    found: list[Row] = []
    line = 1
    try:
        for cells in reader:
            if len(cells) > MOST_CELLS:
                raise FileError(path, f"{len(cells):,} cells in one row are no table of ours.", line=line)
            if len(found) >= most_rows:
                raise FileError(path, f"more than {most_rows:,} rows are no table of ours.", line=line)
            row = Row(line=line, cells=tuple(cells))
            line = reader.line_num + 1
            if not row.empty:
                found.append(row)
    except csv.Error:
        raise FileError(
            path, "a cell that begins with a quotation mark never ends, or has a letter after its end.", line=line
        ) from None
    return tuple(found)


def _between_cells(text: str) -> str:
    """What stands between the cells of the first row that is not blank."""
    first = next((row for row in text.splitlines() if row.strip()), "")
    bare = re.sub(r'"[^"]*"', "", first)
    return max(",;\t", key=bare.count)


def records_in(text: str, path: str | Path) -> tuple[tuple[str, ...], list[tuple[int, dict[str, str]]]]:
    """The heading of a CSV, and each row below it with its line as heading: cell, blanks around them taken off.

    Raises FileError for a column named twice, a row longer than the heading, or a last row that was cut short.
    """
    rows = rows_in(text, path)
    if not rows:
        return (), []
    heading = tuple(cell.strip() for cell in rows[0].cells)
    for name in heading:
        if name and heading.count(name) > 1:
            raise FileError(path, f"two columns are called {quoted(name)}. Keep one.", line=rows[0].line)
    records = []
    for row in rows[1:]:
        _hold_row(row, heading, path, last=row is rows[-1] and not text.endswith(("\n", "\r")))
        cells = (*row.cells, *[""] * (len(heading) - len(row.cells)))
        records.append((row.line, {name: cell.strip() for name, cell in zip(heading, cells, strict=False) if name}))
    return heading, records


def _hold_row(row: Row, heading: Sequence[str], path: str | Path, *, last: bool) -> None:
    if any(cell.strip() for cell in row.cells[len(heading) :]):
        raise FileError(
            path,
            f"the row has {len(row.cells)} cells and the heading {len(heading)}. Put a cell that holds a comma"
            " between quotation marks.",
            line=row.line,
        )
    if last and len(row.cells) < len(heading):
        raise FileError(
            path,
            f"the last row has {len(row.cells)} cells where the heading has {len(heading)}, and no end of its line:"
            " the file was cut short.",
            line=row.line,
        )
