"""What is still open on a sheet: most first, by the corner measured again, and plainly not told where it cannot be."""

from importlib.resources import files

import pytest

from clearance.report.answers import read_csv
from clearance.report.letters import PLACE
from clearance.report.still_open import TOLERANCE_MM, still_open


def example(name, *dropped):
    text = (files("clearance.report") / f"example_{name}.csv").read_text(encoding="utf-8")
    form, known = read_csv(text, named=name)
    return form, {letter: answer for letter, answer in known.items() if letter not in dropped}


@pytest.fixture(scope="module")
def hatch():
    return still_open(*example("hatch-rear", "U", "H"))


def test_the_letter_that_could_move_the_answer_most_is_first(hatch):
    moves = [one.moves_mm for one in hatch if one.moves_mm is not None]
    assert len(moves) > 4
    assert moves == sorted(moves, reverse=True)
    assert [one.moves_mm for one in hatch][-1] is None


def test_a_trim_on_the_tightest_part_moves_the_answer_by_its_thickness(hatch):
    """The lip is the tightest; a trim is usually 0 to 15 mm and stands off the metal: 15 mm, to what is measured to."""
    trim = next(one for one in hatch if one.letter == "U1")
    assert trim.part == "fender lip"
    # two answers, each to within the tolerance
    assert trim.moves_mm == pytest.approx(15.0, abs=2 * TOLERANCE_MM)


def test_what_may_stand_near_and_what_is_no_number_cannot_be_told(hatch):
    form, _ = example("hatch-rear")
    places = {letter.letter for letter in form.letters if letter.measure == PLACE}
    untold = {one.letter: one.why_not for one in hatch if one.moves_mm is None}
    assert places <= set(untold)
    assert untold["AC"] == "nothing is known of it, not even whether it is there"
    assert untold["H"] == "it is no length and no angle"


def test_before_every_needed_letter_there_is_nothing_to_measure():
    found = still_open(*example("pickup-rear", "F", "Z1"))
    assert {one.moves_mm for one in found} == {None}
    assert {one.letter for one in found if one.needed} == {"F"}
    assert all(one.why_not.startswith("there is no corner to measure") for one in found)


def test_a_corner_that_only_stands_is_told_as_it_stands():
    from clearance.report.forms import form_of

    known = {"A": "235/75R15", "F": "7 in", "G": "3 3/4 in", "R": "7 in", "S": "6 in", "T": "17 in", "T1": "17 in"}
    found = still_open(form_of("rear-leaf", "standing"), known)
    lip = next(one for one in found if one.letter == "U")
    assert lip.moves_mm is not None
    assert lip.why_not == ""
    # the roof is not asked for to this depth, and could be anywhere all the same; travel has no letters here
    assert {"V", "W", "X", "Z"} <= {one.letter for one in found if one.moves_mm}
    assert not {"J", "K"} & {one.letter for one in found}
