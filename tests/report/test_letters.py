"""A fact stands once: every letter has the ends of the key that it becomes, or is listed as having none."""

import pytest

from clearance.description import schema
from clearance.description.numbers import keys_of, keys_of_kind
from clearance.description.parts.kinds import PARTS
from clearance.ends.ends import Ends, Point, turned_over
from clearance.report.forms import CARRIERS, form_of
from clearance.report.letters import LETTERS, MARKING, ROW, WITHOUT_KEY, WORD
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS

TOP = {"wheel": schema.WheelTable, "tire": schema.TireTable, "suspension": schema.TravelTable}


def declared():
    """Every numeric key of the language by its path, and each coordinate of a point; the ends that it declares."""
    keys = [key for name, model in TOP.items() for key in keys_of(model, (name,))]
    keys += [key for name, model in PARTS.items() for key in keys_of(model, (f"part {name}",))]
    keys += [key for name, kind in KINDS.items() for key in keys_of_kind(kind.keys, (name,))]
    keys += [*keys_of_kind(STEERING_KEYS, ("steering",)), *keys_of_kind(AXIS_KEYS, ("steering", "axis"))]
    found = {".".join(map(str, key.path)): key.ends for key in keys}
    for path, ends in list(found.items()):
        if isinstance(ends, Point):
            found |= {f"{path}.{axis}": one for axis, one in ends.axes.items()}
    return found


LANGUAGE = declared()


@pytest.mark.parametrize("letter", LETTERS, ids=lambda letter: f"{letter.letter} {letter.key}")
def test_a_letter_has_the_ends_of_its_key_or_is_listed_without(letter):
    if letter.letter in WITHOUT_KEY:
        assert letter.of == ""
        return
    ends = LANGUAGE[letter.of]
    assert letter.ends in (ends, turned_over(ends) if isinstance(ends, Ends) else ends)


def test_nothing_is_listed_without_a_key_that_is_no_letter():
    assert set(WITHOUT_KEY) == {letter.letter for letter in LETTERS if not letter.of}


@pytest.mark.parametrize("name", ["rear-leaf", "front-strut", "front-leaf", "rear-links", "rear-multi-link"])
def test_the_points_of_a_suspension_have_the_ends_of_its_kind(name):
    for kind in CARRIERS[name].links:
        for letter in form_of(name, "links", kind).letters:
            if letter.letter in WITHOUT_KEY or letter.measure == WORD:
                continue
            if letter.measure == ROW:
                for column, _, ends in letter.columns:
                    assert ends is LANGUAGE[f"{letter.of}.0.{column}"]
            elif letter.of.startswith(kind):
                assert letter.ends is LANGUAGE[letter.of]


def test_what_is_measured_always_has_ends():
    for name in CARRIERS:
        for letter in form_of(name).letters:
            assert letter.ends is not None or letter.measure in (MARKING, WORD), letter.letter


def test_no_letter_states_a_number_of_its_own():
    """The fields that held them are gone; what a tape may be off by stays, which is of the tape and not of the key."""
    assert not {"least", "most"} & set(LETTERS[0].__dataclass_fields__)
