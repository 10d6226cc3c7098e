"""The scene: valid by the Khronos validator, read back by a general library, moving as the suspension does."""

from __future__ import annotations

import io
import json
import re
import shutil
import struct
import subprocess
from pathlib import Path

import numpy as np
import pytest
import trimesh
from scipy.spatial.transform import Rotation

from clearance.description.load import load
from clearance.export.glb import _GLTF, colour_key, cycle_rows, linear, placed, scene_glb, zones_glb
from clearance.pose import Pose, mirrored
from clearance.suspension.position import Cycle, Position
from clearance.zones.zone import zones_of

HERE = Path(__file__).parent
CORNERS = HERE.parents[1] / "fixtures" / "corners"


def test_turns_become_the_quaternions_that_scipy_makes_of_them():
    """Half turns about each axis among them, where w is nothing and one of the others is 1."""
    random = Rotation.random(2000, random_state=1)
    turns = Rotation.concatenate([random, Rotation.from_rotvec(np.pi * np.eye(3)), Rotation.identity(1)])
    place, made = placed(Pose(origin_mm=np.zeros((len(turns), 3)), turn=turns.as_matrix()), False)
    wanted = (Rotation.from_matrix(_GLTF) * turns * Rotation.from_matrix(_GLTF).inv()).as_quat()
    # a quaternion and its opposite are one turn
    assert np.abs(np.einsum("ij,ij->i", made, wanted)) == pytest.approx(1.0, abs=1e-12)
    assert np.linalg.norm(made, axis=1) == pytest.approx(1.0, abs=1e-12)
    assert not place.any()


@pytest.fixture(scope="module")
def sorrel():
    mockup = load(CORNERS / "sorrel-sedan-front.toml")
    zones = zones_of(mockup)
    return mockup, zones, scene_glb(mockup, worst=zones[0].position, zones=zones)


@pytest.fixture(scope="module")
def heron():
    mockup = load(CORNERS / "heron-roadster-front.toml")
    return mockup, scene_glb(mockup)


def parts_of(content: bytes) -> tuple[dict, bytes]:
    length = struct.unpack_from("<I", content, 12)[0]
    return json.loads(content[20 : 20 + length]), content[28 + length :]


def values(content: bytes, number: int) -> np.ndarray:
    head, data = parts_of(content)
    accessor = head["accessors"][number]
    view = head["bufferViews"][accessor["bufferView"]]
    kind = {5126: "<f4", 5123: "<u2", 5125: "<u4"}[accessor["componentType"]]
    flat = np.frombuffer(
        data, dtype=kind, count=view["byteLength"] // np.dtype(kind).itemsize, offset=view["byteOffset"]
    )
    return flat.reshape(accessor["count"], -1)


def test_the_khronos_validator_finds_nothing(sorrel, heron, tmp_path):
    """gltf-validator of the Khronos Group, run with node: 0 errors, 0 warnings."""
    folder = HERE / "gltf"
    if shutil.which("node") is None or not (folder / "node_modules").is_dir():
        pytest.skip("the glTF validator is not installed: run `npm ci` in tests/export/gltf")
    mockup, zones, scene = sorrel
    files = {"scene": scene, "right": heron[1], "zones": zones_glb(zones, right_hand=mockup.right_hand)}
    for name, content in {**files, "none": zones_glb(())}.items():
        path = tmp_path / f"{name}.glb"
        path.write_bytes(content)
        done = subprocess.run(
            ["node", str(folder / "validate.mjs"), str(path)], capture_output=True, text=True, check=True, timeout=120
        )
        issues = json.loads(done.stdout)["issues"]
        # not even a remark (NODE_EMPTY) where there is something in it
        assert issues["messages"] == [] or name == "none", issues["messages"]
        assert (issues["numErrors"], issues["numWarnings"]) == (0, 0), issues["messages"]


def test_every_part_is_a_named_node(sorrel):
    mockup, zones, scene = sorrel
    head, _ = parts_of(scene)
    names = [node["name"] for node in head["nodes"]]
    assert {"tire and wheel", "zones", *(part.name for part in mockup.parts)} <= set(names)
    assert sum(name.startswith("zone ") for name in names) == len(zones)


