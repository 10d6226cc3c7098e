"""A damaged mesh is not a small mesh: what is missing from a file is noticed, or it is said that it cannot be."""

from __future__ import annotations

import json
import struct
import warnings
from pathlib import Path

import numpy as np
import pytest
import trimesh
from clearance_cli.main import run
from hostile.commands import CORNERS

from clearance.errors import MeshError
from clearance.well.scan_read import read_mesh

COUNTED = ("stl", "ascii.stl", "ply", "ascii.ply", "off", "glb", "gltf", "3mf")
"""Formats that say how much there is: every cut is noticed."""
LINES = ("obj", "xyz", "csv")
"""Formats that say nothing: a cut that falls between two lines may go unnoticed."""


def well() -> trimesh.Trimesh:
    """The shipped scan, its vertices used and in the order in which they are."""
    raw = read_mesh(CORNERS / "scanned-well.ply")
    used, faces = np.unique(raw.faces, return_inverse=True)
    return trimesh.Trimesh(np.round(raw.vertices[used], 5), faces.reshape(-1, 3), process=False)


@pytest.fixture(scope="module")
def whole() -> dict[str, bytes]:
    """The same scan in every format, as a writer of somebody else's writes it."""
    mesh = well()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        made = {
            "stl": mesh.export(file_type="stl"),
            "ascii.stl": mesh.export(file_type="stl_ascii"),
            "ply": mesh.export(file_type="ply"),
            "ascii.ply": mesh.export(file_type="ply", encoding="ascii"),
            "off": mesh.export(file_type="off"),
            "glb": mesh.export(file_type="glb"),
            "3mf": mesh.export(file_type="3mf"),
            "obj": mesh.export(file_type="obj", include_normals=False) + "\n",
            "xyz": "".join(f"{x:.5f} {y:.5f} {z:.5f}\n" for x, y, z in mesh.vertices),
            "csv": "x,y,z\n" + "".join(f"{x},{y},{z}\n" for x, y, z in mesh.vertices),
            "gltf": embedded(mesh),
        }
    return {kind: content.encode() if isinstance(content, str) else bytes(content) for kind, content in made.items()}


def embedded(mesh: trimesh.Trimesh) -> str:
    import base64

    places, corners = mesh.vertices.astype("<f4").tobytes(), mesh.faces.astype("<u4").tobytes()
    low, high = np.float32(mesh.vertices).min(axis=0), np.float32(mesh.vertices).max(axis=0)
    return json.dumps(
        {
            "asset": {"version": "2.0"},
            "scenes": [{"nodes": [0]}],
            "nodes": [{"mesh": 0}],
            "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
            "accessors": [
                {"bufferView": 0, "componentType": 5126, "count": len(mesh.vertices), "type": "VEC3",
                 "min": low.tolist(), "max": high.tolist()},
                {"bufferView": 1, "componentType": 5125, "count": mesh.faces.size, "type": "SCALAR"},
            ],
            "bufferViews": [
                {"buffer": 0, "byteLength": len(places)},
                {"buffer": 0, "byteOffset": len(places), "byteLength": len(corners)},
            ],
            "buffers": [{
                "byteLength": len(places + corners),
                "uri": "data:application/octet-stream;base64," + base64.b64encode(places + corners).decode(),
            }],
        }
    )  # fmt: skip


def noticed(content: bytes, kind: str, folder: Path) -> bool:
    """Whether the reader refuses a file, or says that it looks cut short."""
    place = folder / f"torn.{kind}"
    place.write_bytes(content)
    try:
        return bool(read_mesh(place).torn)
    except MeshError:
        return True


@pytest.mark.parametrize("kind", COUNTED + LINES)
def test_a_whole_file_has_no_sign_of_tearing(kind, whole, tmp_path):
    assert not noticed(whole[kind], kind, tmp_path)


@pytest.mark.parametrize("kind", COUNTED)
def test_a_format_that_counts_shows_every_cut(kind, whole, tmp_path):
    content = whole[kind]
    # text takes long to read
    cuts = np.random.default_rng(5).integers(1, len(content), 12 if kind == "ascii.stl" else 60)
    for cut in [*cuts, int(0.9 * len(content)), len(content) - 2]:
        if content[cut:].strip():
            assert noticed(content[:cut], kind, tmp_path), cut


@pytest.mark.parametrize("kind", LINES)
def test_a_format_of_lines_shows_all_cuts_but_those_between_two(kind, whole, tmp_path):
    """An OBJ's faces come last, and of those that name the last vertices some are always lost."""
    content = whole[kind]
    cuts = np.random.default_rng(6).integers(1, len(content), 60)
    missed = [cut for cut in cuts if content[cut:].strip() and not noticed(content[:cut], kind, tmp_path)]
    for cut in missed:
        assert content[:cut].endswith(b"\n")
        assert kind != "obj"
    # a line has some thirty letters
    assert len(missed) <= 8


@pytest.mark.parametrize("kind", COUNTED)
def test_bytes_that_are_filled_with_nothing_are_noticed(kind, whole, tmp_path):
    """A copy that ran out of power: the length is there, the rest is zeros."""
    content = whole[kind]
    for share in (0.5, 0.9):
        kept = int(share * len(content))
        assert noticed(content[:kept] + b"\0" * (len(content) - kept), kind, tmp_path), share


@pytest.mark.parametrize("kind", COUNTED)
def test_what_stands_after_the_end_is_noticed_where_it_could_be_metal(kind, whole, tmp_path):
    if kind in ("ascii.stl", "3mf"):
        pytest.skip("a text STL may hold several solids, a zip may have a remark after it")
    content = whole[kind]
    assert noticed(content + content[-5000:], kind, tmp_path)


