"""What formats can hold beyond plain triangles, against a reader of somebody else's and by hand."""

from __future__ import annotations

import io
import json
import struct
import zipfile
from pathlib import Path

import numpy as np
import pytest
import trimesh

from clearance.errors import MeshError
from clearance.well.scan_read import POINTS, read_mesh

SQUARE = np.array([[0, 0, 0], [2, 0, 0], [2, 1, 0], [0, 1, 0]], dtype="<f4")


def area(raw) -> float:
    corners = raw.vertices[raw.faces]
    across = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    return float(np.linalg.norm(across, axis=1).sum() / 2)


def glb(folder: Path, scene: dict, data: bytes, name: str = "x.glb") -> Path:
    """A GLB put together by hand from a scene without its buffer."""
    scene = {"asset": {"version": "2.0"}, "buffers": [{"byteLength": len(data)}], **scene}
    text = json.dumps(scene).encode()
    text += b" " * (-len(text) % 4)
    data += b"\0" * (-len(data) % 4)
    body = struct.pack("<I4s", len(text), b"JSON") + text + struct.pack("<I4s", len(data), b"BIN\0") + data
    place = folder / name
    place.write_bytes(struct.pack("<4sII", b"glTF", 2, 12 + len(body)) + body)
    return place


def square(mode: int, corners: list[int], kind: int = 5121, **more) -> tuple[dict, bytes]:
    """A scene of the square drawn one way."""
    dtype = {5121: "<u1", 5123: "<u2", 5125: "<u4"}[kind]
    data = SQUARE.tobytes() + np.array(corners, dtype=dtype).tobytes()
    return {
        "nodes": [{"mesh": 0, **more}],
        "scenes": [{"nodes": [0]}],
        "meshes": [{"primitives": [{"attributes": {"POSITION": 0}, "indices": 1, "mode": mode}]}],
        "accessors": [
            {"bufferView": 0, "componentType": 5126, "count": 4, "type": "VEC3"},
            {"bufferView": 1, "componentType": kind, "count": len(corners), "type": "SCALAR"},
        ],
        "bufferViews": [
            {"buffer": 0, "byteLength": 48},
            {"buffer": 0, "byteOffset": 48, "byteLength": len(corners) * np.dtype(dtype).itemsize},
        ],
    }, data


@pytest.mark.parametrize(
    ("mode", "corners"), [(4, [0, 1, 2, 0, 2, 3]), (5, [0, 1, 3, 2]), (6, [0, 1, 2, 3])], ids=["plain", "strip", "fan"]
)
@pytest.mark.parametrize("kind", [5121, 5123, 5125])
def test_triangles_strips_and_fans_cover_the_same_square(mode, corners, kind, tmp_path):
    """Two by one; a reader that leaves a fan out would give nothing at all, or half."""
    raw = read_mesh(glb(tmp_path, *square(mode, corners, kind)))
    assert area(raw) == pytest.approx(2.0)
    assert not raw.torn


def test_a_node_turns_scales_and_moves_what_hangs_from_it(tmp_path):
    """A quarter turn about z, twice the size, three along x: by hand, the corner (2, 1) goes to (-2 + 3, 4)."""
    turn = {"rotation": [0, 0, 0.5**0.5, 0.5**0.5], "scale": [2, 2, 2], "translation": [3, 0, 0]}
    scene, data = square(4, [0, 1, 2, 0, 2, 3], **turn)
    raw = read_mesh(glb(tmp_path, scene, data))
    assert raw.vertices[2] == pytest.approx([1, 4, 0], abs=1e-6)
    matrix = [0, 2, 0, 0, -2, 0, 0, 0, 0, 0, 2, 0, 3, 0, 0, 1]
    scene, data = square(4, [0, 1, 2, 0, 2, 3], matrix=matrix)
    assert read_mesh(glb(tmp_path, scene, data)).vertices == pytest.approx(raw.vertices, abs=1e-6)


