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


def page() -> str:
    """The page, for a terminal 100 columns wide."""
    parts = [HEAD, "```\n" + printed([]) + "```\n"]
    for verb in VERBS:
        parts.append(f"## clearance {verb}\n\n```\n{printed([verb])}```\n")
    return "\n".join(parts)


def printed(words: list[str]) -> str:
    """What a verb prints with --help."""
    width = {**os.environ, "COLUMNS": "100", "TERMINAL_WIDTH": "100", "NO_COLOR": "1"}
    command = [sys.executable, "-m", "clearance_cli.main", *words, "--help"]
    shown = subprocess.run(command, env=width, capture_output=True, text=True, check=True).stdout
    return "\n".join(line.rstrip() for line in shown.splitlines()).strip() + "\n"


if __name__ == "__main__":
    (Path(__file__).parent / "commands.md").write_text(page(), encoding="utf-8")
