"""A shell is told how the line goes on, and no terminal gets a colour."""

from __future__ import annotations

import os
import subprocess
import sys

import pytest
from clearance_cli.verbs import VERBS

COMMAND = [sys.executable, "-m", "clearance_cli.main"]
ONE_BY_ONE = """
import sys
from clearance_cli.main import main
lines, codes = sys.argv[1:], []
for line in lines:
    sys.argv[1:] = line.split()
    try:
        main()
    except SystemExit as left:
        codes.append(left.code)
print(codes)
"""
"""Several lines in one process, which looks at its surroundings once as any does."""


def completed(line: str, shell: str = "bash") -> list[str]:
    words = line.split(" ")
    asked = {"_CLEARANCE_COMPLETE": f"complete_{shell}", "COMP_WORDS": line, "COMP_CWORD": str(len(words) - 1)}
    asked |= {"_TYPER_COMPLETE_ARGS": line, "_TYPER_COMPLETE_FISH_ACTION": "get-args"}
    done = subprocess.run(COMMAND, env={**os.environ, **asked}, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout.split("\n")


def test_verbs_are_completed():
    assert set(completed("clearance ")) >= set(VERBS)
    assert [word for word in completed("clearance che") if word] == ["check"]


@pytest.mark.parametrize(
    ("line", "options"), [("clearance check --to", ["--tolerance"]), ("clearance window --pi", ["--picture"])]
)
def test_options_of_the_verb_on_the_line_are_completed(line, options):
    assert [word for word in completed(line) if word] == options


@pytest.mark.parametrize("shell", ["bash", "zsh", "fish"])
def test_each_shell_gets_its_lines(shell):
    # which shell it is would else be read off the processes above this one
    named = {**os.environ, "_TYPER_COMPLETE_TEST_DISABLE_SHELL_DETECTION": "1"}
    words = [*COMMAND, "--show-completion", shell]
    done = subprocess.run(words, capture_output=True, text=True, check=False, env=named)
    assert (done.returncode, done.stderr) == (0, "")
    assert f"_CLEARANCE_COMPLETE=complete_{shell}" in done.stdout


@pytest.mark.parametrize("colour", [{}, {"NO_COLOR": "1"}, {"FORCE_COLOR": "1", "TERM": "xterm-256color"}])
def test_nothing_is_coloured_whatever_is_asked(colour):
    """There is no colour to switch off: help, pages and refusals are plain text."""
    lines = ["--help", "check --help", "tire 235/75R15", "check nowhere.toml", "chek"]
    asked = [sys.executable, "-c", ONE_BY_ONE, *lines]
    done = subprocess.run(asked, capture_output=True, check=True, env={**os.environ, **colour})
    assert done.stdout.decode().splitlines()[-1] == "[0, 0, 0, 2, 2]"
    assert b"\x1b" not in done.stdout + done.stderr
