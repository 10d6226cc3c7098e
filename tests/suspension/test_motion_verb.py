"""`clearance motion` as a user runs it."""

from __future__ import annotations

import builtins
import csv
import json
from pathlib import Path

import pytest
from clearance_cli.main import run

ROOT = Path(__file__).resolve().parents[2]
CORNERS = ROOT / "fixtures" / "corners"
SORREL, TERN, HERON = (
    str(CORNERS / f"{name}.toml") for name in ("sorrel-sedan-front", "tern-coupe-rear", "heron-roadster-front")
)


def said(capsys, *words, code=0):
    assert run(["motion", *words]) == code
    spoken = capsys.readouterr()
    assert "Traceback" not in spoken.err
    return spoken.out if code == 0 else spoken.err


def test_the_table_has_the_ends_of_travel_ride_height_and_both_locks(capsys):
    out = said(capsys, SORREL)
    lines = out.splitlines()
    assert lines[0] == "Sorrel sedan, front left: double-wishbone"
    assert "full left lock" in lines
    assert "full right lock" in lines
    straight = lines[lines.index("straight ahead") + 2 : lines.index("full left lock") - 1]
    assert [row.split()[0] for row in straight] == ["-70.0", "-50.0", "-25.0", "0.0", "25.0", "50.0", "75.0", "80.0"]
    ride = next(row for row in straight if row.split()[0] == "0.0")
    assert ride.split() == ["0.0", "0", "in", "0.00", "0.00", "0.00", "-0.600", "0.100", "0.00"]
    assert "on stands" in out


def test_a_live_axle_shows_one_wheel_bump_as_well(capsys):
    out = said(capsys, TERN)
    assert "straight ahead, both wheels alike" in out
    assert "straight ahead, other wheel at ride height" in out


def test_a_right_corner_steers_to_the_side_that_the_driver_steers(capsys):
    """Of a right wheel the right lock, as the inner wheel's, is the larger one: 36 deg here against 31."""
    out = json.loads(said(capsys, HERON, "--json"))
    left, right = (out["tables"][f"full {side} lock"] for side in ("left", "right"))
    ride = {side: next(row for row in rows if row["bump_mm"] == 0.0) for side, rows in (("l", left), ("r", right))}
    assert ride["l"]["turned_deg"] == pytest.approx(31.0, abs=1e-6)
    assert ride["r"]["turned_deg"] == pytest.approx(-36.0, abs=1e-6)
    # the inner wheel of a turn swings back, the outer one ahead, on an axis with caster inboard of the hub
    assert ride["r"]["along_mm"] < 0.0 < ride["l"]["along_mm"]


def test_csv_holds_every_row_and_the_same_numbers(capsys, tmp_path):
    file = tmp_path / "path.csv"
    said(capsys, SORREL, "--csv", str(file), "--step", "1 in")
    rows = list(csv.DictReader(file.read_text().splitlines()))
    assert {row["which"] for row in rows} == {"straight ahead", "full left lock", "full right lock"}
    heights = [float(row["bump_mm"]) for row in rows if row["which"] == "straight ahead"]
    assert heights == pytest.approx([-70.0, -50.8, -25.4, 0.0, 25.4, 50.8, 76.2, 80.0])


@pytest.mark.parametrize(("name", "start"), [("path.svg", b"<?xml"), ("path.png", b"\x89PNG")])
@pytest.mark.filterwarnings("ignore")
def test_the_picture_is_the_same_bytes_each_time(capsys, tmp_path, name, start):
    pytest.importorskip("matplotlib", reason="matplotlib is not installed: pip install matplotlib")
    first, second = tmp_path / "one" / name, tmp_path / "two" / name
    for file in (first, second):
        said(capsys, SORREL, "--picture", str(file))
    assert first.read_bytes().startswith(start)
    assert first.read_bytes() == second.read_bytes()


def test_without_matplotlib_the_picture_is_refused_in_words(capsys, tmp_path, monkeypatch):
    real = builtins.__import__

    def missing(name, *rest, **more):
        if name.split(".")[0] == "matplotlib":
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    words = said(capsys, SORREL, "--picture", str(tmp_path / "path.svg"), code=2)
    assert "--picture needs matplotlib, which is not installed" in words
    assert not list(tmp_path.iterdir())


def test_a_picture_of_another_kind_is_refused(capsys, tmp_path):
    assert "a picture is a .svg or a .png file" in said(capsys, SORREL, "--picture", str(tmp_path / "path.gif"), code=2)


@pytest.mark.parametrize(("step", "words"), [("25", "has no unit"), ("0.1 mm", "of no use"), ("2 m", "of no use")])
def test_a_step_that_cannot_be_is_refused(capsys, step, words):
    assert words in said(capsys, SORREL, "--step", step, code=2)


def test_a_travel_out_of_reach_names_the_file_and_the_line(capsys, tmp_path):
    text = Path(SORREL).read_text().replace('droop = "70 mm"', 'droop = "260 mm"')
    file = tmp_path / "too-far.toml"
    file.write_text(text)
    words = said(capsys, str(file), code=2)
    line = next(i for i, row in enumerate(text.splitlines(), start=1) if row.startswith("droop"))
    assert words.startswith(f"{file}:{line}  suspension.droop")
    assert "Sorrel sedan, front left cannot reach -260.0 mm: the linkage locks at -" in words
    assert "Check points" in words


def test_every_kind_and_every_point_is_on_the_page_of_suspensions():
    from clearance.suspension.kinds import KINDS

    page = (ROOT / "docs" / "suspensions.md").read_text(encoding="utf-8")
    for kind in KINDS.values():
        assert f"`{kind.name}`" in page
        for key in kind.keys:
            if key.dimension == "point" and key.required:
                assert f"`{key.name}`" in page, f"{kind.name}: {key.name}"
