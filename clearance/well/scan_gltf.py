"""glTF and GLB: a scene of meshes in JSON, and the bytes that it points into (Khronos glTF 2.0, ISO/IEC 12113:2022).

Only triangles and points are read, each where its node puts it. Everything that the scene claims is held against the
bytes that are there before it is used; what it needs and we do not read is refused, never left out.

* buffer   - bytes: the GLB's own, inside the text, or a file beside it
* view     - a stretch of a buffer
* accessor - so many numbers of a kind in a view, or given one by one ("sparse")
* packed   - compressed by an extension, or changed by one in place: not read
"""

from __future__ import annotations

import base64
import binascii
import math
import struct
import urllib.parse
from collections import deque
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from clearance import opener
from clearance.errors import FileError, MeshError
from clearance.plain import quoted
from clearance.pose import Array
from clearance.well.scan_raw import AGAIN, Colours, Faces, Piece, fan, joined, no_faces

MOST_BYTES = 3 * 2**30
MOST_NUMBERS = 500_000_000
"""Of one accessor."""
MOST_NODES = 100_000
DEPTH = 64
"""Brackets inside one another: what exporters add of their own may be deep."""

_KINDS = {5120: "<i1", 5121: "<u1", 5122: "<i2", 5123: "<u2", 5125: "<u4", 5126: "<f4"}
_WIDTHS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}
_POINTS, _TRIANGLES, _STRIP, _FAN = 0, 4, 5, 6
_HARMLESS = ("KHR_materials_", "KHR_texture_", "EXT_texture_", "MSFT_texture_", "KHR_lights_", "EXT_lights_")
_HARMLESS_WHOLE = ("KHR_mesh_quantization", "KHR_xmp_json_ld", "KHR_animation_pointer", "KHR_node_visibility")
_PACKED = ("KHR_draco_mesh_compression", "EXT_meshopt_compression", "KHR_meshopt_compression")
_BOX_OFF = 1e-3
"""Share of its box by which a mesh may differ from what its file says of it: exporters round."""
_PADDING = 16
"""Bytes that may lie between two things in a buffer: exporters align."""


def glb(content: bytes, path: Path) -> tuple[Piece, tuple[str, ...], tuple[str, ...]]:
    """The meshes of a GLB as one, notes, and signs that it is torn. Raises MeshError."""
    if len(content) < 20 or content[:4] != b"glTF":
        raise MeshError(f"no GLB header at its start. {AGAIN}")
    _, version, total = struct.unpack("<4sII", content[:12])
    if version != 2:
        raise MeshError(f"GLB version {version} is not read. Export glTF 2.0, the usual one.")
    if total > len(content):
        raise MeshError(f"the GLB header claims {total:,} bytes, but the file has {len(content):,}. It was cut short.")
    if content[total:].strip(b"\0"):
        raise MeshError(
            f"{len(content) - total:,} bytes follow the {total:,} that the GLB header claims: it is damaged. {AGAIN}"
        )
    chunks = list(_chunks(content[:total]))
    if not chunks or chunks[0][0] != b"JSON":
        raise MeshError(f"the first chunk of the GLB is not a scene. {AGAIN}")
    own = next((data for kind, data in chunks[1:2] if kind == b"BIN\0"), None)
    return _Scene(_json(chunks[0][1]), path, own).pieces()


def gltf(content: bytes, path: Path) -> tuple[Piece, tuple[str, ...], tuple[str, ...]]:
    """The meshes of a glTF as one, notes, and signs that it is torn. Raises MeshError."""
    return _Scene(_json(content), path, None).pieces()


def _chunks(content: bytes) -> Iterator[tuple[bytes, bytes]]:
    at = 12
    while at < len(content):
        if at + 8 > len(content):
            raise MeshError(f"a chunk of the GLB has no header: it is damaged. {AGAIN}")
        length, kind = struct.unpack("<I4s", content[at : at + 8])
        if at + 8 + length > len(content):
            raise MeshError(f"a chunk of the GLB claims {length:,} bytes, more than follow: it is damaged. {AGAIN}")
        yield kind, content[at + 8 : at + 8 + length]
        at += 8 + length


