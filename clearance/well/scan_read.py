"""A mesh or point file, as it comes: bytes in, vertices and faces out, in whatever unit the file has.

Nothing here knows a unit, an axis or a hub: the numbers are the file's own. What it does promise is that a bad file
gives one sentence (MeshError) and never a traceback or a full memory: sizes that a header claims are held against the
size of the file before anything is allocated.

* mesh   - vertices and triangles: OBJ, STL, PLY, GLB and glTF, OFF, 3MF
* points - a cloud without faces: PLY, XYZ, CSV
* colours of vertices are kept where a file has them; textures, materials and normals are not needed and not read
"""

from __future__ import annotations

import json
import struct
import warnings
import zipfile
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt

from clearance.errors import MeshError
from clearance.pose import Array
from clearance.well import scan_text

Faces = npt.NDArray[np.int64]
Colours = npt.NDArray[np.uint8]

MESH = "mesh"
POINTS = "points"

MOST_BYTES = 3 * 2**30
"""The largest file that is opened."""
MOST_TRIANGLES = 40_000_000
FURTHEST = 1e9
"""The largest coordinate, in the file's own unit, that can be a car: a thousand kilometres in millimetres."""

_EXPORT_INSTEAD = {
    **dict.fromkeys(
        (".usdz", ".usd", ".usda", ".usdc"),
        "a phone's scene package. In the scanning app choose another export: OBJ, GLB, PLY or STL",
    ),
    **dict.fromkeys(
        (".las", ".laz", ".e57", ".pcd", ".ptx", ".pts", ".rcp"),
        "a survey point cloud. Export the points as PLY, XYZ or CSV",
    ),
    **dict.fromkeys(
        (".step", ".stp", ".igs", ".iges", ".sldprt", ".ipt", ".f3d", ".3dm", ".dwg", ".dxf"),
        "a CAD file without triangles. Export it as STL or 3MF, with a chord error of 0.1 mm or less",
    ),
    **dict.fromkeys(
        (".fbx", ".dae", ".blend", ".3ds", ".max", ".ma", ".x3d", ".wrl", ".c4d", ".lwo"),
        "a scene of a modelling program. Export it as GLB, OBJ, PLY or STL",
    ),
    **dict.fromkeys(
        (".jpg", ".jpeg", ".png", ".heic", ".mov", ".mp4"), "a picture. Export the mesh that was made from it"
    ),
    **dict.fromkeys((".zip", ".rar", ".7z", ".gz"), "an archive. Unpack it and name the mesh inside"),
    ".mtl": "the materials of an OBJ. Name the .obj file beside it",
}
READS = "OBJ, STL, PLY, GLB, glTF, OFF or 3MF for a mesh; PLY, XYZ or CSV for points"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class RawMesh:
    """What stood in the file, in the file's own axes and unit."""

    name: str
    """The file's name, without its folder."""
    vertices: Array
    """(n, 3)."""
    faces: Faces
    """(m, 3) indices into `vertices`; (0, 3) for points."""
    colours: Colours | None = None
    """(n, 4) red, green, blue, alpha; None where the file has none."""
    file_format: str = ""
    notes: tuple[str, ...] = field(default=())

    @property
    def kind(self) -> str:
        """ "mesh" or "points"."""
        return MESH if len(self.faces) else POINTS

    @property
    def low(self) -> Array:
        """(3,): the least corner of the box around it."""
        least: Array = self.vertices.min(axis=0)
        return least

    @property
    def size(self) -> Array:
        """(3,): the box around it."""
        extent: Array = np.ptp(self.vertices, axis=0)
        return extent


def read_mesh(path: str | Path) -> RawMesh:
    """The mesh or the points in a file.

    Raises MeshError, one message that says what is wrong and what to do, for anything that is not one.
    """
    path = Path(path)
    try:
        return _believable(_read(path))
    except MeshError as refused:
        raise MeshError(str(refused), key="file") from None


def _read(path: Path) -> RawMesh:
    content = _bytes_of(path)
    read = _reader_of(path, content)
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            # numpy's text reader only warns where it stops early: half a scan must not pass for a whole one
            warnings.filterwarnings("error", message=".*could not be read to its end.*")
            return read(content, path)
    except MeshError as refused:
        raise MeshError(f"{path.name}: {refused}") from None
    except MemoryError:
        raise MeshError(f"{path.name}: too large for the memory of this computer. Crop or decimate it first.") from None
    except Exception as trouble:  # a foreign reader may raise anything on a damaged file
        raise MeshError(f"{path.name}: {_damaged(path)} ({_short(trouble)}).") from None


