"""The wheels of a car in their boxes: one word for each, where each goes, and what is written of one that goes back.

The car is one that a pencil can judge, as in tests/tape/test_wheels_in_boxes.py: at every corner a flat wall inboard
and a flat skin outboard, the wheel upright and still. With backspace b, overall width w and section s the tire's
flanks stand b - w/2 + s/2 inboard and w/2 - b + s/2 outboard, and the section grows 0.4 mm for each mm of rim.
"""

from __future__ import annotations

import csv
import io
import itertools
import json
import math
import random
import re
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_array
from scipy.sparse.csgraph import maximum_bipartite_matching

import clearance
from clearance.answers.boxes import measured_of
from clearance.answers.car_received import car_received
from clearance.answers.placed import best_placing, least_mm
from clearance.description.boxes import rows_of
from clearance.description.car import car_of_text
from clearance.errors import WheelError
from clearance.gap.cycle import over_cycle
from clearance.wheel.decided import KEEP, NOT_TOLD, READ_AGAIN, RETURN
from clearance.wheel.inspection import OUTSIDE

ROOT = Path(__file__).parents[2]
COUPE, ROADSTER = (str(ROOT / "fixtures" / "cars" / f"{name}.toml") for name in ("tern-coupe", "heron-roadster"))
INCH = 25.4
KEPT_MM = 13.0
WIDTH_MM, BACK_MM, SECTION_MM = 7 * INCH, 4.25 * INCH, 230.0
CORNERS = ("front-left", "front-right", "rear-left", "rear-right")
WALLS_MM = {"front-left": 136.4, "front-right": 139.0, "rear-left": 137.2, "rear-right": 142.0}
SKIN_MM = 126.0

SHARED = """
title = "four wells"
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
[order]
width_tolerance = "1.5 mm"
backspace_tolerance = "1.5 mm"
bolt_circle_tolerance = "0.3 mm"
"""
CORNER = """
[corner.{name}.suspension]
kind = "straight"
bump = "0 mm"
droop = "0 mm"
[[corner.{name}.part]]
name = "inner wall"
kind = "wall"
inboard = "{wall} mm"
required = "13 mm"
[[corner.{name}.part]]
name = "outer skin"
kind = "plate"
corners = [["600 mm", "126 mm", "-600 mm"], ["600 mm", "126 mm", "600 mm"],
           ["-600 mm", "126 mm", "600 mm"], ["-600 mm", "126 mm", "-600 mm"]]
required = "13 mm"
"""


def car_of(walls_mm=WALLS_MM):
    corners = "".join(CORNER.format(name=name, wall=wall) for name, wall in walls_mm.items())
    return car_of_text(SHARED + corners, "four-wells.toml")


@dataclass(frozen=True)
class Truth:
    """One wheel as it is."""

    width_mm: float = WIDTH_MM
    backspace_mm: float = BACK_MM
    circle_mm: float = 4.5 * INCH

    def spare_mm(self, wall_mm):
        """What the tighter of wall and skin has beyond what it must keep, by the sum above."""
        over = self.width_mm + INCH
        section = SECTION_MM + 0.4 * (self.width_mm - WIDTH_MM)
        inboard = self.backspace_mm - over / 2 + section / 2
        return min(wall_mm - inboard, SKIN_MM - (section - inboard)) - KEPT_MM

    @property
    def share(self):
        """The worst of its numbers as a share of what it may differ."""
        off = (self.width_mm - WIDTH_MM, self.backspace_mm - BACK_MM)
        return max(*(abs(one) / 1.5 for one in off), abs(self.circle_mm - 4.5 * INCH) / 0.3)

    def read(self, name, rng, tape_mm=0.4):
        """Its row, read with a tape and calipers that are off by no more than they say."""
        chord = self.circle_mm * math.sin(2 * math.pi / 5)
        read = lambda mm, to: f"{mm + rng.uniform(-to, to):.4f} mm"  # noqa: E731
        return {
            "name": name,
            "width": read(self.width_mm, tape_mm),
            "straight_edge": read(self.backspace_mm, tape_mm),
            "bead_seat_circumference": "1194.43 mm",
            "holes": 5,
            "hole_reading": read(chord, 0.05),
            "hole_from": "same edge",
            "tape_to": f"{tape_mm} mm",
            "calipers_to": "0.05 mm",
        }


@dataclass(frozen=True)
class Gap:
    """What is asked of a gap."""

    part: str
    at_least_mm: float
    required_mm: float = KEPT_MM


