"""The whole interview in a terminal of 80 columns, two kinds of corner: no line longer, no word or number broken."""

from __future__ import annotations

import io
import re
import sys
from itertools import pairwise

import pytest

from clearance.report.forms import form_of

COMMAND = [sys.executable, "-m", "clearance_cli.main", "new"]
LEAF = {
    "A": "235/75R15", "B": "28 7/8", "F": "7", "G": "3 3/4", "H": "5 x 4.5 in", "J": "3 1/2", "K": "3", "K1": "60",
    "R": "7", "S": "6 1/2", "T": "17", "T1": "17", "V": "21", "X": "19", "X2": "3/4", "Y": "6 1/2", "Z": "9", "Z1": "3",
    "Z2": "8", "AC": "9, -4, 8",
}  # fmt: skip
STRUT = {
    "A": "205/55R16", "B": "24 7/8", "C": "8 1/2", "D": "", "E": "", "F": "6 1/2", "G": "5 1/2", "H": "", "J": "3",
    "K": "3 1/2", "L": "36", "M": "31", "N": "", "P": "", "Q": "", "R": "11", "R1": "", "S": "4", "T": "15 1/2",
    "T1": "15 1/2", "U": "", "U1": "", "V": "17 1/2", "W": "", "X": "17", "X1": "", "X2": "", "X3": "", "Y": "7 1/2",
    "Y1": "3", "Z": "", "Z1": "", "Z2": "",
}  # fmt: skip
SITTINGS = {"rear-leaf": (LEAF, "rear-left", "AC"), "front-strut": (STRUT, "front-right", "")}


def heard_in_80(folder, kind):
    """What the terminal showed, each letter first asked how it is taken; the exit code; and what was asked."""
    pexpect = pytest.importorskip("pexpect", reason="pexpect is not installed")
    answers, corner, near = SITTINGS[kind]
    child = pexpect.spawn(
        COMMAND[0], [*COMMAND[1:], kind, "--out", str(folder / "c.toml")], encoding="utf-8", timeout=30,
        dimensions=(40, 80),
    )  # fmt: skip
    child.logfile_read = log = io.StringIO()
    replies = ["in", "Fen wagon", corner]
    for reply in replies:
        child.expect(": $")
        child.sendline(reply)
    asked = set()
    while True:
        # a question may stand in two lines, its letter at the head of the first
        child.expect([r": $", pexpect.EOF])
        if child.after is pexpect.EOF:
            break
        words = child.before.replace("\r", "").split("\n")
        child.sendline(reply_to(words, answers, near, asked))
    child.wait()
    return log.getvalue(), child.exitstatus, asked


def reply_to(words, answers, near, asked):
    last = words[-1]
    if last.startswith("Near"):
        return near
    if last.startswith("yes or no"):
        return "yes"
    heads = [found[1] for row in words if (found := re.match(r"^\s?([A-Z]{1,2}\d?)  \S", row))]
    letter = heads[-1]
    if "other side" in " ".join(words[-3:]):
        return "same" if letter not in ("L", "M") else "30"
    if letter not in asked:
        asked.add(letter)
        return "?"
    # an odd answer is asked once more, and Enter keeps it
    return answers.get(letter, "") if (letter, "said") not in asked and not asked.add((letter, "said")) else ""


@pytest.mark.parametrize("kind", SITTINGS)
def test_no_line_is_longer_than_the_terminal_and_nothing_is_broken(kind, tmp_path):
    heard, code, asked = heard_in_80(tmp_path, kind)
    assert code == 0, heard[-2000:]
    rows = heard.replace("\r", "").split("\n")
    assert len(rows) > 100
    # a folder's name is a word of its own, however long it is
    long = [row for row in rows if len(row) > 80 and str(tmp_path) not in row]
    assert long == []
    for first, second in pairwise(rows):
        # a fraction's whole inches at the end of one line and the rest on the next, or a number and its unit
        assert not (re.search(r"\d$", first) and re.match(r"\s+(\d+/\d+|in\b|mm\b|deg\b)", second)), (first, second)
        assert not first.rstrip().endswith("-") or second.strip() == "" or first.strip() == "-", (first, second)
    # every word of every name and how was shown whole
    shown = set(re.findall(r"\S+", " ".join(rows)))
    for letter in form_of(kind).letters:
        if letter.letter in asked:
            lost = [word for word in letter.how.split() if word not in shown]
            assert lost == [], letter.letter
    assert (tmp_path / "c.toml").exists()
