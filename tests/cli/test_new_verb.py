"""`clearance new`: the interview through a pseudo-terminal, and the same without one. The file written loads."""

from __future__ import annotations

import contextlib
import io
import os
import subprocess
import sys
import unittest.mock

import pytest
from clearance_cli import main

from clearance.description.load import load
from clearance.report.forms import form_of

COMMAND = [sys.executable, "-m", "clearance_cli.main", "new"]
ANSWERS = {
    "A": "235/75R15", "B": "28 7/8", "C": "", "D": "", "E": "", "F": "7", "G": "3 3/4", "H": "5 x 4.5 in", "J": "3 1/2",
    "K": "3", "K1": "60", "K2": "", "R": "7", "R1": "", "S": "6 1/2", "T": "17", "T1": "17", "U": "", "U1": "",
    "V": "21", "W": "", "X": "19", "X1": "",
    "X2": "3/4", "X3": "", "Y": "6 1/2", "Z": "9", "Z1": "3", "Z2": "8", "AC": "9, -4, 8",
}  # fmt: skip


ASKED = [
    letter.letter
    for letter in form_of("rear-leaf").asked({key: text for key, text in ANSWERS.items() if text and key != "AC"})
]
"""What a person who answers so is asked, letter by letter; what else stands near comes after."""


