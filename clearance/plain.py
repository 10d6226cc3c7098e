"""Text that leaves the program, cleaned for where it goes.

A title, a part's name, a key or a file's name comes from a file that somebody else may have written. Passed on as it
is, it can move the cursor, colour the verdict, write a line that the program never said, turn a sentence around, or be
run by a spreadsheet. So whatever leaves does it through here, by the name of its destination.

* unseen - a sign without a shape of its own: controls and escapes, marks that turn the direction of writing, joiners
           and spaces of no width, halves of a pair that stands alone
* shown  - an unseen sign written out, as in JSON: \\u001b
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from typing import Any

MOST_ECHOED = 60
"""Letters of what was found that a refusal repeats: less than a line."""
MOST_TITLE = 160
"""Letters of a corner's title."""
MOST_NAMED = 80
"""Letters of a file's name that is made from a part's."""

_SHAPELESS = frozenset("\u034f\u115f\u1160\u17b4\u17b5\u2800\u3164\uffa0")
"""Letters and marks by their class that nothing is drawn for."""


def is_unseen(sign: str) -> bool:
    """Whether a sign has no shape of its own; a plain space is seen."""
    # what is not printable is a control, a format, half a pair, unassigned, private, or a separator that is no space
    return not sign.isprintable() or sign in _SHAPELESS or "\U000e0100" <= sign <= "\U000e01ef"


def visible(text: str, *, keep: str = "") -> str:
    """The text with every unseen sign shown, but those in `keep`.

    >>> print(visible("red \\x1b[31m"), visible("gap\\u202e"))
    red \\u001b[31m gap\\u202e
    """
    # a text of megabytes has a hundred different signs: only these are looked at one by one
    odd = [sign for sign in set(text) if is_unseen(sign) and sign not in keep]
    return text.translate({ord(sign): _shown(sign) for sign in odd}) if odd else text


def _shown(sign: str) -> str:
    short = {"\n": "\\n", "\t": "\\t", "\r": "\\r"}.get(sign)
    code = ord(sign)
    return short or (f"\\u{code:04x}" if code <= 0xFFFF else f"\\U{code:08x}")


def terminal(text: str) -> str:
    """For a terminal: its lines stay lines, everything else is seen."""
    return visible(text, keep="\n")


def line(text: str, most: int = MOST_ECHOED) -> str:
    """On one line and no longer than `most` letters.

    >>> line("a\\nb"), line("x" * 100, 10)
    ('a\\\\nb', 'xxxxxxx...')
    """
    # cut twice: what is shown can be six times as long, and a text of megabytes is not to be gone through
    shown = visible(text[: most + 1])
    return shown if len(shown) <= most else shown[: most - 3] + "..."


def is_one_line(text: str, most: int) -> bool:
    """Whether a text may stand as a title or a name: not empty, of at most `most` letters, each of them seen.

    >>> is_one_line("Orchard half-ton", 160), is_one_line("a\\nb", 160), is_one_line("gap\\u202e", 160)
    (True, False, False)
    """
    return len(text.strip()) > 0 and len(text) <= most and not any(map(is_unseen, text))


def quoted(value: object, most: int = MOST_ECHOED) -> str:
    """What was found, between quotes where it is text, at most a line of it.

    >>> quoted("4 in"), quoted(4), quoted(True), quoted([1, "a"])
    ('"4 in"', '4', 'true', '[1, "a"]')
    """
    return line(_written(value, most), most)


def echoed(value: object, most: int = MOST_ECHOED) -> str:
    """What was found, as Python writes it, at most a line of it: for what a person wrote outside of a TOML file.

    >>> echoed("4 in"), echoed("x" * 99, 12)
    ("'4 in'", "'xxxxxxxx...")
    """
    if isinstance(value, str):
        return line(repr(value[:most]) if len(value) > most else repr(value), most)
    return quoted(value, most)


def _written(value: object, most: int) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if value is None:
        return "nothing"
    if isinstance(value, str):
        return f'"{value}"' if len(value) <= most - 2 else f'"{value[:most]}'
    if isinstance(value, int):
        return str(value) if value.bit_length() < 200 else "a number of too many digits"
    return _of_many(value, most) if isinstance(value, (Mapping, list, tuple)) else _of_another(value)


def _of_many(value: Mapping[Any, object] | Sequence[object], most: int) -> str:
    if isinstance(value, Mapping):
        return "{ " + _listed((f"{key} = {_written(item, most)}" for key, item in value.items()), most) + " }"
    return "[" + _listed((_written(item, most) for item in value), most) + "]"


