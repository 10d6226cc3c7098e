"""The order card as it is read out: every number that was ordered, in large type, and what is not known of it."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

import clearance
from clearance.answers.spoken_card import exactly, spoken_cards
from clearance.description.car import car_of_text
from clearance.errors import OutputError

needs_poppler = pytest.mark.skipif(shutil.which("pdftotext") is None, reason="needs poppler")

TEXT = """
title = "Slate wagon"
units = "{units}"
[car]
cautions = ["The right well was straightened."]
[tire]
size = "205/65R15 94H"
[wheel]
diameter = "15 in"
width = "6 1/2 in"
backspace = "4 1/4 in"
bolt_circle = "5 x 4.5 in"
center_bore = "70.5 mm"
[load]
corner = "450 kg"
[order]
lug_seat = "60 deg cone"
thread = "1/2-20"
[corner.rear-left.suspension]
kind = "straight"
bump = "40 mm"
droop = "40 mm"
[[corner.rear-left.part]]
name = "inner wall"
kind = "wall"
inboard = "{wall} mm"
required = "13 mm"
[[corner.rear-left.part]]
name = "outer skin"
kind = "plate"
corners = [["600 mm", "140 mm", "-600 mm"], ["600 mm", "140 mm", "600 mm"],
           ["-600 mm", "140 mm", "600 mm"], ["-600 mm", "140 mm", "-600 mm"]]
required = "13 mm"
[corner.rear-right]
like = "rear-left"
"""


def car_of(units="in", wall="165"):
    return car_of_text(TEXT.format(units=units, wall=wall), "wagon.toml")


@pytest.fixture(scope="module")
def answer():
    return clearance.order_car(car_of())


def words_of(content: bytes, folder: Path) -> str:
    (folder / "card.pdf").write_bytes(content)
    return subprocess.run(
        ["pdftotext", "-layout", str(folder / "card.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout


@needs_poppler
@pytest.mark.parametrize("paper", ["A4", "letter"])
def test_every_number_of_the_order_is_on_the_card(paper, answer, tmp_path):
    """4 1/4 in is 107.95 mm; 5 x 114.3 is taken for 5 x 115; 450 kg is 992.08 lb, which 992 would fall short of."""
    files = clearance.order_files(car_of(), answer, paper=paper)
    assert sorted(files) == ["order-card.pdf", "order-card.txt"]
    printed, written = words_of(files["order-card.pdf"], tmp_path), files["order-card.txt"].decode()
    for words in (printed, written):
        for said in (
            "Order card: Slate wagon", "2 wheels for rear left and rear right", "15 in", "6.5 in",
            "4 1/4 in (107.95 mm)", "5 x 4 1/2 in (114.30 mm)", "NOT 5 x 115 mm", "2.776 in (70.50 mm)",
            "60 deg cone", "1/2-20", "450 kg (993 lb) a wheel", "205/65R15", "the tire's 94 is 670 kg", "ask for",
            "The right well was straightened.", "Nothing on this card is left open.", "Wheel fasteners carry lives",
        ):  # fmt: skip
            assert said in words, said
    assert "does not clear" not in printed


def test_what_is_asked_for_clears_and_so_does_one_that_is_made_off(answer):
    """By the pencil: the tire's flanks stand b - w/2 + s/2 inboard and w/2 - b + s/2 outboard, 13 mm of each kept."""
    (card,) = answer.value
    car = car_of()
    tire, wheel = car.at("rear-left").tire, car.at("rear-left").wheel
    half, rim = tire.full_width_mm / 2, wheel.overall_width_mm / 2
    low, high = half + rim - (140 - 13), (165 - 13) - half + rim
    (said,) = [one for one in spoken_cards(car, [card])[0].said if one.item == "It may be"]
    ends = re.findall(r"(\d+)(?: (\d+)/(\d+))? in", said.value)
    asked = [25.4 * (int(a) + (int(b) / int(c) if b else 0)) for a, b, c in ends]
    assert len(asked) == 2
    assert low + 1.5 <= asked[0] < asked[1] <= high - 1.5


