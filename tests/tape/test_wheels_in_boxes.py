"""500 wheels whose truth is known, read by a person with a tape and calipers into the CSV that was printed for them.

The corner is one that a pencil can judge: a flat wall inboard, a flat skin outboard, the wheel upright and still. With
the backspace b, the rim's overall width w and the tire's section s, the tire's flanks stand

    b - w/2 + s/2 inboard and w/2 - b + s/2 outboard of the hub face,

and the section grows 0.4 mm for each millimetre of rim (5 mm for half an inch, common practice). A reading is the
truth, off by up to half of the tape's stated error, and written to the nearest mark, which is the other half.
"""

import random
from dataclasses import dataclass, replace

import pytest

from clearance.answers.boxes import measured_of, order_of
from clearance.answers.received import received
from clearance.description.boxes import rows_of
from clearance.description.load import of_text
from clearance.gap.cycle import over_cycle
from clearance.report.wheel_sheet import wheel_csv
from clearance.wheel.bolt_circle import BoltCircle
from clearance.wheel.decided import KEEP, NOT_TOLD, READ_AGAIN, RETURN
from clearance.wheel.inspection import inspect

INCH = 25.4
WALL_MM, SKIN_MM = 138.4, 126.0
REQUIRED_MM = 13.0
TOLERANCES = {"width": 1.5, "backspace": 1.5, "diameter": 1.0, "bolt_circle": 0.3, "center_bore": 0.2}

CORNER = """
title = "two flat walls"
corner = "rear-left"
units = "{units}"
[tire]
overall_diameter = "700 mm"
section_width = "230 mm"
tread_width = "180 mm"
rim_diameter = "15 in"
[wheel]
diameter = "15 in"
width = "7 in"
backspace = "4 1/4 in"
bolt_circle = "5 x 4.5 in"
center_bore = "70 mm"
[suspension]
kind = "straight"
bump = "0 mm"
droop = "0 mm"
[order]
quantity = {quantity}
{tolerances}
[[part]]
name = "inner wall"
kind = "wall"
inboard = "138.4 mm"
required = "13 mm"
[[part]]
name = "outer skin"
kind = "plate"
corners = [
    ["600 mm", "126 mm", "-600 mm"], ["600 mm", "126 mm", "600 mm"],
    ["-600 mm", "126 mm", "600 mm"], ["-600 mm", "126 mm", "-600 mm"],
]
required = "13 mm"
"""


@dataclass(frozen=True)
class Truth:
    """One wheel as it is."""

    width_mm: float
    backspace_mm: float
    seat_mm: float
    circle_mm: float
    bore_mm: float

    def gaps_mm(self):
        """To the wall and to the skin, by the sum above."""
        over = self.width_mm + INCH
        section = 230.0 + 0.4 * (self.width_mm - 7 * INCH)
        inboard = self.backspace_mm - over / 2 + section / 2
        return WALL_MM - inboard, SKIN_MM - (section - inboard)


ORDERED = Truth(width_mm=7 * INCH, backspace_mm=4.25 * INCH, seat_mm=380.2, circle_mm=4.5 * INCH, bore_mm=70.0)


def off_by(truth):
    """How far each item is from the order, as a share of its tolerance."""
    return {
        "width": abs(truth.width_mm - ORDERED.width_mm) / TOLERANCES["width"],
        "backspace": abs(truth.backspace_mm - ORDERED.backspace_mm) / TOLERANCES["backspace"],
        "diameter": abs(truth.seat_mm - ORDERED.seat_mm) / TOLERANCES["diameter"],
        "bolt_circle": abs(truth.circle_mm - ORDERED.circle_mm) / TOLERANCES["bolt_circle"],
        "center_bore": abs(truth.bore_mm - ORDERED.bore_mm) / TOLERANCES["center_bore"],
    }


@dataclass(frozen=True)
class Gap:
    """What `received` asks of a gap."""

    part: str
    at_least_mm: float
    required_mm: float = REQUIRED_MM


def by_pencil(mockup):
    """The gaps of the ordered wheel at any backspace, by the sum above instead of the search."""
    back = mockup.wheel.backspace_mm
    wall, skin = replace(ORDERED, backspace_mm=back).gaps_mm()
    return [Gap("inner wall", wall), Gap("outer skin", skin)]


