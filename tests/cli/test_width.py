"""A page fits the terminal: no line is longer than it is wide, and no measure is torn."""

from __future__ import annotations

import re
import sys
from pathlib import Path

import pytest
from clearance_cli.main import run
from hostile.test_same_bytes import QUICK, SLOW, laid_out
from hypothesis import given
from hypothesis import strategies as st

import clearance
from clearance.words.fold import folded

CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"
PICKUP = CORNERS / "orchard-pickup-rear.toml"
OTHER = re.compile(r"^\[(load_states|chains|spare_well|duals|coverage)\]", re.MULTILINE)
SHIPPED = sorted(path.stem for path in CORNERS.glob("*.toml"))
WITH_OTHER = [name for name in SHIPPED if OTHER.search((CORNERS / f"{name}.toml").read_text(encoding="utf-8"))]
ASKED = ["check", "window", "largest", "relief", "least_change", "budget", "other", "order", "motion"]
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
@pytest.mark.parametrize(
    ("question", "name"),
    [(asked, name) for asked in ASKED for name in (WITH_OTHER if asked == "other" else SHIPPED)],
)
def test_every_answer_of_every_shipped_corner_fits_80_columns(question, name):
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
    end = " ".join(shown[shown.index("Within reach of the tire") : shown.index("It is tight")].split())
    assert "has 1 hole that was not measured: 91 x 64 mm at 12 o'clock" in end


def test_what_stands_under_a_far_column_comes_in_and_fits():
    """A remark under the fifth column of a table, 90 columns in: it was left as long as it is."""
    far = " " * 90 + "a closed hole, 91 x 64 mm at 12 o'clock, 85 mm ahead of the axle, 396 mm above it, not measured"
    shown = folded(f"  part  gap\n{far}", 80).split("\n")
    assert [len(line) - len(line.lstrip()) for line in shown] == [2, *[8] * (len(shown) - 1)]
    assert max(map(len, shown)) <= 80
    assert " ".join(" ".join(shown[1:]).split()) == far.strip()


CARS = sorted((CORNERS.parent / "cars").glob("*.toml"))
OF_A_CAR = ["check", "window", "largest", "relief", "least-change", "order", "compare", "rotate", "draw"]
CHEAP = [
    ["tire", "245/45R17", "95W"],
    ["scan", "scanned-well.ply", "--unit", "m"],
    ["motion", "heron-roadster-front.toml", "--csv", "motion.csv"],
    ["order", "tern-coupe-rear.toml"],
    ["rotate", "worn.toml"],
    ["inspect", "car.toml", "--measured", "measured.csv"],
    ["gauge", "orchard-pickup-rear.toml", "--flat", "blade", "--out", "out"],
    ["new", "--from", "roadster-front", "--no-ask", "--out", "new.toml"],
]


def widest(words, capsys):
    """The longest line that a verb says, folded for 80 columns, and what it says; an answer, not a refusal."""
    code = run(words)
    spoken = capsys.readouterr()
    assert code in (0, 1, 3), spoken.err
    assert spoken.out.strip()
    return max(folded(spoken.out, 80).split("\n"), key=len)


@pytest.mark.parametrize("words", CHEAP, ids=" ".join)
def test_the_text_of_a_cheap_verb_fits_80_columns(words, tmp_path, capsys, monkeypatch):
    laid_out(tmp_path)
    monkeypatch.chdir(tmp_path)
    line = widest(words, capsys)
    assert len(line) <= 80, line


@pytest.mark.slow
@pytest.mark.parametrize("words", [w for w in QUICK + SLOW if "--json" not in w and w not in CHEAP], ids=" ".join)
def test_the_text_of_every_verb_fits_80_columns(words, tmp_path, capsys, monkeypatch):
    laid_out(tmp_path)
    monkeypatch.chdir(tmp_path)
    if "verify" in words:
        run(["check", words[1], "--certificate", words[2]])
        capsys.readouterr()
    line = widest(words, capsys)
    assert len(line) <= 80, line


@pytest.mark.slow
@pytest.mark.parametrize("car", CARS, ids=lambda p: p.stem)
@pytest.mark.parametrize("verb", OF_A_CAR)
def test_the_text_of_every_question_of_a_shipped_car_fits_80_columns(verb, car, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    line = widest([verb, str(car), *(["--out", "out"] if verb == "draw" else [])], capsys)
    assert len(line) <= 80 or str(car) in line, line


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
