"""Answers as they come: units, what is believable, and what contradicts what."""

from __future__ import annotations

import pytest

from clearance.description.load import of_text
from clearance.errors import InputError
from clearance.report.answers import doubts, missing, read_csv, tire_reach_mm, value_of, written
from clearance.report.corner_text import corner_text
from clearance.report.forms import CARRIERS, form_of
from clearance.report.letters import LETTERS
from clearance.report.measuring_sheet import answers_csv
from clearance.units import length_mm

FORM = form_of("rear-leaf")
BY_LETTER = {letter.letter: letter for letter in FORM.letters}
GOOD = {
    "corner": "rear-left", "A": "235/75R15", "F": "7 in", "G": "3 3/4 in", "J": "3 1/2 in", "K": "3 in", "R": "7 in",
    "S": "6 1/2 in", "T": "17 in", "T1": "17 in", "K1": "60 in",
}  # fmt: skip


def stops(**changed: str) -> list[str]:
    return [doubt.words for doubt in doubts(FORM, GOOD | changed) if doubt.stops]


def odd(**changed: str) -> list[tuple[str, ...]]:
    return [doubt.letters for doubt in doubts(FORM, GOOD | changed) if not doubt.stops]


def test_a_fraction_is_kept_as_it_was_read_off_the_tape():
    assert written(BY_LETTER["G"], " 3 3/4  in ", None) == "3 3/4 in"


def test_a_bare_number_takes_the_unit_of_the_tape_only_where_it_was_stated():
    assert written(BY_LETTER["G"], "3 3/4", "in") == "3 3/4 in"
    with pytest.raises(InputError, match="has no unit"):
        written(BY_LETTER["G"], "95", None)


@pytest.mark.parametrize(
    ("letter", "text", "hint"),
    [
        ("F", "7 mm", "7 in"),  # an inch written as a millimetre
        ("B", "734 in", "734 mm"),  # and the other way round
        ("J", "90 cm", "90 mm"),
    ],
)
def test_a_slip_of_the_unit_is_refused_with_the_unit_that_was_meant(letter, text, hint):
    with pytest.raises(InputError, match=f'Did you mean "{hint}"'):
        written(BY_LETTER[letter], text, None)


@pytest.mark.parametrize(("letter", "text", "hint"), [("R", "7 mm", "7 in"), ("J", "3 1/2 mm", "3 1/2 in")])
def test_what_is_unusual_is_doubted_with_what_was_probably_meant(letter, text, hint):
    """Usual, of the keys that they become: 40 to 700 mm inboard, 10 to 250 mm of travel."""
    found = [doubt.words for doubt in doubts(FORM, GOOD | {letter: text}) if doubt.letters == (letter,)]
    assert len(found) == 1
    assert f'Did you mean "{hint}"' in found[0]


def test_a_decimal_comma_is_one_number():
    assert value_of({"G": "9,5 cm", "AA": "9,5 in, 3 in, 8 in"}, "G") == pytest.approx(95.0)
    assert value_of({"AA": "9,5 in, 3 in, 8 in"}, "AA") == pytest.approx(241.3)


@pytest.mark.parametrize("text", ["five", "5 x", "5 x 40", "2 x 4.5 in", "5 x 2 mm"])
def test_a_bolt_circle_that_cannot_be_is_refused(text):
    with pytest.raises(InputError):
        written(BY_LETTER["H"], text, None)


def test_a_whole_sheet_without_contradiction_raises_no_doubt():
    assert doubts(FORM, GOOD) == ()


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
    found = doubts(form_of("front-strut"), GOOD | {"corner": "front-left", "L": "30 deg", "M": "30 deg"})
    assert any(doubt.letters == ("L", "M") for doubt in found)


