"""One wheel for both sides: what the sides share, who binds it, and how far the axle stands off."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from clearance_cli.main import run
from two_walls import car as car_text

import clearance

ROOT = Path(__file__).parents[2]
CARS = ROOT / "fixtures" / "cars"

CAR, UNLIKE = car_text(), car_text(right=(166.0, 129.0))
WIDTH = (7.0,)


@pytest.fixture(scope="module")
def unlike():
    return clearance.read_car(UNLIKE)


@pytest.fixture(scope="module")
def shared(unlike):
    (found,) = clearance.window_car(unlike, widths_in=WIDTH).value
    return found


def own(corner: clearance.MockUp) -> tuple[float, float]:
    """Least and most offset of one corner alone, as `window` gives them."""
    (stretch,) = clearance.window(corner, widths_in=WIDTH).value.widths[0].stretches
    return stretch.least.offset_mm, stretch.most.offset_mm


@pytest.fixture(scope="module")
def alone(unlike):
    """Of each corner, least and most offset without the other."""
    return {name: own(corner) for name, corner in unlike.corners.items()}


def clears(car: clearance.Car, offset_mm: float) -> bool:
    """By a check of every corner, which knows nothing of windows."""
    corners = [clearance.changed(corner, offset_mm=offset_mm) for corner in car.corners.values()]
    return all(clearance.check(corner).value.verdict == "clears" for corner in corners)


def test_the_axles_window_is_where_both_sides_have_theirs(alone, shared):
    left, right = alone["rear-left"], alone["rear-right"]
    (stretch,) = shared.widths[0].stretches
    assert stretch.least.end.offset_mm == max(left[0], right[0])
    assert stretch.most.end.offset_mm == min(left[1], right[1])


def test_both_ends_clear_at_both_sides_and_a_step_past_them_one_does_not(unlike, shared):
    (stretch,) = shared.widths[0].stretches
    low, high = stretch.least.end.offset_mm, stretch.most.end.offset_mm
    assert clears(unlike, low)
    assert clears(unlike, high)
    assert not clears(unlike, low - 0.2)
    assert not clears(unlike, high + 0.2)


def test_who_binds_each_end(shared):
    """The right's outer wall stands 6 mm nearer and stops a wheel going out; of the inner walls it is the left's."""
    (stretch,) = shared.widths[0].stretches
    assert (stretch.least.corner, stretch.least.end.binds.part) == ("rear-right", "outer wall")
    assert (stretch.most.corner, stretch.most.end.binds.part) == ("rear-left", "inner wall")


def test_an_axle_that_stands_off_the_middle_and_what_centring_it_gives(alone, shared):
    """Both walls of the right side stand 6 mm further in, seen from its hub: the axle stands 3 mm to the right.

    Seen from the car the right well is the left well's mirror image moved 6 mm to the left. So the axle that had both
    alike stands 3 mm further left: it is now 3 mm too far right, and moved there both have one side's whole window.
    """
    row = shared.widths[0]
    assert row.off_mm == pytest.approx(-3.0, abs=0.11)
    assert row.centred.to_left_mm == pytest.approx(3.0, abs=0.11)
    least, most = alone["rear-left"]
    assert row.centred.most_offset_mm - row.centred.least_offset_mm == pytest.approx(most - least, abs=0.3)
    (stretch,) = row.stretches
    assert stretch.width_mm == pytest.approx(most - least - 6.0, abs=0.3)


def test_alike_sides_share_the_whole_window_and_say_nothing_of_the_axle():
    car = clearance.read_car(CAR)
    (found,) = clearance.window_car(car, widths_in=WIDTH).value
    (stretch,) = found.widths[0].stretches
    assert (stretch.least.end.offset_mm, stretch.most.end.offset_mm) == own(car.at("rear-left"))
    assert found.widths[0].off_mm == 0.0
    assert found.widths[0].centred is None


def test_mirroring_a_car_changes_nothing_but_names(shared):
    mirrored = UNLIKE.replace("left", "X").replace("right", "left").replace("X", "right")
    (found,) = clearance.window_car(clearance.read_car(mirrored), widths_in=WIDTH).value
    (here,), (there,) = shared.widths[0].stretches, found.widths[0].stretches
    assert there.least.end.offset_mm == here.least.end.offset_mm
    assert there.most.end.offset_mm == here.most.end.offset_mm
    assert there.least.corner == "rear-left"
    assert found.widths[0].off_mm == pytest.approx(-shared.widths[0].off_mm)


def test_sides_that_share_nothing_say_so_and_centring_may_still_be_the_answer():
    """The right well's walls 46 mm further in: each side has a window, together they have none until the axle moves."""
    car = clearance.read_car(car_text((140.0, 155.0), (186.0, 109.0)))
    answer = clearance.window_car(car, widths_in=WIDTH)
    row = answer.value[0].widths[0]
    assert row.stretches == ()
    assert all(side.stretches for side in row.sides.values())
    assert row.centred.to_left_mm == pytest.approx(23.0, abs=0.11)
    assert "they do not meet" in answer.words()
    assert answer.value[0].given_past_mm() is None


