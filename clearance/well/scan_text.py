"""Scans that are written as text: OBJ, STL in words, the counts of OFF, and columns of points.

These are read here and not by a library for two reasons met in practice: an OBJ may count its vertices backwards
from the line it stands on, and a line that cannot be read must be named, not skipped.
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt

from clearance.errors import MeshError
from clearance.pose import Array

Whole = npt.NDArray[np.int64]
Bytes = npt.NDArray[np.uint8]


def obj(content: bytes) -> tuple[Array, Whole, Bytes | None, tuple[str, ...]]:
    """Vertices (n, 3), triangles (m, 3), colours (n, 4) or None, and notes, of an OBJ.

    Texture and normal references are passed over, so a vertex stays one vertex on both sides of a seam. Faces with
    more corners are fanned from their first. Raises MeshError with the line that cannot be read.
    """
    lines = _lines(content)
    vertex_lines = [line for line in lines if line[:2] in (b"v ", b"v\t")]
    face_lines = [line for line in lines if line[:2] in (b"f ", b"f\t")]
    if not vertex_lines:
        raise MeshError("no line in it gives a vertex (v x y z): it is not an OBJ. Export the scan again.")
    vertices, colours = _obj_vertices(vertex_lines, lines)
    if any(b"-" in line for line in face_lines):
        faces, fanned = _faces_counted_backwards(lines)
    else:
        faces, fanned = _faces(face_lines, lines)
    if len(faces) and (faces.min() < 0 or faces.max() >= len(vertices)):
        wrong = int(faces.max()) + 1 if faces.max() >= len(vertices) else int(faces.min()) + 1
        raise MeshError(
            f"a face names vertex {wrong}, but there are {len(vertices)}. The file is damaged; export it again."
        )
    notes = (f"{fanned:,} faces with more than four corners were split into triangles from their first corner",)
    return vertices, faces, colours, notes if fanned else ()


def _lines(content: bytes) -> list[bytes]:
    if b"\\\n" in content or b"\\\r\n" in content:
        content = re.sub(rb"\\\r?\n", b" ", content)
    return [line.strip() for line in content.splitlines()]


def _obj_vertices(vertex_lines: list[bytes], lines: list[bytes]) -> tuple[Array, Bytes | None]:
    counts = set(map(len, map(bytes.split, vertex_lines)))
    least = min(counts)
    if least < 4:
        raise _unreadable(lines, b"v", lambda words: len(words) < 4)
    try:
        if len(counts) == 1:
            table = _numbers(b" ".join(line[2:] for line in vertex_lines)).reshape(-1, least - 1)
        else:
            table = _numbers(b" ".join(b" ".join(line.split()[1:4]) for line in vertex_lines)).reshape(-1, 3)
    except ValueError:
        raise _unreadable(lines, b"v", lambda words: not all(map(_is_number, words[1:]))) from None
    if len(table) != len(vertex_lines):
        raise _unreadable(lines, b"v", lambda words: not all(map(_is_number, words[1:])))
    colours = _colours_of(table[:, 3:6]) if table.shape[1] == 6 else None
    return np.ascontiguousarray(table[:, :3]), colours


def _colours_of(table: Array) -> Bytes | None:
    """(n, 4) bytes from columns of red, green, blue written as 0 to 1 or 0 to 255."""
    if not np.isfinite(table).all() or table.min() < 0.0 or table.max() > 255.0:
        return None
    scale = 255.0 if table.max() <= 1.0 else 1.0
    opaque = np.full((len(table), 4), 255, dtype=np.uint8)
    opaque[:, :3] = np.rint(table * scale)
    return opaque


def _numbers(text: bytes) -> Array:
    """The numbers of a text; ValueError where one is not a number."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        try:
            return np.fromstring(text.decode("ascii"), dtype=float, sep=" ")
        except (DeprecationWarning, UnicodeDecodeError) as stopped:
            raise ValueError(str(stopped)) from None


def _is_number(word: bytes) -> bool:
    try:
        float(word)
    except ValueError:
        return False
    return b"_" not in word


