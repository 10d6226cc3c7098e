"""A corner moved by hand: a scene stands where the suspension has it, and the gap beside it is the gap's own."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from clearance_cli.page.folder import Folder
from clearance_cli.page.sitting import Sitting

import clearance
from clearance.gap.still import at_position
from clearance.report.tubes import is_line
from clearance.suspension.position import HUB
from clearance.units import led_by
from clearance.words.text import told

CORNERS = sorted((Path(__file__).resolve().parents[2] / "fixtures" / "corners").glob("*.toml"))
TENTH_MM = 0.05 * 3**0.5
"""What a shape in whole tenths of a millimetre may be off at most."""
CHORD_MM = 0.41
"""What an outline of straight pieces may be off, and its hundredths."""


QUICK = ("orchard-pickup-rear", "scanned-well-rear", "heron-roadster-front")
"""One that leans, a scan, one that steers on the right; the others move as these do."""


@pytest.fixture(
    scope="module",
    params=[
        pytest.param(path, id=path.stem, marks=[] if path.stem in QUICK else [pytest.mark.slow]) for path in CORNERS
    ],
)
def bench(request):
    return clearance.on_bench(request.param.read_text(), request.param)


def asked(bench, count):
    """Positions within the cycle, seeded, as a page asks for them: steer is the car's own."""
    ends = bench.shapes({})["ends"]
    rng = np.random.default_rng(17)
    return [tuple(float(rng.uniform(*ends[axis])) for axis in ("bump", "other", "steer")) for _ in range(count)]


def carried(pose, places):
    """As the page's script does it: twelve numbers, origin and turn."""
    return np.array(pose[:3]) + places @ np.array(pose[3:]).reshape(3, 3).T


def to_triangles(point, triangles):
    """(n,): distances from one point to triangles, by projection and clamped edges; an oracle of its own."""
    a, b, c = triangles[:, 0], triangles[:, 1], triangles[:, 2]

    def to_edge(p, q):
        way = q - p
        t = np.einsum("ij,ij->i", point - p, way) / np.maximum(np.einsum("ij,ij->i", way, way), 1e-12)
        return np.linalg.norm(point - (p + np.clip(t, 0, 1)[:, None] * way), axis=1)

    least = np.minimum(np.minimum(to_edge(a, b), to_edge(b, c)), to_edge(c, a))
    normal = np.cross(b - a, c - a)
    area = np.maximum(np.linalg.norm(normal, axis=1), 1e-12)
    unit = normal / area[:, None]
    height = np.einsum("ij,ij->i", point - a, unit)
    foot = point - height[:, None] * unit
    inside = np.ones(len(a), dtype=bool)
    for p, q in ((a, b), (b, c), (c, a)):
        inside &= np.einsum("ij,ij->i", np.cross(q - p, foot - p), unit) >= 0
    return np.where(inside, np.abs(height), least)


def looked_at(bench, facts):
    """The two points of the contact, each as far from what the scene draws there: part, tire and wheel."""
    shapes, contact = bench.shapes({}), facts["contact"]
    part = next(one for one in shapes["parts"] if one["name"] == contact["part"])
    corners = np.array(part["triangles"], dtype=float).reshape(-1, 3) / 10
    if "share" in part:
        corners += np.array(part["share"])[:, None] * np.array(facts["far"][part["name"]])
    if part["frame"] in facts["poses"]:
        corners = carried(facts["poses"][part["frame"]], corners)
    off_part = to_triangles(np.array(contact["on_part"]), corners.reshape(-1, 3, 3)).min()
    pose = np.array(facts["poses"][HUB])
    own = (np.array(contact["on_tire"]) - pose[:3]) @ pose[3:].reshape(3, 3)
    place = np.array([own[1], np.hypot(own[0], own[2])])
    outline = np.array(shapes["outline"])
    ring = np.stack([outline, np.roll(outline, -1, axis=0)], axis=1)
    way = ring[:, 1] - ring[:, 0]
    t = np.clip(np.einsum("ij,ij->i", place - ring[:, 0], way) / np.einsum("ij,ij->i", way, way), 0, 1)
    off_wheel = np.linalg.norm(place - ring[:, 0] - t[:, None] * way, axis=1).min()
    return off_part, off_wheel


def drawn_within_mm(bench, name):
    """A bar is drawn with eight flat sides, a thick sheet as its middle; both lie inside the surface by so much."""
    part = bench.mockup.part(name)
    inside = 1 - np.cos(np.pi / 8) if is_line(part.triangles_mm) else 1.0
    return TENTH_MM + 1e-3 + part.skin_mm * inside


