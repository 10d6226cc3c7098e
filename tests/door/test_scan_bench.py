"""A scan on the bench: what is picked becomes the lines that `clearance scan --into` writes."""

from __future__ import annotations

import json
import math
import re
import shutil
import subprocess
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run
from clearance_cli.page.scanned import like_it

import clearance
from clearance.gap.found import Gap
from clearance.suspension.position import Position

CORNERS = Path(__file__).resolve().parents[2] / "fixtures" / "corners"
WELL = CORNERS / "scanned-well.ply"
FACE = [[0.2945, 0.4373, -0.5081], [0.118, 0.4196, -0.5076], [0.1356, 0.2433, -0.5079], [0.3116, 0.2597, -0.5079]]
COMMAND = [sys.executable, "-c", "from clearance_cli.main import main; main()"]


@pytest.fixture(scope="module")
def scan():
    return clearance.scan_on_bench(WELL.read_bytes(), WELL)


def picked(**more: str) -> clearance.Picked:
    found = clearance.Picked(unit="m", up="+y", ahead="+x", face_outboard="12 mm", **more)
    for point in FACE:
        found = found.with_point("face", point)
    return found


def test_what_lacks_is_said_one_thing_after_the_other():
    found = clearance.Picked()
    said = [found.lacks()]
    found = found.said("unit", "m")
    said.append(found.lacks())
    for point in FACE[:3]:
        found = found.with_point("face", point)
    said.append(found.lacks())
    found = found.said("up", "+y").with_point("ahead", [0, 0, 0]).with_point("ahead", [1, 0, 0])
    assert [bool(re.search(word, one)) for word, one in zip(("unit", "0 of 3", "directions"), said, strict=True)] == [
        True
    ] * 3
    assert found.lacks() == ""
    assert "ahead = [1.0, 0.0, 0.0]" in found.place_text


def test_residuals_are_distances_to_the_circle_through_the_picks(scan):
    """None is further off than the fourth pick is from the plane of the other three, and half a millimetre round it."""
    stands = scan.standing(picked())
    assert len(stands.residuals_mm) == 4
    # the sum by hand: three of the shipped picks fix a circle, which the fourth stands near
    a, b, c, d = (np.array(p) * 1000 for p in FACE)
    normal = np.cross(b - a, c - a)
    normal /= np.linalg.norm(normal)
    off = abs((d - a) @ normal)
    assert max(stands.residuals_mm) <= off + 0.5
    assert f"{max(stands.residuals_mm):.1f} mm off it" in " ".join(stands.words())


