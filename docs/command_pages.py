"""Writes docs/commands.md from what every verb prints with --help, so that it cannot drift. `make docs` runs it."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from clearance_cli.verbs import VERBS

HEAD = """# Commands

Every verb takes `--help`; most take `--json`, which prints only JSON on stdout
([json.md](json.md) says what each key means). Progress goes to stderr. Exit code 2 is
an input that is wrong: one message, nothing half-written; all of them stand in [errors.md](errors.md). A file that a
verb reads is a plain file: no pipe, no device. This page is what the verbs print; a test keeps it so.
"""


# a process of its own, since the width of a terminal is looked at once; one for all verbs, since each start is slow
ASKED = """
import sys
from clearance_cli.main import run
for verb in ["", *sys.argv[1:]]:
    assert run([*verb.split(), "--help"]) == 0, verb
    print(chr(12))
"""


def page() -> str:
    """The page, for a terminal 100 columns wide."""
    whole, *each = printed()
    parts = [HEAD, f"```\n{whole}```\n"]
    parts += [f"## clearance {verb}\n\n```\n{text}```\n" for verb, text in zip(VERBS, each, strict=True)]
    return "\n".join(parts)


def printed() -> list[str]:
    """What the command prints with --help, and then what each verb does."""
    width = {**os.environ, "COLUMNS": "100", "TERMINAL_WIDTH": "100", "NO_COLOR": "1"}
    asked = [sys.executable, "-c", ASKED, *VERBS]
    shown = subprocess.run(asked, env=width, capture_output=True, text=True, check=True).stdout
    return ["\n".join(line.rstrip() for line in text.splitlines()).strip() + "\n" for text in shown.split("\f\n")[:-1]]


if __name__ == "__main__":
    (Path(__file__).parent / "commands.md").write_text(page(), encoding="utf-8")
