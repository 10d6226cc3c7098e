"""A mesh or point file, as it comes: bytes in, vertices and faces out, in whatever unit the file has.

Nothing here knows a unit, an axis or a hub: the numbers are the file's own. What it does promise is that a bad file
gives one sentence (MeshError) and never a traceback or a full memory, and that a damaged mesh is never taken for a
small one: sizes that a header claims are held against the size of the file before anything is allocated, and every
byte and line must be accounted for. What may be whole or cut short is said in `torn`.

* colours of vertices are kept where a file has them; textures, materials and normals are not needed and not read
"""

from __future__ import annotations

import os
import struct
import warnings
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np

from clearance import opener
from clearance.errors import FileError, MeshError
from clearance.pose import Array
from clearance.well import scan_3mf, scan_gltf, scan_ply, scan_text
from clearance.well.scan_raw import AGAIN, MESH, POINTS, Colours, Faces, Piece, RawMesh, hold_indices, no_faces

__all__ = ["MESH", "POINTS", "Colours", "Faces", "RawMesh", "mesh_of", "read_mesh"]

MOST_BYTES = 3 * 2**30
"""The largest file that is opened."""
_MARK = b"\xef\xbb\xbf"
"""Of byte order: spreadsheets put it before the first letter of a text."""
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


def read_mesh(path: str | Path) -> RawMesh:
    """The mesh or the points in a file.

    Raises MeshError, one message that says what is wrong and what to do, for anything that is not one.
    """
    path = Path(path)
    try:
        return _believable(_read(_bytes_of(path), path))
    except MeshError as refused:
        raise MeshError(str(refused), key="file") from None


def mesh_of(content: bytes, path: Path) -> RawMesh:
    """The mesh or the points in the bytes of a file that is to stand at `path`; as `read_mesh`. Raises MeshError."""
    if instead := _EXPORT_INSTEAD.get(path.suffix.lower()):
        raise MeshError(f"{path.name}: {path.suffix.lower()} is {instead}.")
    return _believable(_read(content.removeprefix(_MARK), path))


def _read(content: bytes, path: Path) -> RawMesh:
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


def _bytes_of(path: Path) -> bytes:
    instead = _EXPORT_INSTEAD.get(path.suffix.lower())
    if not os.path.lexists(path):
        raise MeshError(
            f"{path}: there is no such file. Name the mesh by its path, beside the corner file or from the root."
        )
    if instead and path.is_file():
        raise MeshError(f"{path.name}: {path.suffix.lower()} is {instead}.")
    try:
        return opener.bytes_of(path, most=MOST_BYTES).removeprefix(_MARK)
    except FileError as refused:
        raise MeshError(f"{path}: {refused.reason}{_what_then(path)}") from None


def _what_then(path: Path) -> str:
    if path.is_dir():
        return f" A mesh is {READS}."
    return " Crop a scan to the wheel well, or decimate it to a few million triangles." if path.is_file() else ""


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
    hold_indices(raw.faces, len(raw.vertices))
    return raw


# ---- one function a format


def _obj(content: bytes, path: Path) -> RawMesh:
    found = scan_text.obj(content)
    if not len(found.faces):
        raise MeshError(
            f"{len(found.vertices)} vertices and no faces. Export the faces too; if it is a point cloud, export PLY,"
            " XYZ or CSV."
        )
    return RawMesh(
        name=path.name,
        vertices=found.vertices,
        faces=found.faces,
        colours=found.colours,
        file_format="OBJ",
        notes=found.notes,
        torn=found.torn,
    )


def _stl(content: bytes, path: Path) -> RawMesh:
    count = struct.unpack("<I", content[80:84])[0] if len(content) >= 84 else 0
    if len(content) >= 84 and len(content) == 84 + 50 * count:
        return _stl_binary(content, count, path)
    if content.lstrip()[:5].lower() == b"solid" and b"facet" in content[:4096].lower():
        return _soup(scan_text.stl(content), path, "STL (text)")
    if len(content) < 84:
        raise MeshError(f"{len(content)} bytes are too few for an STL. {AGAIN}")
    if len(content) < 84 + 50 * count:
        raise MeshError(
            f"the header claims {count:,} triangles, {84 + 50 * count:,} bytes, but the file has {len(content):,}:"
            f" it was cut short, or is not an STL. {AGAIN}"
        )
    extra = content[84 + 50 * count :]
    # zeros to the end of a block are padding: as triangles they would have no area
    if extra.strip(b"\0"):
        raise MeshError(
            f"the header claims {count:,} triangles, and the file has room for {(len(content) - 84) / 50:,.1f}: its"
            f" count is damaged, or it is not an STL. {AGAIN}"
        )
    return _stl_binary(content, count, path)


def _stl_binary(content: bytes, count: int, path: Path) -> RawMesh:
    if count == 0:
        raise MeshError("there are no triangles in it. Export the scan again.")
    row = np.dtype([("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")])
    table = np.frombuffer(content, row, count=count, offset=84)
    corners = table["corners"]
    empty = int((~table["corners"].any(axis=(1, 2)) & ~table["normal"].any(axis=1)).sum())
    if empty:
        raise MeshError(
            f"{empty:,} of its {count:,} triangles are nothing but zeros: the file was not written to its end. {AGAIN}"
        )
    return _soup(corners.reshape(-1, 3).astype(float), path, "STL (binary)")


def _soup(vertices: Array, path: Path, file_format: str) -> RawMesh:
    faces = np.arange(len(vertices), dtype=np.int64).reshape(-1, 3)
    return RawMesh(name=path.name, vertices=vertices, faces=faces, file_format=file_format)


def _ply(content: bytes, path: Path) -> RawMesh:
    piece, notes = scan_ply.ply(content)
    torn = scan_text.sign_of_no_end(content) if b"format ascii" in content[:1000] else ()
    return replace(_raw(piece, path, "PLY"), notes=notes, torn=torn)


def _off(content: bytes, path: Path) -> RawMesh:
    vertices, faces, notes = scan_text.off(content)
    torn = scan_text.sign_of_no_end(content)
    return RawMesh(name=path.name, vertices=vertices, faces=faces, file_format="OFF", notes=notes, torn=torn)


def _glb(content: bytes, path: Path) -> RawMesh:
    piece, notes, torn = scan_gltf.glb(content, path)
    return replace(_raw(piece, path, "GLB"), notes=notes, torn=torn)


def _gltf(content: bytes, path: Path) -> RawMesh:
    piece, notes, torn = scan_gltf.gltf(content, path)
    return replace(_raw(piece, path, "glTF"), notes=notes, torn=torn)


def _three_mf(content: bytes, path: Path) -> RawMesh:
    piece, notes = scan_3mf.three_mf(content)
    return replace(_raw(piece, path, "3MF"), notes=notes)


def _raw(piece: Piece, path: Path, file_format: str) -> RawMesh:
    return RawMesh(
        name=path.name, vertices=piece.vertices, faces=piece.faces, colours=piece.colours, file_format=file_format
    )


def _points(content: bytes, path: Path) -> RawMesh:
    vertices, colours, notes, torn = scan_text.points(content)
    return RawMesh(
        name=path.name,
        vertices=vertices,
        faces=no_faces(),
        colours=colours,
        file_format=path.suffix[1:].upper(),
        notes=notes,
        torn=torn,
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