def test_a_window_that_ends_at_what_may_be_ordered_says_nothing_of_the_axle():
    """Without an outer wall both windows end outboard at the limit of the search, which is not the car's."""
    car = clearance.read_car(car_text((160.0, None), (166.0, None)))
    row = clearance.window_car(car, widths_in=WIDTH).value[0].widths[0]
    assert row.stretches
    assert row.off_mm is None
    assert row.centred is None


def test_the_largest_for_an_axle_clears_at_both_sides_and_its_backspace_serves_the_worse(unlike):
    """Each size is checked at both corners; one that clears on the roomier side alone is not in the answer."""
    found = clearance.largest_car(unlike, by="width", enough=3).value["rear"]
    assert found.fits
    for fit in found.fits:
        spares = {}
        for name, corner in unlike.corners.items():
            on = clearance.changed(
                corner, rim_width_in=fit.wheel.width_in, tire=fit.tire, offset_mm=fit.wheel.offset_mm
            )
            answer = clearance.check(on).value
            assert answer.verdict == "clears"
            spares[name] = answer.worst.spare_mm
        assert fit.spare_mm == pytest.approx(min(spares.values()), abs=0.06)
        assert fit.corner == min(spares, key=spares.get)
        # 166 - 20 on the right, 160 - 20 on the left; 129 - 10 on the right: 140 + 119 wide at most
        assert fit.tire.section_width_mm <= 140.0 + 119.0
    alone = clearance.largest(unlike.at("rear-left"), by="width", enough=1).value.fits[0]
    assert alone.tire.section_width_mm >= found.fits[0].tire.section_width_mm


# ---- as a user asks


