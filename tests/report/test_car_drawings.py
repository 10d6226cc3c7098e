"""A car to scale: what is drawn stands where its numbers say, and what is not known is not drawn."""

from __future__ import annotations

import json
import re

import pytest
from car.cars import NOW, WALLS, mirrored
from clearance_cli.main import run

import clearance
from clearance.geom.drawing import HIDDEN, OUTLINE, WHOLE, Circle, Dimension, Path, Text
from clearance.report.car_drawings import AHEAD, BEHIND, SIDE, car_drawings, car_pictures, car_view, views_of

SCALE = 1 / 10
LIP = """
[[corner.front-left.part]]
name = "lip"
kind = "lip"
outboard = "90 mm"
centre = ["0 mm", "20 mm"]
radius = "350 mm"
from = "-70 deg"
to = "70 deg"
return_depth = "15 mm"
"""


@pytest.fixture(scope="module")
def car():
    return clearance.read_car(WALLS.replace("[corner.front-right]", f"{LIP}[corner.front-right]"))


def circles(drawing, layer):
    return sorted(
        (c.centre[0], c.centre[1], c.radius_mm) for c in drawing.marks if isinstance(c, Circle) and c.layer == layer
    )


def figures(drawing):
    return [dim.text for dim in drawing.marks if isinstance(dim, Dimension)]


def length_of(drawing, word):
    (dim,) = [dim for dim in drawing.marks if isinstance(dim, Dimension) and dim.text.startswith(word)]
    return ((dim.end[0] - dim.start[0]) ** 2 + (dim.end[1] - dim.start[1]) ** 2) ** 0.5 / SCALE


def test_wheels_stand_on_the_ground_a_wheelbase_apart(car):
    """Front 627 over all, rear 651, 2400 apart: circles that touch the ground; now 615 under both, dashed."""
    drawn = car_view(car, SIDE, SCALE)
    (ahead, behind), (front_now, rear_now) = circles(drawn, OUTLINE), circles(drawn, HIDDEN)
    assert ahead == pytest.approx((-120.0, 31.35, 31.35))
    assert behind == pytest.approx((120.0, 32.55, 32.55))
    assert front_now == pytest.approx((-120.0, 30.75, 30.75))
    assert rear_now == pytest.approx((120.0, 30.75, 30.75))
    assert length_of(drawn, "wheelbase") == pytest.approx(2400)


def test_an_axle_has_its_tracks_and_reaches_as_the_sums_have_them(car):
    """Rear hub faces 1420 apart; tires' middles 1380 next and 1344 now."""
    drawn = car_view(car, BEHIND, SCALE)
    assert length_of(drawn, "hub face") == pytest.approx(1420)
    assert length_of(drawn, "track next") == pytest.approx(1380)
    assert length_of(drawn, "track now") == pytest.approx(1344)
    for words in ("next in 132 mm", "next out 92 mm", "now in 138 mm", "now out 62 mm"):
        assert sum(text.startswith(words) for text in figures(drawn)) == 2, words


def test_outlines_are_as_wide_as_the_tires_and_where_their_offsets_put_them(car):
    """Front from ahead: the left wheel stands at the right; next 209 wide about 700 - 30, now 201 about 700 - 38."""
    drawn = car_view(car, AHEAD, SCALE)
    for layer, wide, middle in ((OUTLINE, 209, 670), (HIDDEN, 201, 662)):
        right = [
            m.points() for m in drawn.marks if isinstance(m, Path) and m.layer == layer and m.points()[:, 0].min() > 5
        ]
        (points,) = [p for p in right if len(p) > 10]
        low, high = points[:, 0].min() / SCALE, points[:, 0].max() / SCALE
        assert high - low == pytest.approx(wide, abs=0.5)
        assert (high + low) / 2 == pytest.approx(middle, abs=0.5)