@needs_poppler
def test_a_wheel_that_does_not_clear_says_so_on_top(tmp_path):
    car = car_of(wall="130")
    files = clearance.order_files(car, paper="A4")
    assert "DO NOT ORDER IT SO" in words_of(files["order-card.pdf"], tmp_path)
    assert b"DO NOT ORDER IT SO" in files["order-card.txt"]


def test_what_is_not_stated_is_asked_for_before_anything_is_ordered(answer):
    text = TEXT.format(units="mm", wall="165")
    for line in (
        'center_bore = "70.5 mm"\n',
        'lug_seat = "60 deg cone"\n',
        'thread = "1/2-20"\n',
        'corner = "450 kg"\n',
    ):
        assert line in text
        text = text.replace(line, "")
    (card,) = spoken_cards(car_of_text(text, "wagon.toml"), answer.value)
    assert card.open == ("Center bore", "Lug seat", "Stud thread", "Load")


def test_one_corner_that_says_no_load_is_said(answer):
    text = TEXT.format(units="mm", wall="165").replace("[load]\n", "[corner.rear-right.load]\n")
    (card,) = spoken_cards(car_of_text(text, "wagon.toml"), answer.value)
    (load,) = [one for one in card.said if one.item == "Load"]
    assert load.value == "450 kg (993 lb) a wheel"
    assert "1 of 2 corners do not say theirs" in load.more


def test_the_same_cards_are_the_same_bytes_and_no_paper_is_guessed(answer):
    car = car_of()
    assert clearance.order_files(car, answer, paper="A4") == clearance.order_files(car, answer, paper="A4")
    assert clearance.order_files(car, answer, paper="A4") != clearance.order_files(car, answer, paper="letter")
    with pytest.raises(OutputError, match="foolscap"):
        clearance.order_files(car, paper="foolscap")


def test_the_order_of_one_corner_has_the_wheels_that_its_own_order_says():
    corner = car_of().at("rear-left")
    files = clearance.order_files(corner, paper="A4")
    assert b"4 wheels for rear left" in files["order-card.txt"]


@pytest.mark.parametrize(("mm", "words"), [(95.25, "3 3/4 in"), (100.0, "3.937 in"), (114.3, "4 1/2 in")])
def test_a_length_is_no_fraction_that_it_is_not(mm, words):
    assert words in exactly(mm)


@needs_poppler
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_no_line_of_the_card_stands_over_another(paper, answer, tmp_path):
    """With a long title and the longest list of what it rests on; boxes of words, as poppler finds them."""
    text = TEXT.format(units="in", wall="165").replace("Slate wagon", "Slate wagon of the longest name there is, " * 2)
    car = car_of_text(text, "wagon.toml")
    content = clearance.order_files(car, answer, paper=paper)["order-card.pdf"]
    (tmp_path / "card.pdf").write_bytes(content)
    listed = subprocess.run(
        ["pdftotext", "-bbox", str(tmp_path / "card.pdf"), "-"], capture_output=True, text=True, check=True
    ).stdout
    size = re.search(r'<page width="([\d.]+)" height="([\d.]+)"', listed)
    found = re.findall(r'xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)<', listed)
    boxes = [(word, tuple(map(float, box))) for *box, word in found]
    assert len(boxes) > 100
    for place, (word, one) in enumerate(boxes):
        assert one[0] > 20, word
        assert max(one[2] - float(size[1]), one[3] - float(size[2])) < -20, word
        for other_word, other in boxes[place + 1 :]:
            across = min(one[2], other[2]) - max(one[0], other[0])
            down = min(one[3], other[3]) - max(one[1], other[1])
            # a font's box is taller than its letters
            assert across < 0.2 or down < 0.5 * min(one[3] - one[1], other[3] - other[1]), (word, other_word)