def test_places_may_lie_apart_in_their_bytes(tmp_path):
    """Interleaved with normals, as many exporters write them: a stride of 24 bytes."""
    scene, _ = square(4, [0, 1, 2, 0, 2, 3])
    rows = np.column_stack([SQUARE, np.tile(np.float32([0, 0, 1]), (4, 1))]).astype("<f4").tobytes()
    scene["bufferViews"] = [{"buffer": 0, "byteLength": 96, "byteStride": 24},
                            {"buffer": 0, "byteOffset": 96, "byteLength": 6}]  # fmt: skip
    raw = read_mesh(glb(tmp_path, scene, rows + bytes([0, 1, 2, 0, 2, 3])))
    assert raw.vertices == pytest.approx(SQUARE)
    assert not raw.torn


def test_places_given_one_by_one_are_put_where_they_belong(tmp_path):
    """A sparse accessor moves one corner; a reader that leaves it out would give another shape."""
    scene, data = square(4, [0, 1, 2, 0, 2, 3])
    data += b"\0\0" + struct.pack("<I", 2) + np.array([5, 5, 0], dtype="<f4").tobytes()
    scene["bufferViews"] += [{"buffer": 0, "byteOffset": 56, "byteLength": 4},
                             {"buffer": 0, "byteOffset": 60, "byteLength": 12}]  # fmt: skip
    scene["accessors"][0]["sparse"] = {"count": 1, "indices": {"bufferView": 2, "componentType": 5125},
                                       "values": {"bufferView": 3}}  # fmt: skip
    assert read_mesh(glb(tmp_path, scene, data)).vertices[2].tolist() == [5, 5, 0]


def test_points_are_points(tmp_path):
    scene, data = square(0, [0, 1, 2, 3])
    raw = read_mesh(glb(tmp_path, scene, data))
    assert raw.kind == POINTS
    assert len(raw.vertices) == 4


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (lambda s: s["nodes"][0].update(mesh=7), "names number 7 of its meshes"),
        (lambda s: s["nodes"][0].update(mesh=True), "names number true"),
        (lambda s: s["nodes"][0].update(children=[0]), "hangs from two others"),
        (lambda s: s["nodes"][0].update(matrix=[1, 2]), "stands nowhere"),
        (lambda s: s["nodes"][0].update(rotation=[0, 0, 0, 0]), "no\n?"),
        (lambda s: s["nodes"][0].update(extensions={"EXT_mesh_gpu_instancing": {}}), "many times"),
        (lambda s: s["accessors"][0].update(count=5), "more than its"),
        (lambda s: s["accessors"][0].update(count=-1), "no count"),
        (lambda s: s["accessors"][0].update(type="VEC9"), "no known kind"),
        (lambda s: s["accessors"][0].update(type="VEC2"), "no VEC3"),
        (lambda s: s["accessors"][1].update(count=5), "no whole triangles"),
        (lambda s: s["accessors"][1].update(componentType=5126), "."),
        (lambda s: s["bufferViews"][0].update(byteLength=10**9), "ends at byte"),
        (lambda s: s["bufferViews"][0].update(buffer=3), "names number 3 of its buffers"),
        (lambda s: s["buffers"][0].update(byteLength=10**6), "cut short"),
        (lambda s: s["buffers"][0].update(uri="../secret.bin"), "lies elsewhere"),
        (lambda s: s["buffers"][0].update(uri="http://somewhere/x.bin"), "lies elsewhere"),
        (lambda s: s["buffers"][0].update(uri="data:x;base64,!!!"), "damaged"),
        (lambda s: s.update(extensionsRequired=["EXT_new_shapes"]), "which is not read"),
        (lambda s: s.update(meshes={}), "not a list of tables"),
        (lambda s: s.update(meshes=[{"primitives": []}]), "no primitives"),
        (lambda s: s.update(scenes=[{"nodes": {}}]), "no list of nodes"),
        (lambda s: s["asset"].update(version="1.0"), "version"),
    ],
)
def test_a_scene_that_claims_what_is_not_there_is_refused(change, words, tmp_path):
    import re

    scene, data = square(4, [0, 1, 2, 0, 2, 3])
    scene |= {"asset": {"version": "2.0"}, "buffers": [{"byteLength": len(data)}]}
    change(scene)
    with pytest.raises(MeshError) as refused:
        read_mesh(glb(tmp_path, scene, data))
    assert re.search(words, str(refused.value)) or words == "no\n?"
    assert len(str(refused.value)) < 300


