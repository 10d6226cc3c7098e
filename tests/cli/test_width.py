"""A page fits the terminal: no line is longer than it is wide, and no measure is torn."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import clearance
from clearance.words.fold import folded

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
PICKUP = CORNERS / "orchard-pickup-rear.toml"
MEASURE = re.compile(r"\d+(?:\.\d+)? mm \([^)]*in\)|\d+(?:\.\d+)? (?:mm|deg|kg)\b|\d+ \d+/\d+ in")


@pytest.fixture(scope="module")
def pages():
    corner = clearance.load(PICKUP)
    questions = (
        clearance.check,
        clearance.window,
        clearance.order,
        clearance.motion,
        clearance.other,
        clearance.budget,
    )
    return [*(question(corner).words() for question in questions), clearance.marking("245/45R17 95W").words()]


@pytest.mark.parametrize("width", [60, 80, 100])
def test_every_page_fits_and_says_the_same(width, pages):
    for page in pages:
        shown = folded(page, width)
        assert max(map(len, shown.split("\n"))) <= width
        assert shown.split() == page.split()


@pytest.mark.slow
@pytest.mark.parametrize("name", sorted(path.stem for path in CORNERS.glob("*.toml")))
@pytest.mark.parametrize(
    "question", ["check", "window", "largest", "relief", "least_change", "budget", "other", "order", "motion", "room"]
)
def test_every_answer_of_every_shipped_corner_fits_80_columns(name, question):
    answer = getattr(clearance, question)(clearance.load(CORNERS / f"{name}.toml"))
    shown = folded(answer.words(), 80)
    assert max(map(len, shown.split("\n"))) <= 80


def test_a_check_with_its_files_fits_80_columns_and_tells_of_holes_beside_the_verdict(tmp_path):
    """The scan's holes that the tire can reach stand in its row; what must go follows."""
    checked = clearance.check(clearance.load(CORNERS / "scanned-well-rear.toml"))
    shown = folded(checked.words(), 80)
    assert max(map(len, shown.split("\n"))) <= 80
    row = shown[shown.index("  tight ") : shown.index("Must keep:")]
    assert "a closed hole, 91 x 64 mm at 12 o'clock" in " ".join(row.split())


def test_a_measure_stays_on_its_line(pages):
    for page in pages:
        whole = MEASURE.findall(page)
        assert whole or "turns" in page
        assert MEASURE.findall(folded(page, 80)) == whole


def test_what_fits_is_left_as_it_is(pages):
    for page in pages:
        assert folded(page, 1000) == page


@given(st.text(alphabet="ab 1/2m.()", max_size=200), st.integers(min_value=40, max_value=120))
def test_no_text_is_lost_and_only_what_cannot_be_broken_is_too_long(text, width):
    shown = folded(text, width)
    assert shown.split() == text.split()
    for line in shown.split("\n"):
        assert len(line) <= width or len(line.split()) == 1 or re.search(r"\d +[\d(m]", line) or line.startswith("  ")


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminal")
@pytest.mark.parametrize("columns", [60, 80])
def test_in_a_terminal_no_line_is_wider_than_it(columns):
    pexpect = pytest.importorskip("pexpect", reason="pexpect is not installed")
    words = ["-m", "clearance_cli.main", "check", str(PICKUP)]
    spoken = pexpect.run(f"{sys.executable} {' '.join(words)}", timeout=60, dimensions=(40, columns)).decode()
    answer = spoken[spoken.index("Orchard half-ton") :].replace("\r", "")
    assert max(map(len, answer.split("\n"))) <= columns
    assert "It clears" in answer