def _bytes_of(path: Path) -> bytes:
    instead = _EXPORT_INSTEAD.get(path.suffix.lower())
    if not path.exists():
        raise MeshError(
            f"{path}: there is no such file. Name the mesh by its path, beside the corner file or from the root."
        )
    if path.is_dir():
        raise MeshError(f"{path}: this is a folder. Name one file in it: {READS}.")
    if instead:
        raise MeshError(f"{path.name}: {path.suffix.lower()} is {instead}.")
    try:
        length = path.stat().st_size
        if length > MOST_BYTES:
            raise MeshError(
                f"{path.name}: {length / 2**30:.1f} GiB is more than the {MOST_BYTES / 2**30:.0f} GiB that are opened."
                " Crop it to the wheel well, or decimate it to a few million triangles."
            )
        # spreadsheets put a byte order mark before the first letter of a text
        return path.read_bytes().removeprefix(b"\xef\xbb\xbf")
    except OSError as trouble:
        raise MeshError(f"{path}: cannot be read ({trouble.strerror or trouble}).") from None


def _reader_of(path: Path, content: bytes) -> Callable[[bytes, Path], RawMesh]:
    if not content.strip(b"\0 \t\r\n"):
        raise MeshError(f"{path.name}: the file is empty. Export the scan again.")
    suffix = path.suffix.lower()
    if suffix not in _READERS:
        named = (
            f"{suffix} is not a mesh format that is read" if suffix else "the name has no ending that says the format"
        )
        raise MeshError(f"{path.name}: {named}. Export {READS}.")
    looks = _looks_like(content)
    if looks and looks != {".gltf": ".glb"}.get(suffix, suffix) and not (looks == ".zip" and suffix == ".3mf"):
        instead = _EXPORT_INSTEAD.get(looks)
        tail = f"That is {instead}" if instead else f"Rename it to {path.stem}{looks}, or export it again"
        raise MeshError(f"{path.name}: it is named {suffix} but starts like a {looks} file. {tail}.")
    return _READERS[suffix]


def _looks_like(content: bytes) -> str | None:
    marks = (
        (b"ply\n", ".ply"),
        (b"ply\r", ".ply"),
        (b"glTF", ".glb"),
        (b"PK\x03\x04", ".zip"),
        (b"\x89PNG", ".png"),
        (b"\xff\xd8\xff", ".jpg"),
        (b"ISO-10303", ".step"),
        (b"LASF", ".las"),
    )
    return next((suffix for mark, suffix in marks if content.startswith(mark)), None)


def _damaged(path: Path) -> str:
    return f"damaged, cut short, or not a {path.suffix.lower().lstrip('.').upper()} file at all; export it again"


def _short(trouble: Exception) -> str:
    words = str(trouble).strip().splitlines()
    return (words[0] if words else type(trouble).__name__)[:120].rstrip(".")


def _believable(raw: RawMesh) -> RawMesh:
    """The mesh again, unless its numbers cannot be a place on a car."""
    if not len(raw.vertices):
        raise MeshError(f"{raw.name}: there is not a single vertex in it. Export the scan again.")
    bad = int((~np.isfinite(raw.vertices)).any(axis=1).sum())
    if bad:
        raise MeshError(
            f"{raw.name}: {bad} of {len(raw.vertices)} vertices are not numbers (NaN or infinite)."
            " Repair or re-export it: a hole is better than a vertex that is nowhere."
        )
    furthest = float(np.abs(raw.vertices).max())
    if furthest > FURTHEST:
        raise MeshError(
            f"{raw.name}: a coordinate of {furthest:.3g} cannot be a place on a car in any unit."
            " The file is damaged, or carries map coordinates: move it to the origin before exporting."
        )
    if len(raw.faces) and (raw.faces.min() < 0 or raw.faces.max() >= len(raw.vertices)):
        wrong = int(raw.faces.max()) if raw.faces.max() >= len(raw.vertices) else int(raw.faces.min())
        raise MeshError(
            f"{raw.name}: a triangle names vertex {wrong}, but there are {len(raw.vertices)} (counted from 0)."
            " The file is damaged; export it again."
        )
    return raw