def _of_another(value: object) -> str:
    isoformat = getattr(value, "isoformat", None)
    return str(isoformat()) if callable(isoformat) else repr(value)


def _listed(items: Iterable[str], most: int) -> str:
    """Items with commas between them, no more of them than are needed to be too long."""
    text = ""
    for item in items:
        text += (", " if text else "") + item
        if len(text) > most:
            break
    return text


# ---- files


def markup(text: str) -> str:
    """Between the tags of SVG, XML or HTML; XML cannot hold a control at all, not even escaped."""
    return visible(text).replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")


def attribute(text: str) -> str:
    """An attribute of SVG or XML, with its quotes."""
    return '"' + markup(text).replace('"', "&quot;") + '"'


_RUN = re.compile(r"[=+\-@]")
_MEASURE = re.compile(r"[+-]?\d[\d\s./-]*(?:mm|cm|m|in|ft|deg|\"|\u00b0|%)?\.?")


def cell(value: object) -> str:
    """A cell of a CSV: a text that a spreadsheet would run as a formula has an apostrophe before it.

    A number and a measure are no formula and stay what they are.

    >>> cell("=1+1"), cell("-20 mm"), cell(-3.5), cell("'=1+1")
    ("'=1+1", '-20 mm', '-3.5', "''=1+1")
    """
    if type(value) in (int, float):
        number = str(value)
        if number.isascii() and "e" not in number and "n" not in number:
            return number
    return _cleaned(str(value))


@lru_cache(maxsize=4096)
def _cleaned(value: str) -> str:
    text = visible(value)
    bare = text.lstrip()
    # an apostrophe of the person's own gets another one, so that `cell_text` gives back what was written
    if bare.startswith("'") or (_RUN.match(bare) and not _MEASURE.fullmatch(bare)):
        return "'" + text
    return text


def cell_text(cell: str) -> str:
    """What was written into a cell by `cell`, or by a person who knows what a spreadsheet does.

    >>> cell_text("'=1+1"), cell_text("O'Neil"), cell_text("'twas")
    ('=1+1', "O'Neil", "'twas")
    """
    return cell[1:] if cell.startswith("'") and (cell[1:].lstrip()[:1] in ("'", "=", "+", "-", "@")) else cell


def csv_row(values: Iterable[object]) -> str:
    """A row of a CSV with its end, every cell cleaned."""
    return csv_rows([values])


def csv_rows(rows: Iterable[Iterable[object]]) -> str:
    """Rows of a CSV with their ends, every cell cleaned."""
    import csv
    import io

    stream = io.StringIO()
    csv.writer(stream, lineterminator="\n").writerows([cell(value) for value in row] for row in rows)
    return stream.getvalue()


_PAPER = str.maketrans({"\u2265": ">=", "\u2264": "<=", "\u2212": "-", "\u2192": "->", "\u2033": '"', "\u2032": "'"})


def paper(text: str) -> str:
    """For a PDF in a standard font: its letters are those of Western European writing; others become "?"."""
    return visible(text.translate(_PAPER)).encode("cp1252", "replace").decode("cp1252")


def ascii_only(text: str) -> bytes:
    """For a header or a comment of a mesh file, one line of ASCII; other letters become "?"."""
    return visible(text).encode("ascii", "replace")


def json_text(value: object, *, indent: int | None = 2, compact: bool = False) -> str:
    """JSON of plain values; unseen signs inside its texts are escaped, so nothing is lost and nothing is hidden.

    Raises ValueError for a number that JSON has no word for.
    """
    separators = (",", ":") if compact else None
    text = json.dumps(value, indent=indent, ensure_ascii=False, allow_nan=False, separators=separators)
    odd = [sign for sign in set(text) if is_unseen(sign) and sign != "\n"]
    return text.translate({ord(sign): _json_escape(sign) for sign in odd}) if odd else text


def _json_escape(sign: str) -> str:
    return json.dumps(sign)[1:-1]


def file_names(names: Iterable[str]) -> dict[str, str]:
    """A name for a file of each part: small letters and digits of the part's own, no two alike.

    >>> file_names(["Inner wall", "inner-wall", "\\u0431\\u0430\\u043a", "../etc"])
    {'Inner wall': 'inner-wall', 'inner-wall': 'inner-wall-2', 'бак': 'part', '../etc': 'etc'}
    """
    given: dict[str, str] = {}
    for name in names:
        stem = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:MOST_NAMED].rstrip("-") or "part"
        found, number = stem, 1
        while found in given.values():
            number += 1
            found = f"{stem}-{number}"
        given[name] = found
    return given
