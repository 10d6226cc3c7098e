"""Left and right: a box and a cell for each, "same" taken only where it is written, and a corner file of what was."""

import csv
import io

import pytest

from clearance.description.car import load_car
from clearance.description.load import load, of_text
from clearance.door.measuring import corner_files, measuring
from clearance.errors import InputError
from clearance.report.answers import of_other_side, read_csv
from clearance.report.forms import form_of
from clearance.report.letters import AXLE_LETTERS, KEEP, TIRE, WHEEL
from clearance.report.measuring_sheet import answers_csv
from clearance.report.other_side import OtherSide, is_sided, lacking, other_answers

GOOD = {
    "title": "Plum wagon", "corner": "rear-left", "A": "235/75R15", "F": "7 in", "G": "3 3/4 in", "J": "3 1/2 in",
    "K": "3 in", "K1": "60 in", "R": "7 in", "S": "6 1/2 in", "T": "17 in", "T1": "17 in",
}  # fmt: skip
FORM = form_of("rear-leaf")
SIDED = ("J", "K", "R", "S", "T", "T1")


def told(**other):
    return GOOD | {f"{letter} other": text for letter, text in other.items()}


def test_nothing_is_taken_over_that_was_not_said():
    """Tire, wheel and the axle's track are of both; what was answered on this side alone is open on the other."""
    found = other_answers(FORM, GOOD)
    assert found["corner"] == "rear-right"
    assert {"A", "F", "G", "K1"} <= set(found)
    assert not set(SIDED) & set(found)
    assert [words[:2].strip() for words in lacking(FORM, GOOD)] == list(SIDED)


def test_same_is_the_answer_of_this_side_and_a_number_is_its_own():
    found = other_answers(FORM, told(R="6 3/4 in", S="same"))
    assert (found["R"], found["S"]) == ("6 3/4 in", "6 1/2 in")
    assert "T" not in found


def test_a_lock_is_never_the_same():
    """At left lock the left wheel is the inner one of the two, and the right wheel the outer one."""
    lock = form_of("front-strut").letter("L")
    with pytest.raises(InputError, match="turn by different angles"):
        of_other_side(lock, "same", None)
    assert of_other_side(lock, "31", None) == "31 deg"


def test_the_other_side_gets_its_own_corner_file(tmp_path):
    """The wall 1/4 in nearer on the right: the two files differ there, and in nothing that is of both."""
    known = told(J="same", K="same", R="6 3/4 in", S="same", T="same", T1="same")
    (tmp_path / "filled.csv").write_bytes(answers_csv(FORM, unit="in", answers=known))
    files, answer = corner_files(measuring(filled=tmp_path / "filled.csv"), tmp_path / "plum.toml")
    assert set(files) == {"plum.toml", "plum-rear-right.toml", "plum-car.toml", "plum.answers.csv"}
    assert answer.to_dict()["other_side"].endswith("plum-rear-right.toml")
    left = of_text(files["plum.toml"].decode(), "plum.toml")
    right = of_text(files["plum-rear-right.toml"].decode(), "plum.toml")
    assert (left.corner, right.corner) == ("rear-left", "rear-right")
    assert 'inboard = "7 in"' in files["plum.toml"].decode()
    assert 'inboard = "6 3/4 in"' in files["plum-rear-right.toml"].decode()
    assert left.wheel.backspace_mm == right.wheel.backspace_mm


def test_both_sides_make_a_car(tmp_path):
    """The car file names the two, and is read as they are."""
    known = told(J="same", K="same", R="6 3/4 in", S="same", T="same", T1="same")
    (tmp_path / "filled.csv").write_bytes(answers_csv(FORM, unit="in", answers=known))
    files, answer = corner_files(measuring(filled=tmp_path / "filled.csv"), tmp_path / "plum.toml")
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    car = load_car(answer.to_dict()["car_file"])
    assert list(car.corners) == ["rear-left", "rear-right"]
    for name, file in (("rear-left", "plum.toml"), ("rear-right", "plum-rear-right.toml")):
        alone = of_text(files[file].decode(), file)
        assert [repr(part) for part in car.at(name).parts] == [repr(part) for part in alone.parts]


def test_half_an_other_side_makes_no_file_and_is_said(tmp_path):
    (tmp_path / "filled.csv").write_bytes(answers_csv(FORM, unit="in", answers=told(R="6 3/4 in")))
    files, answer = corner_files(measuring(filled=tmp_path / "filled.csv"), tmp_path / "plum.toml")
    assert set(files) == {"plum.toml", "plum.answers.csv"}
    said = answer.to_dict()
    assert said["other_side"] is None
    assert said["other_side_lacks"][0].startswith("J (bump")
    assert "The other side has no file yet" in answer.words()


def test_the_csv_has_a_cell_for_either_side_and_is_read_back():
    known = told(R="6 3/4 in", S="same")
    content = answers_csv(FORM, unit="in", answers=known).decode()
    head, *rows = csv.reader(io.StringIO(content))
    assert head == ["letter", "what", "unit", "answer", "other side", "needed"]
    cells = {row[0]: row[3:5] for row in rows}
    assert (cells["R"], cells["S"], cells["T"]) == (["7 in", "6 3/4 in"], ["6 1/2 in", "same"], ["17 in", ""])
    assert read_csv(content, named="here")[1] == known


def test_the_other_side_is_asked_of_what_this_side_has():
    asked = OtherSide(FORM, dict(GOOD), "in")
    letters = []
    while (letter := asked.letter()) is not None:
        letters.append(letter.letter)
        assert "on this side" in asked.prompt()
        assert asked.answered("same" if letter.letter == "R" else "") == ""
    assert tuple(letters) == SIDED
    assert other_answers(FORM, asked.known).keys() & set(SIDED) == {"R"}


def test_only_tire_wheel_and_axle_are_of_both():
    for letter in FORM.letters:
        assert is_sided(letter) == (letter.group not in (TIRE, WHEEL, KEEP) and letter.letter not in AXLE_LETTERS)


def test_the_file_of_the_other_side_loads_from_disk(tmp_path):
    known = told(**dict.fromkeys(SIDED, "same"))
    (tmp_path / "filled.csv").write_bytes(answers_csv(FORM, unit="in", answers=known))
    files, _ = corner_files(measuring(filled=tmp_path / "filled.csv"), tmp_path / "plum.toml")
    for name, content in files.items():
        (tmp_path / name).write_bytes(content)
    assert load(tmp_path / "plum-rear-right.toml").right_hand