# ---- one function a format


def _obj(content: bytes, path: Path) -> RawMesh:
    vertices, faces, colours, notes = scan_text.obj(content)
    if not len(faces):
        raise MeshError(
            f"{len(vertices)} vertices and no faces. Export the faces too; if it is a point cloud, export PLY, XYZ or"
            " CSV."
        )
    return RawMesh(name=path.name, vertices=vertices, faces=faces, colours=colours, file_format="OBJ", notes=notes)


def _stl(content: bytes, path: Path) -> RawMesh:
    count = struct.unpack("<I", content[80:84])[0] if len(content) >= 84 else 0
    if len(content) >= 84 and len(content) == 84 + 50 * count:
        return _stl_binary(content, count, path, "")
    if content.lstrip()[:5].lower() == b"solid" and b"facet" in content[:4096].lower():
        vertices = scan_text.stl(content)
        return _soup(vertices, path, "STL (text)")
    if len(content) < 84:
        raise MeshError(f"{len(content)} bytes are too few for an STL. Export it again.")
    if len(content) < 84 + 50 * count:
        raise MeshError(
            f"the header claims {count:,} triangles, {84 + 50 * count:,} bytes, but the file has {len(content):,}:"
            " it was cut short, or is not an STL. Export it again."
        )
    extra = len(content) - 84 - 50 * count
    return _stl_binary(content, count, path, f"{extra} bytes after the last triangle were not read")


def _stl_binary(content: bytes, count: int, path: Path, note: str) -> RawMesh:
    if count == 0:
        raise MeshError("there are no triangles in it. Export the scan again.")
    row = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    corners = np.frombuffer(content, row, count=count, offset=84)["corners"]
    return _soup(corners.reshape(-1, 3).astype(float), path, "STL (binary)", (note,) if note else ())


def _soup(vertices: Array, path: Path, file_format: str, notes: tuple[str, ...] = ()) -> RawMesh:
    faces = np.arange(len(vertices), dtype=np.int64).reshape(-1, 3)
    return RawMesh(name=path.name, vertices=vertices, faces=faces, file_format=file_format, notes=notes)


def _ply(content: bytes, path: Path) -> RawMesh:
    _hold_ply_header(content)
    return _through_trimesh(content, path, "ply", "PLY")


_PLY_BYTES = {
    "char": 1, "uchar": 1, "int8": 1, "uint8": 1, "short": 2, "ushort": 2, "int16": 2, "uint16": 2, "int": 4,
    "uint": 4, "int32": 4, "uint32": 4, "float": 4, "float32": 4, "double": 8, "float64": 8, "int64": 8, "uint64": 8,
}  # fmt: skip


def _hold_ply_header(content: bytes) -> None:
    """Refuses a PLY header that claims more than the file can hold."""
    end = content.find(b"end_header")
    if not content.startswith(b"ply") or end < 0 or end > 1_000_000:
        raise MeshError("no PLY header at its start. Export it again.")
    lines = content[:end].decode("ascii", "replace").splitlines()
    text = any(line.split()[:2] == ["format", "ascii"] for line in lines)
    least = 0
    seen: list[str] = []
    for count, name, width in _ply_elements(lines, text):
        if width == 0 and count:
            raise MeshError(f"the PLY header gives {count:,} of {name!r} without any property. Export it again.")
        least += count * width
        seen.append(name)
    room = len(content) - end
    if "vertex" not in seen:
        raise MeshError("the PLY header names no vertices. Export it again.")
    if least > room + 2:
        raise MeshError(
            f"the PLY header claims at least {least:,} bytes of vertices and faces, but only {room:,} follow:"
            " it was cut short. Export it again."
        )


def _ply_elements(lines: list[str], text: bool) -> list[tuple[int, str, int]]:
    """(count, name, least bytes of one) of every element that a PLY header names."""
    elements: list[tuple[int, str, int]] = []
    for line in lines:
        words = line.split()
        if words[:1] == ["element"]:
            if len(words) != 3 or not words[2].isdigit():
                raise MeshError(f"the PLY header line {line.strip()!r} is damaged. Export it again.")
            elements.append((int(words[2]), words[1], 0))
        elif words[:1] == ["property"] and elements and len(words) >= 3:
            kind = words[2] if words[1] == "list" else words[1]
            if kind not in _PLY_BYTES:
                raise MeshError(f"the PLY header line {line.strip()!r} names an unknown type. Export it again.")
            count, name, width = elements.pop()
            elements.append((count, name, width + (2 if text else _PLY_BYTES[kind])))
    return elements


