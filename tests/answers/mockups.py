"""Small mock-ups for the answers' tests: a wheel between parts whose gaps can be worked out by hand."""

from dataclasses import replace

import numpy as np

from clearance.mockup.mockup import MockUp
from clearance.suspension.position import Cycle
from clearance.suspension.steering import Kingpin
from clearance.suspension.straight import Straight
from clearance.tire.tire import Tire
from clearance.well.parts import Tag, box, wall
from clearance.wheel.wheel import Wheel

REACH_MM = 800.0


def tire(diameter=700.0, section=230.0, rim=15.0, **more):
    return Tire(
        overall_diameter_mm=diameter,
        section_width_mm=section,
        tread_width_mm=min(0.78 * section, section - 20),
        rim_diameter_in=rim,
        **more,
    )


def between_walls(*, inboard=170.0, outboard=150.0, required=20.0, offset=0.0, bump=(-60.0, 70.0), **more):
    """A tire between two unbounded walls square to its axis: the gap to each is a subtraction.

    Inner gap = inboard - (section / 2 + offset); outer gap = outboard - (section / 2 - offset).
    """
    parts = (
        wall(Tag(name="inner wall", required_mm=required), reach_mm=REACH_MM, inboard_mm=inboard),
        wall(Tag(name="outer wall", required_mm=required), reach_mm=REACH_MM, outboard_mm=outboard),
    )
    return MockUp(
        title="between walls",
        corner="rear-left",
        tire=more.pop("tire", None) or tire(),
        wheel=Wheel(diameter_in=15, width_in=7, offset_mm=offset),
        suspension=Straight(cycle=Cycle(bump_mm=bump)),
        parts=parts,
        **more,
    )


def under_ceiling(*, height=430.0, required=20.0, bump=(-60.0, 90.0), diameter=700.0, **more):
    """A tire under a flat block: the gap is its height less the radius less the bump."""
    block = box(
        Tag(name="ceiling", required_mm=required), min_mm=(-400.0, -300.0, height), max_mm=(400.0, 300.0, height + 40)
    )
    base = between_walls(inboard=400.0, outboard=400.0, bump=bump, tire=tire(diameter=diameter), **more)
    return replace(base, parts=(*base.parts, block))


def steered(*, rail=-260.0, required=15.0, lock=20.0, **more):
    """A steered wheel whose inner rear edge swings toward a rail."""
    base = between_walls(inboard=500.0, outboard=500.0, bump=(-40.0, 40.0), **more)
    axis = np.array([0.0, -0.1, 1.0])
    motion = Straight(
        cycle=Cycle(bump_mm=(-40.0, 40.0), steer_deg=(-lock, lock)),
        kingpin=Kingpin(through_mm=np.array([0.0, -60.0, 0.0]), axis=axis / np.linalg.norm(axis)),
    )
    block = box(
        Tag(name="rail", required_mm=required), min_mm=(-600.0, rail - 120.0, -60.0), max_mm=(-150.0, rail, 60.0)
    )
    return replace(base, suspension=motion, parts=(block,))
