"""What the tool says of a tape is held against a car whose truth is known.

Two trials, both over the judge's inventions with every hardpoint:

* the links alone: the same wheel, tire and well, the suspension by its travel instead of its links
* the whole sheet: every letter off by what its tape allows, at ride height or hanging, and nothing but the letters

Of each: the truth lies in what is said, and nothing is said to clear that does not (that hits, with the tape's error).
How much wider than the truth each is, the slow trial prints.
"""

from __future__ import annotations

import numpy as np
import pytest
from tape.person import readings
from tape.simulated import compared

QUICK_LINKS = (5, 15, 19, 21, 49, 68, 71, *(pytest.param(n, marks=pytest.mark.slow) for n in (24, 26, 37, 62, 70)))
QUICK_SHEETS = (11, *(pytest.param(n, marks=pytest.mark.slow) for n in (26, 49)))
SLOW = range(100, 1100)
CHUNK = 50


@pytest.mark.parametrize("number", QUICK_LINKS)
def test_whatever_the_links_do_is_in_the_answer(number):
    rows = compared(number)
    assert rows, "the number makes no car"
    assert [row for row in rows if not row.holds] == []


@pytest.mark.parametrize("number", QUICK_SHEETS)
def test_the_truth_lies_in_what_is_said_of_a_sheet(number):
    rows = readings(number)
    assert rows, "the number makes no car"
    assert [row for row in rows if not row.holds] == []


@pytest.mark.slow
@pytest.mark.parametrize("first", range(SLOW.start, SLOW.stop, CHUNK))
def test_a_thousand_cars_by_their_links_and_by_their_sheets(first, capsys):
    numbers = range(first, first + CHUNK)
    links = [row for number in numbers for row in compared(number)]
    sheets = [row for number in numbers for row in readings(number)]
    assert [row for row in (*links, *sheets) if not row.holds] == []
    with capsys.disabled():
        for name, low in (
            ("links", [row.true_mm[0] - row.said_mm[0] for row in links]),
            ("sheet", [row.true_mm - row.low_mm for row in sheets]),
        ):
            print(
                f"\n{first}: by {name} {len(low)} gaps, below the truth by {np.median(low):.0f} mm in the middle",
                end="",
            )
