"""Every kind of part by its word: a new one is a file here, and its line.

A corner has a few kinds, so the file of a kind is imported when that kind is asked for.
"""

from __future__ import annotations

from collections.abc import Mapping

from clearance.description.parts.part import PartTable
from clearance.homes import Homes

PARTS: Mapping[str, type[PartTable]] = Homes(
    "clearance.description.parts",
    {
        "wall": ("wall", "WallTable"),
        "plate": ("plate", "PlateTable"),
        "box": ("box", "BoxTable"),
        "bar": ("bar", "BarTable"),
        "cylinder": ("cylinder", "CylinderTable"),
        "tub": ("tub", "TubTable"),
        "lip": ("lip", "LipTable"),
        "mesh": ("mesh", "MeshTable"),
    },
)
