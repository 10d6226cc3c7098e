"""The gap of a scanned part as a line of millimetres: darker where it is, lighter where it may be."""

from __future__ import annotations

from clearance.export.svg import picture
from clearance.geom.drawing import PART, THIN, Drawing, Path, Text
from clearance.geom.profile import Line
from clearance.units import both

_WIDE = 120.0
_HIGH = 9.0


def drawn(low: float, high: float, placing_mm: float, whole_mm: float, required_mm: float, words: str) -> str:
    """The bracket from `low` to `high`, what placing adds and what all adds, zero and what must be kept; as SVG."""
    ends = (min(0.0, low - whole_mm), max(required_mm, high + whole_mm, 1.0))
    span = ends[1] - ends[0]

    def at(mm: float) -> float:
        return _WIDE * (mm - ends[0]) / span

    # a bracket of a tenth of a millimetre is still to be seen
    thin = max(0.0, 0.5 - (at(high) - at(low))) / 2.0
    marks: list[Path | Text] = [
        _bar(at(low - whole_mm), at(high + whole_mm), 0.86, 0.0),
        _bar(at(low - placing_mm), at(high + placing_mm), 0.68, 0.0),
        _bar(at(low) - thin, at(high) + thin, 0.1, 0.0),
        Path(elements=(Line(start=(0.0, 0.0), end=(_WIDE, 0.0)),), layer=THIN),
        _tick(at(0.0), 4.0),
        _tick(at(required_mm), 4.0),
        Text(at=(at(0.0), -7.0), text="touching", height_mm=2.4, align="left" if at(0.0) < 20 else "centre"),
        Text(at=(at(required_mm), _HIGH + 5.0), text=f"must keep {both(required_mm)}", height_mm=2.4,
             align="right" if at(required_mm) > _WIDE / 2 else "left"),
    ]  # fmt: skip
    return picture(Drawing(marks=tuple(marks)), title="The gap and how sure it is", description=words)


def _bar(left: float, right: float, shade: float, foot: float) -> Path:
    corners = [(left, foot), (right, foot), (right, _HIGH), (left, _HIGH)]
    lines = tuple(Line(start=a, end=b) for a, b in zip(corners, [*corners[1:], corners[0]], strict=True))
    return Path(elements=lines, layer=THIN, shade=shade)


def _tick(x: float, over: float) -> Path:
    return Path(elements=(Line(start=(x, -over), end=(x, _HIGH + over)),), layer=PART)
