"""A whole wheel well, or its crown and walls."""

from __future__ import annotations

from typing import Annotated

from pydantic import BeforeValidator, Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.schema import Table, table_or
from clearance.description.values import Distance, FlatPoint, Length, Size
from clearance.ends import families as ends
from clearance.well import tub
from clearance.well.part import Part
from clearance.well.parts import Tag


class TaperTable(Table):
    """An inner wall that leans toward the tire."""

    low: Annotated[Length, ends.LEAN_HEIGHT] = Field(
        description="height above the hub up to which it stands at `inner`"
    )
    high: Annotated[Length, ends.LEAN_HEIGHT] = Field(
        description="height above the hub from which it stands at this `inner`"
    )
    inner: Annotated[Distance, ends.ACROSS_WELL] = Field(description="inboard of the hub face, from `high` on")


class CrownTable(Table):
    """A crown that is rolled, or flat."""

    height: Annotated[Length, ends.CROWN_HEIGHT] | None = Field(None, description="of a flat crown above the hub")
    radius: Annotated[Size, ends.CROWN_RADIUS] | None = Field(
        None, description="of a rolled crown, about an axle-wise line"
    )
    centre: Annotated[FlatPoint, ends.ARCH_CENTRE] = Field((0.0, 0.0), description="[ahead, above] of that line")


def crown_or_height(value: object) -> object:
    """The table of a crown; a height alone is a flat one."""
    if isinstance(value, str):
        return {"height": value}
    return table_or(value, '"430 mm" for a flat one, or { radius = "400 mm", centre = ["0 mm", "20 mm"] }')


class TubTable(PartTable):
    """A whole wheel well; findings name its faces one by one."""

    inner: Annotated[Distance, ends.ACROSS_WELL] = Field(description="the inner wall, inboard of the hub face")
    crown: Annotated[CrownTable, BeforeValidator(crown_or_height), ends.CROWN_HEIGHT] = Field(
        description="the top: a height above the hub, or { radius, centre }"
    )
    outer: Annotated[Length, ends.EDGE] = Field(
        description="how far outboard of the hub face the crown, front and rear reach"
    )
    front: Annotated[Distance, ends.END_SHEET] | None = Field(None, description="the front sheet, ahead of the hub")
    rear: Annotated[Distance, ends.END_SHEET] | None = Field(None, description="the rear sheet, behind the hub")
    bottom: Annotated[Distance, ends.BOTTOM] | None = Field(
        None, description="how far below the hub the sheets end; without a bound if not given"
    )
    outer_panel: Annotated[Length, ends.PANEL_HEIGHT] | None = Field(
        None, description="height above the hub from which the body side closes it"
    )
    taper: TaperTable | None = Field(None, description="{ low, high, inner } of an inner wall that leans")

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`."""
        taper, top = self.taper, self.crown
        return tub.tub(
            tag,
            reach_mm=around.reach_mm,
            inner_mm=self.inner,
            crown=tub.Crown(height_mm=top.height, radius_mm=top.radius, centre_mm=top.centre),
            outer_mm=self.outer,
            front_mm=self.front,
            rear_mm=self.rear,
            taper=None if taper is None else tub.Taper(low_mm=taper.low, high_mm=taper.high, high_inner_mm=taper.inner),
            bottom_mm=self.bottom,
            outer_panel_mm=self.outer_panel,
        )