def halved(kind: str, content: bytes) -> bytes:
    """The file with a count of triangles that says half of them."""
    if kind == "stl":
        return content[:80] + struct.pack("<I", struct.unpack("<I", content[80:84])[0] // 2) + content[84:]
    if kind in ("ply", "ascii.ply"):
        head, _, rest = content.partition(b"element face ")
        count, _, tail = rest.partition(b"\n")
        return head + b"element face %d\n" % (int(count) // 2) + tail
    if kind == "off":
        head, counts, rest = content.split(b"\n", 2)
        vertices, faces, *edges = counts.split()
        return b"\n".join([head, b" ".join([vertices, b"%d" % (int(faces) // 2), *edges]), rest])
    if kind == "gltf":
        scene = json.loads(content)
        scene["accessors"][1]["count"] //= 6
        scene["accessors"][1]["count"] *= 3
        return json.dumps(scene).encode()
    length = struct.unpack("<I", content[12:16])[0]
    scene = json.loads(content[20 : 20 + length])
    used = scene["meshes"][0]["primitives"][0]["indices"]
    scene["accessors"][used]["count"] = scene["accessors"][used]["count"] // 6 * 3
    text = json.dumps(scene).encode().ljust(length)
    return content[:20] + text[:length] + content[20 + length :]


@pytest.mark.parametrize("kind", ["stl", "ply", "ascii.ply", "off", "glb", "gltf"])
def test_a_count_that_says_half_is_noticed(kind, whole, tmp_path):
    """A binary STL whose header counted half its triangles cleared by 276 mm where the whole file hit by 74."""
    assert noticed(halved(kind, whole[kind]), kind, tmp_path)


@pytest.mark.parametrize("kind", COUNTED + LINES)
def test_check_never_answers_on_half_a_scan(kind, whole, tmp_path, capsys, monkeypatch):
    """Through the command: the whole scan is tight, a torn one is refused, with the key and what to do."""
    corner = (CORNERS / "scanned-well-rear.toml").read_text().replace("scanned-well.ply", f"well.{kind}")
    if kind in ("xyz", "csv"):
        corner = corner.replace('kind = "mesh"', 'kind = "mesh"\nradius = "3 mm"', 1)
    monkeypatch.chdir(tmp_path)
    (tmp_path / "c.toml").write_text(corner)
    content = whole[kind]
    for cut in (0.5, 0.9):
        (tmp_path / f"well.{kind}").write_bytes(content[: int(cut * len(content))].rstrip(b"\n"))
        assert run(["check", "c.toml"]) == 2
        err = capsys.readouterr().err
        assert f"well.{kind}" in err
        assert "part[1]" in err


def test_what_looks_torn_is_taken_where_the_person_says_that_it_is_whole(whole, tmp_path, capsys, monkeypatch):
    monkeypatch.chdir(tmp_path)
    corner = (CORNERS / "scanned-well-rear.toml").read_text().replace("scanned-well.ply", "well.obj")
    (tmp_path / "well.obj").write_bytes(whole["obj"].rstrip(b"\n"))
    (tmp_path / "c.toml").write_text(corner)
    assert run(["check", "c.toml", "--json"]) == 2
    assert "whole = true" in capsys.readouterr().err
    (tmp_path / "c.toml").write_text(corner.replace('kind = "mesh"', 'kind = "mesh"\nwhole = true', 1))
    assert run(["check", "c.toml", "--json"]) == 1
    findings = json.loads(capsys.readouterr().out)
    notes = " ".join(note for part in findings["parts"] for note in part["notes"])
    assert "stated to be whole" in notes


def test_scan_says_that_a_file_looks_cut_short(whole, tmp_path, capsys):
    place = tmp_path / "well.obj"
    place.write_bytes(whole["obj"][: int(0.9 * len(whole["obj"]))])
    assert run(["scan", str(place), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["torn"]
    assert run(["scan", str(place)]) == 0
    assert "! it looks cut short" in capsys.readouterr().out


@pytest.mark.parametrize(
    "remark", ["# 9 vertices", "#Vertex Count 9", "# Vertices: 9", "# Faces: 7", "# 7 faces", "#Face Count 7"]
)
def test_an_obj_that_counts_in_its_remarks_is_held_to_them(remark, tmp_path):
    """As several exporters write them; an honest count is no sign of anything."""
    body = "v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"
    assert noticed(f"{remark}\n{body}".encode(), "obj", tmp_path)
    honest = remark.replace("9", "3").replace("7", "1")
    assert not noticed(f"{honest}\n{body}".encode(), "obj", tmp_path)


@pytest.mark.parametrize(
    "lost", [b"v 9 9 9\n", b"f 1 2\n", b"w 1 1 1\n", b"\0" * 40 + b"\n"], ids=["vertex", "edge", "word", "zeros"]
)
def test_an_obj_with_something_that_is_no_mesh_has_a_sign(lost, tmp_path):
    body = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3\n"
    assert noticed(body + lost, "obj", tmp_path)
    assert not noticed(body + b"v 9 9 9\np 4\nl 4 1\n", "obj", tmp_path)


def test_a_count_of_points_is_held(tmp_path):
    assert noticed(b"3\n0 0 0\n1 0 0\n", "xyz", tmp_path)
    assert not noticed(b"2\n0 0 0\n1 0 0\n", "xyz", tmp_path)