def _unreadable(lines: Sequence[bytes], key: bytes, wrong: object) -> MeshError:
    """The error that names the first line of a kind which `wrong` holds of."""
    assert callable(wrong)
    for number, line in enumerate(lines, start=1):
        words = line.split()
        if words[:1] == [key] and wrong(words):
            shown = line[:60].decode("ascii", "replace")
            return MeshError(f"line {number} cannot be read: {shown!r}. The file is damaged; export it again.")
    return MeshError("a line cannot be read. The file is damaged; export it again.")


_REFERENCE_TAIL = re.compile(rb"/\S*")


def _faces(face_lines: list[bytes], lines: list[bytes]) -> tuple[Whole, int]:
    by_count: dict[int, list[bytes]] = {}
    for line in face_lines:
        by_count.setdefault(len(line.split()) - 1, []).append(line)
    if by_count and min(by_count) < 3:
        # two corners make an edge, one a point: neither is a surface
        for count in [count for count in by_count if count < 3]:
            del by_count[count]
    fans = []
    for count, rows in sorted(by_count.items()):
        joined = _REFERENCE_TAIL.sub(b"", b" ".join(row[2:] for row in rows))
        try:
            table = _numbers(joined)
            corners = table.astype(np.int64)
            if len(table) != count * len(rows) or not (table == corners).all():
                raise ValueError
        except ValueError:
            raise _unreadable(lines, b"f", _not_whole) from None
        fans.append(_fan(corners.reshape(-1, count) - 1))
    fanned = sum(len(rows) for count, rows in by_count.items() if count > 4)
    return (np.concatenate(fans) if fans else np.zeros((0, 3), dtype=np.int64)), fanned


def _not_whole(words: list[bytes]) -> bool:
    return not all(word.split(b"/")[0].lstrip(b"-").isdigit() for word in words[1:])


def _fan(corners: Whole) -> Whole:
    """(n, k) corners of faces as (n (k - 2), 3) triangles from the first corner of each."""
    count = corners.shape[1]
    parts = [corners[:, [0, k, k + 1]] for k in range(1, count - 1)]
    return np.stack(parts, axis=1).reshape(-1, 3)


def _faces_counted_backwards(lines: Iterable[bytes]) -> tuple[Whole, int]:
    """Faces of an OBJ with relative references: -1 is the last vertex given above the line."""
    triangles: list[tuple[int, int, int]] = []
    above = fanned = 0
    for number, line in enumerate(lines, start=1):
        words = line.split()
        if not words:
            continue
        if words[0] == b"v":
            above += 1
        elif words[0] == b"f":
            if _not_whole(words):
                raise MeshError(
                    f"line {number} cannot be read: {line[:60].decode('ascii', 'replace')!r}. Export it again."
                )
            index = [int(word.split(b"/")[0]) for word in words[1:]]
            at = [above + i if i < 0 else i - 1 for i in index]
            if any(i < 0 or i > 2**60 for i in at):
                raise MeshError(f"line {number} counts back to before the first vertex. The file is damaged.")
            triangles.extend((at[0], at[k], at[k + 1]) for k in range(1, len(at) - 1))
            fanned += len(at) > 4
    return np.array(triangles, dtype=np.int64).reshape(-1, 3), fanned


def stl(content: bytes) -> Array:
    """(3 n, 3) corners of an STL in words, three to a triangle. Raises MeshError where it is cut short."""
    lines = _lines(content.lower())
    corners = [line for line in lines if line.startswith(b"vertex")]
    facets = sum(line.startswith(b"facet") for line in lines)
    if not corners:
        raise MeshError("there are no triangles in it. Export the scan again.")
    if len(corners) != 3 * facets or not any(line.startswith(b"endsolid") for line in lines):
        raise MeshError(f"{facets} facets with {len(corners)} corners: it was cut short. Export it again.")
    if set(map(len, map(bytes.split, corners))) != {4}:
        raise _unreadable(lines, b"vertex", lambda words: len(words) != 4)
    try:
        table = _numbers(b" ".join(line[6:] for line in corners))
        return table.reshape(-1, 3)
    except ValueError:
        raise _unreadable(lines, b"vertex", lambda words: not all(map(_is_number, words[1:]))) from None


