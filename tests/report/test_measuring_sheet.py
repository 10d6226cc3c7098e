"""The printed sheet: every letter on it, at true scale, nothing off the paper."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import numpy as np
import pytest
from share import share

from clearance.door.measuring import sheet_files
from clearance.errors import InputError
from clearance.report.drawn import VIEWS, view_of
from clearance.report.forms import CARRIERS, form_of
from clearance.report.measuring_sheet import measuring_sheet

needs_poppler = pytest.mark.skipif(shutil.which("pdftoppm") is None, reason="poppler-utils is not installed")
FORMS = [
    *(form_of(name) for name in CARRIERS),
    form_of("rear-leaf", "standing"),
    form_of("front-strut", "links", "strut"),
    form_of("front-leaf", "links", "solid-steer-axle"),
    form_of("rear-twin-beam", "links", "table"),
]
"""One sheet for whatever carries a wheel, and the fullest and the barest of the other depths."""
PAPERS = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def as_text(content: bytes, folder: Path) -> str:
    (folder / "sheet.pdf").write_bytes(content)
    text = subprocess.run(["pdftotext", "-layout", str(folder / "sheet.pdf"), "-"], capture_output=True, check=True)
    return text.stdout.decode()


def as_grey(content: bytes, folder: Path, page: int, dots: int = 254) -> np.ndarray:
    """A page as rows of grey, so many dots per inch."""
    from PIL import Image

    (folder / "sheet.pdf").write_bytes(content)
    stem = str(folder / "page")
    where = ["-f", str(page), "-l", str(page), "-r", str(dots), "-gray", "-png", "-singlefile"]
    subprocess.run(["pdftoppm", *where, str(folder / "sheet.pdf"), stem], check=True)
    with Image.open(f"{stem}.png") as image:
        return np.asarray(image.convert("L"))


@needs_poppler
@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_every_letter_and_its_name_is_printed(form, tmp_path):
    text = " ".join(as_text(measuring_sheet(form), tmp_path).split())
    for letter in form.letters:
        # the words of a name in two lines have the boxes' "left" and "right", or their unit, between them
        words = map(re.escape, letter.name.split(":")[0].split())
        assert re.search(r" (?:\S+ ){0,2}?".join(words), text), letter.name
        assert re.search(rf"(?<!\w){letter.letter}(?!\w)", text)


@needs_poppler
@pytest.mark.parametrize("paper", PAPERS)
def test_a_bar_of_100_mm_is_100_mm_on_the_paper(paper, tmp_path):
    """At 254 dots per inch a dot is 0.1 mm: the bar is the longest dark run of its row, 1000 dots."""
    grey = as_grey(measuring_sheet(form_of("rear-links"), paper=paper), tmp_path, 2)
    low = grey[-200:, :1300] < 128
    longest = max(_longest_run(row) for row in low)
    # half the line's round ends on either side: 0.4 mm wide, so 4 dots more
    assert longest == pytest.approx(1000, abs=6)


def _longest_run(row: np.ndarray) -> int:
    edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
    return int(max(edges[1::2] - edges[::2], default=0))


@needs_poppler
@pytest.mark.parametrize(
    ("form", "paper"),
    share([pytest.param(form, paper, id=f"{form.name}-{paper}") for form in FORMS for paper in PAPERS], 7),
)
def test_nothing_runs_off_the_paper(form, paper, tmp_path):
    content = measuring_sheet(form, paper=paper)
    pages = len(re.findall(rb"/Type\s*/Page\b(?!s)", content))
    for page in range(1, pages + 1):
        grey = as_grey(content, tmp_path, page, 127)  # five dots a millimetre
        assert grey.shape == pytest.approx((PAPERS[paper][1] * 5, PAPERS[paper][0] * 5), abs=2)
        edge = np.concatenate([grey[:30].ravel(), grey[-30:].ravel(), grey[:, :30].ravel(), grey[:, -30:].ravel()])
        assert edge.min() > 250, f"page {page} has ink within 6 mm of its edge"


def test_the_same_sheet_is_the_same_bytes():
    assert measuring_sheet(form_of("front-strut"), unit="mm") == measuring_sheet(form_of("front-strut"), unit="mm")


@pytest.mark.parametrize(
    "wrong",
    [{"kind": "boat"}, {"depth": "deep"}, {"depth": "links", "links": "strut"}, {"unit": "furlong"}, {"paper": "a5"}],
)
def test_what_is_not_known_is_refused_with_what_is(wrong):
    with pytest.raises(InputError, match="Write one of"):
        sheet_files(**({"kind": "rear-links"} | wrong))


def test_every_mark_stands_on_a_view_that_is_drawn():
    for form in FORMS:
        for letter in form.letters:
            assert {mark.view for mark in letter.marks} <= set(VIEWS)


@pytest.mark.parametrize("view", VIEWS)
def test_a_view_shows_just_the_letters_of_its_sheet(view):
    for form in FORMS:
        shown = {mark.text for mark in view_of(form, view, 0.1).marks if getattr(mark, "bold", False)}
        assert shown == {x.letter for x in form.letters if any(mark.view == view for mark in x.marks)}
