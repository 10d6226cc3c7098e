"""The edge of an arch opening."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from clearance.description.lines import Path
from clearance.description.parts.part import PartTable, Surroundings
from clearance.description.values import Angle, Distance, FlatPoint, Length, Size
from clearance.ends import families as ends
from clearance.errors import PartError
from clearance.well import lip
from clearance.well.part import Part
from clearance.well.parts import Tag


class LipTable(PartTable):
    """The edge of an arch opening and its return flange."""

    outboard: Annotated[Length, ends.EDGE] = Field(description="the edge, from the hub face")
    radius: Annotated[Size, ends.ARCH_RADIUS] | None = Field(None, description="of the arch")
    centre: Annotated[FlatPoint, ends.ARCH_CENTRE] = Field(
        (0.0, 0.0), description="[ahead, above] of the arch's centre"
    )
    outline: tuple[Annotated[FlatPoint, ends.ARCH_POINT], ...] | None = Field(
        None, description="[ahead, above] points, instead of a radius"
    )
    from_: Annotated[Angle, ends.ARCH_ANGLE] = Field(
        -90.0, alias="from", description="where the arch begins, from straight up, positive ahead"
    )
    to: Annotated[Angle, ends.ARCH_ANGLE] = Field(90.0, description="where it ends")
    return_depth: Annotated[Distance, ends.RETURN_DEPTH] = Field(0.0, description="of the flange, from the edge")
    return_angle: Annotated[Angle, ends.RETURN_ANGLE] = Field(
        0.0, description="0 straight inboard, positive rolled up and away, negative hanging"
    )
    trim_thickness: Annotated[Distance, ends.TRIM] = Field(
        0.0, description="of an edge trim, which stands off the flange all round"
    )

    def built(self, tag: Tag, around: Surroundings, path: Path) -> tuple[Part, ...]:
        """As `PartTable.built`. Raises PartError, also for an outline that is to be cut."""
        if self.outline is not None and self.radius is None:
            for field, key in (("from_", "from"), ("to", "to")):
                if field in self.model_fields_set:
                    raise PartError(f'an outline is taken whole: leave "{key}" out, or give a radius.', key=key)
        part = lip.lip(
            tag,
            outboard_mm=self.outboard,
            centre_mm=self.centre,
            radius_mm=self.radius,
            outline_mm=self.outline,
            from_deg=self.from_,
            to_deg=self.to,
            return_depth_mm=self.return_depth,
            return_angle_deg=self.return_angle,
            trim_thickness_mm=self.trim_thickness,
        )
        return (part,)