class Pencil:
    """The gaps of a corner at any backspace by the sum above, and how often it was asked."""

    def __init__(self, walls_mm=WALLS_MM):
        self.walls_mm, self.asked = walls_mm, 0

    def __call__(self, mockup):
        self.asked += 1
        inboard = mockup.wheel.backspace_mm - (WIDTH_MM + INCH) / 2 + SECTION_MM / 2
        wall_mm = self.walls_mm[mockup.corner]
        return [Gap("inner wall", wall_mm - inboard), Gap("outer skin", SKIN_MM - (SECTION_MM - inboard))]


def received(car, rows, measure=None):
    return car_received(car, measured_of(rows, file="rows"), measure=measure or Pencil())


# ---- which wheel goes where


def by_matching(table):
    """The best least room of any placing of all wheels, and then the best sum: threshold, matching, assignment."""
    for level in sorted({room for row in table for room in row}, reverse=True):
        allowed = np.array([[room >= level for room in row] for row in table])
        matched = maximum_bipartite_matching(csr_array(allowed), perm_type="column")
        if (matched >= 0).all():
            cost = np.where(allowed, -np.array(table), 1e6)
            rows, columns = linear_sum_assignment(cost)
            return level, -float(cost[rows, columns].sum())
    return None


@pytest.mark.parametrize("seed", range(60))
def test_the_placing_is_the_best_of_all_twenty_four(seed):
    """By every permutation, and by another way: the highest level at which a matching is left, then the best sum."""
    rng = random.Random(seed)
    # coarse rooms, so that there are many ties for the sum to decide
    table = [[rng.randrange(0, 12) / 2 for _ in CORNERS] for _ in CORNERS]
    rooms = {f"wheel {n}": dict(zip(CORNERS, row, strict=True)) for n, row in enumerate(table)}
    placing = best_placing(rooms)
    assert sorted(placing.values()) == sorted(CORNERS)
    found = least_mm(placing, rooms), sum(rooms[wheel][corner] for wheel, corner in placing.items())
    every = [[table[n][at] for n, at in enumerate(order)] for order in itertools.permutations(range(4))]
    assert len(every) == 24
    assert found == max((min(rooms), sum(rooms)) for rooms in every)
    assert found == pytest.approx(by_matching(table))


def test_the_largest_sum_does_not_starve_a_corner():
    """One way round leaves 10 and 1, the other 4 and 4: the sum is larger, and the wrong wheel would rub."""
    rooms = {"one": {"left": 10.0, "right": 4.0}, "two": {"left": 4.0, "right": 1.0}}
    assert best_placing(rooms) == {"one": "right", "two": "left"}


@pytest.mark.parametrize("seed", range(40))
def test_where_not_all_can_go_on_the_most_do(seed):
    """Against every way to give each wheel a corner or none."""
    rng = random.Random(1000 + seed)
    table = [[rng.uniform(-6, 3) for _ in CORNERS] for _ in CORNERS]
    rooms = {f"wheel {n}": dict(zip(CORNERS, row, strict=True)) for n, row in enumerate(table)}
    placing = best_placing(rooms)
    best = (-1, 0.0, 0.0)
    for chosen in itertools.product((None, *range(4)), repeat=4):
        at = [one for one in chosen if one is not None]
        mine = [table[n][one] for n, one in enumerate(chosen) if one is not None]
        if len(set(at)) == len(at) and all(room >= 0 for room in mine):
            best = max(best, (len(mine), min(mine, default=math.inf), sum(mine)))
    got = [rooms[wheel][corner] for wheel, corner in placing.items()]
    assert (len(got), min(got, default=math.inf)) == pytest.approx(best[:2])
    assert sum(got) == pytest.approx(best[2], abs=1e-5)


def test_a_wheel_of_which_something_else_is_open_takes_no_place_from_one_that_is_kept():
    rooms = {"open": {"left": 9.0, "right": -1.0}, "sure": {"left": 1.0, "right": -1.0}}
    assert best_placing(rooms, sure=["sure"]) == {"sure": "left"}


# ---- the words


