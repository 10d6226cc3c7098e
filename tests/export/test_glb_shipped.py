"""Scenes and zones of shipped corners, as the Khronos validator and a reader of the file's own JSON see them."""

from __future__ import annotations

import importlib.util
import json
import shutil
import struct
import subprocess
import sys
from pathlib import Path

import pytest

from clearance.description.load import load
from clearance.export.glb import scene_glb, zones_glb
from clearance.suspension.position import Position
from clearance.zones.zone import zones_of

VALIDATOR = Path(__file__).parent / "gltf"
THREE = Path(__file__).parent / "three"
CORNERS = Path(__file__).parents[2] / "fixtures" / "corners"


@pytest.fixture(
    scope="module", params=["orchard-pickup-rear", pytest.param("heron-roadster-front", marks=pytest.mark.slow)]
)
def files(request):
    mockup = load(CORNERS / f"{request.param}.toml")
    zones = zones_of(mockup)
    worst = zones[0].position if zones else Position()  # the pickup clears all round
    scene = scene_glb(mockup, worst=worst, zones=zones)
    return mockup, {"scene": scene, **({"zones": zones_glb(zones, right_hand=mockup.right_hand)} if zones else {})}


def head_of(content: bytes) -> dict:
    return json.loads(content[20 : 20 + struct.unpack_from("<I", content, 12)[0]])


def test_the_khronos_validator_finds_nothing_in_scene_and_zones(files, tmp_path):
    if shutil.which("node") is None or not (VALIDATOR / "node_modules").is_dir():
        pytest.skip("the glTF validator is not installed: run `npm ci` in tests/export/gltf")
    for name, content in files[1].items():
        path = tmp_path / f"{name}.glb"
        path.write_bytes(content)
        done = subprocess.run(
            ["node", str(VALIDATOR / "validate.mjs"), str(path)],
            capture_output=True,
            text=True,
            check=True,
            timeout=120,
        )
        issues = json.loads(done.stdout)["issues"]
        assert issues["messages"] == [], issues["messages"]


def test_three_js_sees_the_parts_the_wheel_and_the_travel_at_their_size(files, tmp_path):
    """three.js, which most viewers on the web are made with: names, true bounds at rest and at every key of the
    animation, morph weights between 0 and 1, and what stretches between body and axle reaches its very end.
    """
    if shutil.which("node") is None or not (THREE / "node_modules").is_dir():
        pytest.skip("three.js is not installed: run `npm ci` in tests/export/three")
    mockup, contents = files
    path = tmp_path / "scene.glb"
    path.write_bytes(contents["scene"])
    done = subprocess.run(
        ["node", str(THREE / "load.mjs"), str(path)], capture_output=True, text=True, check=True, timeout=120
    )
    seen = json.loads(done.stdout)
    assert {part.name for part in mockup.parts} <= set(seen["bounds"])
    low, high = seen["bounds"]["tire and wheel"]
    inboard, _, outboard, _ = mockup.solid.profile.bounds
    width, radius = outboard - inboard, mockup.solid.reach_mm
    assert max(b - a for a, b in zip(low, high, strict=True)) <= 2.0 * radius / 1000.0 + 1e-3
    assert high[2] - low[2] >= width / 1000.0 - 1e-3
    for least, most in seen["weights"]:
        assert -1e-6 <= least <= most <= 1.0 + 1e-6
    bump = mockup.suspension.cycle.bump_mm
    for part in mockup.parts:
        boxes = [moment[part.name] for moment in seen["moments"].values()]
        lowest = [box[0][1] for box in boxes]
        if part.rides_on == "body" and part.far_end is None:
            assert boxes.count(boxes[0]) == len(boxes)
        elif part.far_end is not None and mockup.title.startswith("Orchard"):
            # straight up and down: the lower end of the shock goes as far as the axle does
            assert max(lowest) - min(lowest) == pytest.approx((bump[1] - bump[0]) / 1000.0, abs=1e-4)


@pytest.mark.skipif(importlib.util.find_spec("bpy") is None, reason="Blender's module is not installed (pip: bpy)")
def test_blender_moves_the_wheel_and_the_shock_to_their_ends(files, tmp_path):
    """Blender's importer at every key of the animation: bounds to 0.1 mm, shape keys between 0 and 1."""
    mockup, contents = files
    if not mockup.title.startswith("Orchard"):
        pytest.skip("sums by hand are of the pickup, whose axle goes straight up and down")
    path = tmp_path / "scene.glb"
    path.write_bytes(contents["scene"])
    script = Path(__file__).parent / "look_in_blender.py"
    done = subprocess.run(
        [sys.executable, str(script), str(path)], capture_output=True, text=True, check=True, timeout=300
    )
    seen = json.loads(done.stdout[done.stdout.index("SEEN ") + 5 :].splitlines()[0])
    assert 0.0 <= seen["weights"][0] <= seen["weights"][1] <= 1.0
    assert seen["weights"][1] > 0.99
    low, high = (mm / 1000.0 for mm in mockup.suspension.cycle.bump_mm)
    for name in ("tire and wheel", "shock", "lip"):
        ends = [[moment[name][end][2] for moment in seen["moments"]] for end in (0, 1)]
        moved = [max(end) - min(end) for end in ends]
        wanted = [0.0 if name == "lip" or (name == "shock" and end == 1) else high - low for end in (0, 1)]
        assert moved == pytest.approx(wanted, abs=1e-4), name
    radius = mockup.solid.profile.bounds[3] / 1000.0
    assert max(moment["tire and wheel"][1][2] for moment in seen["moments"]) == pytest.approx(radius + high, abs=1e-4)
    assert min(moment["tire and wheel"][0][2] for moment in seen["moments"]) == pytest.approx(-radius + low, abs=1e-4)


def test_every_part_is_named_and_every_mesh_has_its_colours(files):
    mockup, contents = files
    for content in contents.values():
        for mesh in head_of(content).get("meshes", ()):
            assert all("COLOR_0" in primitive["attributes"] for primitive in mesh["primitives"])
    assert head_of(contents["scene"])["meshes"]
    names = {node["name"] for node in head_of(contents["scene"])["nodes"]}
    assert {part.name for part in mockup.parts} <= names


def test_every_clock_of_the_animation_starts_at_zero(files):
    head = head_of(files[1]["scene"])
    clocks = {sampler["input"] for animation in head["animations"] for sampler in animation["samplers"]}
    assert clocks
    assert all(head["accessors"][clock]["min"] == [0.0] for clock in clocks)