def test_the_reach_of_a_tire_by_hand():
    """7 in rim, about 8 in over all; backspace 3 3/4 in is 1/4 in less than half: offset -6.35 mm.

    A section of 9 1/4 in (234.95 mm) then stands 117.475 - 6.35 = 111.125 mm inboard and 123.825 mm outboard.
    """
    inboard, outboard = tire_reach_mm(GOOD | {"C": "9 1/4 in"})
    assert inboard == pytest.approx(111.125, abs=1e-9)
    assert outboard == pytest.approx(123.825, abs=1e-9)


def test_without_a_marking_the_tire_and_rim_must_be_measured():
    lacking = missing(FORM, {key: text for key, text in GOOD.items() if key != "A"})
    assert [row[0] for row in lacking] == ["B", "C", "E"]


@pytest.mark.parametrize(
    "sheet", [*CARRIERS, "rear-leaf standing", "front-strut links strut", "rear-twin-beam links table"]
)
def test_the_sheet_as_csv_reads_back_as_it_was_written(sheet):
    answers = {"title": 'Fen "wagon", rear', "corner": "rear-left", "A": "235/75R15", "G": "4 1/8 in", "T": "430 mm"}
    found, back = read_csv(answers_csv(form_of(sheet), unit="in", answers=answers).decode(), named="x.csv")
    assert found.name == sheet
    assert back == answers


def test_a_row_of_a_filled_sheet_that_cannot_be_read_names_its_letter():
    text = answers_csv(form_of("rear-links"), unit="in", answers={"G": "4 furlongs"}).decode()
    with pytest.raises(InputError, match=r"sheet.csv, letter G \(backspace\)"):
        read_csv(text, named="sheet.csv")


@pytest.mark.parametrize("text", ["", "a,b\n1,2\n", "letter,answer\nG,4 in\n", "letter,answer\nsheet,boat\n"])
def test_a_file_that_is_no_measuring_sheet_is_refused(text):
    with pytest.raises(InputError):
        read_csv(text, named="x.csv")


def test_every_letter_stands_once_on_a_sheet_and_looks_like_no_number():
    forms = [form_of(name) for name in CARRIERS]
    forms += [form_of(name, "links", kind) for name, one in CARRIERS.items() for kind in one.links]
    for form in forms:
        letters = [letter.letter for letter in form.letters]
        assert len(set(letters)) == len(letters)
        assert not {"I", "O"} & set(letters)
    for letter in LETTERS:
        assert letter.needed or letter.left_out, f"{letter.letter} does not say what holds when it is left out"


def test_a_section_is_held_against_its_marking_on_the_rim_that_will_be_used():
    """245/70R16 is 248 mm on 7 in and 263.2 mm on 8.5 in: 268 mm is 8 % over on the one, 1.8 % on the other."""
    tire = {"A": "245/70R16", "B": "750 mm", "C": "268 mm", "E": "16 in"}
    assert ("A", "C") in odd(**tire, F="7 in")
    assert ("A", "C") not in odd(**tire, F="8 1/2 in")


@pytest.mark.parametrize(
    ("text", "kept"),
    [("5x4.5", "5 x 4.5 in"), ("5 on 4 1/2", "5 x 4 1/2 in"), ("5x120", "5 x 120 mm"), ("6 X 5\u00bd", "6 x 5 1/2 in")],
)
def test_a_bolt_circle_is_read_as_people_write_it(text, kept):
    assert written(BY_LETTER["H"], text, None) == kept


@pytest.mark.parametrize("text", ["4\u00bd in", '4-1/2"', "4.5in", "4 1/2 in", "11,43 cm"])
def test_a_length_is_read_as_people_write_it(text):
    assert length_mm(written(BY_LETTER["G"], text, None)) == pytest.approx(114.3)


def test_a_comma_that_can_be_read_in_two_ways_is_refused_with_both():
    with pytest.raises(InputError, match=r'two ways. Write "1.250 mm" or "1250 mm"'):
        written(BY_LETTER["B"], "1,250 mm", None)