@pytest.mark.parametrize("seed", range(16))
def test_no_good_wheel_goes_back_and_none_is_kept_where_it_would_not_clear(seed):
    """Four wheels a set, each a little or much off, read with errors; the truth is known by the pencil."""
    rng = random.Random(seed)
    truths = {}
    for n in range(4):
        wild = rng.random() < 0.3
        truths[f"wheel {n + 1}"] = Truth(
            width_mm=WIDTH_MM + rng.uniform(-1, 1) * (4 if wild else 0.5),
            backspace_mm=BACK_MM + rng.uniform(-1, 1) * (4 if wild else 1.2),
            circle_mm=4.5 * INCH + (rng.uniform(-1, 1) if rng.random() < 0.15 else 0.0),
        )
    found = received(car_of(), [truth.read(name, rng) for name, truth in truths.items()])
    (kind,) = found.kinds
    assert len(set(kind.placing.values())) == len(kind.placing)
    for one in kind.wheels:
        truth = truths[one.wheel]
        if one.verdict == RETURN:
            assert truth.share > 1.0, (one, truth)
            assert one.wheel not in kind.placing
        if one.verdict == KEEP:
            assert truth.spare_mm(WALLS_MM[kind.placing[one.wheel]]) >= 0.0, (one, truth)
    # what is written of a wheel that goes back is no more than is true of it
    for letter in kind.to_seller:
        for item, off in proven(letter.text).items():
            truth = truths[letter.wheel]
            true = {
                "Backspace": truth.backspace_mm - BACK_MM,
                "Bead seat width": truth.width_mm - WIDTH_MM,
                "Bolt circle": truth.circle_mm - 4.5 * INCH,
            }[item]
            assert abs(off) <= abs(true) + 0.006, (letter, truth)  # the last figure that is written
            assert off * true > 0


def proven(text):
    """Item: at least so much more than ordered; negative where it is less."""
    found = {}
    for item, mm, way in re.findall(
        r"(\w[\w ]+): ordered .*?: so it is at least ([\d.]+) mm .*? (more|less) than", text
    ):
        found[item] = float(mm) if way == "more" else -float(mm)
    return found


def test_the_sets_above_hold_every_word():
    rng = random.Random(5)
    words = set()
    for _ in range(6):
        rows = [Truth(backspace_mm=BACK_MM + rng.uniform(-3, 3)).read(f"wheel {n}", rng) for n in range(4)]
        words |= {one.verdict for one in received(car_of(), rows).kinds[0].wheels}
    assert {KEEP, RETURN, READ_AGAIN} <= words


def test_the_pencil_and_the_search_place_the_same_wheels():
    """Two of the wells, the corner's real gaps measured over the cycle in the place of the sum."""
    walls = {name: WALLS_MM[name] for name in ("rear-left", "rear-right")}
    rng = random.Random(3)
    rows = [Truth(backspace_mm=BACK_MM + off).read(f"wheel {n}", rng) for n, off in enumerate((0.9, -0.6))]
    first, second = received(car_of(walls), rows, Pencil(walls)), received(car_of(walls), rows, over_cycle)
    (one,), (other,) = first.kinds, second.kinds
    assert one.placing == other.placing == {"wheel 0": "rear-right", "wheel 1": "rear-left"}
    for here, there in zip(one.stands, other.stands, strict=True):
        assert here.left.room_mm == pytest.approx(there.left.room_mm, abs=0.05)  # the bracket's width


def test_wheels_read_alike_share_their_measurements():
    """Four corners as ordered, and each once for the one backspace that all four wheels have."""
    rng = random.Random(0)
    row = Truth(backspace_mm=BACK_MM + 0.25).read("x", rng)
    pencil = Pencil()
    received(car_of(), [{**row, "name": f"wheel {n}"} for n in range(4)], pencil)
    assert pencil.asked == 8


def test_wheels_that_all_go_back_cost_no_measurement():
    rng = random.Random(0)
    pencil = Pencil()
    found = received(car_of(), [Truth(backspace_mm=BACK_MM + 9).read(f"wheel {n}", rng) for n in range(4)], pencil)
    assert [one.verdict for one in found.kinds[0].wheels] == [RETURN] * 4
    assert pencil.asked == 0
    assert len(found.kinds[0].to_seller) == 4
    assert found.kinds[0].free == CORNERS


def test_a_wheel_as_ordered_that_clears_nowhere_is_not_told_and_not_sent_back():
    """Every wall so near that what the tolerance allows is more than there is."""
    near = dict.fromkeys(WALLS_MM, 134.9)
    rng = random.Random(2)
    found = received(car_of(near), [Truth(backspace_mm=BACK_MM + 1.0).read("wheel 1", rng, 0.2)], Pencil(near))
    (one,) = found.kinds[0].wheels
    assert one.verdict == NOT_TOLD
    assert "the order allows more than" in one.why
    assert not found.kinds[0].placing
    assert not found.kinds[0].to_seller


