"""Every command in README and docs is run, and what README shows is what it prints."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from clearance_cli.main import run
from clearance_cli.verbs import VERBS

ROOT = Path(__file__).parents[1]
PAGES = [ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md"))]
_BLOCK = re.compile(r"```console\n(.*?)```", re.DOTALL)


def examples():
    """(page, command, shown output) of every ``$ clearance`` line in a console block."""
    for page in PAGES:
        for block in _BLOCK.findall(page.read_text(encoding="utf-8")):
            for piece in re.split(r"^\$ ", block, flags=re.MULTILINE)[1:]:
                command, _, shown = piece.partition("\n")
                if command.startswith("clearance "):
                    yield pytest.param(command, shown, id=f"{page.name}: {command}")


@pytest.mark.parametrize(("command", "shown"), list(examples()))
def test_the_command_runs_and_prints_what_is_shown(command, shown, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(ROOT)
    words = shlex.split(command.split(" #")[0])[1:]
    words = [
        str(tmp_path / word) if before in ("--out", "-o") else word
        for before, word in zip(["", *words], words, strict=False)
    ]
    code = run(words)
    printed = capsys.readouterr().out
    assert code in (0, 1), printed
    if shown.strip() and "..." not in shown:
        assert printed.replace(str(tmp_path) + "/", "").strip() == shown.strip()


def test_every_verb_is_documented():
    text = "\n".join(page.read_text(encoding="utf-8") for page in PAGES)
    for verb in VERBS:
        assert f"clearance {verb}" in text, verb


def test_the_page_of_commands_is_what_they_print(monkeypatch):
    import sys

    monkeypatch.syspath_prepend(str(ROOT / "docs"))
    sys.modules.pop("command_pages", None)
    import command_pages

    assert (ROOT / "docs" / "commands.md").read_text(encoding="utf-8") == command_pages.page(), "run `make docs`"