def run(*arguments: str) -> subprocess.CompletedProcess[str]:
    """The verb where nobody sits at a terminal, in this process."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.ExitStack() as stack:
        nobody = stack.enter_context(open(os.devnull, encoding="utf-8"))
        stack.enter_context(unittest.mock.patch.object(sys, "stdin", nobody))
        stack.enter_context(contextlib.redirect_stdout(out))
        stack.enter_context(contextlib.redirect_stderr(err))
        code = main.run(["new", *arguments])
    return subprocess.CompletedProcess(["new", *arguments], code, out.getvalue(), err.getvalue())


def sitting(*arguments: str):
    pexpect = pytest.importorskip("pexpect", reason="pexpect is not installed")
    if not os.path.exists("/dev/ptmx"):
        pytest.skip("this machine has no pseudo-terminals")
    return pexpect.spawn(COMMAND[0], [*COMMAND[1:], *arguments], encoding="utf-8", timeout=30, dimensions=(40, 200))


def ask_for(child, letter: str) -> None:
    child.expect(rf"(?m)^\s?{letter}  [^\r\n]*: ")


def answer_from(child, letters: list[str], answers: dict[str, str]) -> None:
    for letter in letters:
        ask_for(child, letter)
        child.sendline(answers[letter])


def start(child, *, title: str = "Fen wagon, rear left") -> None:
    child.expect("only a jack holds")
    child.expect("tape marked in .*: ")
    child.sendline("in")
    child.expect("name for this corner: ")
    child.sendline(title)
    child.expect("Which corner .*: ")
    child.sendline("rear-left")


def test_the_interview_asks_every_letter_of_the_sheet_in_order_and_writes_a_file_that_loads(tmp_path):
    out = tmp_path / "fen.toml"
    child = sitting("rear-leaf", "--out", str(out))
    start(child)
    answer_from(child, ASKED, ANSWERS)
    child.expect("stands close")
    child.expect("Near: ")
    child.sendline("AC")
    answer_from(child, ["AC"], ANSWERS)
    child.expect("yes or no: ")
    child.sendline("no")
    child.expect("written")
    child.wait()
    assert child.exitstatus == 0
    mockup = load(out)
    assert mockup.title == "Fen wagon, rear left"
    assert mockup.wheel.backspace_mm == pytest.approx(3.75 * 25.4)
    assert mockup.tire.overall_diameter_mm == pytest.approx(28.875 * 25.4)
    assert mockup.suspension.cycle.bump_mm == pytest.approx((-3 * 25.4, 3.5 * 25.4))
    assert {"fender lip", "leaf spring", "frame rail", "well inner wall"} <= {part.name for part in mockup.parts}
    assert mockup.part("leaf spring").rides_on == "axle"


def test_a_slip_is_asked_again_and_a_contradiction_is_told(tmp_path):
    child = sitting("rear-leaf", "--out", str(tmp_path / "a.toml"))
    start(child)
    answer_from(child, ["A", "B", "C"], ANSWERS)
    ask_for(child, "F")
    child.sendline("7 mm")
    child.expect('no road vehicle passes.*Did you mean "7 in"')
    ask_for(child, "F")
    child.sendline("?")
    child.expect("usual mistake")
    ask_for(child, "F")
    child.sendline("7")
    child.expect("177.8 mm")
    ask_for(child, "G")
    child.sendline("12")
    child.expect("more than the whole wheel.*again")
    ask_for(child, "G")
    child.sendline("")
    child.expect("needed")
    ask_for(child, "G")
    child.sendline("1/2")
    child.expect("unusual")
    ask_for(child, "G")
    child.sendline("back")
    ask_for(child, "F")
    child.sendline("quit")
    child.expect("Kept in")
    child.wait()
    assert child.exitstatus == 0
    assert not (tmp_path / "a.toml").exists()


def test_it_can_be_left_and_taken_up_again(tmp_path):
    out = tmp_path / "b.toml"
    letters = ASKED
    first = sitting("rear-leaf", "--out", str(out))
    start(first)
    answer_from(first, letters[:9], ANSWERS)
    ask_for(first, letters[9])
    first.sendcontrol("c")
    first.expect("Kept in")
    first.wait()
    second = sitting("--out", str(out), "--unit", "in")
    second.expect("Read .* letters answered")
    for letter in letters:
        ask_for(second, letter)
        kept = letter in letters[:9] and ANSWERS[letter]
        second.sendline("" if kept else ANSWERS[letter])
    second.expect("Near: ")
    second.sendline("")
    second.expect("yes or no: ")
    second.sendline("yes")
    for letter in ("J", "K", "R", "S", "T", "T1"):
        second.expect(rf"(?m)^\s?{letter}  other side[^\r\n]*: ")
        second.sendline({"R": "6 3/4", "T1": "quit"}.get(letter, "same"))
    second.expect("Kept in")
    second.wait()
    third = sitting("--out", str(out), "--unit", "in")
    for letter in letters:
        ask_for(third, letter)
        third.sendline("")
    third.expect("Near: ")
    third.sendline("")
    third.expect("yes or no: ")
    third.sendline("yes")
    for letter in ("J", "K", "R", "S", "T"):
        third.expect(rf"(?m)^\s?{letter}  other side[^\r\n]*\[[^\r\n]*: ")
        third.sendline("")
    third.expect(r"T1  other side[^\r\n]*: ")
    third.sendline("same")
    while third.expect([r"other side[^\r\n]*: ", "the other side as it was measured"]) == 0:
        third.sendline("")
    third.expect("Read it through")
    third.wait()
    assert load(tmp_path / "b-rear-right.toml").right_hand
    assert load(out).wheel.backspace_mm == pytest.approx(3.75 * 25.4)


def test_flags_alone_write_the_same_corner_without_a_terminal(tmp_path):
    out = tmp_path / "c.toml"
    flags = [word for key, text in ANSWERS.items() if text for word in ("--set", f"{key}={text}")]
    done = run("rear-leaf", "--unit", "in", "--title", "Fen", "--corner", "rear-left", *flags, "--out", str(out))
    assert done.returncode == 0, done.stderr
    assert load(out).part("fender lip").kind == "lip"


def test_a_filled_csv_gives_the_file_again(tmp_path):
    first, second = tmp_path / "d.toml", tmp_path / "e.toml"
    assert run("--from", "pickup-rear", "--no-ask", "--out", str(first)).returncode == 0
    filled = tmp_path / "d.answers.csv"
    done = run("--answers", str(filled), "--out", str(second))
    assert done.returncode == 0, done.stderr
    assert first.read_bytes() == second.read_bytes()


@pytest.mark.parametrize("example", ["pickup-rear", "roadster-front", "hatch-rear"])
def test_every_example_writes_a_file_that_loads_and_every_line_says_its_letter(example, tmp_path):
    out = tmp_path / "x.toml"
    done = run("--from", example, "--no-ask", "--out", str(out))
    assert done.returncode == 0, done.stderr
    mockup = load(out)
    assert mockup.parts
    text = out.read_text()
    for key in ("backspace", "bump", "droop", "radius"):
        row = next(line for line in text.splitlines() if line.startswith(f"{key} = "))
        assert "# " in row


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["--no-ask"], "which kind of corner"),
        (["boat", "--no-ask"], "not a kind of corner"),
        (["rear-links"], "no terminal"),
        (["rear-links", "--no-ask"], "still needed"),
        (["rear-links", "--set", "G=4"], "has no unit"),
        (["rear-links", "--set", "QQ=4 in"], "Write LETTER=VALUE"),
        (["--from", "spaceship", "--no-ask"], "no example"),
        (["--from", "pickup-rear", "--no-ask", "--set", "G=9 in"], "more than the whole wheel"),
        (["front-strut", "--from", "pickup-rear", "--no-ask"], "sheet for rear-leaf"),
    ],
)
def test_what_cannot_be_is_refused_in_one_message_and_nothing_is_written(arguments, words, tmp_path):
    done = run(*arguments, "--out", str(tmp_path / "z.toml"))
    assert done.returncode == 2
    assert words in done.stderr
    assert "Traceback" not in done.stderr
    assert not (tmp_path / "z.toml").exists()


def test_a_corner_file_that_is_there_is_not_written_over(tmp_path):
    out = tmp_path / "mine.toml"
    out.write_text("mine")
    assert run("--from", "pickup-rear", "--no-ask", "--out", str(out)).returncode == 2
    assert out.read_text() == "mine"
    assert run("--from", "pickup-rear", "--no-ask", "--overwrite", "--out", str(out)).returncode == 0
    assert load(out).title


def test_measure_writes_the_sheet_and_its_csv(tmp_path):
    done = subprocess.run(
        [*COMMAND[:-1], "measure", "front-strut", "--paper", "A4", "--out", str(tmp_path)],
        capture_output=True,
        text=True,
        check=False,
    )
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "measuring-front-strut.pdf").read_bytes().startswith(b"%PDF")
    assert (
        (tmp_path / "measuring-front-strut.csv").read_text().startswith("letter,what,unit,answer,other side,needed\n")
    )
