"""Scans that are written as text: OBJ, STL in words, OFF, and columns of points.

These are read here and not by a library for two reasons met in practice: an OBJ may count its vertices backwards
from the line it stands on, and a line that cannot be read must be named, not skipped.

A text that was cut short may end between two lines as well as in one. What tells it apart from a whole one:

* OBJ    - a last line without an end, a remark that counts more than there is, vertices that no face uses
* STL    - the word endsolid, and what every facet must have
* OFF    - its own counts, and a last line without an end
* points - a count in the first line, a last line of fewer numbers than all others or without an end
"""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.errors import MeshError
from clearance.plain import quoted
from clearance.pose import Array
from clearance.well.scan_raw import fan

Whole = npt.NDArray[np.int64]
Bytes = npt.NDArray[np.uint8]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Obj:
    """What stands in an OBJ."""

    vertices: Array
    """(n, 3)"""
    faces: Whole
    """(m, 3)"""
    colours: Bytes | None
    """(n, 4)"""
    notes: tuple[str, ...] = ()
    torn: tuple[str, ...] = ()
    """Signs that it is not whole."""


def obj(content: bytes) -> Obj:
    """The mesh of an OBJ.

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
    _hold_named(faces, len(vertices))
    notes = (f"{fanned:,} faces with more than four corners were split into triangles from their first corner",)
    _hold_remarks(lines, len(vertices), max(len(face_lines), len(faces)))
    torn = _signs_of_tearing(content, lines, face_lines, len(vertices), faces)
    return Obj(vertices=vertices, faces=faces, colours=colours, notes=notes if fanned else (), torn=torn)


def _hold_named(faces: Whole, vertices: int) -> None:
    """Refuses a face that names a vertex that is not there."""
    if len(faces) and (faces.min() < 0 or faces.max() >= vertices):
        wrong = int(faces.max()) + 1 if faces.max() >= vertices else int(faces.min()) + 1
        raise MeshError(f"a face names vertex {wrong}, but there are {vertices}. The file is damaged; export it again.")


_OBJ_WORDS = frozenset(
    b"v vt vn vp deg bmat step cstype p l f curv curv2 surf parm trim hole scrv sp end con g s mg o bevel c_interp"
    b" d_interp lod usemap maplib usemtl mtllib shadow_obj trace_obj ctech stech call csh".split()
)
"""Every word that a line of an OBJ begins with (Wavefront's own description, appendix B1)."""
_REMARK = re.compile(
    rb"(?:(?P<of>vert(?:ices|exes|ex count|s)?|faces?(?: count)?)\s*[:=]?\s+(?P<after>\d{1,12})"
    rb"|(?P<before>\d{1,12})\s+(?P<of2>vert(?:ices|exes|s)|faces))\b"
)


def _hold_remarks(lines: Sequence[bytes], vertices: int, faces: int) -> None:
    """Refuses an OBJ whose own remarks count more than it holds, as many exporters write them."""
    for number, line in enumerate(lines, start=1):
        found = _REMARK.fullmatch(line.lstrip(b"#").strip().lower().rstrip(b".")) if line.startswith(b"#") else None
        if found is None:
            continue
        claimed, what = int(found["after"] or found["before"]), (found["of"] or found["of2"])[:4]
        there = vertices if what == b"vert" else faces
        if claimed > there:
            raise MeshError(
                f"its own remark on line {number} counts {claimed:,} {'vertices' if what == b'vert' else 'faces'}, and"
                f" {there:,} are there: it was cut short. Export it again."
            )


def _signs_of_tearing(
    content: bytes, lines: Sequence[bytes], face_lines: Sequence[bytes], count: int, faces: Whole
) -> tuple[str, ...]:
    signs = []
    for number, line in enumerate(lines, start=1):
        word = line.split(None, 1)[0] if line else b"#"
        if not word.startswith(b"#") and word not in _OBJ_WORDS:
            shown = _quoted(line)
            signs.append(f"line {number} begins with no word that an OBJ has: {shown}")
            break
    used = np.zeros(count, dtype=bool)
    used[faces] = True
    for at in _otherwise_used(lines, count):
        used[at] = True
    unused = int(count - used.sum())
    if unused:
        signs.append(f"{unused:,} of its {count:,} vertices belong to no face")
    few = sum(len(line.split()) < 4 for line in face_lines)
    if few:
        signs.append(f"{few:,} faces have fewer than three corners")
    return (*signs, *sign_of_no_end(content))


def sign_of_no_end(content: bytes) -> tuple[str, ...]:
    """Whatever writes a text ends its last line; a text that was cut ends anywhere in one, but for a cut in thirty."""
    return () if content.endswith((b"\n", b"\r")) else ("its last line has no end",)


def _otherwise_used(lines: Sequence[bytes], count: int) -> list[int]:
    """Vertices that points and lines name, which are no surface."""
    named = []
    for line in lines:
        if line[:2] in (b"p ", b"l ", b"p\t", b"l\t"):
            for word in line.split()[1:]:
                digits = word.split(b"/")[0]
                if digits.isdigit() and 0 < int(digits[:12]) <= count:
                    named.append(int(digits) - 1)
    return named


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
            table = numbers_in(b" ".join(line[2:] for line in vertex_lines)).reshape(-1, least - 1)
        else:
            table = numbers_in(b" ".join(b" ".join(line.split()[1:4]) for line in vertex_lines)).reshape(-1, 3)
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


def numbers_in(text: bytes) -> Array:
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
            shown = _quoted(line)
            return MeshError(f"line {number} cannot be read: {shown}. The file is damaged; export it again.")
    return MeshError("a line cannot be read. The file is damaged; export it again.")


_REFERENCE_TAIL = re.compile(rb"/\S*")


def _faces(face_lines: list[bytes], lines: list[bytes]) -> tuple[Whole, int]:
    by_count: dict[int, list[bytes]] = {}
    for line in face_lines:
        by_count.setdefault(len(line.split()) - 1, []).append(line)
    # two corners make an edge, one a point: neither is a surface
    surfaces = sorted((count, rows) for count, rows in by_count.items() if count >= 3)
    try:
        fans = [fan(_corner_numbers(rows, count) - 1) for count, rows in surfaces]
    except ValueError:
        raise _unreadable(lines, b"f", _not_whole) from None
    fanned = sum(len(rows) for count, rows in surfaces if count > 4)
    return (np.concatenate(fans) if fans else np.zeros((0, 3), dtype=np.int64)), fanned


def _corner_numbers(rows: list[bytes], count: int) -> Whole:
    """(n, count) the vertices that face lines name. Raises ValueError where they are not that many whole numbers."""
    table = numbers_in(_REFERENCE_TAIL.sub(b"", b" ".join(row[2:] for row in rows)))
    corners = table.astype(np.int64)
    if len(table) != count * len(rows) or not (table == corners).all():
        raise ValueError
    return corners.reshape(-1, count)


def _not_whole(words: list[bytes]) -> bool:
    return not all(word.split(b"/")[0].lstrip(b"-").isdigit() for word in words[1:])


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
            at = _counted_back(words, above, number, line)
            triangles.extend((at[0], at[k], at[k + 1]) for k in range(1, len(at) - 1))
            fanned += len(at) > 4
    return np.array(triangles, dtype=np.int64).reshape(-1, 3), fanned


def _counted_back(words: list[bytes], above: int, number: int, line: bytes) -> list[int]:
    """The vertices, from 0, that one face names with so many vertices above it."""
    if _not_whole(words):
        raise MeshError(f"line {number} cannot be read: {_quoted(line)}. Export it again.")
    index = [int(word.split(b"/")[0]) for word in words[1:]]
    at = [above + i if i < 0 else i - 1 for i in index]
    if any(i < 0 or i > 2**60 for i in at):
        raise MeshError(f"line {number} counts back to before the first vertex. The file is damaged.")
    return at


def stl(content: bytes) -> Array:
    """(3 n, 3) corners of an STL in words, three to a triangle. Raises MeshError where it is cut short."""
    lines = _lines(content.lower())
    corners = [line for line in lines if line.startswith(b"vertex")]
    if not corners:
        raise MeshError("there are no triangles in it. Export the scan again.")
    _hold_stl_whole(lines, len(corners))
    if set(map(len, map(bytes.split, corners))) != {4}:
        raise _unreadable(lines, b"vertex", lambda words: len(words) != 4)
    try:
        table = numbers_in(b" ".join(line[6:] for line in corners))
        return table.reshape(-1, 3)
    except ValueError:
        raise _unreadable(lines, b"vertex", lambda words: not all(map(_is_number, words[1:]))) from None


def _hold_stl_whole(lines: list[bytes], corners: int) -> None:
    """Refuses an STL whose facets, corners and ends do not fit together."""
    facets = sum(line.startswith(b"facet") for line in lines)
    opened, closed = (sum(line.startswith(word) for line in lines) for word in (b"solid", b"endsolid"))
    ended = sum(line.startswith(b"endfacet") for line in lines)
    if corners != 3 * facets or ended != facets or closed < max(opened, 1):
        raise MeshError(
            f"{facets:,} facets with {corners:,} corners and {ended:,} ends, {opened} solids with {closed} ends:"
            " it was cut short. Export it again."
        )


def off(content: bytes) -> tuple[Array, Whole, tuple[str, ...]]:
    """Vertices (n, 3), triangles (m, 3) and notes of an OFF in words. Raises MeshError.

    Its counts say how many lines follow, so that a missing or an extra one is always noticed.
    """
    vertices, faces, rows = _off_counted(content)
    if len(rows) != vertices + faces:
        what = "it was cut short" if len(rows) < vertices + faces else "its counts are damaged"
        raise MeshError(
            f"the OFF counts {vertices:,} vertices and {faces:,} faces, and {len(rows):,} lines follow: {what}."
            " Export it again."
        )
    table = _off_vertices(rows[:vertices], wide=3)
    triangles, fanned = _off_faces(rows[vertices:])
    notes = (f"{fanned:,} faces with more than four corners were split into triangles from their first corner",)
    return table, triangles, notes if fanned else ()


def _off_counted(content: bytes) -> tuple[int, int, list[bytes]]:
    """How many vertices and faces the head of an OFF counts, and the lines that follow."""
    head, *rows = [line for line in (line.split(b"#")[0].strip() for line in content.splitlines()) if line] or [b""]
    match = re.fullmatch(rb"(?P<kind>(?:ST|C|N)*)OFF(?:\s+(?P<counts>\d.*))?", head)
    if match is None:
        raise MeshError("no OFF header at its start (OFF, then the counts). Export it again.")
    # the counts stand in the header's own line or in the next
    if match["counts"] is None and not rows:
        raise MeshError("the counts of the OFF are missing: it was cut short. Export it again.")
    counts_line, *rows = rows if match["counts"] is None else [match["counts"], *rows]
    vertices, faces = _off_counts(counts_line)
    return vertices, faces, rows


def _off_counts(counts_line: bytes) -> tuple[int, int]:
    counts = counts_line.split()
    if len(counts) not in (2, 3) or not all(_is_count(word) for word in counts):
        raise MeshError(f"the counts of the OFF cannot be read: {_quoted(counts_line)}. Export it again.")
    vertices, faces = int(counts[0]), int(counts[1])
    if not vertices or not faces:
        raise MeshError(f"{vertices} vertices and {faces} faces: there is nothing in it. Export the scan again.")
    return vertices, faces


def _is_count(word: bytes) -> bool:
    return word.isdigit() and len(word) <= 18


def _quoted(line: bytes) -> str:
    return quoted(line[:80].decode("ascii", "replace"))


def _off_vertices(rows: list[bytes], wide: int) -> Array:
    widths = set(map(len, map(bytes.split, rows)))
    if len(widths) > 1 or min(widths) < wide:
        odd = next(row for row in rows if len(row.split()) < wide or len(row.split()) != len(rows[0].split()))
        raise MeshError(f"a vertex of the OFF cannot be read: {_quoted(odd)}. Export it again.")
    try:
        return np.ascontiguousarray(numbers_in(b" ".join(rows)).reshape(len(rows), -1)[:, :wide])
    except ValueError:
        odd = next((row for row in rows if not all(map(_is_number, row.split()))), rows[0])
        raise MeshError(f"a vertex of the OFF cannot be read: {_quoted(odd)}. Export it again.") from None


def _off_faces(rows: list[bytes]) -> tuple[Whole, int]:
    """Each line is a count, so many corners, and perhaps a colour."""
    by_count: dict[int, list[bytes]] = {}
    for row in rows:
        words = row.split()
        count = int(words[0]) if _is_count(words[0]) else 0
        corners = words[1 : 1 + count]
        if count < 3 or len(corners) < count or not all(map(_is_count, corners)):
            raise MeshError(f"a face of the OFF cannot be read: {_quoted(row)}. Export it again.")
        by_count.setdefault(count, []).append(b" ".join(corners))
    fans = [
        fan(numbers_in(b" ".join(lines)).astype(np.int64).reshape(-1, count))
        for count, lines in sorted(by_count.items())
    ]
    return np.concatenate(fans), sum(len(lines) for count, lines in by_count.items() if count > 4)


def points(content: bytes) -> tuple[Array, Bytes | None, tuple[str, ...], tuple[str, ...]]:
    """Points (n, 3), colours (n, 4) or None, notes and signs of tearing, from columns of numbers.

    Columns are parted by spaces, tabs, commas or semicolons; the first three are x, y, z unless a heading line names
    them otherwise. A first line of one whole number is a count. Raises MeshError with the line that cannot be read.
    """
    lines = [line.split(b"#")[0].split(b"//")[0].strip() for line in content.splitlines()]
    rows = [(number, line) for number, line in enumerate(lines, start=1) if line]
    if not rows:
        raise MeshError("there are no points in it. Export the scan again.")
    columns, rows = _headed(rows)
    if not rows:
        raise MeshError("there is a heading but there are no points. Export the scan again.")
    table = _table(rows, max(columns) + 1)
    return np.ascontiguousarray(table[:, list(columns)]), _point_colours(table), (), sign_of_no_end(content)


Rows = list[tuple[int, bytes]]
"""Lines with their numbers."""


def _headed(rows: Rows) -> tuple[tuple[int, int, int], Rows]:
    """Which columns are x, y and z, and the rows below a count or a heading."""
    if re.fullmatch(rb"\d+", rows[0][1]):
        claimed, below = int(rows[0][1][:18]), rows[1:]
        if claimed != len(below):
            raise MeshError(
                f"its first line counts {claimed:,} points, and {len(below):,} follow: it was cut short, or its count"
                " is damaged. Export it again."
            )
        return (0, 1, 2), below
    if not all(map(_is_number, _words(rows[0][1]))):
        return _named_columns(rows[0][1]), rows[1:]
    return (0, 1, 2), rows


def _point_colours(table: Array) -> Bytes | None:
    """The colours in the columns after the place; three columns of length one are normals."""
    if table.shape[1] not in (6, 7) or table[:, 3:6].min() < 0:
        return None
    colours = _colours_of(table[:, 3:6])
    ones = table[:, 3:6].max() <= 1.0 and np.allclose((table[:, 3:6] ** 2).sum(axis=1), 1, atol=0.01)
    return None if ones else colours


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
        shown = _quoted(heading)
        raise MeshError(
            f"the heading {shown} names no columns x, y and z. Write them, or leave the heading out."
        ) from None


def _table(rows: list[tuple[int, bytes]], least: int) -> Array:
    """The numbers of all rows, the same count in each."""
    width = len(_words(rows[0][1]))
    if width < least:
        raise MeshError(f"line {rows[0][0]} has {width} numbers, not three: {_quoted(rows[0][1])}.")
    uneven = next((row for row in rows if len(_words(row[1])) != width), None)
    if uneven is not None:
        shown = _quoted(uneven[1])
        raise MeshError(
            f"line {uneven[0]} has {len(_words(uneven[1]))} numbers and the first has {width}: {shown}."
            " Write a point a line, with a decimal point and not a decimal comma."
        )
    try:
        return numbers_in(b" ".join(row[1] for row in rows).replace(b",", b" ").replace(b";", b" ")).reshape(-1, width)
    except ValueError:
        bad = next((row for row in rows if not all(map(_is_number, _words(row[1])))), rows[0])
        shown = _quoted(bad[1])
        raise MeshError(
            f"line {bad[0]} is not numbers: {shown}. The file is damaged, or is not a point cloud."
        ) from None
