"""Answers as they come: units, what is believable, and what contradicts what."""

from __future__ import annotations

import pytest

from clearance.errors import InputError
from clearance.report.answers import doubts, missing, read_csv, tire_reach_mm, written
from clearance.report.letters import LETTERS, SHEETS, letters_of
from clearance.report.measuring_sheet import answers_csv

BY_LETTER = {letter.letter: letter for letter in letters_of("rear-leaf")}
GOOD = {
    "corner": "rear-left", "A": "235/75R15", "F": "7 in", "G": "3 3/4 in", "J": "3 1/2 in", "K": "3 in", "R": "7 in",
    "S": "6 1/2 in", "T": "17 in",
}  # fmt: skip


def stops(**changed: str) -> list[str]:
    return [doubt.words for doubt in doubts("rear-leaf", GOOD | changed) if doubt.stops]


def odd(**changed: str) -> list[tuple[str, ...]]:
    return [doubt.letters for doubt in doubts("rear-leaf", GOOD | changed) if not doubt.stops]


def test_a_fraction_is_kept_as_it_was_read_off_the_tape():
    assert written(BY_LETTER["G"], " 3 3/4  in ", None) == "3 3/4 in"


def test_a_bare_number_takes_the_unit_of_the_tape_only_where_it_was_stated():
    assert written(BY_LETTER["G"], "3 3/4", "in") == "3 3/4 in"
    with pytest.raises(InputError, match="has no unit"):
        written(BY_LETTER["G"], "95", None)


@pytest.mark.parametrize(
    ("letter", "text", "hint"),
    [
        ("R", "7 mm", "7 in"),  # an inch written as a millimetre
        ("B", "734 in", "734 mm"),  # and the other way round
        ("J", "90 cm", "90 mm"),
    ],
)
def test_a_slip_of_the_unit_is_refused_with_the_unit_that_was_meant(letter, text, hint):
    with pytest.raises(InputError, match=f'Did you mean "{hint}"'):
        written(BY_LETTER[letter], text, None)


@pytest.mark.parametrize("text", ["five", "5 x", "5 x 4.5", "2 x 4.5 in", "5 x 2 mm"])
def test_a_bolt_circle_that_cannot_be_is_refused(text):
    with pytest.raises(InputError):
        written(BY_LETTER["H"], text, None)


def test_a_whole_sheet_without_contradiction_raises_no_doubt():
    assert doubts("rear-leaf", GOOD) == ()


@pytest.mark.parametrize(
    "changed",
    [
        {"E": "16 in"},  # the marking says 15
        {"G": "9 in"},  # deeper than a 7 in rim is wide over all (8 in)
        {"C": "235 mm", "D": "240 mm"},  # tread wider than the tire
        {"B": "410 mm", "E": "15 in"},  # no rubber left
        {"Z": "10 in", "Z1": "8 in", "Z2": "3 in"},  # top under bottom
        {"corner": "rear"},
    ],
)
def test_what_cannot_be_stops(changed):
    assert stops(**changed)


@pytest.mark.parametrize(
    ("changed", "letters"),
    [
        ({"B": "31 1/2 in"}, ("A", "B")),  # 28.9 in by its marking (UN R30: 381 + 2 x 0.75 x 235 mm)
        ({"C": "10 1/2 in"}, ("A", "C")),  # 235 mm by its marking
        ({"G": "1/2 in"}, ("F", "G")),  # an offset taken for a backspace
        ({"R": "4 in"}, ("R", "C", "F", "G")),  # the tire would be inside the wall, parked
        ({"V": "14 in"}, ("V", "B")),
        ({"corner": "front-left"}, ("corner",)),
    ],
)
def test_what_is_more_often_a_slip_is_asked_about(changed, letters):
    assert letters in odd(**changed)


def test_left_and_right_lock_of_one_wheel_are_rarely_the_same():
    found = doubts("front", GOOD | {"corner": "front-left", "L": "30 deg", "M": "30 deg"})
    assert any(doubt.letters == ("L", "M") for doubt in found)


def test_the_reach_of_a_tire_by_hand():
    """7 in rim, about 8 in over all; backspace 3 3/4 in is 1/4 in less than half: offset -6.35 mm.

    A section of 9 1/4 in (234.95 mm) then stands 117.475 - 6.35 = 111.125 mm inboard and 123.825 mm outboard.
    """
    inboard, outboard = tire_reach_mm(GOOD | {"C": "9 1/4 in"})
    assert inboard == pytest.approx(111.125, abs=1e-9)
    assert outboard == pytest.approx(123.825, abs=1e-9)


def test_without_a_marking_the_tire_and_rim_must_be_measured():
    lacking = missing("rear-leaf", {key: text for key, text in GOOD.items() if key != "A"})
    assert [row[0] for row in lacking] == ["B", "C", "E"]


@pytest.mark.parametrize("sheet", SHEETS)
def test_the_sheet_as_csv_reads_back_as_it_was_written(sheet):
    answers = {"title": 'Fen "wagon", rear', "corner": "rear-left", "A": "235/75R15", "G": "4 1/8 in", "J": "90 mm"}
    found, back = read_csv(answers_csv(sheet, unit="in", answers=answers).decode(), named="x.csv")
    assert found == sheet
    assert back == answers


def test_a_row_of_a_filled_sheet_that_cannot_be_read_names_its_letter():
    text = answers_csv("rear", unit="in", answers={"G": "4 furlongs"}).decode()
    with pytest.raises(InputError, match=r"sheet.csv, letter G \(backspace\)"):
        read_csv(text, named="sheet.csv")


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", "letter,answer\nG,4 in\n", "letter,answer\nsheet,boat\n"])
def test_a_file_that_is_no_measuring_sheet_is_refused(text):
    with pytest.raises(InputError):
        read_csv(text, named="x.csv")


def test_every_letter_stands_once_on_a_sheet_and_looks_like_no_number():
    for sheet in SHEETS:
        letters = [letter.letter for letter in letters_of(sheet)]
        assert len(set(letters)) == len(letters)
        assert not {"I", "O"} & set(letters)
    for letter in LETTERS:
        assert letter.needed or letter.left_out, f"{letter.letter} does not say what holds when it is left out"


def test_a_section_is_held_against_its_marking_on_the_rim_that_will_be_used():
    """245/70R16 is 248 mm on 7 in and 263.2 mm on 8.5 in: 268 mm is 8 % over on the one, 1.8 % on the other."""
    tire = {"A": "245/70R16", "B": "750 mm", "C": "268 mm", "E": "16 in"}
    assert ("A", "C") in odd(**tire, F="7 in")
    assert ("A", "C") not in odd(**tire, F="8 1/2 in")
