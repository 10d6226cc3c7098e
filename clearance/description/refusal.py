"""How a refusal is worded: what was found, as the file wrote it, and what to write instead."""

from __future__ import annotations

import difflib
from collections.abc import Iterable

from clearance.description.lines import Path
from clearance.plain import quoted


class Refusal(Exception):  # noqa: N818 - it never leaves this room
    """Something in the file cannot be used; `load` turns it into a CornerFileError with its line.

    `other`, where given, is the key that it contradicts: its line is said too.
    """

    def __init__(self, path: Path, message: str, *, other: Path | None = None) -> None:
        self.path = path
        self.message = message
        self.other = other
        super().__init__(message)


def as_written(value: object) -> str:
    """A value as TOML would write it, at most a line of it.

    >>> as_written(True), as_written("90 mm"), as_written([1, 2])
    ('true', '"90 mm"', '[1, 2]')
    """
    return quoted(value)


def nearest(word: str, known: Iterable[str]) -> str:
    """A sentence that suggests the nearest known word, or lists them all.

    >>> nearest("sise", ["size", "shape"])
    'Did you mean "size"?'
    """
    # what is longer than any word of ours is like none of them, and would be compared for minutes
    word, words = word[:80], list(known)
    # a key that was pulled apart or run together is the same word to whoever wrote it
    plain = {w.replace("_", "").replace("-", ""): w for w in words}
    close = difflib.get_close_matches(word, words, n=1, cutoff=0.6)
    close = close or difflib.get_close_matches(
        word.lower().replace("_", "").replace("-", "").replace(" ", ""), plain, n=1
    )
    if close:
        return f'Did you mean "{plain.get(close[0], close[0])}"?'
    return f"Known here: {', '.join(words)}."


def without_sign(key: str, found: object, what: str, meaning: str) -> str:
    """The refusal of a minus sign: which way the key goes without one, and what to write.

    >>> without_sign("droop", "-75 mm", "distance", "ride height down to full droop")
    '"-75 mm" is below zero. "droop" is a distance without a sign: ride height down to full droop. Write "75 mm".'
    """
    instead = str(found).strip().lstrip("-").strip()
    article = "an" if what[0] in "aeiou" else "a"
    # what stands behind a semicolon is about leaving it out
    way = meaning.split(";")[0]
    return f'{as_written(found)} is below zero. "{key}" is {article} {what} without a sign: {way}. Write "{instead}".'