def test_lengths_are_metres_and_up_is_y(heron):
    """The wheel of a right corner, read by a general library: its height and where it stands, in metres."""
    mockup, scene = heron
    read = trimesh.load(io.BytesIO(scene), file_type="glb")
    turn, name = read.graph["tire and wheel"]
    wheel = read.geometry[name].copy()
    wheel.apply_transform(turn)
    assert wheel.extents[1] == pytest.approx(mockup.tire.full_diameter_mm / 1000, abs=0.01)
    # outboard of a right corner is the car's right: z away from -y of the left side
    part = mockup.parts[0]
    turn, name = read.graph[part.name]
    middle = read.geometry[name].bounds.mean(axis=0)
    points = mirrored(part.triangles_mm.reshape(-1, 3))
    corner = (points.min(axis=0) + points.max(axis=0)) / 2000
    assert middle == pytest.approx([corner[0], corner[2], -corner[1]], abs=1e-4)


def test_the_animation_stands_where_the_suspension_puts_the_hub(heron):
    """Every keyframe: the node's place and spin axis against the pose, mirrored by hand for a right corner."""
    mockup, scene = heron
    head, _ = parts_of(scene)
    animation = head["animations"][0]
    hub = next(i for i, node in enumerate(head["nodes"]) if node["name"] == "tire and wheel")
    rows = cycle_rows(mockup.suspension.cycle)
    pose = mockup.suspension.pose(rows)
    found = {
        channel["target"]["path"]: values(scene, animation["samplers"][channel["sampler"]]["output"])
        for channel in animation["channels"]
        if channel["target"]["node"] == hub
    }
    place = mirrored(pose.origin_mm)[:, [0, 2, 1]] * [1, 1, -1] / 1000
    assert found["translation"] == pytest.approx(place, abs=1e-6)
    x, y, z, w = found["rotation"].T
    assert np.abs(x**2 + y**2 + z**2 + w**2 - 1).max() < 1e-6  # 32-bit
    # of a right corner the carried y axis in hub axes is -z of the file's node, mirrored both in and out
    carried = np.column_stack([-2 * (x * z + w * y), -2 * (y * z - w * x), -(1 - 2 * (x**2 + y**2))])
    axis = mirrored(pose.turn[:, :, 1]) * -1
    assert carried == pytest.approx(axis[:, [0, 2, 1]] * [1, 1, -1], abs=1e-5)
    assert np.all(np.einsum("ij,ij->i", found["rotation"][1:], found["rotation"][:-1]) > 0.9)


def stretched(content: bytes, node: dict, weights) -> np.ndarray:
    """The vertices of a node that morph targets move by these weights, as glTF 2.0 has it (3.7.2.2)."""
    head, _ = parts_of(content)
    (primitive,) = head["meshes"][node["mesh"]]["primitives"]
    points = values(content, primitive["attributes"]["POSITION"]).astype(float)
    for target, weight in zip(primitive["targets"], weights, strict=True):
        points = points + weight * values(content, target["POSITION"])
    return points