def made(rng, perfect):
    """A wheel from the box: as ordered, or with each number off by up to three times what it may."""
    if perfect:
        return ORDERED
    bad = {item: rng.uniform(-3, 3) * most if rng.random() < 0.3 else 0.0 for item, most in TOLERANCES.items()}
    return Truth(
        width_mm=ORDERED.width_mm + bad["width"],
        backspace_mm=ORDERED.backspace_mm + bad["backspace"],
        seat_mm=ORDERED.seat_mm + bad["diameter"],
        circle_mm=ORDERED.circle_mm + bad["bolt_circle"],
        bore_mm=ORDERED.bore_mm + bad["center_bore"],
    )


def sixteenths(mm, marks, rng):
    """A length as a person reads it off a tape with so many marks to the inch, and writes it."""
    steps = round((mm + rng.uniform(-0.5, 0.5) * INCH / marks) / INCH * marks)
    whole, part = divmod(steps, marks)
    if part * 2 == marks:
        return f"{whole}½"
    return f"{whole} {part}/{marks}" if part else f"{whole}"


def tenths(mm, rng):
    """A length off calipers to 0.1 mm, with the comma that half of the world writes."""
    return f"{round(mm + rng.uniform(-0.05, 0.05), 1):.1f} mm".replace(".", ",")


def filled(truths, rng, marks, folder, units="in", between=";"):
    """The blank CSV filled by hand, in semicolons as a spreadsheet of the continent saves it."""
    corner = corner_of(len(truths), units)
    blank = wheel_csv(order_of(corner, corner.terms.order), unit=units).decode()
    import csv
    import io

    heading, how, *rows = csv.reader(io.StringIO(blank))
    assert len(rows) == len(truths)
    letters = [words.partition(" ")[0] for words in heading]
    for row, truth in zip(rows, truths, strict=True):
        chord = BoltCircle(studs=5, diameter_mm=truth.circle_mm).chord_mm(2)
        said = {
            "F": sixteenths(truth.width_mm, marks, rng),
            "G": sixteenths(truth.backspace_mm, marks, rng),
            "E1": sixteenths(truth.seat_mm * 3.141592653589793, marks, rng),
            "H": "5",
            "H1": tenths(chord, rng),
            "H2": tenths(truth.bore_mm, rng),
            "TT": f"1/{marks}",
            "TC": "0,1 mm",
        }
        for letter, text in said.items():
            row[letters.index(letter)] = text
    out = io.StringIO()
    csv.writer(out, delimiter=between).writerows([heading, how, *rows])
    path = folder / "filled.csv"
    path.write_text(out.getvalue(), encoding="utf-8")
    return corner, path


def corner_of(quantity, units="in", tolerances=TOLERANCES):
    told = "\n".join(f'{item}_tolerance = "{most} mm"' for item, most in tolerances.items())
    text = CORNER.format(quantity=quantity, units=units, tolerances=told)
    return of_text(text, "two-walls.toml")


def judged(corner, path, measure=by_pencil):
    wheels = measured_of(rows_of(path), file=str(path))
    return received(corner, inspect(order_of(corner, corner.terms.order), wheels), measure=measure)


@pytest.mark.parametrize(("marks", "seed"), [(16, 1), (32, 2), (64, 3), (16, 4), (32, 5)])
def test_no_good_wheel_goes_back_and_none_is_kept_that_would_not_clear(marks, seed, tmp_path):
    """A hundred wheels each time, every third of them perfect."""
    rng = random.Random(seed)
    truths = [made(rng, number % 3 == 0) for number in range(100)]
    corner, path = filled(truths, rng, marks, tmp_path)
    found = judged(corner, path)
    assert len(found.wheels) == 100
    for decision, truth in zip(found.wheels, truths, strict=True):
        worst = max(off_by(truth).values())
        if decision.verdict == RETURN:
            assert worst > 1.0, (decision, truth)
        if decision.verdict == KEEP:
            assert min(truth.gaps_mm()) >= REQUIRED_MM, (decision, truth)
            # nor one whose bolts, bore or bead seat are not as ordered
            exact = off_by(truth)
            assert max(exact["diameter"], exact["bolt_circle"], exact["center_bore"]) <= 1.0, (decision, truth)
    words = {decision.verdict for decision in found.wheels}
    assert {KEEP, RETURN, READ_AGAIN} <= words, words