def _off(content: bytes, path: Path) -> RawMesh:
    counts = scan_text.off_counts(content)
    # a vertex line has at least five characters and its end, a face line seven
    if 6 * counts[0] + 8 * counts[1] > len(content) + 8:
        raise MeshError(
            f"the OFF header claims {counts[0]:,} vertices and {counts[1]:,} faces, too many for {len(content):,}"
            " bytes: it was cut short. Export it again."
        )
    return _through_trimesh(content, path, "off", "OFF")


def _glb(content: bytes, path: Path) -> RawMesh:
    if len(content) < 20 or content[:4] != b"glTF":
        raise MeshError("no GLB header at its start. Export it again.")
    _, version, total = struct.unpack("<4sII", content[:12])
    if version != 2:
        raise MeshError(f"GLB version {version} is not read. Export glTF 2.0, the usual one.")
    if total > len(content):
        raise MeshError(f"the GLB header claims {total:,} bytes, but the file has {len(content):,}. It was cut short.")
    length, kind = struct.unpack("<I4s", content[12:20])
    if kind != b"JSON" or length > len(content) - 20:
        raise MeshError("the first chunk of the GLB is not a scene. Export it again.")
    _hold_gltf(json.loads(content[20 : 20 + length]))
    return _through_trimesh(content, path, "glb", "GLB")


def _gltf(content: bytes, path: Path) -> RawMesh:
    _hold_gltf(json.loads(content))
    return _through_trimesh(content, path, "gltf", "glTF")


_GLTF_BYTES = {5120: 1, 5121: 1, 5122: 2, 5123: 2, 5125: 4, 5126: 4}
_GLTF_PARTS = {"SCALAR": 1, "VEC2": 2, "VEC3": 3, "VEC4": 4, "MAT2": 4, "MAT3": 9, "MAT4": 16}


def _hold_gltf(scene: Any) -> None:
    """Refuses a glTF whose accessors claim more than their buffers hold, or that packs its triangles another way."""
    if not isinstance(scene, dict):
        raise MeshError("the glTF scene is not a table. Export it again.")
    packed = {"KHR_draco_mesh_compression", "EXT_meshopt_compression"} & set(scene.get("extensionsRequired", ()))
    if packed:
        raise MeshError(f"its triangles are packed ({sorted(packed)[0]}). Export it again without compression.")
    views = scene.get("bufferViews", [])
    for number, accessor in enumerate(scene.get("accessors", [])):
        count = int(accessor.get("count", 0))
        needed = count * _GLTF_BYTES.get(accessor.get("componentType"), 1) * _GLTF_PARTS.get(accessor.get("type"), 1)
        view = accessor.get("bufferView")
        room = views[view].get("byteLength", 0) if isinstance(view, int) and 0 <= view < len(views) else 0
        if count < 0 or needed > max(room, 4096):
            raise MeshError(
                f"accessor {number} of the glTF claims {count:,} entries, more than its {room:,} bytes hold."
            )
    for number, buffer in enumerate(scene.get("buffers", [])):
        if int(buffer.get("byteLength", 0)) > MOST_BYTES:
            raise MeshError(f"buffer {number} of the glTF claims {buffer['byteLength']:,} bytes. Export it again.")
        if str(buffer.get("uri", "")).split(":")[0].lower() in ("http", "https", "ftp", "file"):
            raise MeshError(f"buffer {number} of the glTF lies elsewhere ({buffer['uri'][:60]}). Export one GLB file.")


def _three_mf(content: bytes, path: Path) -> RawMesh:
    import io

    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            total = sum(entry.file_size for entry in archive.infolist())
            models = [entry.filename for entry in archive.infolist() if entry.filename.lower().endswith(".model")]
    except zipfile.BadZipFile:
        raise MeshError("a 3MF is a zip package, and this is not one, or it was cut short. Export it again.") from None
    if total > max(200 * len(content), 2**20) or total > MOST_BYTES:
        raise MeshError(f"{len(content):,} bytes that unpack to {total:,} are not a mesh. Export it again.")
    if not models:
        raise MeshError("there is no model in this 3MF package. Export it again.")
    return _through_trimesh(content, path, "3mf", "3MF")


