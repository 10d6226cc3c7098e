"""A car's rear axle between two walls a side, whose gaps are a subtraction.

The wheel goes straight up and down without camber, so that its tire has half a section to each side of the rim's
middle, which stands one offset inboard of the hub's face.
"""

from __future__ import annotations

from collections.abc import Iterator

INNER_MM, OUTER_MM = 20.0, 10.0
"""What the walls must keep."""
Walls = tuple[float, float | None]
"""How far the inner and the outer wall stand from the hub's face; None: there is no outer wall."""

_CAR = """
title = "Two walls"
[tire]
size = "225/60R15"
[wheel]
diameter = "15 in"
width = "7 in"
backspace = "4 in"
bolt_circle = "5 x 4 1/2 in"
[suspension]
kind = "straight"
bump = "60 mm"
droop = "50 mm"
"""


def car(left: Walls = (160.0, 135.0), right: Walls | None = None, more: str = "") -> str:
    """A car file; the right is as the left where it is not given. `more` are sections of the whole car."""
    first = f"[corner.rear-left]\n{''.join(_parts('rear-left', left, whole=True))}"
    second = "" if right is None else "".join(_parts("rear-right", right, whole=False))
    return f'{_CAR}{more}\n{first}[corner.rear-right]\nlike = "rear-left"\n{second}'


def _parts(corner: str, walls: Walls, *, whole: bool) -> Iterator[str]:
    """The tables of the walls; in full, or where another corner has them already."""
    inner_mm, outer_mm = walls
    rest = f'kind = "wall"\nrequired = "{INNER_MM:g} mm"\n' if whole else ""
    yield f'[[corner.{corner}.part]]\nname = "inner wall"\n{rest}inboard = "{inner_mm:g} mm"\n'
    if outer_mm is None:
        return
    rest = f'kind = "plate"\nrequired = "{OUTER_MM:g} mm"\n' if whole else ""
    ends = ((600, -600), (600, 900), (-600, 900), (-600, -600))
    corners = ", ".join(f'["{ahead} mm", "{outer_mm:g} mm", "{above} mm"]' for ahead, above in ends)
    yield f'[[corner.{corner}.part]]\nname = "outer wall"\n{rest}corners = [{corners}]\n'