def _json(content: bytes) -> Mapping[str, Any]:
    try:
        scene = opener.json_value(content.rstrip(b"\0 "), depth=DEPTH)
    except opener.NotJson as wrong:
        raise MeshError(f"the glTF scene cannot be read: {wrong.words}. {AGAIN}") from None
    if not isinstance(scene, Mapping):
        raise MeshError(f"the glTF scene is not a table. {AGAIN}")
    return scene


@dataclass(frozen=True, slots=True)
class _Use:
    """What of a buffer's bytes was asked for: half-open."""

    buffer: int
    start: int
    end: int


class _Scene:
    """One scene, read where it is asked for and held against its bytes."""

    def __init__(self, scene: Mapping[str, Any], path: Path, own: bytes | None) -> None:
        self.scene = scene
        self.path = path
        self.own = own
        self.notes: list[str] = []
        self.torn: list[str] = []
        self.buffers: dict[int, bytes] = {}
        self.accessors: dict[int, Array] = {}
        self._hold_version()
        self._hold_extensions()

    def pieces(self) -> tuple[Piece, tuple[str, ...], tuple[str, ...]]:
        """Every mesh where its node puts it, as one."""
        for number in range(len(self._list("accessors"))):
            self._hold_accessor(number)
        made: dict[int, list[Piece]] = {}
        placed: list[Piece] = []
        for place, node in self._nodes():
            mesh = node.get("mesh")
            if mesh is None:
                continue
            number = self._index(mesh, "meshes", "a node")
            if number not in made:
                made[number] = list(self._primitives(number))
            placed += [_carried(piece, place) for piece in made[number]]
        whole = joined(placed)
        self._look_for_unused_bytes()
        return whole, tuple(dict.fromkeys(self.notes)), tuple(dict.fromkeys(self.torn))

    # ---- tables of the scene

    def _hold_version(self) -> None:
        asset = self.scene.get("asset", {})
        version = str(asset.get("version", "2.0")) if isinstance(asset, Mapping) else "2.0"
        if not version.startswith("2"):
            raise MeshError(f"glTF version {quoted(version, 20)} is not read. Export glTF 2.0, the usual one.")

    def _hold_extensions(self) -> None:
        needed = self.scene.get("extensionsRequired", [])
        names = [str(name) for name in needed] if isinstance(needed, list) else [str(needed)]
        for name in sorted(names):
            if name in _PACKED:
                raise MeshError(f"its triangles are packed ({name}). Export it again without compression.")
            if not name.startswith(_HARMLESS) and name not in _HARMLESS_WHOLE:
                raise MeshError(
                    f"it needs {quoted(name)}, which is not read. Export it as plain glTF, or as OBJ or PLY."
                )

    def _list(self, name: str) -> Sequence[Mapping[str, Any]]:
        rows = self.scene.get(name, [])
        if not isinstance(rows, list) or not all(isinstance(row, Mapping) for row in rows):
            raise MeshError(f"{name} of the glTF is not a list of tables: it is damaged. {AGAIN}")
        return rows

    def _index(self, value: object, name: str, owner: str) -> int:
        count = len(self._list(name))
        if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < count:
            raise MeshError(
                f"{owner} of the glTF names number {quoted(value, 20)} of its {name}, but there are {count}. {AGAIN}"
            )
        return value

    # ---- bytes

    def _buffer(self, number: int) -> bytes:
        if number not in self.buffers:
            row = self._list("buffers")[number]
            length = _count(row.get("byteLength"), f"buffer {number}", MOST_BYTES)
            data = self._data(row, number)
            if len(data) < length:
                raise MeshError(
                    f"buffer {number} of the glTF claims {length:,} bytes, but has {len(data):,}: it was cut short."
                    f" {AGAIN}"
                )
            if len(data) > length + 3:
                self.torn.append(f"buffer {number} of the glTF has {len(data):,} bytes and claims only {length:,}")
            self.buffers[number] = data
        return self.buffers[number]

    def _data(self, row: Mapping[str, Any], number: int) -> bytes:
        uri = row.get("uri")
        if uri is None:
            if number == 0 and self.own is not None:
                return self.own
            raise MeshError(f"buffer {number} of the glTF is nowhere: no bytes come with it. {AGAIN}")
        if not isinstance(uri, str):
            raise MeshError(f"buffer {number} of the glTF has no name that can be read. {AGAIN}")
        if uri[:5].lower() == "data:":
            return _inside(uri, number)
        return self._beside(uri, number)

    def _beside(self, uri: str, number: int) -> bytes:
        name = urllib.parse.unquote(uri)
        # a scheme, a host, a root or a way up: what a file names must lie beside it or below
        if ":" in name or name.startswith(("/", "\\", "~")) or ".." in Path(name).parts:
            raise MeshError(
                f"buffer {number} of the glTF lies elsewhere ({quoted(uri)}). Put it beside the .gltf, or export one"
                " GLB file."
            )
        try:
            return opener.bytes_of(self.path.parent / name, most=MOST_BYTES)
        except FileError as wrong:
            raise MeshError(f"buffer {number} of the glTF, {quoted(name)}: {wrong.reason}") from None

    def _view(self, value: object, owner: str) -> tuple[int, int, int, int]:
        """(buffer, first byte, byte after the last, stride) of a view."""
        number = self._index(value, "bufferViews", owner)
        row = self._list("bufferViews")[number]
        if any(name in _PACKED for name in _table(row.get("extensions"))):
            raise MeshError("its triangles are packed. Export it again without compression.")
        buffer = self._index(row.get("buffer"), "buffers", f"view {number}")
        start = _count(row.get("byteOffset", 0), f"view {number}", MOST_BYTES)
        length = _count(row.get("byteLength"), f"view {number}", MOST_BYTES)
        claimed = _count(self._list("buffers")[buffer].get("byteLength"), f"buffer {buffer}", MOST_BYTES)
        if start + length > claimed:
            raise MeshError(
                f"view {number} of the glTF ends at byte {start + length:,} of a buffer of {claimed:,}: it is damaged."
                f" {AGAIN}"
            )
        return buffer, start, start + length, _count(row.get("byteStride", 0), f"view {number}", 252)

    # ---- accessors

    def _hold_accessor(self, number: int) -> _Use | None:
        """Refuses an accessor that claims more than its view holds; gives the bytes that it uses."""
        row = self._list("accessors")[number]
        owner = f"accessor {number}"
        kind, width = row.get("componentType"), row.get("type")
        if not isinstance(kind, int) or not isinstance(width, str) or kind not in _KINDS or width not in _WIDTHS:
            raise MeshError(f"{owner} of the glTF is of no known kind: it is damaged. {AGAIN}")
        count = _count(row.get("count"), owner, MOST_NUMBERS // _WIDTHS[width])
        if "bufferView" not in row:
            return None
        buffer, start, end, stride = self._view(row["bufferView"], owner)
        one = np.dtype(_KINDS[kind]).itemsize * _WIDTHS[width]
        start += _count(row.get("byteOffset", 0), owner, MOST_BYTES)
        if stride and stride < one:
            raise MeshError(f"{owner} of the glTF is wider than the steps that it lies in: it is damaged. {AGAIN}")
        after = start + ((count - 1) * (stride or one) + one if count else 0)
        if after > end:
            raise MeshError(f"{owner} of the glTF claims {count:,} entries, more than its {end - start:,} bytes hold.")
        return _Use(buffer, start, max(after, min(end, start + count * stride)))

    def accessor(self, value: object, owner: str, width: str) -> Array:
        """(count, parts) numbers of an accessor; whole numbers that stand for shares of one as shares."""
        number = self._index(value, "accessors", owner)
        row = self._list("accessors")[number]
        if row.get("type") != width:
            raise MeshError(f"accessor {number} of the glTF is no {width}, which {owner} needs: it is damaged. {AGAIN}")
        if number not in self.accessors:
            table = self._dense(row, number, width)
            if "sparse" in row:
                table = self._sparse(table.copy(), row, number, width)
            self.accessors[number] = table
        return self.accessors[number]

    def _dense(self, row: Mapping[str, Any], number: int, width: str) -> Array:
        count = int(row["count"])
        if "bufferView" in row:
            buffer, _, _, stride = self._view(row["bufferView"], f"accessor {number}")
            start = self._list("bufferViews")[row["bufferView"]].get("byteOffset", 0) + row.get("byteOffset", 0)
            table = self._numbers(buffer, start, count, row["componentType"], width, stride)
        elif "sparse" in row:
            table = np.zeros((count, _WIDTHS[width]), dtype=_KINDS[row["componentType"]])
        else:
            raise MeshError(f"accessor {number} of the glTF has no bytes: they are packed, or were lost. {AGAIN}")
        shared: Array = _shared_out(table, row)
        return shared

    def _numbers(self, buffer: int, start: int, count: int, kind: int, width: str, stride: int) -> Any:
        data, dtype, parts = self._buffer(buffer), np.dtype(_KINDS[kind]), _WIDTHS[width]
        if not count:
            return np.zeros((0, parts), dtype=dtype)
        one = dtype.itemsize * parts
        rows = np.ndarray((count, parts), dtype, data, start, (stride or one, dtype.itemsize))
        return rows

    def _sparse(self, table: Array, row: Mapping[str, Any], number: int, width: str) -> Array:
        owner = f"accessor {number}"
        sparse = _table(row["sparse"])
        count = _count(sparse.get("count"), owner, len(table))
        where, what = _table(sparse.get("indices")), _table(sparse.get("values"))
        if where.get("componentType") not in (5121, 5123, 5125):
            raise MeshError(f"{owner} of the glTF is of no known kind: it is damaged. {AGAIN}")
        places = self._loose(where, where["componentType"], "SCALAR", count, owner)[:, 0].astype(np.int64)
        if len(places) and places.max() >= len(table):
            raise MeshError(f"{owner} of the glTF changes an entry that it does not have: it is damaged. {AGAIN}")
        table[places] = _shared_out(self._loose(what, row["componentType"], width, count, owner), row)
        return table

    def _loose(self, row: Mapping[str, Any], kind: int, width: str, count: int, owner: str) -> Any:
        buffer, start, end, _ = self._view(row.get("bufferView"), owner)
        start += _count(row.get("byteOffset", 0), owner, MOST_BYTES)
        if start + count * np.dtype(_KINDS[kind]).itemsize * _WIDTHS[width] > end:
            raise MeshError(f"{owner} of the glTF claims {count:,} entries, more than its bytes hold.")
        return self._numbers(buffer, start, count, kind, width, 0)

    # ---- meshes

    def _primitives(self, mesh: int) -> Iterator[Piece]:
        rows = self._list("meshes")[mesh].get("primitives")
        if not isinstance(rows, list) or not rows or not all(isinstance(row, Mapping) for row in rows):
            raise MeshError(f"mesh {mesh} of the glTF has no primitives: it is damaged. {AGAIN}")
        for row in rows:
            piece = self._primitive(row, f"mesh {mesh}")
            if piece is not None:
                yield piece

    def _primitive(self, row: Mapping[str, Any], owner: str) -> Piece | None:
        mode = row.get("mode", _TRIANGLES)
        if mode in (1, 2, 3):
            self.notes.append("lines in it were left out: they have no surface")
            return None
        if mode not in (_POINTS, _TRIANGLES, _STRIP, _FAN):
            raise MeshError(f"{owner} of the glTF is drawn in no known way: it is damaged. {AGAIN}")
        attributes = _table(row.get("attributes"))
        if "POSITION" not in attributes:
            raise MeshError(f"{owner} of the glTF has no places for its corners: it is damaged. {AGAIN}")
        vertices = np.asarray(self.accessor(attributes["POSITION"], owner, "VEC3"), dtype=float)
        self._hold_box(attributes["POSITION"], vertices)
        if mode == _POINTS:
            return Piece(vertices=vertices, faces=no_faces(), colours=self._colours(attributes, len(vertices)))
        faces = _triangles(self._corners(row, len(vertices), owner), mode, owner)
        if len(faces) and (faces == faces[:, :1]).all(axis=1).any():
            self.torn.append("some of its triangles name one vertex three times, as where a file was filled with zeros")
        return Piece(vertices=vertices, faces=faces, colours=self._colours(attributes, len(vertices)))

    def _corners(self, row: Mapping[str, Any], count: int, owner: str) -> Faces:
        if "indices" not in row:
            return np.arange(count, dtype=np.int64)
        number = self._index(row["indices"], "accessors", owner)
        if self._list("accessors")[number].get("componentType") not in (5121, 5123, 5125):
            raise MeshError(f"accessor {number} of the glTF cannot number corners: it is damaged. {AGAIN}")
        corners = np.asarray(self.accessor(number, owner, "SCALAR"), dtype=np.int64).reshape(-1)
        if len(corners) and corners.max() >= count:
            raise MeshError(
                f"{owner} of the glTF: a triangle names vertex {int(corners.max())}, but there are {count}. {AGAIN}"
            )
        return corners

    def _hold_box(self, number: int, vertices: Array) -> None:
        """Whether the box that the file gives for its places is the box around them: glTF asks for it."""
        row = self._list("accessors")[number]
        said = [row.get(end) for end in ("min", "max")]
        if not len(vertices) or row.get("normalized") or not all(_three_numbers(end) for end in said):
            return
        if not np.isfinite(vertices).all():
            return
        found = np.array([vertices.min(axis=0), vertices.max(axis=0)])
        size = max(float(np.ptp(found, axis=0).max()), float(np.abs(found).max()) * 1e-3, 1e-9)
        if np.abs(found - np.array(said, dtype=float)).max() > _BOX_OFF * size:
            self.torn.append("a mesh in it does not fill the box that the file gives for it")

    def _colours(self, attributes: Mapping[str, Any], count: int) -> Colours | None:
        if "COLOR_0" not in attributes:
            return None
        number = self._index(attributes["COLOR_0"], "accessors", "a colour")
        width = self._list("accessors")[number].get("type")
        if width not in ("VEC3", "VEC4"):
            return None
        table = np.asarray(self.accessor(number, "a colour", width), dtype=float)
        if len(table) != count or not np.isfinite(table).all():
            return None
        # whole numbers that were not said to be shares are what some exporters write for 0 to 255
        kind = self._list("accessors")[number].get("componentType")
        scale = 255.0 if kind == 5126 or self._list("accessors")[number].get("normalized") else 1.0
        colours = np.full((count, 4), 255, dtype=np.uint8)
        colours[:, : table.shape[1]] = np.rint(np.clip(table * scale, 0, 255))
        return colours

    # ---- nodes

    def _nodes(self) -> Iterator[tuple[Array, Mapping[str, Any]]]:
        """Every node of the scene with its place, (4, 4); each once, as glTF says."""
        rows = self._list("nodes")
        waiting = deque((np.eye(4), number) for number in self._roots(rows))
        seen: set[int] = set()
        while waiting:
            above, number = waiting.popleft()
            if number in seen:
                raise MeshError(f"node {number} of the glTF hangs from two others: it is damaged. {AGAIN}")
            seen.add(number)
            if len(seen) > MOST_NODES:
                raise MeshError(f"the glTF has more than {MOST_NODES:,} nodes. Export fewer pieces.")
            node = rows[number]
            if "EXT_mesh_gpu_instancing" in _table(node.get("extensions")):
                raise MeshError("a mesh stands in it many times by an extension that is not read. Export plain glTF.")
            if "skin" in node:
                self.notes.append("a mesh in it hangs on a skeleton: it was taken as it stands without it")
            place = above @ _place(node, number)
            yield place, node
            waiting += [(place, n) for n in self._indices(node.get("children", []), "nodes", f"node {number}")]

    def _roots(self, rows: Sequence[Mapping[str, Any]]) -> list[int]:
        scenes = self._list("scenes")
        if scenes:
            scene = scenes[self._index(self.scene.get("scene", 0), "scenes", "the start")]
            return self._indices(scene.get("nodes", []), "nodes", "the scene")
        children = {n for row in rows for n in self._indices(row.get("children", []), "nodes", "a node")}
        return [number for number in range(len(rows)) if number not in children]

    def _indices(self, values: object, name: str, owner: str) -> list[int]:
        if not isinstance(values, list):
            raise MeshError(f"{owner} of the glTF has no list of {name}: it is damaged. {AGAIN}")
        return [self._index(value, name, owner) for value in values]

    # ---- what nothing asked for

    def _look_for_unused_bytes(self) -> None:
        """A count that was damaged downward leaves bytes that nothing uses."""
        used: dict[int, list[tuple[int, int]]] = {number: [] for number in self.buffers}
        asked = set()
        for number, row in enumerate(self._list("accessors")):
            use = self._hold_accessor(number)
            if use is not None:
                used.setdefault(use.buffer, []).append((use.start, use.end))
                asked.add(row["bufferView"])
        for number in range(len(self._list("bufferViews"))):
            if number not in asked:
                # a picture, or what only an extension knows: it counts as used
                buffer, start, end, _ = self._view(number, "a view")
                used.setdefault(buffer, []).append((start, end))
        for number, data in self.buffers.items():
            unused = _gaps(used[number], len(data))
            if unused:
                self.torn.append(f"{unused:,} bytes of its buffer {number} are used by nothing")


def _gaps(used: list[tuple[int, int]], length: int) -> int:
    """Bytes that lie in no stretch, but for the padding between two of them."""
    at = lost = 0
    for start, end in [*sorted(used), (length, length)]:
        if start - at >= _PADDING:
            lost += start - at
        at = max(at, end)
    return lost


def _triangles(corners: Faces, mode: int, owner: str) -> Faces:
    if mode == _TRIANGLES:
        if len(corners) % 3:
            raise MeshError(
                f"{owner} of the glTF has {len(corners):,} corners, no whole triangles: it is damaged. {AGAIN}"
            )
        return corners.reshape(-1, 3)
    if len(corners) < 3:
        return no_faces()
    if mode == _FAN:
        return fan(corners[None])
    strip = np.stack([corners[:-2], corners[1:-1], corners[2:]], axis=1)
    strip[1::2] = strip[1::2][:, [1, 0, 2]]
    # the strips of one piece are tied together by triangles without area
    flat = (strip[:, 0] == strip[:, 1]) | (strip[:, 1] == strip[:, 2]) | (strip[:, 0] == strip[:, 2])
    sound: Faces = strip[~flat]
    return sound


def _carried(piece: Piece, place: Array) -> Piece:
    return Piece(vertices=piece.vertices @ place[:3, :3].T + place[:3, 3], faces=piece.faces, colours=piece.colours)


def _place(node: Mapping[str, Any], number: int) -> Array:
    """(4, 4): where a node stands in the one above it."""
    if "matrix" in node:
        return np.array(_floats(node["matrix"], 16, number)).reshape(4, 4).T
    place = np.eye(4)
    x, y, z, w = _floats(node.get("rotation", [0.0, 0.0, 0.0, 1.0]), 4, number)
    length = math.sqrt(x * x + y * y + z * z + w * w)
    if length < 1e-9:
        raise MeshError(f"node {number} of the glTF is turned by nothing that is a turn: it is damaged. {AGAIN}")
    x, y, z, w = x / length, y / length, z / length, w / length
    place[:3, :3] = [
        [1 - 2 * (y * y + z * z), 2 * (x * y - z * w), 2 * (x * z + y * w)],
        [2 * (x * y + z * w), 1 - 2 * (x * x + z * z), 2 * (y * z - x * w)],
        [2 * (x * z - y * w), 2 * (y * z + x * w), 1 - 2 * (x * x + y * y)],
    ]
    place[:3, :3] *= np.array(_floats(node.get("scale", [1.0, 1.0, 1.0]), 3, number))
    place[:3, 3] = _floats(node.get("translation", [0.0, 0.0, 0.0]), 3, number)
    return place


def _floats(values: object, count: int, node: int) -> list[float]:
    if not isinstance(values, list) or len(values) != count or not all(_is_number(value) for value in values):
        raise MeshError(f"node {node} of the glTF stands nowhere: its numbers are damaged. {AGAIN}")
    return [float(value) for value in values]


def _three_numbers(value: object) -> bool:
    return isinstance(value, list) and len(value) == 3 and all(_is_number(one) for one in value)


def _is_number(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool)


def _shared_out(table: Any, row: Mapping[str, Any]) -> Any:
    """Whole numbers that stand for shares of one, as such."""
    if not row.get("normalized") or table.dtype.kind == "f":
        return table
    return np.maximum(table.astype(float) / np.iinfo(table.dtype).max, -1.0)


def _count(value: object, owner: str, most: int) -> int:
    if isinstance(value, bool) or not isinstance(value, int) or value < 0:
        raise MeshError(f"{owner} of the glTF has no count that can be read: {quoted(value, 20)}. {AGAIN}")
    if value > most:
        raise MeshError(f"{owner} of the glTF claims {value:,} entries or bytes, more than can be. {AGAIN}")
    return value


def _table(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _inside(uri: str, number: int) -> bytes:
    """The bytes of a buffer that stands in the text itself."""
    head, comma, body = uri.partition(",")
    try:
        if not comma or not head.lower().endswith(";base64"):
            raise ValueError
        return base64.b64decode(body, validate=True)
    except (ValueError, binascii.Error):
        raise MeshError(f"buffer {number} of the glTF cannot be read from its text: it is damaged. {AGAIN}") from None