def _points(content: bytes, path: Path) -> RawMesh:
    vertices, colours, notes = scan_text.points(content)
    return RawMesh(
        name=path.name,
        vertices=vertices,
        faces=np.zeros((0, 3), dtype=np.int64),
        colours=colours,
        file_format=path.suffix[1:].upper(),
        notes=notes,
    )


def _through_trimesh(content: bytes, path: Path, kind: str, file_format: str) -> RawMesh:
    """What trimesh makes of the bytes: every mesh of a scene where it stands, joined into one."""
    import io

    import trimesh

    resolver = trimesh.resolvers.FilePathResolver(str(path.resolve())) if kind == "gltf" else None
    extra: dict[str, Any] = {} if kind in ("3mf", "off") else {"skip_materials": True}
    loaded = trimesh.load(
        io.BytesIO(content), file_type=kind, resolver=resolver, process=False, maintain_order=True, **extra
    )
    pieces = list(_geometries(loaded))
    meshes = [piece for piece in pieces if len(piece[1])]
    chosen = meshes or pieces
    if not chosen:
        raise MeshError("there are no triangles and no points in it. Export the scan again.")
    if sum(len(piece[1]) for piece in chosen) > MOST_TRIANGLES:
        raise MeshError(f"it unpacks to more than {MOST_TRIANGLES:,} triangles. Crop or decimate it first.")
    return _joined(chosen, path, file_format)


_Piece = tuple[Array, Faces, Colours | None]


def _geometries(loaded: Any) -> list[_Piece]:
    if not hasattr(loaded, "graph"):
        return [piece] if (piece := _piece(loaded, None)) else []
    pieces = []
    for node in sorted(loaded.graph.nodes_geometry):
        transform, name = loaded.graph[node]
        piece = _piece(loaded.geometry[name], transform)
        if piece:
            pieces.append(piece)
    return pieces


def _piece(geometry: Any, transform: Array | None) -> _Piece | None:
    vertices = np.asarray(getattr(geometry, "vertices", np.zeros((0, 3))), dtype=float)
    if vertices.ndim != 2 or vertices.shape[1] != 3 or not len(vertices):
        return None
    faces = np.asarray(getattr(geometry, "faces", np.zeros((0, 3))), dtype=np.int64).reshape(-1, 3)
    if transform is not None:
        vertices = vertices @ transform[:3, :3].T + transform[:3, 3]
    return vertices, faces, _colours(geometry, len(vertices))


def _colours(geometry: Any, count: int) -> Colours | None:
    visual = getattr(geometry, "visual", None)
    colours = getattr(visual, "vertex_colors", None) if getattr(visual, "kind", None) == "vertex" else None
    if colours is None:
        colours = getattr(geometry, "colors", None)
    if colours is None or np.shape(colours) != (count, 4):
        return None
    return np.asarray(colours, dtype=np.uint8)


def _joined(pieces: list[_Piece], path: Path, file_format: str) -> RawMesh:
    starts = np.cumsum([0, *(len(vertices) for vertices, _, _ in pieces)])
    for vertices, faces, _ in pieces:
        # joined, an index beyond its own piece would quietly name a vertex of the next one
        if len(faces) and (faces.min() < 0 or faces.max() >= len(vertices)):
            raise MeshError(f"a triangle names vertex {int(faces.max())} of {len(vertices)}. Export it again.")
    colours = [colour for _, _, colour in pieces if colour is not None]
    return RawMesh(
        name=path.name,
        vertices=np.concatenate([vertices for vertices, _, _ in pieces]),
        faces=np.concatenate([faces + start for (_, faces, _), start in zip(pieces, starts, strict=False)]),
        colours=np.concatenate(colours) if len(colours) == len(pieces) else None,
        file_format=file_format,
    )


_READERS: dict[str, Callable[[bytes, Path], RawMesh]] = {
    ".obj": _obj,
    ".stl": _stl,
    ".ply": _ply,
    ".off": _off,
    ".glb": _glb,
    ".gltf": _gltf,
    ".3mf": _three_mf,
    ".xyz": _points,
    ".csv": _points,
    ".txt": _points,
}
