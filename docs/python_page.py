"""Writes the list of names in docs/python.md from what `import clearance` offers, so that it cannot drift. `make docs`
runs it."""

from __future__ import annotations

import inspect
import re
from pathlib import Path

import clearance

PAGE = Path(__file__).parent / "python.md"
_MARK = re.compile(r"(<!-- names -->\n).*?(<!-- end -->)", re.DOTALL)


def written(page: str) -> str:
    """The page with every name as it is now."""
    rows = ["| name | what it is |", "|---|---|", *map(_row, sorted(clearance.__all__, key=str.lower)), ""]
    return _MARK.sub(lambda mark: mark[1] + "\n".join(rows) + mark[2], page)


def _row(name: str) -> str:
    found = getattr(clearance, name)
    if isinstance(found, (int, float)):
        return f"| `{name}` | {found:g} |"
    words = " ".join((inspect.getdoc(found) or "").split("\n\n")[0].split())
    first = re.split(r"(?<=[.?])\s", words, maxsplit=1)[0].replace("|", "\\|")
    return f"| `{_called(name, found)}` | {first} |"


def _called(name: str, found: object) -> str:
    """A function with its parameters; a class by its name alone."""
    if not inspect.isfunction(found):
        return name
    parts, starred = [], False
    for parameter in inspect.signature(found).parameters.values():
        if parameter.kind is parameter.KEYWORD_ONLY and not starred:
            starred = True
            parts.append("*")
        parts.append(f"**{parameter.name}" if parameter.kind is parameter.VAR_KEYWORD else parameter.name)
    return f"{name}({', '.join(parts)})"


if __name__ == "__main__":
    PAGE.write_text(written(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
