"""What the exit code means, whatever becomes of the words: 1 is "hits" and nothing else."""

from __future__ import annotations

import os
import subprocess
import sys
import time
from pathlib import Path

import pytest
from few import FEW, HIT
from hostile.commands import CORNERS, clearance, command, patience, traced

CLEAR, HITS = CORNERS / "orchard-pickup-rear.toml", CORNERS / "heron-roadster-front.toml"
FULL = Path("/dev/full")
linux = pytest.mark.skipif(not FULL.exists(), reason="this system has no device that is always full")


def through(shell: str, *words: str | Path, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[bytes]:
    """Through a shell, `$C` being the command."""
    line = shell.replace("$C", " ".join(f"'{w}'" for w in [*command(), *map(str, words)]))
    return subprocess.run(
        ["bash", "-c", line],
        capture_output=True,
        timeout=20 * patience(),
        env={**os.environ, **(env or {})},
        check=False,
    )


@pytest.fixture(scope="module")
def few(tmp_path_factory):
    """What streams and codes do does not depend on how many parts there are: a corner that clears, and one that hits,
    by their exit codes."""
    folder = tmp_path_factory.mktemp("few")
    corners = {0: folder / "clears.toml", 1: folder / "hits.toml"}
    for code, text in ((0, FEW), (1, HIT)):
        corners[code].write_text(text, encoding="utf-8")
    return corners


def test_a_reader_who_leaves_changes_nothing(few):
    """`| head -1`: the reader goes after a line, or before the first one."""
    for reader, code in (("head -1", 0), ("head -1", 1), ("true", 0)):
        done = through(f"$C | {reader}; exit ${{PIPESTATUS[0]}}", "check", few[code])
        assert done.returncode == code, done.stderr
        assert b"Broken" not in done.stderr
        assert b"Traceback" not in done.stderr


@linux
@pytest.mark.parametrize("code", [0, 1])
def test_an_answer_that_cannot_be_handed_over_is_none(code, few):
    done = through("$C > /dev/full", "check", few[code])
    assert done.returncode == 2
    assert b"could not be written" in done.stderr
    assert b"Traceback" not in done.stderr


@linux
def test_where_nobody_hears_the_progress_the_answer_stands(few):
    for code, corner in few.items():
        done = through("$C 2> /dev/full", "check", corner)
        assert done.returncode == code
        assert done.stdout.strip()


@linux
def test_a_refusal_stays_a_refusal_where_it_cannot_be_said():
    for shell in ("$C 2> /dev/full", "$C > /dev/full 2>&1", "$C 2>&-", "$C >&- 2>&-", "$C <&- >&- 2>&-"):
        assert through(shell, "check", "nowhere.toml").returncode == 2, shell


def test_a_closed_stream_is_not_the_next_file_that_is_opened(few, tmp_path):
    """With stdout closed, the first file opened would get its number, and the answer would go into that file."""
    done = through("$C >&- 2>&-", "check", few[0], "--out", tmp_path / "out", "--slack", "5 mm")
    assert done.returncode == 0
    assert (tmp_path / "out" / "report.html").read_bytes().startswith(b"<!doctype html>")
    assert (tmp_path / "out" / "findings.json").read_bytes().startswith(b"{")


def test_every_end_of_a_closed_pipe_keeps_the_code(few):
    for shell, code in (("$C >&-", 1), ("$C <&-", 0), ("$C >&- 2>&-", 0)):
        assert through(shell, "check", few[code]).returncode == code, shell


def test_a_fault_of_our_own_is_no_answer_and_asks_to_be_reported(tmp_path, monkeypatch):
    """Whatever an inner part raises, it is one message and 2; the whole of it only where it is asked for."""
    import clearance_cli.order as verb
    import clearance_cli.out as out
    from clearance_cli.fault import TRACE
    from clearance_cli.main import run

    said: list[str] = []
    monkeypatch.setattr(out, "note", said.append)

    for fault in (
        ZeroDivisionError("x"),
        RecursionError(),
        SystemExit(0),
        AssertionError(),
        KeyError("a"),
        OSError(5, "x"),
    ):

        def broken(_card, fault=fault):
            raise fault

        monkeypatch.setattr(verb, "show", broken)
        said.clear()
        assert run(["order", str(CLEAR), "--json"]) == 2
        assert len(said) == 1
        assert "report it" in said[0]
        assert TRACE in said[0]
        assert type(fault).__name__ not in said[0]
    place = tmp_path / "fault.txt"
    monkeypatch.setenv(TRACE, str(place))
    assert run(["order", str(CLEAR), "--json"]) == 2
    assert "Traceback" in place.read_text()
    assert str(place) in said[-1]


@pytest.mark.parametrize("name", ["SIGINT", "SIGTERM", pytest.param("SIGHUP", marks=pytest.mark.slow)])
def test_a_stop_at_any_moment_is_one_word_and_leaves_nothing(name, tmp_path):
    """From the first hundredth of a second, while libraries are loading, to the writing of files."""
    import signal

    number = getattr(signal, name)
    for wait in (0.06, 0.15, 0.4, 1.5):
        out = tmp_path / f"{name}-{wait}"
        started = subprocess.Popen(
            [*command(), "check", str(HITS), "--out", str(out), "--slack", "2 mm"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        )
        time.sleep(wait)
        started.send_signal(number)
        _, err = started.communicate(timeout=20 * patience())
        # before the first of our lines Python is still starting, and what it says then is its own
        assert b"Traceback" not in err or b"clearance_cli" not in err, (wait, err)
        assert started.returncode in (128 + number, -number, 1), (wait, err)
        assert_whole(out)


def assert_whole(folder: Path) -> None:
    """Everything or nothing, and no trace of what was begun."""
    if not folder.exists():
        return
    names = sorted(os.listdir(folder))
    assert not [name for name in names if name.endswith(".part")], names
    assert names == [] or len([name for name in names if not name.startswith(".")]) == 7, names


def test_help_and_version_are_answers():
    assert clearance("--help").code == 0
    assert clearance("--version").out.startswith(b"clearance ")
    assert clearance("check", "--help").code == 0


@pytest.mark.parametrize(
    "words",
    [
        ["chek"], ["check"], ["check", "a", "b"], ["check", str(CLEAR), "--nope"], ["tire"], ["tire", "\x1b[31mred"],
        ["check", str(CLEAR), "--work", "9" * 5000], ["check", str(CLEAR), "--work", "\u00b2"], ["-x"],
        ["check", str(CLEAR), "--tolerance", "9" * 400 + " mm"], ["window", str(CLEAR), "--width", "9" * 400 + " in"],
        ["largest", str(CLEAR), "--enough", "-1"], ["budget", str(CLEAR), "--rechecks", "1e9"],
        ["gauge", str(CLEAR), "--bed", "9" * 400 + "x1x1"], ["gauge", str(CLEAR), "--flat", "rings", "--sheet", "1x1"],
        ["gauge", str(CLEAR), "--flat", "rings", "--sheet", "9" * 300 + "x9"],
        ["envelope", str(CLEAR), "--every", "0 mm"], ["envelope", str(CLEAR), "--tub-from", "9" * 30 + " mm"],
        ["motion", str(CLEAR), "--step", "nan mm"], ["scan", str(CORNERS / "scanned-well.ply"), "--tire", "1e9 mm"],
        ["scan", str(CORNERS / "scanned-well.ply"), "--place", "[" * 5000],
        ["scan", str(CORNERS / "scanned-well.ply"), "--unit", "m", "--place", "{ hub = [1e400, 0, 0], up = '+z' }"],
        ["scan", str(CORNERS / "scanned-well.ply"), "--unit", "m", "--place",
         "{ bolt_holes = [[0, 0, 0], [1, 0, 0], [0, 1, 0]], bolt_circle = '\u00b2 x 4 in', up = '+z', ahead = '+x' }"],
        ["scan", str(CORNERS / "scanned-well.ply"), "--scale", "{ from = [0,0,0], to = [0,0,0], distance = '1 mm' }"],
        ["inspect", str(CLEAR), "--wheel", "name=a,width=" + "9" * 400 + " mm"],
        ["new", "rear-links", "--no-ask", "--set", "G=" + "9" * 400 + " in"],
        ["new", "rear-links", "--title", "a\nb", "--no-ask"],
        ["tire", "9" * 5000], ["tire", "235/75R15", "--rim", "9" * 400 + " in"],
    ],
    ids=lambda words: " ".join(words)[:60].encode("ascii", "backslashreplace").decode(),
)  # fmt: skip
def test_a_wrong_word_is_one_refusal(words, tmp_path, monkeypatch, capsys):
    from clearance_cli.main import run

    monkeypatch.chdir(tmp_path)
    code = run(words)
    printed = capsys.readouterr()
    assert code == 2, printed
    assert printed.out == ""
    assert "a fault in clearance" not in printed.err
    assert "\x1b" not in printed.err
    assert max(map(len, printed.err.splitlines())) < 700
    assert list(tmp_path.iterdir()) == []


def test_python_m_is_the_same_command(tmp_path):
    done = subprocess.run(
        [sys.executable, "-m", "clearance_cli.main", "check", str(tmp_path / "none.toml")],
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    assert b"no such file" in done.stderr


def test_a_busy_disk_of_nothing(tmp_path):
    said = clearance("check", tmp_path)
    assert said.code == 2
    assert not traced(said)
