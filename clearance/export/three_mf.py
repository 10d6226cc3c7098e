"""Solids to 3MF bytes: one object to a piece, its unit inside the file.

3MF Core Specification 1.3: a ZIP package of XML parts, lengths in the unit that the model declares (millimetre here).
Vertices that fall on one place are written once, as the specification asks of a manifold mesh. No date, fixed order:
same pieces, same bytes.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from clearance.errors import OutputError
from clearance.plain import attribute, line, markup

_CORE = "http://schemas.microsoft.com/3dmanufacturing/core/2015/02"
_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Mesh:
    """A closed mesh in millimetres, faces anticlockwise from outside."""

    name: str
    vertices_mm: npt.NDArray[np.float64]
    """(v, 3)."""
    faces: npt.NDArray[np.intp]
    """(t, 3)."""
    place_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    """Where it stands on the plate."""


def three_mf(meshes: Sequence[Mesh], *, title: str = "") -> bytes:
    """The meshes as one 3MF package, one object each.

    Raises OutputError where there is no mesh, or one has no face.
    """
    if not meshes:
        raise OutputError("there is no solid to write.")
    return _package(_model(meshes, title))


def _model(meshes: Sequence[Mesh], title: str) -> str:
    rows = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        f'<model unit="millimeter" xml:lang="en-US" xmlns="{_CORE}">',
        f'<metadata name="Title">{markup(title)}</metadata>',
        '<metadata name="Application">clearance</metadata>',
        "<resources>",
    ]
    items = []
    for number, mesh in enumerate(meshes, start=1):
        rows += _object(number, mesh)
        x, y, z = mesh.place_mm
        items.append(f'<item objectid="{number}" transform="1 0 0 0 1 0 0 0 1 {x:.6g} {y:.6g} {z:.6g}"/>')
    rows += ["</resources>", "<build>", *items, "</build>", "</model>", ""]
    return "\n".join(rows)


def _object(number: int, mesh: Mesh) -> list[str]:
    vertices, faces = _merged(mesh)
    if not len(faces):
        raise OutputError(f'the piece "{line(mesh.name)}" has no surface.')
    rows = [f'<object id="{number}" type="model" name={attribute(mesh.name)}><mesh>', "<vertices>"]
    rows += [f'<vertex x="{x:.5f}" y="{y:.5f}" z="{z:.5f}"/>' for x, y, z in vertices]
    rows += ["</vertices>", "<triangles>"]
    rows += [f'<triangle v1="{a}" v2="{b}" v3="{c}"/>' for a, b, c in faces]
    rows += ["</triangles>", "</mesh></object>"]
    return rows


def _merged(mesh: Mesh) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.intp]]:
    """Vertices as they will be written, each place once, and the faces that keep three different corners."""
    # adding zero turns a negative zero into a plain one
    rounded = np.round(np.asarray(mesh.vertices_mm, dtype=float), 5) + 0.0
    places, index = np.unique(rounded, axis=0, return_inverse=True)
    faces = index.reshape(-1)[np.asarray(mesh.faces)]
    a, b, c = faces[:, 0], faces[:, 1], faces[:, 2]
    return places, faces[(a != b) & (b != c) & (c != a)]


def _package(model: str) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, text in (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), ("3D/3dmodel.model", model)):
            # 1 January 1980 is the earliest date that a ZIP can hold; the clock stays out of the file.
            entry = zipfile.ZipInfo(name, date_time=(1980, 1, 1, 0, 0, 0))
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            package.writestr(entry, text.encode("utf-8"))
    return stream.getvalue()