@pytest.mark.parametrize("between", [";", "\t"])
def test_a_sheet_filled_in_another_country_reads_the_same(between):
    rows = [["letter", "unit", "answer"], ["sheet", "", "rear-leaf"], ["G", "mm", "95,5"], ["S", "mm", "165"]]
    text = "\n".join(between.join(row) for row in rows) + "\n"
    form, answers = read_csv(text, named="x.csv")
    assert form.name == "rear-leaf"
    assert length_mm(answers["G"]) == 95.5


def test_a_place_is_one_number_or_three_with_the_lower_first():
    shock = BY_LETTER["AC"]
    assert written(shock, "9, 3, 8", "in") == "9 in, 3 in, 8 in"
    assert written(shock, "230 mm", None) == "230 mm"
    for wrong in ("9 in, 8 in, 3 in", "9 in, 3 in"):
        with pytest.raises(InputError):
            written(shock, wrong, None)


def test_a_point_and_a_row_are_read_number_by_number():
    strut = form_of("front-strut", "links", "strut").letter("ST")
    assert written(strut, "-60, -300, 560", "mm") == "-60 mm, -300 mm, 560 mm"
    row = form_of("front-strut", "links", "table").letter("P1.1")
    assert written(row, "-80, -6, 3, 1.2, 0.1", "mm") == "-80 mm, -6 mm, 3 mm, 1.2 deg, 0.1 deg"
    with pytest.raises(InputError, match="bump, across, along, camber, toe"):
        written(row, "1, 2", "mm")


def test_an_axle_that_hung_further_than_it_can_is_asked_about():
    assert ("T", "T1", "K") in odd(T1="21 in")
    assert ("T", "T1", "K") not in odd(T1="19 1/2 in")


def test_travel_is_held_against_the_well_and_against_itself():
    assert ("J", "V", "B") in odd(B="28 7/8 in", V="16 in", J="4 in")
    assert ("J",) in odd(J="15 in")


def test_what_is_asked_of_a_person_is_short_enough_to_be_answered():
    """As it stands at most 12, by travel at most 30: the title, the corner, the tape's unit and what is near"
    " counted."""
    known = {"A": "235/75R15", "Y": "6 in", "Z": "9 in"}
    assert len(form_of("rear-leaf", "standing").asked({"A": "235/75R15"})) + 4 <= 12
    assert len(form_of("rear-leaf").asked(known)) + 4 <= 30


def test_a_gap_to_keep_is_chosen_once_and_stands_at_every_part_of_its_kind():
    """X1 for what is fixed, X2 for the lip, X3 for what goes with the wheel; left out, each kind's own stands."""
    chosen = GOOD | {"V": "21 in", "Y": "6 1/2 in", "Z": "9 in", "X1": "30 mm", "X2": "20 mm", "X3": "8 mm"}
    parts = {part.name: part for part in of_text(corner_text(FORM, chosen), "a.toml").parts}
    named = ("well inner wall", "frame rail", "fender lip", "leaf spring")
    assert {name: parts[name].required_mm for name in named} == {
        "well inner wall": 30.0, "frame rail": 30.0, "fender lip": 20.0, "leaf spring": 8.0,
    }  # fmt: skip
    assert {part.required_from for part in parts.values()} == {"corner file"}
    plain = {part.name: part for part in of_text(corner_text(FORM, GOOD | {"Y": "6 1/2 in"}), "a.toml").parts}
    assert {name: part.required_mm for name, part in plain.items()} == {
        "inner wall": 25.0, "fender lip": 13.0, "leaf spring": 6.0,
    }  # fmt: skip
    assert all("common practice" in part.required_from for part in plain.values())


@pytest.mark.parametrize(
    ("letter", "says"), [("X1", "25 mm (1 in)"), ("X2", "13 mm (1/2 in)"), ("X3", "6 mm (1/4 in)")]
)
def test_the_usual_gap_and_its_reason_stand_beside_the_question(letter, says):
    assert says in BY_LETTER[letter].left_out
    assert "common practice" in BY_LETTER[letter].left_out
