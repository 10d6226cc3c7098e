"""What a dial writes: the key as the file has it, its remarks kept, and the same corner as while it was dragged."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import clearance

FIXTURES = Path(__file__).resolve().parents[2] / "fixtures"


def on(name: str, text: str | None = None):
    place = FIXTURES / name
    return clearance.on_bench(place.read_text() if text is None else text, place)


@pytest.fixture(scope="module")
def pickup():
    return on("corners/orchard-pickup-rear.toml")


@pytest.fixture(scope="module")
def coupe():
    return on("corners/tern-coupe-rear.toml")


def remarks(text: str) -> list[str]:
    return [line.partition("#")[2] for line in text.splitlines() if "#" in line]


def turned(bench, path, text):
    """Let go there; the file keeps its remarks and order."""
    after = bench.dialled(path, text)
    assert remarks(after.text) == remarks(bench.text)
    assert len(after.text.splitlines()) in (len(bench.text.splitlines()), len(bench.text.splitlines()) + 1)
    return after


def test_a_spacer_is_that_much_less_backspace(pickup):
    """3 3/4 in on a spacer of 1/2 in is a backspace of 3 1/4 in, and 12.7 mm less offset."""
    after = turned(pickup, ("wheel", "spacer"), "1/2 in")
    assert 'backspace = "3 1/4 in"' in after.text
    assert after.mockup.wheel.offset_mm == pytest.approx(pickup.mockup.wheel.offset_mm - 12.7, abs=1e-9)
    dial = after.dial(("wheel", "spacer"))
    assert (dial.text, dial.was, dial.value) == ("1/2 in", "0 in", pytest.approx(12.7, abs=1e-9))
    assert after.dialled(dial.path, dial.was).text == pickup.text
    # as somebody drags it
    assert pickup.turned(dial.path, 12.7).mockup.wheel.offset_mm == pytest.approx(after.mockup.wheel.offset_mm)


def test_a_car_that_stands_higher_gives_bump_up_and_gains_droop(coupe):
    """90 mm of bump and 85 of droop, 10 mm higher with its stops along: 80 up and 95 down from where it was."""
    after = turned(coupe, ("suspension", "ride_height"), "10 mm")
    cycle, before = after.mockup.suspension.cycle, coupe.mockup.suspension.cycle
    assert cycle.bump_mm == pytest.approx((-95.0, 80.0))
    assert cycle.other_bump_mm == pytest.approx((-95.0, 80.0))
    assert np.ptp(cycle.bump_mm) == np.ptp(before.bump_mm)
    assert after.dial(("suspension", "ride_height")).text == "10 mm"
    assert coupe.turned(("suspension", "ride_height"), 10.0).mockup.suspension.cycle.bump_mm == cycle.bump_mm


@pytest.mark.parametrize(
    ("part", "way", "by"),
    [
        ("frame rail", "moved outboard", (0.0, 12.7, 0.0)),
        ("bed floor", "moved up", (0.0, 0.0, 12.7)),
        ("tailpipe", "moved ahead", (12.7, 0.0, 0.0)),
        ("lip", "moved up", (0.0, 0.0, 12.7)),
    ],
)
def test_a_part_moves_whole_and_stays_in_inches(pickup, part, way, by):
    after = turned(pickup, ("part", part, way), "1/2 in")
    moved = after.mockup.part(part).triangles_mm - pickup.mockup.part(part).triangles_mm
    assert moved == pytest.approx(np.broadcast_to(by, moved.shape), abs=1e-9)
    dragged = pickup.turned(("part", part, way), 12.7).mockup.part(part)
    assert dragged.triangles_mm == pytest.approx(after.mockup.part(part).triangles_mm, abs=1e-9)
    assert after.dialled(("part", part, way), "0 in").text == pickup.text
    changed = set(after.text.splitlines()) - set(pickup.text.splitlines())
    assert changed
    # what was written in mm stays so: the lip's centre ahead
    assert part == "lip" or not any("mm" in line.partition("#")[0] for line in changed)


def test_what_no_sixteenth_says_is_written_in_decimals_and_a_mm_stays_a_mm(pickup):
    after = pickup.dialled(("part", "lip", "moved ahead"), "7 mm")
    assert 'centre = ["7 mm", "2 in"]' in after.text
    after = pickup.dialled(("part", "lip", "moved up"), "3 mm")
    assert 'centre = ["0 mm", "2.1181 in"]' in after.text


def test_a_required_gap_that_the_file_does_not_say_can_be_said_and_taken_back(pickup):
    dial = pickup.dial(("part", "inner wall", "required"))
    assert (dial.text, dial.value) == ("25 mm", 25.0)
    assert "common practice" in dial.told
    # called as its column in every answer is, whether the file says it or not
    assert {one.name for one in pickup.dials if one.path[-1] == "required"} == {"must keep"}
    after = turned(pickup, dial.path, "30 mm")
    part = after.mockup.part("inner wall")
    assert (part.required_mm, part.required_from) == (30.0, "corner file")
    assert after.dialled(dial.path, dial.was).text == pickup.text
    # one that the file says stays a key of the file
    said = pickup.dial(("part", "tailpipe", "required"))
    assert pickup.dialled(said.path, "1 in").dialled(said.path, said.was).text == pickup.text


def test_every_part_can_be_moved_or_has_a_measured_place_and_keeps_a_gap():
    for place in sorted((FIXTURES / "corners").glob("*.toml")):
        bench = on(f"corners/{place.name}")
        for table in bench.stood.tables["part"]:
            keys = {dial.path[2] for dial in bench.dials if dial.path[:2] == ("part", table["name"])}
            assert "required" in keys
            assert table["kind"] == "mesh" or keys & {"inboard", "outboard", "inner", "moved outboard"}, table["name"]


def test_a_corner_of_a_car_says_its_moved_part_itself():
    first = on("cars/tern-coupe.toml")
    car = first.at(first.corners[1])
    after = car.dialled(("part", "frame rail", "moved up"), "5 mm")
    part, before = after.mockup.part("frame rail"), car.mockup.part("frame rail")
    assert part.triangles_mm - before.triangles_mm == pytest.approx(
        np.broadcast_to((0.0, 0.0, 5.0), before.triangles_mm.shape), abs=1e-9
    )
    other = first.mockup, after.at(first.corner).mockup
    assert np.array_equal(*(one.part("frame rail").triangles_mm for one in other))
    assert after.dial(("part", "frame rail", "moved up")).text == "5 mm"
    # beside what this corner says itself of other parts, each in its own row
    assert after.text.startswith(first.text.rstrip("\n"))


@pytest.mark.parametrize("text", ["12", "ninety mm", "900 mm", ""])
def test_what_is_no_way_to_move_is_refused(pickup, text):
    with pytest.raises(clearance.ClearanceError):
        pickup.dialled(("part", "frame rail", "moved up"), text)


def test_another_rack_turns_another_lock():
    """While it is dragged too: what was certified for a narrower lock says nothing of a wider one."""
    bench, _ = on("corners/sorrel-sedan-front.toml"), None
    turned_to = bench.turned(("steering", "rack_left"), 62.0).mockup.suspension.cycle.steer_deg
    assert turned_to[1] > bench.mockup.suspension.cycle.steer_deg[1] + 1.0


def test_what_was_measured_again_is_what_a_check_says(pickup):
    """Part by part, from what this sitting knows: to the last bit; sooner, within the tolerance."""
    first, _ = pickup.measured()
    assert first.soon() is None, "all of it is known"
    after = first.dialled(("wheel", "backspace"), "3 1/2 in")
    soon = after.soon()
    after, answer = after.measured()
    fresh = clearance.check(on("corners/orchard-pickup-rear.toml", after.text).mockup).value
    assert answer.value.findings == fresh.findings
    for quick, gap in zip(soon, fresh.gaps, strict=True):
        assert quick.verdict == gap.verdict
        assert abs(quick.at_least_mm - gap.at_least_mm) <= 2 * gap.tolerance_mm


def test_where_nothing_but_a_required_gap_changed_nothing_is_searched_again(pickup):
    asked = []
    first, _ = pickup.measured()
    after = first.dialled(("part", "inner wall", "required"), "20 mm")
    after, answer = after.measured(progress=lambda _, __, words: asked.append(words.partition(":")[0]))
    assert asked == []
    fresh = clearance.check(on("corners/orchard-pickup-rear.toml", after.text).mockup).value
    assert answer.value.findings == fresh.findings


def test_the_bar_is_no_wider_than_what_is_spare(pickup):
    bench, answer = pickup.measured()
    low, high = clearance.sure_bar(bench, answer.value.gaps)
    spare = min(gap.at_least_mm - gap.required_mm for gap in answer.value.gaps)
    back = bench.dial(("wheel", "backspace")).value
    assert back - spare < low.value < back < high.value < back + spare
    hit = bench.changed({("wheel", "backspace"): "5 3/4 in"}).measured()
    assert clearance.sure_bar(hit[0], hit[1].value.gaps) is None


ROADSTER = "corners/heron-roadster-front.toml"


def roadster(bump: str, droop: str):
    text = (FIXTURES / ROADSTER).read_text().replace('bump = "70 mm"', f'bump = "{bump}"')
    return on(ROADSTER, text.replace('droop = "75 mm"', f'droop = "{droop}"'))


def test_a_car_on_measured_rows_stands_no_higher_than_its_stops_lie_within_them():
    """Rows from -75 to 70 mm: with 60 mm of bump and of droop, 10 mm lower and 15 mm higher is what was measured."""
    bench = roadster("60 mm", "60 mm")
    dial = bench.dial(("suspension", "ride_height"))
    assert (dial.least, dial.most) == (-10.0, 15.0)
    for value in ("15 mm", "-10 mm"):
        assert bench.dialled(dial.path, value).mockup.parts
    with pytest.raises(clearance.InputError, match="Write -10 mm to 15 mm"):
        bench.dialled(dial.path, "16 mm")


def test_where_no_row_is_left_the_dial_says_why():
    bench = roadster("70 mm", "75 mm")
    dial = bench.dial(("suspension", "ride_height"))
    assert not dial.goes
    assert "Measure rows further out" in dial.facts()["told"]
    with pytest.raises(clearance.InputError, match="Measure rows further out"):
        bench.dialled(dial.path, "1 mm")
