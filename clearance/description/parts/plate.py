"""A flat sheet."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.values import Point
from clearance.ends import families as ends
from clearance.well import parts
from clearance.well.part import Part
from clearance.well.parts import Tag


class PlateTable(PartTable):
    """A flat sheet."""

    corners: tuple[Annotated[Point, ends.PART_POINT], ...] = Field(description="three or four points, going around")

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`."""
        return (parts.plate(tag, corners_mm=self.corners),)
