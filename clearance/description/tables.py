"""From a file to its tables: text, then TOML, with what to write instead where it is neither."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path as FilePath
from typing import Any

from clearance import opener
from clearance.errors import CornerFileError, FileError


def text_at(path: str | FilePath, file: str) -> str:
    """The text of a file that was named. Raises CornerFileError for what is no plain text."""
    try:
        return opener.text_of(path)
    except FileError as wrong:
        raise CornerFileError(wrong.reason, file=file, line=wrong.line) from None


def tables_of(text: str, file: str) -> Mapping[str, Any]:
    """The tables of a text. Raises CornerFileError with the line where it is not TOML."""
    if not text.strip():
        raise CornerFileError(
            'the file is empty. Write corner = "rear-left", then [tire], [wheel], [suspension] and the parts.',
            file=file,
            line=1,
        )
    try:
        return opener.toml_tables(text)
    except opener.NotToml as wrong:
        raise CornerFileError(_unquoted(text, wrong.line) or wrong.words, file=file, line=wrong.line) from None


_UNQUOTED = re.compile(
    r"""(?P<key>[\w-]+)\s*=\s*(?P<value>[+-]?[\d.]+(?:[ -]\d+/\d+|/\d+)?\s*(?:mm|cm|m|in|ft|deg|"|')\.?)\s*(?:#.*)?$"""
)


def _unquoted(text: str, line: int) -> str:
    """What to write where a measure stands without its quotes, the commonest slip of all; empty for any other."""
    rows = text.splitlines() or [""]
    found = _UNQUOTED.search(rows[line - 1].strip()[:200]) if line <= len(rows) else None
    if found is None:
        return ""
    key, value = found["key"], found["value"].strip()
    quotes = f"'{value}'" if '"' in value else f'"{value}"'
    return f"a measure stands between quotes: write {key} = {quotes}"
