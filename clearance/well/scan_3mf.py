"""3MF: a zip package with a model in XML (3MF Core Specification 1.3, and its Production Extension for several files).

The package has a checksum of every part, so a 3MF that was cut short or damaged is always noticed.

* object    - a mesh, or components: other objects, each at a place
* item      - what stands on the plate: an object at a place; only that is there
* place     - twelve numbers by rows, for row vectors: p M + t
"""

from __future__ import annotations

import io
import math
import struct
import zipfile
import zlib
from collections import deque
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from clearance.errors import MeshError
from clearance.plain import quoted
from clearance.pose import Array
from clearance.well.scan_raw import AGAIN, MOST_TRIANGLES, Faces, Piece, hold_indices, joined

MOST_BYTES = 3 * 2**30
MOST_PLACED = 100_000
"""Objects and components on the plate."""
_DEEPEST = 32
_UNITS = {"micron", "millimeter", "centimeter", "inch", "foot", "meter"}


@dataclass(slots=True, kw_only=True)
class Thing:
    """One object of a model."""

    vertices: list[tuple[float, float, float]] = field(default_factory=list)
    triangles: list[tuple[int, int, int]] = field(default_factory=list)
    components: list[tuple[tuple[str, str], Array]] = field(default_factory=list)
    """(name of the model, number) of another object, and its place, (4, 4)."""


def three_mf(content: bytes) -> tuple[Piece, tuple[str, ...]]:
    """What stands on the plate as one mesh, and notes. Raises MeshError."""
    models, start = _models(content)
    things: dict[tuple[str, str], Thing] = {}
    items: list[tuple[tuple[str, str], Array]] = []
    unit = ""
    for name, text in models.items():
        found = _Model(name, text)
        things |= found.things
        if name == start:
            items, unit = found.items, found.unit
    if not items:
        raise MeshError(f"nothing stands on the plate of this 3MF: it has no build. {AGAIN}")
    meshes = {key: _mesh(thing) for key, thing in things.items()}
    notes = (f"the file says that its unit is the {unit}",) if unit in _UNITS else ()
    return joined(list(_placed(items, things, meshes))), notes


def _models(content: bytes) -> tuple[dict[str, bytes], str]:
    """Every model of the package by its name, small letters; and which one holds the plate."""
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as package:
            named = _named_models(package.infolist(), len(content))
            models = {entry.filename.lower().lstrip("/"): package.read(entry) for entry in named}
    except (zipfile.BadZipFile, zlib.error, NotImplementedError, EOFError, OSError, ValueError, struct.error):
        raise MeshError(
            f"a 3MF is a zip package with checksums, and this is not one, was cut short, or is damaged. {AGAIN}"
        ) from None
    start = "3d/3dmodel.model"
    return models, start if start in models else next(iter(models))


def _named_models(entries: list[zipfile.ZipInfo], packed: int) -> list[zipfile.ZipInfo]:
    """The models among the entries of a package of so many bytes; refused where it cannot be what it says."""
    total = sum(entry.file_size for entry in entries)
    if total > max(200 * packed, 2**20) or total > MOST_BYTES:
        raise MeshError(f"{packed:,} bytes that unpack to {total:,} are not a mesh. {AGAIN}")
    named = [entry for entry in entries if entry.filename.lower().endswith(".model")]
    if not named:
        raise MeshError(f"there is no model in this 3MF package. {AGAIN}")
    if any(entry.flag_bits & 1 for entry in named):
        raise MeshError("this 3MF package is locked with a password. Export it without.")
    return named


