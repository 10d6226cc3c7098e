"""The line of every key of a TOML text, so that a refusal can point at it.

The text has already been read by the standard library, so it is known to be TOML; this only walks over it again and
notes where each key stands. A path is the way to a value: ("part", 1, "min", 0) is the first number of `min` in the
second `[[part]]`.
"""

from __future__ import annotations

import bisect
import re
from collections.abc import Mapping

from clearance.plain import line

Step = str | int
Path = tuple[Step, ...]

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SCALAR = re.compile(r"[^\s,\]\}#]+(?: \d\d:[^\s,\]\}#]+)?")
_CLOSERS = ('"""', "'''", '"', "'")


def lines_of(text: str) -> dict[Path, int]:
    """Every path of a valid TOML text with its line, counted from 1."""
    return _Walk(text).document()


def line_of(lines: Mapping[Path, int], path: Path) -> int:
    """The line of a path, or of the nearest thing around it that is written; 1 where nothing is.

    >>> line_of({("tire",): 3, ("tire", "size"): 4}, ("tire", "shape"))
    3
    """
    for length in range(len(path), 0, -1):
        if path[:length] in lines:
            return lines[path[:length]]
    return 1


def path_text(path: Path) -> str:
    """A path as a person reads it; things in a list are counted from 1.

    >>> path_text(("part", 1, "min", 0))
    'part[2].min[1]'
    """
    text = ""
    for step in path:
        word = f"[{step + 1}]" if isinstance(step, int) else line(step)
        text += word if isinstance(step, int) or not text else f".{word}"
    return text


class _Walk:
    """One pass over the text."""

    def __init__(self, text: str) -> None:
        self.text = text.replace("\r\n", "\n")
        self.at = 0
        self.lines: dict[Path, int] = {}
        self.counts: dict[Path, int] = {}
        self.ends = [match.start() for match in re.finditer("\n", self.text)]

    def document(self) -> dict[Path, int]:
        table: Path = ()
        while self._skip(" \t\n,"):
            if self.text.startswith("[[", self.at):
                table = self._header(2)
            elif self.text[self.at] == "[":
                table = self._header(1)
            else:
                self._pair(table)
        return self.lines

    def _header(self, brackets: int) -> Path:
        line = self._line()
        self.at += brackets
        path = self._into_lists(self._key())
        self.at = self.text.find("]", self.at) + brackets
        if brackets == 2:
            count = self.counts.get(path, 0)
            self.counts[path] = count + 1
            self.lines.setdefault(path, line)
            path = (*path, count)
        for length in range(1, len(path)):
            self.lines.setdefault(path[:length], line)
        self.lines[path] = line
        return path

    def _into_lists(self, key: Path) -> Path:
        """Where a header names a list of tables on its way, its last table is meant."""
        path: Path = ()
        for step in key[:-1]:
            path = (*path, step)
            if path in self.counts:
                path = (*path, self.counts[path] - 1)
        path = (*path, *key[-1:])
        return path

    def _pair(self, table: Path) -> None:
        line = self._line()
        path = table
        for step in self._key():
            path = (*path, step)
            self.lines.setdefault(path, line)
        self._skip(" \t")
        self.at += 1  # the equals sign
        self._value(path)

    def _key(self) -> Path:
        steps: list[Step] = []
        while self._skip(" \t"):
            if self.text[self.at] in "\"'":
                steps.append(self._quoted())
            else:
                match = _BARE.match(self.text, self.at)
                if match is None:
                    break
                steps.append(match[0])
                self.at = match.end()
            self._skip(" \t")
            if self.text[self.at : self.at + 1] != ".":
                break
            self.at += 1
        return tuple(steps)

    def _value(self, path: Path) -> None:
        self._skip(" \t\n")
        self.lines.setdefault(path, self._line())
        opening = self.text[self.at : self.at + 1]
        if opening == "[":
            self._list(path)
        elif opening == "{":
            self._inline_table(path)
        elif opening in ("'", '"'):
            self._quoted()
        else:
            match = _SCALAR.match(self.text, self.at)
            self.at = match.end() if match else self.at + 1

    def _list(self, path: Path) -> None:
        self.at += 1
        count = 0
        while self._skip(" \t\n,") and self.text[self.at] != "]":
            self._value((*path, count))
            count += 1
        self.at += 1

    def _inline_table(self, path: Path) -> None:
        self.at += 1
        while self._skip(" \t\n,") and self.text[self.at] != "}":
            self._pair(path)
        self.at += 1

    def _quoted(self) -> str:
        closer = next(mark for mark in _CLOSERS if self.text.startswith(mark, self.at))
        start = self.at + len(closer)
        end = start
        while end < len(self.text) and not self.text.startswith(closer, end):
            end += 2 if closer[0] == '"' and self.text[end] == "\\" else 1
        # a long string may end in one or two quotes of its own before the three that close it
        while len(closer) == 3 and self.text.startswith(closer, end + 1):
            end += 1
        self.at = end + len(closer)
        return self.text[start:end]

    def _skip(self, characters: str) -> bool:
        """Pass over these characters and over comments; False at the end of the text."""
        while self.at < len(self.text):
            character = self.text[self.at]
            if character == "#" and "\n" in characters:
                end = self.text.find("\n", self.at)
                self.at = end if end >= 0 else len(self.text)
            elif character in characters:
                self.at += 1
            else:
                return True
        return False

    def _line(self) -> int:
        return bisect.bisect_left(self.ends, self.at) + 1