def test_a_damaged_box_of_a_mesh_is_a_sign(tmp_path):
    scene, data = square(4, [0, 1, 2, 0, 2, 3])
    scene["accessors"][0] |= {"min": [0, 0, 0], "max": [2, 1, 0]}
    assert not read_mesh(glb(tmp_path, scene, data)).torn
    scene["accessors"][0]["max"] = [2, 7, 0]
    assert "does not fill the box" in read_mesh(glb(tmp_path, scene, data)).torn[0]


# ---- 3MF

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_MESH = (
    "<mesh><vertices><vertex x='0' y='0' z='0'/><vertex x='2' y='0' z='0'/><vertex x='0' y='1' z='0'/></vertices>"
    "<triangles><triangle v1='0' v2='1' v3='2'/></triangles></mesh>"
)


def three_mf(folder: Path, resources: str, build: str, **more: str) -> Path:
    place = folder / "x.3mf"
    text = f"<model unit='inch' xmlns='{_CORE}'><resources>{resources}</resources><build>{build}</build></model>"
    with zipfile.ZipFile(place, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr("3D/3dmodel.model", text)
        for name, content in more.items():
            package.writestr(name, content)
    return place


def test_components_stand_where_two_places_put_them(tmp_path):
    """Moved by 10 along x within the component, then by 1 along y on the plate; and once more as it is."""
    whole = "<object id='2'><components><component objectid='1' transform='1 0 0 0 1 0 0 0 1 10 0 0'/>"
    whole += "<component objectid='1'/></components></object>"
    build = "<item objectid='2' transform='1 0 0 0 1 0 0 0 1 0 1 0'/>"
    place = three_mf(tmp_path, f"<object id='1'>{_MESH}</object>{whole}", build)
    raw = read_mesh(place)
    assert raw.vertices[:3].tolist() == [[10, 1, 0], [12, 1, 0], [10, 2, 0]]
    assert raw.vertices[3:].tolist() == [[0, 1, 0], [2, 1, 0], [0, 2, 0]]
    assert raw.notes == ("the file says that its unit is the inch",)
    theirs = trimesh.load(io.BytesIO(place.read_bytes()), file_type="3mf")
    assert sum(g.area for g in theirs.dump()) == pytest.approx(area(raw))


@pytest.mark.parametrize(
    ("resources", "build", "words"),
    [
        (f"<object id='1'>{_MESH}</object>", "", "nothing stands on the plate"),
        (f"<object id='1'>{_MESH}</object>", "<item objectid='9'/>", "which is not there"),
        (f"<object id='1'>{_MESH}</object><object id='1'>{_MESH}</object>", "<item objectid='1'/>", "one number"),
        (f"<object id='1'>{_MESH.replace('x=', 'q=', 1)}</object>", "<item objectid='1'/>", "stands nowhere"),
        (f"<object id='1'>{_MESH.replace(chr(39) + '2' + chr(39) + '/', chr(39) + '7' + chr(39) + '/')}</object>",
         "<item objectid='1'/>", "."),
        (f"<object id='1'>{_MESH.replace('v3=', 'v4=')}</object>", "<item objectid='1'/>", "names vertex"),
        (f"<object id='1'>{_MESH}</object>", "<item objectid='1' transform='1 2 3'/>", "not 12"),
        ("<object id='1'><components><component objectid='1'/></components></object>", "<item objectid='1'/>",
         "without end"),
        (f"<object id='1'>{_MESH}", "<item objectid='1'/>", "no XML"),
    ],
)  # fmt: skip
def test_a_model_that_claims_what_is_not_there_is_refused(resources, build, words, tmp_path):
    import re

    with pytest.raises(MeshError) as refused:
        read_mesh(three_mf(tmp_path, resources, build))
    assert re.search(words, str(refused.value))


def test_a_model_that_defines_words_of_its_own_is_refused(tmp_path):
    place = tmp_path / "laughs.3mf"
    with zipfile.ZipFile(place, "w") as package:
        package.writestr("3D/3dmodel.model", "<!DOCTYPE m [<!ENTITY a 'aaaa'>]><model>&a;</model>")
    with pytest.raises(MeshError, match="words of its own"):
        read_mesh(place)


# ---- PLY


def ply(folder: Path, text: str) -> Path:
    place = folder / "x.ply"
    place.write_bytes(text.encode())
    return place


_HEAD = "ply\nformat ascii 1.0\nelement vertex 4\nproperty float x\nproperty float y\nproperty float z\n"
_BODY = "0 0 0\n2 0 0\n2 1 0\n0 1 0\n"


def test_faces_of_several_counts_and_other_elements_are_read_past(tmp_path):
    head = f"{_HEAD}element edge 1\nproperty int a\nproperty int b\nelement face 2\n"
    text = f"{head}property list uchar int vertex_indices\nproperty uchar flag\nend_header\n{_BODY}0 1\n"
    raw = read_mesh(ply(tmp_path, f"{text}4 0 1 2 3 7\n3 0 1 2 7\n"))
    assert area(raw) == pytest.approx(3.0)


@pytest.mark.parametrize("order", ["<", ">"])
def test_binary_faces_of_several_counts_are_the_same(order, tmp_path):
    name = {"<": "binary_little_endian", ">": "binary_big_endian"}[order]
    head = _HEAD.replace("ascii", name) + "element face 2\nproperty list uchar int vertex_indices\nend_header\n"
    body = SQUARE.astype(order + "f4").tobytes()
    for corners in ([0, 1, 2, 3], [0, 1, 2]):
        body += bytes([len(corners)]) + np.array(corners, dtype=order + "i4").tobytes()
    place = tmp_path / "x.ply"
    place.write_bytes(head.encode() + body)
    assert area(read_mesh(place)) == pytest.approx(3.0)


@pytest.mark.parametrize(
    ("faces", "words"),
    [
        ("element face 1\nproperty list uchar int vertex_indices\nend_header\n{b}2 0 1\n", "have 2 corners"),
        ("element face 1\nproperty list uchar int vertex_indices\nend_header\n{b}3 0 1\n", "row 5"),
        ("element face 1\nproperty list uchar int vertex_indices\nend_header\n{b}3 0 1 2.5\n", "row 5"),
        ("element face 1\nproperty list uchar int vertex_indices\nend_header\n{b}3 0 1 9\n", "names vertex 9"),
        ("element face 1\nproperty list uchar int vertex_indices\nend_header\n{b}3 0 1 2\n3 0 1 2\n", "damaged"),
        ("element face 1\nproperty list uchar int corners\nend_header\n{b}3 0 1 2\n", "no vertex_indices"),
        ("element vertex 1\nproperty float x\nend_header\n{b}", "counts the same thing twice"),
        ("property float x\nend_header\n{b}", "gives 'x' twice|twice"),
        ("element tristrips 1\nproperty list int int vertex_indices\nend_header\n{b}3 0 1 2\n", "strips"),
        ("nonsense\nend_header\n{b}", "damaged"),
    ],
)
def test_a_ply_that_is_not_what_its_header_says_is_refused(faces, words, tmp_path):
    with pytest.raises(MeshError, match=words):
        read_mesh(ply(tmp_path, _HEAD + faces.format(b=_BODY)))


# ---- OFF


def test_an_off_with_colours_remarks_and_counts_in_its_first_line_is_read(tmp_path):
    place = tmp_path / "x.off"
    place.write_text("OFF 4 2 0 # counts\n0 0 0\n2 0 0\n\n2 1 0\n0 1 0\n4 0 1 2 3 255 0 0\n3 0 1 2\n")
    assert area(read_mesh(place)) == pytest.approx(3.0)


_THREE = "0 0 0\n1 0 0\n0 1 0\n"


@pytest.mark.parametrize(
    "text",
    [
        "OFF\n4 1 0\n0 0 0\n1 0\n0 1 0\n0 0 1\n3 0 1 2\n",
        f"OFF\n3 1 0\n{_THREE}3 0 1\n", f"OFF\n3 1\n{_THREE}3 0 1 -2\n",
        "OFF BINARY\n", "OFF\n", "OFF\nx y\n", f"OFF\n3 1 0\n{_THREE.replace('1 0', '1 x')}3 0 1 2\n",
    ],
)  # fmt: skip
def test_an_off_that_is_not_what_it_counts_is_refused(text, tmp_path):
    place = tmp_path / "x.off"
    place.write_text(text)
    with pytest.raises(MeshError, match=r"Export it again\."):
        read_mesh(place)