@pytest.mark.parametrize(
    ("file", "corner"),
    [
        ("orchard-pickup-rear", "rear-left"),
        ("sorrel-sedan-front", "front-left"),
        ("sorrel-sedan-front", "front-right"),
    ],
)
def test_both_ends_of_a_bar_between_two_frames_stand_where_each_carries_them(file, corner, tmp_path):
    """At keyframes: the rings and lids at both ends of its tube lie round where its two frames have carried the ends.

    The file stands at full bump, so that it is stretched from there.
    """
    text = (CORNERS / f"{file}.toml").read_text(encoding="utf-8")
    path = tmp_path / "corner.toml"
    path.write_text(re.sub(r'(?m)^corner = ".*"', f'corner = "{corner}"', text), encoding="utf-8")
    mockup = load(path)
    assert mockup.corner == corner
    scene = scene_glb(mockup, worst=Position(bump_mm=mockup.suspension.cycle.bump_mm[1]))
    head, _ = parts_of(scene)
    animation = head["animations"][0]
    rows = cycle_rows(mockup.suspension.cycle)[::7]
    side = -1.0 if mockup.right_hand else 1.0
    checked = 0
    for part in mockup.parts:
        if part.far_end is None:
            continue
        number = next(i for i, node in enumerate(head["nodes"]) if node["name"] == part.name)
        found = {
            channel["target"]["path"]: values(scene, animation["samplers"][channel["sampler"]]["output"])
            for channel in animation["channels"]
            if channel["target"]["node"] == number
        }
        assert "weights" not in head["nodes"][number]
        near, far = part.triangles_mm[0, 0], part.far_end.point_mm
        for key, row in enumerate(rows):
            weights = found["weights"].reshape(len(cycle_rows(mockup.suspension.cycle)), -1)[7 * key]
            assert 0.0 <= weights.min() <= weights.max() <= 1.0
            points = stretched(scene, head["nodes"][number], weights)
            if "rotation" in found:
                points = turned(points, found["rotation"][7 * key]) + found["translation"][7 * key]
            # back to the corner axes inside the package, in mm
            points = points[:, [0, 2, 1]] * [1000, -1000 * side, 1000]
            for frame, end in ((part.rides_on, near), (part.far_end.frame, far)):
                there = mockup.suspension.pose(row[None], frame).carry(end[None])[0]
                off = np.linalg.norm(points - there, axis=1)
                # the ring is as far off as the bar is thick, leaning a little as the bar turns
                ring = points[np.argsort(off)[:24]]
                assert ring.mean(axis=0) == pytest.approx(there, abs=0.01), (part.name, row)
                checked += 1
    assert checked > 0


def test_bounds_are_those_of_what_is_drawn(heron):
    """The box that a viewer makes of accessors and morph targets (each vertex may go by all of its targets together)
    is no more than 0.2 m larger than the box of everything as it stands; a metre's target made it 2.2 m for 1.8.
    """
    _, scene = heron
    head, _ = parts_of(scene)
    for node in head["nodes"]:
        if "mesh" not in node:
            continue
        (primitive,) = head["meshes"][node["mesh"]]["primitives"]
        for target in primitive.get("targets", ()):
            accessor = head["accessors"][target["POSITION"]]
            assert max(np.abs([*accessor["min"], *accessor["max"]])) < 0.2
            assert max(np.abs([*accessor["min"], *accessor["max"]])) > 1e-6


def turned(points: np.ndarray, quaternion: np.ndarray) -> np.ndarray:
    """Points turned by a unit quaternion x, y, z, w."""
    axis, w = quaternion[:3].astype(float), float(quaternion[3])
    across = np.cross(axis, points)
    return points + 2 * (w * across + np.cross(axis, across))


def test_the_clock_starts_at_zero_and_states_its_range(heron):
    head, _ = parts_of(heron[1])
    clock = head["accessors"][head["animations"][0]["samplers"][0]["input"]]
    assert clock["min"] == [0.0]
    assert clock["max"][0] > 1.0
    times = values(heron[1], head["animations"][0]["samplers"][0]["input"])[:, 0]
    assert np.all(np.diff(times) > 0)


def test_a_cycle_visits_every_end():
    rows = cycle_rows(Cycle(bump_mm=(-75.0, 90.0), steer_deg=(-31.0, 36.0)))
    ends = {(b, s) for b, _, s in rows.round(6).tolist()}
    assert {(90.0, 36.0), (90.0, -31.0), (-75.0, -31.0), (-75.0, 36.0), (90.0, 0.0), (0.0, 36.0)} <= ends
    assert rows[0].tolist() == rows[-1].tolist() == [0.0, 0.0, 0.0]


def test_colours_are_linear():
    """IEC 61966-2-1: sRGB 0.5 is 0.21404 linear; 0.04045 and below is divided by 12.92."""
    found = linear(np.array([[0.5, 0.02, 1.0, 0.5]]))[0]
    assert found == pytest.approx([0.21404, 0.02 / 12.92, 1.0, 0.5], abs=1e-5)


def test_the_key_says_what_each_colour_means():
    key = colour_key(25.0)
    assert [gap for gap, _, _ in key] == [-1.0, 0.0, 25.0, 75.0]
    assert len({colour for _, colour, _ in key}) == 4
    assert key[0][2] == "inside the tire"


def test_the_same_mock_up_gives_the_same_bytes(sorrel):
    mockup, zones, scene = sorrel
    assert scene_glb(mockup, worst=zones[0].position, zones=zones) == scene
