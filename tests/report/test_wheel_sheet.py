"""The sheet for wheels in their boxes: a page a wheel, every letter on it, no word over another; and its CSV."""

import csv
import io
import re
import shutil
import subprocess

import pytest

from clearance.report.forms import form_of
from clearance.report.measuring_sheet import measuring_sheet
from clearance.report.wheel_sheet import wheel_csv, wheel_sheet
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.box_form import COLUMNS, READINGS, TOOLS
from clearance.wheel.fasteners import Thread
from clearance.wheel.inspection import Order

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler-utils is not installed")
LONG = "A title that goes on as long as a title may, for the left rear wheel of an old truck with a box of its own"


def order(**changes):
    base = {
        "width_mm": 7 * 25.4,
        "bead_seat_diameter_mm": 380.2,
        "flange_diameter_mm": 415.2,
        "overall_width_mm": 8 * 25.4,
        "backspace_mm": 95.25,
        "bolt_circle": BoltCircle(studs=5, diameter_mm=114.3),
        "center_bore_mm": 83.0,
        "lug_seat": "60 deg cone",
        "thread": Thread.parse("M12x1.5"),
        "quantity": 3,
    }
    return Order(**(base | changes))


def words_of(content, folder, page=1):
    """Every printed word of a page and its box (left, top, right, bottom) in mm, as poppler finds them."""
    (folder / "sheet.pdf").write_bytes(content)
    told = ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), str(folder / "sheet.pdf"), "-"]
    text = subprocess.run(told, capture_output=True, check=True).stdout.decode()
    size = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', text)
    found = re.findall(r'<word xMin="([\d.]+)" yMin="([\d.]+)" xMax="([\d.]+)" yMax="([\d.]+)">(.*?)</word>', text)
    mm = 25.4 / 72
    return [float(side) * mm for side in size.groups()], [
        (word, tuple(float(side) * mm for side in box)) for *box, word in found
    ]


@needs_poppler
@pytest.mark.parametrize("paper", ["a4", "letter"])
@pytest.mark.parametrize("unit", ["in", "mm"])
@pytest.mark.parametrize("changes", [{}, {"lug_seat": "60 deg cone with a washer of its own, as the nut has it"},
                                     {"bolt_circle": None, "center_bore_mm": None, "thread": None}])  # fmt: skip
def test_no_word_stands_over_another_or_off_the_paper(paper, unit, changes, tmp_path):
    (width, height), words = words_of(wheel_sheet(order(**changes), title=LONG, unit=unit, paper=paper), tmp_path)
    assert len(words) > 150
    for word, (left, top, right, bottom) in words:
        assert min(left, top, width - right, height - bottom) > 6, word
    for place, (word, one) in enumerate(words):
        for other_word, other in words[place + 1 :]:
            across = min(one[2], other[2]) - max(one[0], other[0])
            # a font's box is taller than its letters: half of a line of small words may be shared with the next
            down = min(one[3], other[3]) - max(one[1], other[1])
            assert across < 0.2 or down < 0.5 * min(one[3] - one[1], other[3] - other[1]), (word, other_word)


@needs_poppler
def test_every_wheel_has_its_page_with_what_was_ordered(tmp_path):
    """3 3/4 in is 95.25 mm; the seat 380.2 mm across is 1194.4 round; 5 x 114.3 is 108.7 from hole to hole."""
    content = wheel_sheet(order(), title="Plum wagon", unit="in")
    for page in (1, 2, 3):
        _, words = words_of(content, tmp_path, page)
        text = " ".join(word for word, _ in words)
        assert f"Wheel {page} of 3: Plum wagon" in text
        for letter in [*(one.letter for one in READINGS), *(tool.letter for tool in TOOLS)]:
            assert re.search(rf"(?<!\w){letter}(?!\w)", text), letter
        for said in ("3 3/4 in ± 0.059", "1194.4 mm ± 3.1", "108.7 mm ± 0.3", "60 deg cone", "at least 8.0"):
            assert said in text, said
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", content)) == 3


def test_the_blank_has_a_heading_in_words_a_row_of_how_and_a_row_for_each_wheel():
    heading, how, *wheels = csv.reader(io.StringIO(wheel_csv(order(), unit="in").decode()))
    assert heading[:2] == ["wheel", "F between the flanges (in)"]
    assert len(heading) == len(how) == 1 + len(COLUMNS)
    assert how[0] == "how to read it"
    assert how[1].endswith("Ordered: 7 in ± 0.059.")
    assert [row[0] for row in wheels] == ["wheel 1", "wheel 2", "wheel 3"]
    assert not any(cell for row in wheels for cell in row[1:])


def test_the_same_order_is_the_same_bytes():
    assert wheel_sheet(order(), title="one", unit="mm") == wheel_sheet(order(), title="one", unit="mm")


@needs_poppler
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_word_of_the_fullest_measuring_sheet_stands_over_another(paper, tmp_path):
    """Its boxes for left and right leave the names little room; the longest names are those of the links."""
    content = measuring_sheet(form_of("front-leaf", "links", "solid-steer-axle"), paper=paper)
    for page in range(2, 7):
        _, words = words_of(content, tmp_path, page)
        assert len(words) > 50
        for place, (word, one) in enumerate(words):
            for other_word, other in words[place + 1 :]:
                across = min(one[2], other[2]) - max(one[0], other[0])
                down = min(one[3], other[3]) - max(one[1], other[1])
                assert across < 0.2 or down < 0.5 * min(one[3] - one[1], other[3] - other[1]), (word, other_word)
