"""Reading meshes and points: every format gives the same shape, every bad file one message."""

from __future__ import annotations

import io
import json
import struct
import warnings
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from clearance.errors import MeshError
from clearance.well.scan_clean import cleaned
from clearance.well.scan_read import MESH, POINTS, read_mesh

REAL = Path(__file__).resolve().parents[2] / ".." / "shared" / "real"

VERTICES = np.array(
    [[0, 0, 0], [300, 0, 0], [300, 200.5, 0], [0, 200.5, 0], [0, 0, 120.25], [300, 0, 120.25]], dtype=float
)
FACES = np.array([[0, 2, 1], [0, 3, 2], [0, 1, 5], [0, 5, 4], [0, 4, 3]])


def example(kind: str) -> bytes:
    """The same open box, as each format writes it."""
    mesh = trimesh.Trimesh(VERTICES, FACES, process=False)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        made = {
            "obj": lambda: _obj(),
            "stl": lambda: mesh.export(file_type="stl"),
            "ascii.stl": lambda: mesh.export(file_type="stl_ascii"),
            "ply": lambda: mesh.export(file_type="ply"),
            "ascii.ply": lambda: mesh.export(file_type="ply", encoding="ascii"),
            "off": lambda: mesh.export(file_type="off"),
            "glb": lambda: mesh.export(file_type="glb"),
            "gltf": lambda: _gltf(),
            "3mf": lambda: mesh.export(file_type="3mf"),
            "xyz": lambda: _xyz(" "),
            "csv": lambda: b"x,y,z\n" + _xyz(","),
        }[kind]()
    return made.encode() if isinstance(made, str) else made


def _obj() -> bytes:
    lines = ["# made here", "mtllib not-there.mtl", "usemtl body"]
    lines += [f"v {x} {y} {z}" for x, y, z in VERTICES]
    lines += [f"f {a + 1}/{a + 1}/1 {b + 1}/{b + 1}/1 {c + 1}/{c + 1}/1" for a, b, c in FACES]
    return "\n".join(lines).encode()


def _gltf() -> bytes:
    import base64

    places, corners = VERTICES.astype("<f4").tobytes(), FACES.astype("<u4").tobytes()
    scene = {
        "asset": {"version": "2.0"},
        "scene": 0,
        "scenes": [{"nodes": [0]}],
        "nodes": [{"mesh": 0}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1}]}],
        "buffers": [
            {
                "byteLength": len(places) + len(corners),
                "uri": "data:application/octet-stream;base64," + base64.b64encode(places + corners).decode(),
            }
        ],
        "bufferViews": [
            {"buffer": 0, "byteOffset": 0, "byteLength": len(places)},
            {"buffer": 0, "byteOffset": len(places), "byteLength": len(corners)},
        ],
        "accessors": [
            {
                "bufferView": 0,
                "componentType": 5126,
                "count": len(VERTICES),
                "type": "VEC3",
                "min": VERTICES.min(0).tolist(),
                "max": VERTICES.max(0).tolist(),
            },
            {"bufferView": 1, "componentType": 5125, "count": FACES.size, "type": "SCALAR"},
        ],
    }
    return json.dumps(scene).encode()


def _xyz(comma: str) -> bytes:
    return "\n".join(comma.join(f"{value:g}" for value in row) for row in VERTICES).encode() + b"\n"


MESHES = ("obj", "stl", "ascii.stl", "ply", "ascii.ply", "off", "glb", "gltf", "3mf")
CLOUDS = ("xyz", "csv")


def put(folder: Path, name: str, content: bytes) -> Path:
    place = folder / name
    place.write_bytes(content)
    return place


