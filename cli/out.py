"""Files that appear whole or not at all, and progress for whoever waits.

All files of one answer are written beside their places under other names first and renamed only when the last one is
whole, so a full disk leaves what was there before.
"""

from __future__ import annotations

import os
import sys
import tempfile
import time
from collections.abc import Mapping
from pathlib import Path

from clearance.errors import OutputError


def write_all(folder: Path, files: Mapping[str, bytes]) -> list[Path]:
    """Write every file of one answer into `folder`, or none of them.

    Raises OutputError where the folder or a file cannot be written; nothing half-written is left.
    """
    made: list[tuple[str, Path]] = []
    try:
        folder.mkdir(parents=True, exist_ok=True)
        for name, content in files.items():
            handle, temporary = tempfile.mkstemp(prefix=".", suffix=".part", dir=folder)
            made.append((temporary, folder / name))
            with os.fdopen(handle, "wb") as stream:
                stream.write(content)
            os.chmod(temporary, 0o644)
        for temporary, place in made:
            os.replace(temporary, place)
    except OSError as trouble:
        for temporary, _ in made:
            Path(temporary).unlink(missing_ok=True)
        reason = trouble.strerror or str(trouble)
        raise OutputError(
            f"{folder}: cannot write here ({reason}). Nothing was changed; choose another --out."
        ) from None
    return [place for _, place in made]


class Progress:
    """Says on stderr what is going on, for work that takes over a second; silent before that.

    Call it with (done, total, what); on a terminal the line is rewritten in place.
    """

    def __init__(self, *, quiet: bool = False) -> None:
        self._start = time.monotonic()
        self._last = self._start
        self._quiet = quiet
        self._shown = False

    def __call__(self, done: int, total: int, what: str) -> None:
        """Say how many of the total are done, in whatever is counted; at most a few times a second."""
        now = time.monotonic()
        pause = 0.2 if sys.stderr.isatty() else 2.0
        if self._quiet or now - self._start < 1.0 or (self._shown and now - self._last < pause):
            return
        self._last = now
        line = f"{what}: {done} of {total}, {now - self._start:.0f} s"
        if sys.stderr.isatty():
            sys.stderr.write(f"\r\x1b[K{line}")
        else:
            sys.stderr.write(line + "\n")
        sys.stderr.flush()
        self._shown = True

    def close(self) -> None:
        """Leave the line clean."""
        if self._shown and sys.stderr.isatty():
            sys.stderr.write("\r\x1b[K")
            sys.stderr.flush()