class _Model:
    """One model of the package, read element by element so that a large one does not fill the memory."""

    def __init__(self, name: str, text: bytes) -> None:
        from lxml import etree

        self.name = name
        self.unit = ""
        self.things: dict[tuple[str, str], Thing] = {}
        self.items: list[tuple[tuple[str, str], Array]] = []
        self._open: Thing | None = None
        if b"<!DOCTYPE" in text or b"<!ENTITY" in text:
            raise MeshError(f"its model defines words of its own, which no 3MF does. {AGAIN}")
        try:
            events = etree.iterparse(
                io.BytesIO(text), events=("start", "end"), resolve_entities=False, no_network=True, huge_tree=False
            )
            for event, element in events:
                self._take(event, element)
        except etree.XMLSyntaxError:
            raise MeshError(f"its model is no XML that can be read, or was cut short. {AGAIN}") from None

    def _take(self, event: str, element: Any) -> None:
        tag = element.tag.rpartition("}")[2] if isinstance(element.tag, str) else ""
        if event == "start":
            if tag == "model":
                self.unit = element.get("unit") or ""
            elif tag == "object":
                self._open = self._new(element)
            return
        if self._open is not None:
            self._take_into(self._open, tag, element)
        if tag == "item":
            self.items.append((self._named(element), _place(element.get("transform"))))
        elif tag == "object":
            self._open = None
        element.clear()
        # what lies before it is done with too, or a large model would stay in memory as a row of empty elements
        while element.getprevious() is not None:
            del element.getparent()[0]

    def _take_into(self, thing: Thing, tag: str, element: Any) -> None:
        """What an object of the model is made of."""
        if tag == "vertex":
            thing.vertices.append(_three(element, ("x", "y", "z"), _number))
        elif tag == "triangle":
            thing.triangles.append(_three(element, ("v1", "v2", "v3"), _whole))
        elif tag == "component":
            thing.components.append((self._named(element), _place(element.get("transform"))))

    def _new(self, element: Any) -> Thing:
        key = (self.name, _id(element, "id"))
        if key in self.things:
            raise MeshError(f"two objects of its model have one number: it is damaged. {AGAIN}")
        self.things[key] = Thing()
        return self.things[key]

    def _named(self, element: Any) -> tuple[str, str]:
        path = next((value for key, value in element.attrib.items() if str(key).endswith("}path")), None)
        model = self.name if path is None else str(path).lower().strip("/")
        return model, _id(element, "objectid")


def _id(element: Any, name: str) -> str:
    found = element.get(name)
    if found is None:
        raise MeshError(f"an object of its model has no number: it is damaged. {AGAIN}")
    return str(found)


def _three(element: Any, names: tuple[str, str, str], read: Any) -> Any:
    return tuple(read(element.get(name)) for name in names)


def _number(text: str | None) -> float:
    try:
        value = float(text or "")
    except ValueError:
        value = math.nan
    if not math.isfinite(value) or "_" in (text or ""):
        raise MeshError(f"a corner of its model stands nowhere: {quoted(text)}. {AGAIN}")
    return value


def _whole(text: str | None) -> int:
    word = (text or "").strip()
    if not (word.isascii() and word.isdigit()) or len(word) > 12:
        raise MeshError(f"a triangle of its model names vertex {quoted(text)}. {AGAIN}")
    return int(word)


def _place(text: str | None) -> Array:
    place = np.eye(4)
    if text is None:
        return place
    words = text.split()
    if len(words) != 12:
        raise MeshError(f"a place in its model has {len(words)} numbers, not 12: it is damaged. {AGAIN}")
    table = np.array([_number(word) for word in words]).reshape(4, 3)
    place[:3, :3] = table[:3].T
    place[:3, 3] = table[3]
    return place


def _mesh(thing: Thing) -> tuple[Array, Faces]:
    vertices = np.array(thing.vertices, dtype=float).reshape(-1, 3)
    faces = np.array(thing.triangles, dtype=np.int64).reshape(-1, 3)
    hold_indices(faces, len(vertices))
    return vertices, faces


def _placed(
    items: list[tuple[tuple[str, str], Array]],
    things: dict[tuple[str, str], Thing],
    meshes: dict[tuple[str, str], tuple[Array, Faces]],
) -> Iterator[Piece]:
    """Every mesh that stands on the plate, where its item and its components put it."""
    waiting = deque((key, place, 1) for key, place in items)
    placed = triangles = 0
    while waiting:
        key, place, depth = waiting.popleft()
        placed += 1
        if key not in things:
            raise MeshError(f"its model puts object {quoted(key[1], 20)} in place, which is not there. {AGAIN}")
        if depth > _DEEPEST or placed > MOST_PLACED:
            raise MeshError(f"the objects of its model hold one another without end: it is damaged. {AGAIN}")
        vertices, faces = meshes[key]
        triangles += len(faces)
        if triangles > MOST_TRIANGLES:
            raise MeshError(f"it unpacks to more than {MOST_TRIANGLES:,} triangles. Crop or decimate it first.")
        if len(faces):
            yield Piece(vertices=vertices @ place[:3, :3].T + place[:3, 3], faces=faces)
        waiting += [(other, place @ inner, depth + 1) for other, inner in things[key].components]