def off_counts(content: bytes) -> tuple[int, int]:
    """(vertices, faces) that the head of an OFF claims."""
    head = re.sub(rb"#[^\n]*", b"", content[:65536])
    match = re.match(rb"\s*(?:C|ST|N|4)*OFF\s+(\d{1,18})\s+(\d{1,18})", head)
    if match is None:
        raise MeshError("no OFF header at its start (OFF, then the counts). Export it again.")
    vertices, faces = int(match[1]), int(match[2])
    if not vertices or not faces:
        raise MeshError(f"{vertices} vertices and {faces} faces: there is nothing in it. Export the scan again.")
    return vertices, faces


def points(content: bytes) -> tuple[Array, Bytes | None, tuple[str, ...]]:
    """Points (n, 3), colours (n, 4) or None, and notes, from columns of numbers.

    Columns are parted by spaces, tabs, commas or semicolons; the first three are x, y, z unless a heading line names
    them otherwise. A first line of one whole number is a count. Raises MeshError with the line that cannot be read.
    """
    lines = [line.split(b"#")[0].split(b"//")[0].strip() for line in content.splitlines()]
    rows = [(number, line) for number, line in enumerate(lines, start=1) if line]
    if not rows:
        raise MeshError("there are no points in it. Export the scan again.")
    notes: list[str] = []
    columns = (0, 1, 2)
    if re.fullmatch(rb"\d+", rows[0][1]):
        notes.append(f"a first line of one number ({int(rows[0][1][:18])}) was taken for a count")
        rows = rows[1:]
    elif not all(map(_is_number, _words(rows[0][1]))):
        columns = _named_columns(rows[0][1])
        rows = rows[1:]
    if not rows:
        raise MeshError("there is a heading but there are no points. Export the scan again.")
    table = _table(rows, max(columns) + 1)
    colours = _colours_of(table[:, 3:6]) if table.shape[1] in (6, 7) and table[:, 3:6].min() >= 0 else None
    if (
        colours is not None
        and table[:, 3:6].max() <= 1.0
        and np.allclose((table[:, 3:6] ** 2).sum(axis=1), 1, atol=0.01)
    ):
        colours = None  # three columns of length one are normals
    return np.ascontiguousarray(table[:, list(columns)]), colours, tuple(notes)


def _words(line: bytes) -> list[bytes]:
    return line.replace(b",", b" ").replace(b";", b" ").split()


def _named_columns(heading: bytes) -> tuple[int, int, int]:
    comma = next((mark for mark in (b";", b",", b"\t") if mark in heading), None)
    titles = [title for title in heading.split(comma) if title.strip()] if comma else heading.split()
    names = [title.strip(b"\"' \t").lower().decode("ascii", "replace") for title in titles]
    names = [re.sub(r"[^a-z].*$", "", name) for name in names]
    try:
        return names.index("x"), names.index("y"), names.index("z")
    except ValueError:
        shown = heading[:60].decode("ascii", "replace")
        raise MeshError(
            f"the heading {shown!r} names no columns x, y and z. Write them, or leave the heading out."
        ) from None


def _table(rows: list[tuple[int, bytes]], least: int) -> Array:
    """The numbers of all rows, the same count in each."""
    width = len(_words(rows[0][1]))
    if width < least:
        raise MeshError(
            f"line {rows[0][0]} has {width} numbers, not three: {rows[0][1][:60].decode('ascii', 'replace')!r}."
        )
    uneven = next((row for row in rows if len(_words(row[1])) != width), None)
    if uneven is not None:
        shown = uneven[1][:60].decode("ascii", "replace")
        raise MeshError(
            f"line {uneven[0]} has {len(_words(uneven[1]))} numbers and the first has {width}: {shown!r}."
            " Write a point a line, with a decimal point and not a decimal comma."
        )
    try:
        return _numbers(b" ".join(row[1] for row in rows).replace(b",", b" ").replace(b";", b" ")).reshape(-1, width)
    except ValueError:
        bad = next((row for row in rows if not all(map(_is_number, _words(row[1])))), rows[0])
        shown = bad[1][:60].decode("ascii", "replace")
        raise MeshError(
            f"line {bad[0]} is not numbers: {shown!r}. The file is damaged, or is not a point cloud."
        ) from None
