"""A round body with flat ends: a tank, an air bag, a damper's body."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.values import Point, Size
from clearance.ends import families
from clearance.well import cylinder
from clearance.well.part import Part
from clearance.well.parts import Tag


class CylinderTable(PartTable):
    """A round body with flat ends."""

    ends: tuple[Annotated[Point, families.PART_POINT], Annotated[Point, families.PART_POINT]] = Field(
        description="the middles of its two flat ends"
    )
    diameter: Annotated[Size, families.CYLINDER_DIAMETER] = Field(description="over all")

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`."""
        return (cylinder.cylinder(tag, ends_mm=self.ends, diameter_mm=self.diameter),)
