"""The page that asks what carries the wheel: a picture for each, on either paper, nothing over another."""

from __future__ import annotations

import itertools

import pytest
from clearance_cli.main import run
from export.test_pdf import letters_mm

from clearance.export.papers import PAPERS
from clearance.export.pdf import LEAST_LETTER_MM
from clearance.export.writing import width_mm
from clearance.geom.drawing import Text
from clearance.report.carried import HIGH_MM, ROW_MM, WIDE_MM, _captioned, carriers_page, picture_of
from clearance.report.forms import CARRIERS


@pytest.mark.parametrize("carrier", CARRIERS.values(), ids=lambda carrier: carrier.name)
def test_a_picture_stays_in_its_frame_and_its_words_below_it(carrier):
    low_x, low_y, high_x, high_y = picture_of(carrier.name).bounds
    assert (low_x, low_y) == (0.0, 0.0)
    assert high_x <= WIDE_MM
    assert high_y <= HIGH_MM
    words = [mark for mark in _captioned(carrier).marks if isinstance(mark, Text) and mark.at[1] < 0]
    assert len(words) >= 2
    for mark in words:
        assert width_mm(mark.text, mark.height_mm, bold=mark.bold) <= WIDE_MM
        assert mark.at[1] > HIGH_MM - ROW_MM  # above the next row's frame


def test_no_two_carriers_look_the_same():
    """But for the wishbones of front and rear, which are told apart by where they are."""
    drawn = {name: repr(picture_of(name)).replace("from ahead", "from behind") for name in CARRIERS}
    same = [pair for pair in itertools.combinations(CARRIERS, 2) if drawn[pair[0]] == drawn[pair[1]]]
    assert same == [("rear-wishbones", "front-wishbones")]


@pytest.mark.parametrize("paper", PAPERS)
def test_no_letter_on_the_page_is_smaller_than_a_drawing_may_have(paper):
    """ISO 3098: 1.8 mm is its least height; read back from the file."""
    assert min(letters_mm(carriers_page(paper))) >= LEAST_LETTER_MM - 0.01


@pytest.mark.parametrize("paper", PAPERS)
def test_measure_without_a_kind_asks_which(paper, tmp_path, capsys):
    assert run(["measure", "--paper", paper, "--out", str(tmp_path)]) in (0, None)
    out = capsys.readouterr().out
    for name, carrier in CARRIERS.items():
        assert f"{name}: {carrier.look}" in out
    assert (tmp_path / "carriers.pdf").read_bytes().startswith(b"%PDF")