@pytest.mark.parametrize("kind", MESHES)
def test_every_mesh_format_gives_the_same_box(kind, tmp_path):
    """Two sides of 300 x 200.5 and 300 x 120.25 and half a side of 200.5 x 120.25: the area by hand."""
    raw = read_mesh(put(tmp_path, f"box.{kind}", example(kind)))
    mesh, _ = cleaned(raw)
    assert raw.kind == MESH
    assert len(mesh.vertices) == len(VERTICES)
    assert len(mesh.faces) == len(FACES)
    corners = mesh.vertices[mesh.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    # these numbers are exact in single precision
    assert area == pytest.approx(300 * 200.5 + 300 * 120.25 + 200.5 * 120.25 / 2, rel=1e-12)
    assert raw.size == pytest.approx([300, 200.5, 120.25], rel=1e-12)


@pytest.mark.parametrize("kind", CLOUDS)
def test_columns_of_numbers_are_points(kind, tmp_path):
    raw = read_mesh(put(tmp_path, f"box.{kind}", example(kind)))
    assert raw.kind == POINTS
    assert raw.vertices == pytest.approx(VERTICES)


def test_a_ply_without_faces_is_points_with_their_colours(tmp_path):
    cloud = trimesh.PointCloud(VERTICES, colors=np.tile([10, 20, 30, 255], (len(VERTICES), 1)))
    raw = read_mesh(put(tmp_path, "cloud.ply", cloud.export(file_type="ply")))
    assert raw.kind == POINTS
    assert raw.vertices == pytest.approx(VERTICES)
    assert raw.colours is not None
    assert raw.colours[0].tolist() == [10, 20, 30, 255]


def test_colours_of_points_are_not_taken_from_their_normals(tmp_path):
    normals = put(tmp_path, "normals.xyz", b"0 0 0 0 0 1\n1 0 0 0 1 0\n0 1 0 1 0 0\n")
    colours = put(tmp_path, "colours.xyz", b"0 0 0 255 0 1\n1 0 0 0 1 0\n0 1 0 1 0 0\n")
    assert read_mesh(normals).colours is None
    found = read_mesh(colours).colours
    assert found is not None
    assert found[0].tolist() == [255, 0, 1, 255]


def test_a_spreadsheet_writes_semicolons_a_heading_and_a_byte_order_mark(tmp_path):
    text = b"\xef\xbb\xbfName;X [m];Y [m];Z [m]\r\n1;0.5;1.5;2.5\r\n2;3.5;4.5;5.5\r\n"
    raw = read_mesh(put(tmp_path, "points.csv", text))
    assert raw.vertices.tolist() == [[0.5, 1.5, 2.5], [3.5, 4.5, 5.5]]


def test_an_obj_may_count_backwards_between_its_vertices(tmp_path):
    """Relative references count from the line they stand on (Wavefront's own description of f, -1 the latest)."""
    text = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf -3 -2 -1\nv 5 0 0\nv 6 0 0\nv 5 1 0\nf -3 -2 -1\n"
    raw = read_mesh(put(tmp_path, "back.obj", text))
    assert raw.faces.tolist() == [[0, 1, 2], [3, 4, 5]]


def test_an_obj_with_quads_and_hexagons_covers_their_area(tmp_path):
    places = b"v 0 0 0\nv 2 0 0\nv 2 1 0\nv 0 1 0\nv 3 0 0\nv 4 1 0\n"
    text = places + b"f 1 2 3 4\nf 1/1 2/2 3/3\nf 1//1 2//1 5//1 6//1 3//1 4//1\n"
    raw = read_mesh(put(tmp_path, "many.obj", text))
    corners = raw.vertices[raw.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    # quad 2, triangle 1, hexagon 0,0 2,0 3,0 4,1 2,1 0,1: a trapezium of (3 + 4) / 2 x 1
    assert area == pytest.approx(2 + 1 + 3.5)
    assert any("more than four corners" in note for note in raw.notes)


def test_a_texture_seam_does_not_split_a_vertex(tmp_path):
    text = b"v 0 0 0\nv 1 0 0\nv 0 1 0\nv 1 1 0\nvt 0 0\nvt 1 1\nf 1/1 2/1 3/1\nf 2/2 4/2 3/2\n"
    raw = read_mesh(put(tmp_path, "seam.obj", text))
    assert len(raw.vertices) == 4


def test_every_mesh_of_a_scene_stands_where_its_node_puts_it(tmp_path):
    mesh = trimesh.Trimesh(VERTICES, FACES, process=False)
    scene = trimesh.Scene()
    scene.add_geometry(mesh, node_name="here")
    scene.add_geometry(mesh, node_name="there", transform=trimesh.transformations.translation_matrix([1000, 0, 0]))
    raw = read_mesh(put(tmp_path, "two.glb", scene.export(file_type="glb")))
    assert len(raw.faces) == 2 * len(FACES)
    assert raw.size[0] == pytest.approx(1300)


# what a bad file is called, its bytes, and words that its message must have
BAD = {
    "empty.obj": (b"", "empty"),
    "zeros.stl": (b"\0" * 50, "empty"),
    "words.obj": (b"Dear customer, your scan is ready.\n", "vertex"),
    "no-faces.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\n", "no faces"),
    "nan.obj": (b"v 0 0 nan\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "not numbers"),
    "infinite.obj": (b"v 0 0 1e400\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "not numbers"),
    "far.obj": (b"v 0 0 1e30\nv 1 0 0\nv 0 1 0\nf 1 2 3\n", "cannot be a place on a car"),
    "beyond.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 9\n", "names vertex 9"),
    "zeroth.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 0 1 2\n", "names vertex 0"),
    "too-far-back.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf -9 -2 -1\n", "line 4"),
    "short-line.obj": (b"v 0 0 0\nv 1 0\nv 0 1 0\nf 1 2 3\n", "line 2"),
    "letters.obj": (b"v 0 0 0\nv 1 x 0\nv 0 1 0\nf 1 2 3\n", "line 2"),
    "half-face.obj": (b"v 0 0 0\nv 1 0 0\nv 0 1 0\nf 1 2 3.5\n", "line 4"),
    "claims.stl": (b"x" * 80 + struct.pack("<I", 1_000_000_000) + b"\0" * 50, "1,000,000,000 triangles"),
    "none.stl": (b"x" * 80 + struct.pack("<I", 0), "no triangles"),
    "cut.stl": (b"solid a\nfacet normal 0 0 1\nouter loop\nvertex 0 0 0\nvertex 1 0 0\n", "cut short"),
    "claims.ply": (
        b"ply\nformat binary_little_endian 1.0\nelement vertex 2000000000\nproperty float x\nproperty float y\n"
        b"property float z\nend_header\n" + b"\0" * 24,
        "claims at least 24,000,000,000 bytes",
    ),
    "nothing-each.ply": (b"ply\nformat ascii 1.0\nelement vertex 2000000000\nend_header\n0\n", "without any property"),
    "headless.ply": (b"ply\nformat ascii 1.0\nelement vertex 3\n", "header"),
    "no-vertex.ply": (
        b"ply\nformat ascii 1.0\nelement face 0\nproperty list uchar int v\nend_header\n\n",
        "no vertices",
    ),
    "claims.off": (b"OFF\n1000000000 1000000000 0\n0 0 0\n", "cut short"),
    "nothing.off": (b"OFF\n0 0 0\n", "nothing in it"),
    "headless.off": (b"0 0 0\n1 1 1\n", "OFF header"),
    "headless.glb": (b"not a glb at all, no", "GLB header"),
    "cut.glb": (b"glTF" + struct.pack("<II", 2, 999_999) + b"\0" * 20, "cut short"),
    "old.glb": (b"glTF" + struct.pack("<II", 1, 20) + b"\0" * 20, "version 1"),
    "list.gltf": (b"[1, 2]", "not a table"),
    "claims.gltf": (
        b'{"asset": {"version": "2.0"}, "accessors": [{"count": 3000000000, "componentType": 5126, "type": "VEC3"}]}',
        "3,000,000,000 entries",
    ),
    "packed.gltf": (b'{"extensionsRequired": ["KHR_draco_mesh_compression"]}', "without compression"),
    "no-zip.3mf": (b"PK nothing of the kind", "zip package"),
    "empty-heading.csv": (b"x,y,z\n", "no points"),
    "wrong-heading.csv": (b"north;east;height\n1;2;3\n", "names no columns"),
    "decimal-comma.csv": (b"1,5;2,5\n3;4;5\n", "decimal comma"),
    "two-columns.xyz": (b"1 2\n3 4\n", "2 numbers"),
    "letters.xyz": (b"1 2 3\n4 five 6\n", "line 2"),
    "scan.usdz": (b"PK\x03\x04", "OBJ, GLB, PLY or STL"),
    "scan.las": (b"LASF", "PLY, XYZ or CSV"),
    "part.step": (b"ISO-10303-21;", "chord error"),
    "body.blend": (b"BLENDER", "GLB, OBJ, PLY or STL"),
    "seat.jpg": (b"\xff\xd8\xff", "picture"),
    "body.mtl": (b"newmtl a", "materials"),
    "mesh": (b"v 0 0 0", "no ending"),
    "mesh.tiff": (b"II*", "not a mesh format"),
    "really-a-glb.obj": (b"glTF" + b"\0" * 30, "starts like a .glb"),
    "really-a-picture.stl": (b"\x89PNG\r\n\x1a\n" + b"\0" * 200, "picture"),
}  # fmt: skip