def asked(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    capsys.readouterr()
    code = run([str(word) for word in words])
    heard = capsys.readouterr()
    return code, heard.out, heard.err


@pytest.fixture
def file(tmp_path):
    path = tmp_path / "car.toml"
    path.write_text(UNLIKE, encoding="utf-8")
    return path


def test_window_of_a_car(file, capsys):
    code, out, _ = asked(capsys, "window", file, "--width", "7 in")
    assert code == 0
    assert "rear-right: outer wall" in out
    assert "rear-left: inner wall" in out
    assert "3.0 mm (1/8 in) to the right" in out
    code, out, _ = asked(capsys, "window", file, "--width", "7 in", "--json")
    told = json.loads(out)
    assert told["groups"][0]["what"] == "rear axle"
    assert told["groups"][0]["widths"][0]["stretches"][0]["least"]["corner"] == "rear-right"


def test_the_order_of_a_car_asks_for_what_clears_when_it_is_made_a_little_off(file, shared, capsys):
    """[order] lets a backspace be 1.5 mm off: what is asked for keeps that from both ends, on a tape's sixteenths."""
    code, out, _ = asked(capsys, "order", file, "--json")
    assert code == 0
    (card,) = json.loads(out)["cards"]
    assert card["corners"] == ["rear-left", "rear-right"]
    assert card["clears"] is True
    lines = {line["item"]: line["value"] for line in card["lines"]}
    assert lines["quantity"] == "2"
    (stretch,) = shared.widths[0].stretches
    low, high = (end.end.backspace_mm for end in (stretch.least, stretch.most))
    asked_for = lines["backspace may be"].split("ask for ")[1].split(" to ")
    least, most = (clearance.length_mm(text) for text in asked_for)
    assert low + 1.5 <= least < low + 1.5 + 25.4 / 16
    assert high - 1.5 - 25.4 / 16 < most <= high - 1.5


@pytest.mark.parametrize(
    ("between", "asked_for"),
    [
        # 160 + 135 - 30 - 233.1 = 31.9 mm between the ends; 3 mm are taken off by what a maker may be off
        ((160.0, 135.0), " in to "),
        # 3.5 mm between the ends: half a millimetre is left about 109.1 mm, 68.7 sixteenths, and none lies in it
        ((145.8, 120.8), "which no sixteenth of an inch is in"),
        # 2.5 mm between the ends: nothing is left
        ((145.3, 120.3), "nothing that is made to"),
    ],
)
def test_what_is_asked_for_never_runs_backward(between, asked_for):
    """The walls' middle stays; between them are the tire, 233.1 mm at its widest, and gaps of 20 and 10 mm."""
    (card,) = clearance.order_car(clearance.read_car(car_text(between))).value
    (line,) = [line.value for line in card.lines if line.item == "backspace may be"]
    assert asked_for in line, line


def test_check_of_a_car_answers_for_the_worst_corner(file, capsys):
    code, out, _ = asked(capsys, "check", file)
    assert code == 0
    rows = [line.split()[0] for line in out.splitlines() if line.startswith("  rear-")]
    assert sorted(rows) == ["rear-left", "rear-right"]
    for name in rows:
        _, alone, _ = asked(capsys, "check", file, "--corner", name)
        gap = next(line for line in out.splitlines() if line.startswith(f"  {name}")).split("  ")
        assert all(cell.strip() in alone for cell in gap if "mm" in cell)
    code, out, _ = asked(capsys, "check", file, "--json")
    told = json.loads(out)
    assert told["worst"] == rows[0]
    assert [corner["corner"] for corner in told["corners"]] == rows


def test_a_certificate_and_a_picture_are_of_one_corner(file, tmp_path, capsys):
    for words in (
        ["check", file, "--certificate", tmp_path / "proof"],
        ["window", file, "--picture", tmp_path / "w.svg"],
    ):
        code, out, err = asked(capsys, *words)
        assert (code, out) == (2, "")
        assert "--corner rear-left" in err


@pytest.mark.parametrize("verb", ["budget", "motion", "room"])
def test_a_verb_of_one_corner_says_which_corners_there_are(verb, file, capsys):
    code, out, err = asked(capsys, verb, file)
    assert (code, out) == (2, "")
    assert "--corner rear-left" in err


def test_every_file_of_a_car_stands_in_one_folder_and_the_script_once(file, tmp_path, capsys):
    code, _, _ = asked(capsys, "check", file, "--out", tmp_path / "out", "--slack", "8 mm")
    assert code == 0
    there = {path.name for path in (tmp_path / "out").iterdir()}
    assert {"car.html", "plotting.js", "rear-left-report.html", "rear-right-findings.json"} <= there
    page = (tmp_path / "out" / "car.html").read_text(encoding="utf-8")
    for name in ("rear-left", "rear-right"):
        report = (tmp_path / "out" / f"{name}-report.html").read_text(encoding="utf-8")
        assert f'href="{name}-report.html"' in page
        assert '<script src="plotting.js">' in report
        assert len(report) < 2_000_000
        for listed in json.loads((tmp_path / "out" / f"{name}-findings.json").read_text(encoding="utf-8"))["files"]:
            assert listed in there
    assert sum(path.stat().st_size for path in (tmp_path / "out").glob("*.html")) < 3_000_000
    assert (tmp_path / "out" / "plotting.js").stat().st_size < 5_000_000
    again = {path.name: path.read_bytes() for path in (tmp_path / "out").iterdir()}
    asked(capsys, "check", file, "--out", tmp_path / "two", "--slack", "8 mm")
    assert all(
        (tmp_path / "two" / name).read_bytes() == again[name] for name in again if name != ".clearance-files.json"
    )


ROUND_LIP = """
[corner.rear-left.tire]
size = "225/60R15"
[corner.rear-left.wheel]
diameter = "15 in"
width = "7 in"
backspace = "4 3/8 in"
[corner.rear-left.suspension]
kind = "straight"
bump = "80 mm"
droop = "70 mm"
shift = { inboard = "2 mm", outboard = "2 mm" }
[[corner.rear-left.part]]
name = "inner wall"
kind = "wall"
inboard = "151 mm"
below = "60 mm"
[[corner.rear-left.part]]
name = "lip"
kind = "lip"
outboard = "140 mm"
radius = "362 mm"
centre = ["0 mm", "40 mm"]
from = "-60 deg"
to = "60 deg"
return_depth = "16 mm"
[corner.rear-right]
like = "rear-left"
[[corner.rear-right.part]]
name = "lip"
outboard = "134 mm"
"""


def test_what_is_to_spare_in_the_middle_is_what_a_check_says():
    """Beside a round lip a rough look ends millimetres above what there is."""
    car = clearance.read_car(f'title = "A round lip"\n{ROUND_LIP}')
    (found,) = clearance.window_car(car, widths_in=WIDTH).value
    (stretch,) = found.widths[0].stretches
    corners = {
        name: clearance.changed(corner, offset_mm=stretch.middle_offset_mm) for name, corner in car.corners.items()
    }
    spares = {name: min(g.spare_mm for g in clearance.check(corner).value.gaps) for name, corner in corners.items()}
    assert stretch.middle_spare_mm == min(spares.values())
    assert stretch.middle_corner == min(spares, key=lambda name: spares[name]) == "rear-right"