def test_a_lip_stands_over_its_hub(car):
    """Its arch tops out 350 above a point 20 above the hub, which stands 313.5 over the ground; 90 outboard of 700."""
    for view, across in ((SIDE, -120.0), (AHEAD, 79.0)):
        drawn = car_view(car, view, SCALE)
        legend = min(m.at[1] for m in drawn.marks if isinstance(m, Text))
        lips = [m.points() for m in drawn.marks if isinstance(m, Path) and m.layer == WHOLE]
        here = [p for p in lips if p[:, 1].min() > 0 > legend and p[:, 0].min() - 6.0 < across < p[:, 0].max() + 6.0]
        assert max(p[:, 1].max() for p in here) == pytest.approx((313.5 + 20 + 350) * SCALE, abs=0.5)


def test_nothing_is_drawn_that_is_not_said(car):
    bare = WALLS.replace(NOW, "").replace('wheelbase = "2400 mm"\n', "").replace('track_rear = "1420 mm"\n', "")
    one = clearance.read_car(bare)
    side, behind = car_view(one, SIDE, SCALE), car_view(one, BEHIND, SCALE)
    for drawn, missing in ((side, "wheelbase"), (behind, "track_rear")):
        assert circles(drawn, HIDDEN) == []
        assert not any(re.match("wheelbase|track|hub face", text) for text in figures(drawn))
        assert any(missing in mark.text for mark in drawn.marks if isinstance(mark, Text))
        assert not any(isinstance(m, Path) and m.layer == HIDDEN for m in drawn.marks)
    rear = clearance.read_car(
        WALLS.split("[corner.front-left]")[0] + "[corner.rear-left]" + WALLS.split("[corner.rear-left]")[1]
    )
    assert views_of(rear) == [SIDE, BEHIND]
    with pytest.raises(clearance.InputError, match="nothing of this view"):
        car_view(rear, AHEAD, SCALE)


def test_a_diameter_alone_is_drawn_from_the_side_only():
    one = clearance.read_car(WALLS.replace(NOW, '[now]\noverall_diameter = "615 mm"\n'))
    assert len(circles(car_view(one, SIDE, SCALE), HIDDEN)) == 2
    assert not any(text.startswith("track now") for text in figures(car_view(one, BEHIND, SCALE)))


def test_the_other_side_of_the_car_is_its_mirror_image(car):
    """Of a car whose right side alone is described, ahead is to the right."""
    right = clearance.read_car(WALLS)
    left_only = {name: corner for name, corner in right.corners.items() if name.endswith("left")}
    one = mirrored(clearance.Car(title="one side", corners=left_only, wheelbase_mm=2400.0))
    here, there = circles(car_view(one, SIDE, SCALE), OUTLINE), circles(car_view(car, SIDE, SCALE), OUTLINE)
    assert [*map(pytest.approx, sorted((-x, y, r) for x, y, r in there))] == here


def test_files_are_whole_and_the_same_twice(car):
    files = car_drawings(car)
    assert set(files) == {f"{view}.{kind}" for view in (SIDE, BEHIND, AHEAD) for kind in ("svg", "dxf")} | {
        "car-drawings.pdf"
    }
    assert files == car_drawings(car)
    assert files["car-drawings.pdf"].startswith(b"%PDF")
    assert b"Four walls" in files["car-side.svg"]
    assert [title for title, _ in car_pictures(car)] == [
        "From the side",
        "The rear axle from behind",
        "The front axle from ahead",
    ]


def test_draw_of_a_car(tmp_path, capsys):
    file = tmp_path / "car.toml"
    file.write_text(WALLS, encoding="utf-8")
    assert run(["draw", str(file), "--out", str(tmp_path / "out"), "--units", "in", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert sorted(facts["files"]) == sorted(p.name for p in (tmp_path / "out").iterdir() if not p.name.startswith("."))
    assert "wheelbase 94 1/2 in (2400 mm)" in (tmp_path / "out" / "car-side.svg").read_text(encoding="utf-8")
    assert run(["draw", str(file), "--out", str(tmp_path / "more"), "--full-size", "side"]) == 2
    assert "--corner rear-left" in capsys.readouterr().err
