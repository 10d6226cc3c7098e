"""What is read on each wheel in its box, in the order in which it is read: for the printed sheet and the CSV to fill.

Letters are those of the measuring sheet where it has the same dimension; a figure behind one is read beside it.

* key   - what the reading is called in a file of readings
* how   - how it is taken, and what makes it wrong
* of    - LENGTH in the tape's unit; COUNT, WORDS and TURNS have none
* item  - the order's item that it is held against; empty for what only goes with another
"""

from __future__ import annotations

from dataclasses import dataclass

LENGTH = "length"
COUNT = "count"
WORDS = "words"
TURNS = "turns"


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One column of the CSV, one box of the sheet."""

    letter: str
    key: str
    words: str
    how: str
    of: str = LENGTH
    item: str = ""


READINGS = (
    Reading(
        letter="F", key="width", item="width", words="between the flanges",
        how="Inside calipers or a tape, inside one flange to inside the other, where the beads sit.",
    ),
    Reading(
        letter="F1", key="overall_width", item="overall_width", words="over the flanges",
        how="Outside one flange to outside the other: about 1 in (25 mm) more than F.",
    ),
    Reading(
        letter="G", key="straight_edge", item="backspace", words="backspace, under a straight edge",
        how="Wheel face down, a straight edge across the back of the rim; from it down to the face that meets the hub.",
    ),
    Reading(
        letter="G1", key="straight_edge_thickness", words="thickness of the straight edge",
        how="Only where G was read from its far side; else leave it empty.",
    ),
    Reading(
        letter="E1", key="bead_seat_circumference", item="diameter", words="round the bead seat",
        how="A thin tape once round the seat, in the corner where the bead will sit. It is divided by 3.1416.",
    ),
    Reading(
        letter="E2", key="flange_diameter", item="flange_diameter", words="across, over the flange",
        how="Straight across the middle, edge to edge. It serves where E1 cannot be read.",
    ),
    Reading(
        letter="H", key="holes", item="holes", words="holes", of=COUNT,
        how="How many bolt holes there are.",
    ),
    Reading(
        letter="H1", key="hole_reading", item="bolt_circle", words="hole to hole, like edge to like edge",
        how="Calipers, left edge of one hole to left edge of the one opposite; of 5 or 7, of the furthest one.",
    ),
    Reading(
        letter="H2", key="center_bore", item="center_bore", words="center bore",
        how="Calipers, three ways round; the least of the three.",
    ),
    Reading(
        letter="H3", key="lug_seat", item="lug_seat", words="lug seat", of=WORDS,
        how="As 60 deg cone, ball 14 mm, flat: a nut held in the seat shows no light.",
    ),
    Reading(
        letter="H4", key="thread", item="thread", words="stud thread", of=WORDS,
        how="As M12x1.5 or 1/2-20: a known nut runs on by hand, all the way.",
    ),
    Reading(
        letter="H5", key="engagement_turns", item="engagement", words="turns of the nut", of=TURNS,
        how="With the wheel on the hub, from first bite to seated.",
    ),
)  # fmt: skip
TOOLS = (
    Reading(
        letter="TT", key="tape_to", words="tape read to, either way",
        how="How far a reading of F, F1, G, E1 or E2 may be off: 1/32 in where it was read to the sixteenth. Empty: as"
        " usual.",
    ),
    Reading(
        letter="TC", key="calipers_to", words="calipers read to, either way",
        how="How far H1 or H2 may be off. Empty: as usual.",
    ),
)  # fmt: skip
"""With what it was read; one of each for a wheel."""
COLUMNS = (*READINGS, *TOOLS)
BY_LETTER = {reading.letter: reading for reading in COLUMNS}

NAME = "wheel"
"""Heading of the column that says which box a row is."""
HOW = "how to read it"
"""First cell of the row that says how; it is no wheel."""


def heading(reading: Reading, unit: str) -> str:
    """The heading of its column.

    >>> heading(BY_LETTER["F"], "in"), heading(BY_LETTER["H"], "in")
    ('F between the flanges (in)', 'H holes')
    """
    words = f"{reading.letter} {reading.words}"
    return f"{words} ({unit})" if reading.of == LENGTH else words
