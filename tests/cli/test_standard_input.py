"""A corner file from standard input: the same answer, and refusals that say where the file came from."""

from __future__ import annotations

import contextlib
import io
import subprocess
import sys
import unittest.mock
from pathlib import Path

import pytest
from clearance_cli.main import run
from clearance_cli.verbs import VERBS

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
PICKUP = CORNERS / "orchard-pickup-rear.toml"
COMMAND = [sys.executable, "-m", "clearance_cli.main"]


def said(words: list[str], content: bytes, folder: Path) -> tuple[int, str, str]:
    """What the command says to this, in this process."""
    out, err, given = io.StringIO(), io.StringIO(), io.TextIOWrapper(io.BytesIO(content), encoding="utf-8")
    with contextlib.ExitStack() as stack:
        stack.enter_context(unittest.mock.patch.object(sys, "stdin", given))
        for around in (contextlib.chdir(folder), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err)):
            stack.enter_context(around)
        code = run(words)
    return code, out.getvalue(), err.getvalue()


def piped(words: list[str], content: bytes, folder: Path) -> tuple[int, str, str]:
    """The same of a process of its own, through a pipe."""
    done = subprocess.run([*COMMAND, *words], input=content, cwd=folder, capture_output=True, check=False, timeout=200)
    return done.returncode, done.stdout.decode(), done.stderr.decode()


def test_what_comes_through_a_pipe_is_what_was_given(tmp_path):
    for content in (PICKUP.read_bytes(), b"x" * 5_000_000):
        assert piped(["order", "-"], content, tmp_path) == said(["order", "-"], content, tmp_path)


@pytest.mark.parametrize("verb", ["check", "order", "motion", "other"])
def test_the_answer_is_that_of_the_file(verb, tmp_path):
    code, out, _ = said([verb, "-"], PICKUP.read_bytes(), tmp_path)
    assert code == 0
    assert out == said([verb, str(PICKUP)], b"", tmp_path)[1]


def test_what_a_corner_names_lies_in_the_working_folder(tmp_path):
    content = (CORNERS / "scanned-well-rear.toml").read_bytes()
    assert said(["order", "-"], content, CORNERS)[0] == 0
    code, _, err = said(["order", "-"], content, tmp_path)
    assert code == 2
    assert err.startswith("standard input:")
    assert "scanned-well.ply" in err


def test_one_side_of_a_comparison(tmp_path):
    code, out, _ = said(["compare", "-", str(PICKUP)], PICKUP.read_bytes(), tmp_path)
    assert code == 0
    assert "before: Orchard half-ton" in out
    code, out, err = said(["compare", "-", "-"], PICKUP.read_bytes(), tmp_path)
    assert (code, out) == (2, "")
    assert "only one of the two" in err


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (b"", "the file is empty"),
        (b"\xff\xfe\x00", "UTF-16"),
        (b"title = \xc3(", "not UTF-8"),
        (b"corner = 3", "standard input:1  tire"),
        (b"x" * 5_000_000, "larger than 4 MB"),
    ],
)
def test_a_refusal_says_where_it_came_from(content, words, tmp_path):
    code, out, err = said(["order", "-"], content, tmp_path)
    assert (code, out) == (2, "")
    assert err.startswith("standard input")
    assert words in err


def test_every_verb_that_takes_a_corner_says_so():
    import importlib
    import inspect
    import typing

    for verb, (module, _) in VERBS.items():
        command = importlib.import_module(f"clearance_cli.{module}").command
        hints = typing.get_type_hints(command, include_extras=True)
        if "file" in inspect.signature(command).parameters:
            assert "standard input" in hints["file"].__metadata__[0].help, verb