@pytest.mark.parametrize("name", BAD)
def test_a_bad_file_gets_one_message(name, tmp_path):
    content, words = BAD[name]
    with pytest.raises(MeshError) as refused:
        read_mesh(put(tmp_path, name, content))
    message = str(refused.value)
    assert words in message
    assert name in message
    assert "Traceback" not in message
    assert len(message) < 500


def test_a_path_that_is_not_there_or_is_a_folder_gets_a_message(tmp_path):
    with pytest.raises(MeshError, match="no such file"):
        read_mesh(tmp_path / "nowhere.obj")
    with pytest.raises(MeshError, match="folder"):
        read_mesh(tmp_path)


def test_a_zip_that_unpacks_to_far_more_than_it_is_worth_is_refused(tmp_path):
    page = io.BytesIO()
    with zipfile.ZipFile(page, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("3D/3dmodel.model", b" " * 50_000_000)
    with pytest.raises(MeshError, match="unpack"):
        read_mesh(put(tmp_path, "bomb.3mf", page.getvalue()))


def test_map_coordinates_are_noticed(tmp_path):
    """A scan that kept its survey coordinates: a car's size, three thousand kilometres from its origin."""
    from clearance.well.scan_look import look

    text = b"v 500000 4000000 0\nv 500001 4000000 0\nv 500000 4000001 0\nf 1 2 3\n"
    assert any("map coordinates" in note for note in look(read_mesh(put(tmp_path, "map.obj", text))).notes)


def mutated(rng: np.random.Generator, content: bytes) -> bytes:
    """The bytes with one to four small accidents: a flipped bit, a cut, bytes doubled, lost or overwritten."""
    broken = bytearray(content)
    for _ in range(rng.integers(1, 5)):
        if not broken:
            return bytes(broken)
        at = int(rng.integers(len(broken)))
        accident = rng.integers(6)
        length = int(rng.integers(1, 17))
        if accident == 0:
            broken[at] ^= 1 << int(rng.integers(8))
        elif accident == 1:
            del broken[at:]
        elif accident == 2:
            broken[at:at] = broken[at : at + length]
        elif accident == 3:
            del broken[at : at + length]
        elif accident == 4:
            broken[at : at + 4] = rng.bytes(4)
        else:
            broken[at : at + 1] = b"99999999"
    return bytes(broken)


def break_and_read(rng: np.random.Generator, times: int, folder: Path) -> tuple[int, int]:
    """Reads that many broken files of every format: how many were refused, how many could still be read."""
    refused = read = longest = 0
    kinds = [*MESHES, *CLOUDS]
    whole = {kind: example(kind) for kind in kinds}
    for number in range(times):
        kind = kinds[number % len(kinds)]
        place = put(folder, f"broken.{kind}", mutated(rng, whole[kind]))
        try:
            raw = read_mesh(place)
        except MeshError as message:
            refused += 1
            longest = max(longest, len(str(message)))
        else:
            assert np.isfinite(raw.vertices).all()
            assert len(raw.faces) == 0 or raw.faces.max() < len(raw.vertices)
            # nothing that a few hundred bytes claim may grow beyond what they could hold
            assert len(raw.vertices) + len(raw.faces) < 10_000
            read += 1
    assert longest < 600
    return refused, read


def test_broken_files_never_give_a_traceback(tmp_path):
    refused, read = break_and_read(np.random.default_rng(7), 220, tmp_path)
    # most accidents are noticed; a changed digit of a coordinate is not, in any format
    assert refused > 100
    assert read > 5


@pytest.mark.slow
def test_thousands_of_broken_files_never_give_a_traceback_or_fill_the_memory(tmp_path):
    import resource

    before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    break_and_read(np.random.default_rng(11), 4400, tmp_path)
    # kilobytes on Linux: files of a few hundred bytes may not cost half a gigabyte
    assert resource.getrusage(resource.RUSAGE_SELF).ru_maxrss - before < 500_000


@pytest.mark.parametrize(
    "name", ["sedan-body", "sedan-tire", "leaf-van-body", "open-4x4-body", "hatchback-body-centimetres"]
)
def test_public_meshes_agree_with_an_independent_reader(name):
    """Triangle count, box and area against trimesh's own OBJ reader."""
    place = REAL / f"{name}.obj"
    if not place.exists():
        pytest.skip(f"{place} is not here: public meshes are kept beside the project, not in it")
    raw = read_mesh(place)
    other = trimesh.load(place, process=False, skip_materials=True, force="mesh")
    corners = raw.vertices[raw.faces]
    area = np.linalg.norm(np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0]), axis=1).sum() / 2
    assert len(raw.faces) == len(other.faces)
    assert raw.size == pytest.approx(other.extents, rel=1e-12)
    assert area == pytest.approx(other.area, rel=1e-9)