@pytest.mark.parametrize("marks", [16, 32, 64])
def test_a_perfect_wheel_is_kept_where_its_tolerance_allows_the_tape(marks, tmp_path):
    """Allowed twice what the tape may hide, 1/8 in: a perfect wheel reads within it whatever the tape says."""
    rng = random.Random(marks)
    wide = TOLERANCES | {"width": 2 * INCH / 16 + 0.1, "backspace": 2 * INCH / 16 + 0.1, "diameter": 1.1}
    _, path = filled([ORDERED] * 40, rng, marks, tmp_path)
    found = judged(corner_of(40, tolerances=wide), path)
    assert {one.verdict for one in found.wheels} == {KEEP}, [one for one in found.wheels if one.verdict != KEEP]


def test_a_perfect_wheel_read_to_a_sixteenth_never_goes_back(tmp_path):
    rng = random.Random(7)
    corner, path = filled([ORDERED] * 100, rng, 16, tmp_path)
    found = judged(corner, path)
    assert RETURN not in {one.verdict for one in found.wheels}


def test_the_search_and_the_pencil_keep_the_same_wheels(tmp_path):
    """The corner's real gaps, measured over the cycle, in the place of the sum."""
    rng = random.Random(11)
    truths = [made(rng, number % 3 == 0) for number in range(12)]
    corner, path = filled(truths, rng, 32, tmp_path)
    by_sum, by_search = judged(corner, path), judged(corner, path, measure=over_cycle)
    assert [one.verdict for one in by_sum.wheels] == [one.verdict for one in by_search.wheels]


def test_a_wheel_has_one_word_whatever_its_numbers_say(tmp_path):
    """Backspace far outside, width open, bore not read: it goes back, by the backspace, and nothing else is said."""
    wheel = {"name": "one", "width": "179 mm", "straight_edge": "120 mm", "holes": "5", "hole_reading": "108.7 mm"}
    corner = corner_of(1)
    found = received(
        corner, inspect(order_of(corner, corner.terms.order), measured_of([wheel], file="here")), measure=by_pencil
    )
    (only,) = found.wheels
    assert (only.verdict, only.decided_by) == (RETURN, "backspace")
    assert "12.05 mm (0.474 in) more than ordered" in only.why


def test_what_was_not_read_is_not_told(tmp_path):
    corner, path = filled([ORDERED] * 2, random.Random(3), 32, tmp_path)
    rows = path.read_text(encoding="utf-8").splitlines()
    rows[3] = "wheel 2" + ";" * rows[3].count(";")
    path.write_text("\n".join(rows) + "\n", encoding="utf-8")
    first, second = judged(corner, path).wheels
    assert first.verdict != NOT_TOLD
    assert second.verdict == NOT_TOLD
    assert second.why.startswith("not read yet: bead seat width, backspace")


def test_nothing_is_kept_in_a_corner_that_does_not_clear_as_ordered(tmp_path):
    """The tire stands 107.95 - 101.6 + 115 = 121.35 mm inboard, 17.05 from the wall; 9 mm nearer leaves 8 of 13."""
    near = lambda mockup: [replace(gap, at_least_mm=gap.at_least_mm - 9.0) for gap in by_pencil(mockup)]  # noqa: E731
    corner, path = filled([ORDERED], random.Random(5), 64, tmp_path)
    (only,) = judged(corner, path, measure=near).wheels
    assert only.verdict == NOT_TOLD
    assert only.decided_by in ("inner wall", "outer skin")


@pytest.mark.parametrize("between", [",", ";", "\t"])
@pytest.mark.parametrize("text", ["4 1/4", "4¼", "4.25", "4,25", "4-1/4", '4 1/4"', "107.95 mm", "107,95 mm"])
def test_inches_are_read_as_people_write_them(between, text, tmp_path):
    """4 1/4 in is 107.95 mm, in a column headed (in)."""
    cell = f'"{text.replace(chr(34), chr(34) * 2)}"'
    path = tmp_path / "one.csv"
    heading = between.join(["wheel", "G backspace (in)", "H2 center bore (in)"])
    how = between.join(["how to read it", "a straight edge", "calipers"])
    path.write_text("\n".join([heading, how, between.join(["left", cell, ""])]) + "\n", encoding="utf-8")
    (wheel,) = measured_of(rows_of(path), file="one.csv")
    assert wheel.backspace_mm == pytest.approx(107.95, abs=1e-9)
    assert wheel.center_bore_mm is None