def test_laid_on_it_is_the_file_that_the_command_writes(scan, tmp_path):
    shutil.copy(WELL, tmp_path)
    file = tmp_path / "tern-coupe-rear.toml"
    shutil.copy(CORNERS / file.name, file)
    bench = clearance.on_bench(file.read_text(), file)
    now = picked()
    laid, _ = scan.laid(bench, now, "left well")
    words = ["scan", WELL.name, "--unit", "m", "--place", now.place_text, "--into", file.name, "--name", "left well"]
    done = subprocess.run([*COMMAND, *words], cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert file.read_text() == laid.text


CAR = """# two sides, one of them told of
title = "Saltmarsh wagon"

[corner.rear-left]                # as it stands
file = "tern-coupe-rear.toml"

[corner.rear-right]
like = "rear-left"
"""


def test_laid_into_a_corner_of_a_car_it_is_the_file_that_the_command_writes(scan, tmp_path, monkeypatch, capsys):
    """And of the corner that is like it, put across the car; every remark stays."""
    for name in (WELL.name, "tern-coupe-rear.toml"):
        shutil.copy(CORNERS / name, tmp_path)
    file = tmp_path / "wagon.toml"
    file.write_text(CAR)
    laid, _ = scan.laid(clearance.on_bench(CAR, file, corner="rear-left"), picked(), "left well")
    assert laid.text.startswith(CAR)
    assert like_it(laid.text, "rear-left") == ["rear-right"]
    left, right = (
        clearance.read_car(laid.text, beside=tmp_path, name=file.name).at(corner).part("left well").triangles_mm
        for corner in ("rear-left", "rear-right")
    )
    assert np.array_equal(left, right)
    monkeypatch.chdir(tmp_path)
    words = ["scan", WELL.name, "--unit", "m", "--place", picked().place_text, "--into", file.name]
    for more, code in (([], 2), (["--corner", "front-left"], 2), (["--corner", "rear-left"], 0)):
        assert run([*words, "--name", "left well", *more]) == code
        assert file.read_text() == (laid.text if code == 0 else CAR)
    capsys.readouterr()


def test_a_name_that_a_corner_of_a_car_has_from_elsewhere_is_taken(scan, tmp_path):
    """What a corner says itself lies over what it is like: a scan of that name would be laid over that part."""
    shutil.copy(CORNERS / "tern-coupe-rear.toml", tmp_path)
    for corner in ("rear-left", "rear-right"):
        bench = clearance.on_bench(CAR, tmp_path / "wagon.toml", corner=corner)
        with pytest.raises(clearance.InputError, match="is taken"):
            scan.laid(bench, picked(side="left"), "lip")
    inline = CAR + 'part = [{ name = "lip", outboard = "130 mm" }]\n'
    with pytest.raises(clearance.InputError, match="laid out in a way"):
        scan.laid(clearance.on_bench(inline, tmp_path / "wagon.toml", corner="rear-right"), picked(), "well")


def test_a_measured_length_stands_for_the_unit(scan, tmp_path):
    shutil.copy(WELL, tmp_path)
    file = tmp_path / "tern-coupe-rear.toml"
    shutil.copy(CORNERS / file.name, file)
    now = (
        picked()
        .said("unit", "")
        .with_point("scale", [0, 0, 0])
        .with_point("scale", [0.5, 0, 0])
        .said("distance", "500 mm")
    )
    assert now.mm_per_unit == pytest.approx(1000.0)
    laid, stands = scan.laid(clearance.on_bench(file.read_text(), file), now, "well")
    assert "scale = { from = [" in laid.text
    # two ends within 2 mm over 500 mm, at 450 mm from the hub, on top of the picks
    assert stands.placed.uncertainty_mm == pytest.approx(scan.standing(picked()).placed.uncertainty_mm + 450 * 4 / 500)


def test_what_was_brushed_away_is_gone_from_the_part_and_nothing_else(scan, tmp_path):
    shutil.copy(WELL, tmp_path)
    file = tmp_path / "tern-coupe-rear.toml"
    shutil.copy(CORNERS / file.name, file)
    bench = clearance.on_bench(file.read_text(), file)
    whole, _ = scan.laid(bench, picked(), "well")
    piece = 4
    brushed, stands = scan.laid(bench, picked().without_piece(piece, FACE[0]), "well")
    before, after = (next(p for p in b.mockup.parts if p.name == "well").triangles_mm for b in (whole, brushed))
    left = {tuple(np.round(t.reshape(-1), 6)) for t in after}
    lost = [t for t in before if tuple(np.round(t.reshape(-1), 6)) not in left]
    own = stands.placed.placement.carry(scan.mesh.vertices[scan.mesh.faces[scan.labels == piece]])
    assert len(lost) == len(own) == len(before) - len(after)
    assert np.allclose(np.sort(np.reshape(lost, (-1, 9)), axis=0), np.sort(own.reshape(-1, 9), axis=0), atol=1e-6)
    with pytest.raises(clearance.InputError, match="the scan itself"):
        picked().without_piece(0, FACE[0])


def test_the_other_side_is_said_in_the_file(scan, tmp_path):
    shutil.copy(WELL, tmp_path)
    file = tmp_path / "tern-coupe-rear.toml"
    shutil.copy(CORNERS / file.name, file)
    bench = clearance.on_bench(file.read_text(), file)
    with pytest.raises(clearance.ClearanceError):
        # the right side's well with the left side's directions faces inboard
        scan.laid(bench, picked(side="right", outboard="-z"), "well")
    laid, _ = scan.laid(bench, picked(side="right", outboard="+z"), "well")
    assert "other_side = true" in laid.text


def test_a_gap_says_what_placing_adds(scan, tmp_path):
    shutil.copy(WELL, tmp_path)
    file = tmp_path / "tern-coupe-rear.toml"
    shutil.copy(CORNERS / file.name, file)
    laid, stands = scan.laid(clearance.on_bench(file.read_text(), file), picked().said("stray", "15 mm"), "well")
    part = next(p for p in laid.mockup.parts if p.name == "well")
    nowhere = np.zeros(3)
    found = Gap(
        part="well",
        required_mm=10.0,
        at_least_mm=20.0,
        at_most_mm=20.4,
        position=Position(),
        shift_mm=(0.0, 0.0),
        on_part_mm=nowhere,
        on_tire_mm=nowhere,
        toward_part=np.array([1.0, 0.0, 0.0]),
        at_rest_mm=nowhere,
        region="tread",
        where="",
        uncertainty_mm=part.uncertainty_mm,
    )
    placing = stands.placed.uncertainty_mm
    said = clearance.gap_band(found, placing, "mm")
    numbers = [float(n) for n in re.findall(r"(-?[\d.]+) mm", said["words"])]
    assert numbers[:4] == [20.4, round(placing, 1), round(20.0 - placing, 1), round(20.4 + placing, 1)]
    assert numbers[4] == round(part.uncertainty_mm, 1)
    assert part.uncertainty_mm == pytest.approx(placing + 5.0)
    # the shaded bars stand to scale: the inner one is as much wider than the bracket as placing adds
    bars = [
        [float(x) for x in re.findall(r"[-\d.]+", d)] for d in re.findall(r"<path d='([^']*)'[^>]*fill=", said["svg"])
    ]
    spans = sorted(max(row[::2]) - min(row[::2]) for row in bars if len(row) >= 8)
    assert math.isclose(spans[-1] / spans[-2], (0.4 + 2 * part.uncertainty_mm) / (0.4 + 2 * placing), rel_tol=0.02)
    wide = clearance.gap_band(replace(found, at_least_mm=-math.inf), placing, "mm")
    assert "inf" not in wide["words"]


@pytest.mark.parametrize("key", ["unit", "way", "up", "side", "nothing", "__class__", "points", "gone"])
def test_nothing_is_said_that_there_is_not(key):
    with pytest.raises(clearance.InputError):
        clearance.Picked().said(key, "<script>")


@pytest.mark.parametrize("content", [b"", b"ply\n", b"\0" * 400, b"solid x\nendsolid x\n", b"solid" + b"\xff" * 300])
def test_a_file_that_is_none_is_refused_in_words(content, tmp_path):
    for name in ("a.stl", "a.ply", "a.obj", "a.glb", "a.3mf", "a.off", "a.exe", "a.step"):
        with pytest.raises(clearance.ClearanceError) as wrong:
            clearance.scan_on_bench(content, tmp_path / name)
        assert name in str(wrong.value)
    assert json.dumps(str(wrong.value))
