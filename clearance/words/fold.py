"""Pages folded to the width of a terminal: at a blank, never within a number and its unit.

A line that is too long goes on below itself, a little further in, so a row of a table stays one row to the eye. None
begins further in than half the width.
"""

from __future__ import annotations

import re
import textwrap

LEAST = 40
"""No terminal is taken for narrower: below, words would stand one under another."""
_FURTHER = 4
_UNITS = "o'clock|mm|cm|m|in|ft|deg|kg|lb|km/h|mph|cm2|cm3|per|%|x|to"
_TOGETHER = re.compile(rf"(?<=\d) +(?=(?:{_UNITS})\b|%|\d+/\d)|(?<=mm|eg) +(?=\(\d)|(?<= x) +(?=\d)")
"""Blanks that belong to a measure: 4 3/4 in, 120.7 mm (4 3/4 in), 15 x 7, 5 deg."""


def folded(text: str, width: int) -> str:
    """The text with no line longer than `width` where it can be broken.

    >>> print(folded("hits  the front lip, 12.0 mm (1/2 in) inside at 76 mm droop", 40))
    hits  the front lip, 12.0 mm (1/2 in)
        inside at 76 mm droop
    """
    return "\n".join(piece for line in text.split("\n") for piece in _pieces(line, max(width, LEAST)))


def wrapped(text: str, letters: int) -> list[str]:
    """A paragraph of a drawing in lines of so many letters, no measure broken at a line's end.

    >>> wrapped("an arc from 3 o'clock to 9 o'clock; must keep 25.0 mm (1 in)", 29)
    ["an arc from 3 o'clock to", "9 o'clock; must keep", '25.0 mm (1 in)']
    """
    held = _TOGETHER.sub(lambda blanks: _HARD * len(blanks[0]), text)
    return [line.replace(_HARD, " ") for line in textwrap.wrap(held, letters)]


_HARD = "\N{NO-BREAK SPACE}"


def _pieces(line: str, width: int) -> list[str]:
    begins = len(line) - len(line.lstrip(" "))
    if len(line) > width and begins > width // 2:
        # what stands under a far column of a wide table comes in to where the rows of that table go on
        begins = _FURTHER
        line = " " * 2 * _FURTHER + line.lstrip(" ")
    indent = " " * min(begins + _FURTHER, width // 2)
    pieces = []
    while len(line) > width:
        at = _break_in(line, width)
        if at is None:
            break
        pieces.append(line[:at].rstrip(" "))
        line = indent + line[at:].lstrip(" ")
    return [*pieces, line]


def _break_in(line: str, width: int) -> int | None:
    """The last blank at which a line may be broken to fit; None where there is none behind its indent."""
    kept = {at for found in _TOGETHER.finditer(line) for at in range(*found.span())}
    start = len(line) - len(line.lstrip(" "))
    blanks = [at for at in range(start + 1, min(width, len(line) - 1) + 1) if line[at] == " " and at not in kept]
    return blanks[-1] if blanks else None