def test_contact_and_number_are_those_of_the_gap_at_that_position(bench):
    for place in asked(bench, 2):
        position = bench.position_of(*place)
        for part in bench.mockup.parts[:3]:
            facts = bench.standing_at(position, part.name).facts(drawn=False)
            gap = at_position(bench.mockup, position, parts=(part.name,))[0]
            way = np.linalg.norm(np.subtract(facts["contact"]["on_part"], facts["contact"]["on_tire"]))
            if not gap.swallowed:
                assert way == pytest.approx(abs(gap.at_most_mm), abs=2e-3)
            assert facts["contact"]["gap"] == led_by(told(gap), bench.mockup.units)
            off_part, off_wheel = looked_at(bench, facts)
            assert off_part < drawn_within_mm(bench, part.name)
            assert off_wheel < CHORD_MM


def test_steer_is_the_car_s_own_and_a_place_outside_is_brought_in(bench):
    ends = bench.shapes({})["ends"]
    for place in asked(bench, 3):
        at = bench.standing_at(bench.position_of(*place), "").facts(drawn=False)["at"]
        assert at["bump"] == pytest.approx(place[0], abs=1e-3)
        assert at["steer"] == pytest.approx(place[2], abs=1e-3)
    far = bench.standing_at(bench.position_of(9e5, -9e5, 9e5), "").facts(drawn=False)["at"]
    assert far["bump"] == pytest.approx(ends["bump"][1], abs=1e-3)
    assert far["steer"] == pytest.approx(ends["steer"][1], abs=1e-3)
    cycle = bench.mockup.suspension.cycle
    if cycle.articulation_mm is not None:
        assert abs(far["bump"] - far["other"]) <= cycle.articulation_mm + 1e-6


def test_worst_of_the_corner_and_of_a_part_are_what_check_certifies(bench):
    known, answer = bench.measured()
    gaps = {gap.part: gap for gap in answer.value.gaps}
    rows = {row.part: row for row in clearance.look_at(known.mockup, answer.value.gaps, exact=True).rows}
    first = next(iter(rows))
    for part in ("", *list(rows)[:4]):
        facts = bench.standing_worst(answer.value.gaps, part).facts(drawn=False)
        name = part or first
        assert facts["known"] == "worst"
        assert (facts["contact"]["part"], facts["contact"]["gap"]) == (name, rows[name].gap)
        assert facts["contact"]["verdict"] == gaps[name].verdict
        off_part, off_wheel = looked_at(bench, facts)
        assert off_part < drawn_within_mm(bench, name)
        assert off_wheel < CHORD_MM


def test_only_what_a_page_has_not_is_sent_again(bench):
    every = bench.shapes({})
    sums = {part["name"]: part["sum"] for part in every["parts"]}
    assert list(sums) == [part.name for part in bench.mockup.parts]
    assert bench.shapes(sums)["parts"] == []
    again = clearance.on_bench(bench.text, bench.place)
    assert again.shapes(sums)["parts"] == []


def test_every_part_at_a_place_nearest_first_and_left_when_there_is_something_newer(bench):
    position = bench.position_of(*asked(bench, 1)[0])
    every = bench.all_at(position, lambda: None)
    assert {one["part"] for one in every} == {part.name for part in bench.mockup.parts}

    def newer():
        raise InterruptedError

    with pytest.raises(InterruptedError):
        bench.all_at(position, newer)


def test_a_part_s_dial_moves_its_shape_in_the_scene():
    path = next(path for path in CORNERS if path.stem == "tern-coupe-rear")
    bench = clearance.on_bench(path.read_text(), path)
    dial = next(dial for dial in bench.dials if dial.path[0] == "part" and dial.path[-1] != "required")
    sitting = Sitting(folder=Folder(place=path.parent), name=path.name, bench=bench, as_read=bench.text)
    bench, _ = bench.measured()
    sitting.bench = bench
    news = sitting.turned(list(dial.path), dial.value + 4 * dial.step)
    assert [part["name"] for part in news["shapes"]["parts"]] == [dial.path[1]]
    assert news["stands"]["known"] == "meanwhile"


def test_an_arc_is_one_in_every_line_of_the_page():
    """The pickup's axle rises upright: wheel and wall are flat there, and as near all along an arc of the sidewall."""
    place = next(one for one in CORNERS if one.stem == QUICK[0])
    bench, answer = clearance.on_bench(place.read_text(), place).measured()
    dial = next(dial for dial in bench.dials if dial.path == ("wheel", "backspace"))
    there = bench.turned(dial.path, dial.value + 2.0)
    dragged = there.meanwhile()
    said = [
        *(row.where for row in clearance.look_at(bench.mockup, answer.value.gaps, exact=True).rows),
        *(row.where for row in clearance.look_at(there.mockup, dragged, exact=False).rows),
        there.standing_worst(dragged, "inner wall", known="meanwhile").facts(drawn=False)["contact"]["where"],
        bench.standing_at(answer.value.gaps[0].position, "inner wall").facts(drawn=False)["contact"]["where"],
    ]
    # inner wall and frame rail in both tables, and the wall twice more; at ride height the rail has two of them
    assert sum("an arc of " in one or "arcs of " in one for one in said) == 6
