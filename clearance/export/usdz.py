"""Plain solids as USDZ, for the viewer of a phone: metres, y up, one named mesh to a solid, at its real size.

A USDZ package (OpenUSD's USDZ File Format Specification) is a ZIP without compression whose data begin at multiples of
64 bytes. The layer inside is binary, as phones want it, and is written by OpenUSD's own library, an extra (`phone`).
No date: same solids, same bytes.
"""

from __future__ import annotations

import io
import re
import tempfile
import zipfile
from collections.abc import Mapping
from importlib.util import find_spec
from pathlib import Path
from typing import Any

import numpy as np

from clearance.errors import OutputError
from clearance.export.stl import Body, real_side
from clearance.plain import ascii_only

_ALIGNED = 64
_HEAD = 30
"""Bytes of a ZIP's local header before the name."""
_NO_DATE = (1980, 1, 1, 0, 0, 0)
_LAYER = "scene.usdc"


def can_write() -> bool:
    """Is the library there?"""
    return find_spec("pxr") is not None


def refuse_missing() -> None:
    """Raises OutputError where the library is not installed."""
    if not can_write():
        raise OutputError(
            'a USDZ file is made by OpenUSD\'s library, which is not installed. Install the extra "phone":'
            ' pip install "wheelwell-clearance[phone]".'
        )


def usdz(bodies: Mapping[str, Body], *, right_hand: bool = False) -> bytes:
    """One USDZ package of named solids. Raises OutputError where there is none, or the library is not installed."""
    refuse_missing()
    if not bodies:
        raise OutputError("there is no solid to write.")
    with tempfile.TemporaryDirectory() as folder:
        place = Path(folder) / _LAYER
        _write_layer(str(place), bodies, right_hand)
        layer = place.read_bytes()
    return _package(layer)


def _write_layer(place: str, bodies: Mapping[str, Body], right_hand: bool) -> None:
    from pxr import Gf, Usd, UsdGeom, UsdShade, Vt

    stage = Usd.Stage.CreateNew(place)
    UsdGeom.SetStageUpAxis(stage, UsdGeom.Tokens.y)
    UsdGeom.SetStageMetersPerUnit(stage, 1.0)
    root = UsdGeom.Xform.Define(stage, "/clearance")
    stage.SetDefaultPrim(root.GetPrim())
    paint = _painted(stage)
    for number, (name, body) in enumerate(bodies.items(), start=1):
        vertices, faces = real_side(*body, right_hand=right_hand)
        metres = np.column_stack([vertices[:, 0], vertices[:, 2], -vertices[:, 1]]).astype(np.float32) / np.float32(1e3)
        mesh = UsdGeom.Mesh.Define(stage, f"/clearance/{_word(name)}_{number}")
        mesh.CreatePointsAttr(Vt.Vec3fArray.FromNumpy(metres))
        mesh.CreateFaceVertexCountsAttr(Vt.IntArray.FromNumpy(np.full(len(faces), 3, dtype=np.int32)))
        mesh.CreateFaceVertexIndicesAttr(Vt.IntArray.FromNumpy(faces.astype(np.int32).reshape(-1)))
        mesh.CreateSubdivisionSchemeAttr(UsdGeom.Tokens.none)
        mesh.CreateExtentAttr([Gf.Vec3f(*(float(v) for v in end)) for end in (metres.min(axis=0), metres.max(axis=0))])
        UsdShade.MaterialBindingAPI.Apply(mesh.GetPrim()).Bind(paint)
    stage.GetRootLayer().Save()


def _painted(stage: Any) -> Any:
    """A plain grey."""
    from pxr import Gf, Sdf, UsdShade

    paint = UsdShade.Material.Define(stage, "/clearance/grey")
    shader = UsdShade.Shader.Define(stage, "/clearance/grey/surface")
    shader.CreateIdAttr("UsdPreviewSurface")
    shader.CreateInput("diffuseColor", Sdf.ValueTypeNames.Color3f).Set(Gf.Vec3f(0.3, 0.35, 0.4))
    shader.CreateInput("roughness", Sdf.ValueTypeNames.Float).Set(0.8)
    paint.CreateSurfaceOutput().ConnectToSource(shader.ConnectableAPI(), "surface")
    return paint


def _word(name: str) -> str:
    """A name as a path of the layer takes it."""
    word = re.sub(r"\W+", "_", ascii_only(name).decode(), flags=re.ASCII).strip("_")
    return word if word[:1].isalpha() else f"solid_{word}"


def _package(layer: bytes) -> bytes:
    info = zipfile.ZipInfo(_LAYER, date_time=_NO_DATE)
    short = -(_HEAD + len(_LAYER)) % _ALIGNED
    # a field that nobody reads, of a length that lets the data begin where they should: its own head takes four bytes
    size = short - 4 if short >= 4 else short + _ALIGNED - 4
    info.extra = b"\x86\x19" + size.to_bytes(2, "little") + bytes(size)
    whole = io.BytesIO()
    with zipfile.ZipFile(whole, "w", zipfile.ZIP_STORED) as package:
        package.writestr(info, layer)
    return whole.getvalue()
