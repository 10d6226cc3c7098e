"""What must move at each corner of a car: as of one corner, worst first, once where both sides agree."""

from __future__ import annotations

import json

import pytest
from clearance_cli.main import run
from two_walls import car as car_text

import clearance
from clearance.words.car_relief import lines_of

# inner and outer wall too near at the left, and at the right the inner alone, by 2 mm less
LEFT, RIGHT = (133.0, 118.0), (135.0, 140.0)


def asked(left, right=None):
    car = clearance.read_car(car_text(left, right))
    found = clearance.relief_car(car, processes=1).value
    return car, found, lines_of({name: one.parts for name, one in found.items()})


def test_every_corner_has_what_it_has_alone_and_the_worst_stands_first():
    car, found, lines = asked(LEFT, RIGHT)
    for name, corner in car.corners.items():
        alone = clearance.relief(corner).value.parts
        assert [(one.before.part, [m.distance_mm for m in one.moves]) for one in found[name].parts] == [
            (one.before.part, [m.distance_mm for m in one.moves]) for one in alone
        ]
    by_place = {(line.corners, line.relief.before.part): line.least_mm for line in lines}
    left, right = (by_place[((name,), "inner wall")] for name in ("rear-left", "rear-right"))
    assert set(by_place) == {(("rear-left",), "outer wall"), *(((name,), "inner wall") for name in found)}
    assert [line.least_mm for line in lines] == sorted((line.least_mm for line in lines), reverse=True)
    # 2 mm further off, and the moves are exact to a tenth
    assert left - right == pytest.approx(2.0, abs=0.11)


def test_sides_that_agree_are_one_line_and_sides_that_do_not_are_two():
    _, _, lines = asked(LEFT)
    assert [line.corners for line in lines] == [("rear-left", "rear-right")] * 2
    _, _, lines = asked(LEFT, (133.3, 118.0))
    assert sorted(line.corners for line in lines) == [("rear-left",), ("rear-left", "rear-right"), ("rear-right",)]


def test_as_a_user_asks(tmp_path, capsys):
    file = tmp_path / "car.toml"
    file.write_text(car_text(LEFT, RIGHT), encoding="utf-8")
    assert run(["relief", str(file)]) == 1
    page = capsys.readouterr().out
    assert "same on both sides" not in page
    assert page.index("rear-left ") < page.index("rear-right ")
    assert run(["relief", str(file), "--json"]) == 1
    told = json.loads(capsys.readouterr().out)
    assert [(one["corner"], len(one["parts"])) for one in told["corners"]] == [("rear-left", 2), ("rear-right", 1)]
    assert run(["relief", str(file), "--map", "no such part"]) == 2
    assert "inner wall, outer wall" in capsys.readouterr().err


def test_sides_alike_are_said_to_be_so(tmp_path, capsys):
    file = tmp_path / "car.toml"
    file.write_text(car_text((133.0, None)), encoding="utf-8")
    assert run(["relief", str(file)]) == 1
    page = capsys.readouterr().out
    assert "rear, same on both sides" in page
    assert "the larger move is given" in page


def test_nothing_to_move_is_said_and_files_have_their_corner_in_front(tmp_path, capsys):
    file, out = tmp_path / "car.toml", tmp_path / "out"
    file.write_text(car_text((160.0, None)), encoding="utf-8")
    assert run(["relief", str(file), "--slack", "8 mm", "--map", "inner wall", "--out", str(out)]) == 0
    assert "Every part keeps its required gap at every corner." in capsys.readouterr().out
    names = {path.name for path in out.iterdir() if not path.name.startswith(".")}
    assert {name[len("rear-left-") :] for name in names if name.startswith("rear-left-")} == {
        name[len("rear-right-") :] for name in names if name.startswith("rear-right-")
    }
    assert all(name.startswith(("rear-left-", "rear-right-")) for name in names)
    alone = tmp_path / "alone"
    assert (
        run(
            [
                "relief",
                str(file),
                "--corner",
                "rear-right",
                "--slack",
                "8 mm",
                "--map",
                "inner wall",
                "--out",
                str(alone),
            ]
        )
        == 0
    )
    for path in alone.iterdir():
        if not path.name.startswith("."):
            assert (out / f"rear-right-{path.name}").read_bytes() == path.read_bytes()