def test_nothing_is_kept_at_a_corner_that_does_not_clear_as_ordered():
    walls = {**WALLS_MM, "front-left": 130.0}
    rng = random.Random(4)
    # shallow enough that it would clear there, by the reading
    rows = [Truth(backspace_mm=BACK_MM - 1.0).read(f"wheel {n}", rng, 0.1) for n in range(4)]
    found = received(car_of(walls), rows, Pencil(walls))
    assert "front-left" not in found.kinds[0].placing.values()
    assert sum(one.verdict == KEEP for one in found.kinds[0].wheels) == 3
    assert sum(one.verdict == NOT_TOLD for one in found.kinds[0].wheels) == 1


# ---- kinds of wheel, and what is not of the order


@pytest.fixture(scope="module")
def roadster():
    return clearance.load_car(ROADSTER)


def test_a_staggered_car_places_its_wheels_within_their_kind(roadster):
    from clearance.answers.wheel_kinds import wheel_kinds

    assert [(kind.name, kind.corner_names) for kind in wheel_kinds(roadster)] == [
        ("front", ("front-left", "front-right")),
        ("rear", ("rear-left", "rear-right")),
    ]
    files, _ = clearance.car_box_sheets(roadster, sheet="s.pdf", blank="b.csv")
    rows = list(csv.reader(io.StringIO(files["b.csv"].decode())))
    assert [row[0] for row in rows] == [
        "wheel", "how to read it, front wheels", "front wheel 1", "front wheel 2",
        "how to read it, rear wheels", "rear wheel 1", "rear wheel 2",
    ]  # fmt: skip
    assert len(re.findall(rb"/Type\s*/Page\b(?!s)", files["s.pdf"])) == 4


@pytest.mark.parametrize(
    ("names", "words"),
    [
        (["middle wheel 1"], "whose boxes are front wheel 1, front wheel 2, rear wheel 1, rear wheel 2"),
        (["rear wheel 1", "rear wheel 2", "rear wheel 3"], "the box 'rear wheel 3' is not of this order: 2 rear"),
        (["rear wheel 1", "Rear  wheel 1"], "stands twice: it is wheel 1"),
        ([], "no wheel was measured"),
    ],
)
def test_what_is_not_of_the_order_is_refused_by_its_name(roadster, names, words):
    with pytest.raises(WheelError, match=re.escape(words)):
        car_received(roadster, measured_of([{"name": name} for name in names], file="x"), measure=Pencil())


def test_too_few_wheels_are_answered_and_said(roadster):
    found = clearance.inspect_car(roadster, clearance.boxes([{"name": "rear wheel 1"}]))
    facts = found.to_dict()
    assert facts["verdict"] == NOT_TOLD
    assert [kind["lacking"] for kind in facts["kinds"]] == [2, 1]
    assert "1 of 2 wheels were read" in found.words()


def test_the_sheet_is_filled_and_read_back(tmp_path, capsys):
    """The coupe's two wheels, one 3/16 in too deep: it goes back, the other to the tighter side's other."""
    blank, sheet = tmp_path / "b.csv", tmp_path / "s.pdf"
    assert run(["inspect", COUPE, "--sheet", str(sheet), "--blank", str(blank), "--units", "in"]) == 0
    heading, how, *rows = csv.reader(io.StringIO(blank.read_text(encoding="utf-8")))
    letters = [words.partition(" ")[0] for words in heading]
    assert [row[0] for row in rows] == ["wheel 1", "wheel 2"]
    said = {"F": "7", "E1": "47 1/32", "H": "5", "H1": "4.280", "TT": "1/64", "TC": "0.004"}
    for row, back in zip(rows, ("4 1/8", "4 5/16"), strict=True):
        for letter, text in {**said, "G": back}.items():
            row[letters.index(letter)] = text
    with blank.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows([heading, how, *rows])
    assert len(rows_of(blank)) == 2
    capsys.readouterr()
    assert run(["inspect", COUPE, "--measured", str(blank), "--json"]) == 1
    facts = json.loads(capsys.readouterr().out)
    assert [(one["verdict"], one["goes_to"]) for one in facts["wheels"]] == [(KEEP, "rear-right"), (RETURN, None)]
    assert facts["kinds"][0]["without_wheel"] == ["rear-left"]
    (letter,) = facts["to_seller"]
    # 3/16 in is 4.76 mm, less 1/64 in that the tape may hide
    assert "at least 4.37 mm (0.172 in) more than ordered" in letter["text"]
    (outside,) = [check for check in facts["checks"] if check["finding"] == OUTSIDE]
    assert outside["item"] == "backspace"
