"""Parts of the well: numbers that contradict one another, or the tire and wheel that stand among them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from clearance.description.clash import Clash, hardly
from clearance.description.lines import Path
from clearance.description.parts.part import PartTable
from clearance.description.refusal import nearest
from clearance.description.whole import Description
from clearance.tire.tire import Tire
from clearance.units import both
from clearance.wheel.wheel import Wheel

if TYPE_CHECKING:
    # a kind of part is known by its word here: the file of a kind that a corner does not have is not imported
    from clearance.description.parts.bar import BarTable
    from clearance.description.parts.lip import LipTable
    from clearance.description.parts.mesh import MeshTable
    from clearance.description.parts.tub import TubTable
    from clearance.description.parts.wall import WallTable

_DISTANCES = {"wall": ("inboard", "outboard"), "tub": ("inner", "front", "rear"), "lip": ("radius",)}
"""The keys of a kind of part that say how far it stands from the hub."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """The file, the tire on its wheel, and the names of the parts that it makes."""

    read: Description
    tire: Tire
    wheel: Wheel
    names: Sequence[str]

    @property
    def inboard_mm(self) -> float:
        """How far tire or rim stands inboard of the hub's face."""
        return max(self.tire.full_width_mm / 2 + self.wheel.offset_mm, self.wheel.backspace_mm)

    @property
    def outboard_mm(self) -> float:
        """How far tire or rim stands outboard of it."""
        return max(self.tire.full_width_mm / 2 - self.wheel.offset_mm, self.wheel.frontspace_mm)

    @property
    def radius_mm(self) -> float:
        """How far the tire stands from the spin axis."""
        return self.tire.full_diameter_mm / 2

    @property
    def wheel_key(self) -> Path:
        """The key that says where the wheel stands."""
        return ("wheel", "offset" if self.read.wheel.backspace is None else "backspace")

    @property
    def tire_key(self) -> Path:
        """The key that says how high the tire is."""
        return ("tire", "size" if self.read.tire.overall_diameter is None else "overall_diameter")


# ---- before anything is built


def distance_keys(part: PartTable) -> Iterator[str]:
    """The keys of a part that say how far it stands from the hub."""
    return (key for key in _DISTANCES.get(part.kind, ()) if getattr(part, key) is not None)


def _of_kind(read: Description, kind: str) -> Iterator[tuple[int, Any]]:
    """Each part of one kind, and which of the file's it is."""
    return ((i, part) for i, part in enumerate(read.parts) if part.kind == kind)


def uncertainty_and_distance(read: Description) -> Iterator[Clash]:
    """A part's uncertainty is as large as the distance at which it stands."""
    for i, part in enumerate(read.parts):
        for key in distance_keys(part):
            if part.uncertainty is not None and part.uncertainty >= getattr(part, key):
                yield Clash(
                    at=("part", i, "uncertainty"),
                    against=("part", i, key),
                    words=f"an uncertainty of {both(part.uncertainty)} says nothing of a distance of"
                    f" {both(getattr(part, key))}.",
                )


def required_and_distance(read: Description) -> Iterator[Clash]:
    """A part must keep a gap as large as the whole distance from the hub to it."""
    for i, part in enumerate(read.parts):
        for key in distance_keys(part):
            if part.required is not None and part.required >= getattr(part, key):
                yield Clash(
                    at=("part", i, "required"),
                    against=("part", i, key),
                    words=f"a gap of {both(part.required)} cannot be kept to what stands {both(getattr(part, key))}"
                    " from the hub. required is the gap between tire and part.",
                )


def uncertainty_twice(read: Description) -> Iterator[Clash]:
    """A part's uncertainty stands with the part and in [uncertainty], and differs."""
    for i, part in enumerate(read.parts):
        stated = read.terms.uncertainty.part_mm.get(part.name)
        if part.uncertainty is not None and stated is not None and abs(stated - part.uncertainty) > 0.01:
            yield Clash(
                at=("uncertainty", "part", part.name),
                against=("part", i, "uncertainty"),
                words=f'"{part.name}" is good to {both(stated)} here and to {both(part.uncertainty)} with the part.'
                " Keep the right one, once.",
            )


def short_bar(read: Description) -> Iterator[Clash]:
    """A bar is thicker than it is long."""
    part: BarTable
    for i, part in _of_kind(read, "bar"):
        if len(part.points) >= 2:
            long_mm = sum(math.dist(a, b) for a, b in zip(part.points, part.points[1:], strict=False))
            if 0 < long_mm < part.diameter:
                yield hardly(
                    ("part", i, "diameter"),
                    ("part", i, "points"),
                    f"a bar {both(part.diameter)} thick and {both(long_mm)} long: check its points and their unit.",
                )


def circle_twice(read: Description) -> Iterator[Clash]:
    """A scan is placed by another bolt circle than the wheel's."""
    of_wheel = read.wheel.bolt_circle
    part: MeshTable
    for i, part in _of_kind(read, "mesh"):
        place = part.place
        if place is None or place.bolt_circle is None or of_wheel is None:
            continue
        if place.bolt_circle[0] != of_wheel[0] or abs(place.bolt_circle[1] - of_wheel[1]) > 0.3:
            yield Clash(
                at=("part", i, "place", "bolt_circle"),
                against=("wheel", "bolt_circle"),
                words=f"the hub is {place.bolt_circle[0]} x {place.bolt_circle[1]:g} mm here and the wheel"
                f" {of_wheel[0]} x {of_wheel[1]:g} mm: they would not bolt together. Leave it out here, or correct it.",
            )


def same_twice(read: Description) -> Iterator[Clash]:
    """Two parts are the same in every number: one was copied and not changed."""
    seen: dict[str, int] = {}
    for i, part in enumerate(read.parts):
        numbers = repr((type(part), part.model_dump(exclude={"name"})))
        if numbers in seen:
            yield hardly(
                ("part", i),
                ("part", seen[numbers]),
                f'"{part.name}" has every number of "{read.parts[seen[numbers]].name}".',
            )
        seen.setdefault(numbers, i)


# ---- once everything is built


def unknown_names(standing: Standing) -> Iterator[Clash]:
    """[uncertainty] or [coverage] names a part that is not there."""
    terms = standing.read.terms
    named: list[tuple[Path, str]] = [(("uncertainty", "part", name), name) for name in terms.uncertainty.part_mm]
    if terms.coverage is not None:
        named += [(("coverage", "part"), name) for name in terms.coverage.parts]
    for at, name in named:
        if name not in standing.names:
            yield Clash(at=at, against=("part",), words=f'there is no part "{name}". {nearest(name, standing.names)}')


def wall_in_the_tire(standing: Standing) -> Iterator[Clash]:
    """A wall stands closer than the tire, or the rim, reaches at ride height."""
    part: WallTable
    for i, part in _of_kind(standing.read, "wall"):
        if part.rides_on != "body" or not _before_the_wheel(part, standing.radius_mm):
            continue
        for key, reach_mm in (("inboard", standing.inboard_mm), ("outboard", standing.outboard_mm)):
            distance_mm = getattr(part, key)
            if distance_mm is not None and distance_mm < reach_mm:
                yield _touching(
                    standing, ("part", i, key), part.name, reach_mm, distance_mm, f"{key} of the hub's face"
                )


def _before_the_wheel(wall: WallTable, radius_mm: float) -> bool:
    """Whether a wall's rectangle stands before the wheel, well within the tread."""
    within = 0.8 * radius_mm

    def between(less_mm: float | None, more_mm: float | None) -> float:
        low = -math.inf if less_mm is None else -less_mm
        high = math.inf if more_mm is None else more_mm
        return max(low, 0.0) if low > 0 else min(high, 0.0)

    return math.hypot(between(wall.behind, wall.ahead), between(wall.below, wall.above)) < within


def tub_in_the_tire(standing: Standing) -> Iterator[Clash]:
    """A face of a tub stands closer than the tire, or the rim, reaches at ride height."""
    radius_mm = standing.radius_mm
    part: TubTable
    for i, part in _of_kind(standing.read, "tub"):
        if part.rides_on != "body":
            continue
        if part.inner < standing.inboard_mm:
            at = ("part", i, "inner")
            yield _touching(standing, at, part.name, standing.inboard_mm, part.inner, "inboard of the hub's face")
        for key, word in (("front", "ahead of the hub"), ("rear", "behind the hub")):
            distance_mm = getattr(part, key)
            if distance_mm is not None and distance_mm < radius_mm:
                yield _touching(standing, ("part", i, key), part.name, radius_mm, distance_mm, word)
        top_mm = _crown_top_mm(part)
        if top_mm is not None and top_mm < radius_mm:
            yield _touching(standing, ("part", i, "crown"), part.name, radius_mm, top_mm, "from the hub's centre")


def _crown_top_mm(part: TubTable) -> float | None:
    """How near to the hub's centre the crown comes."""
    crown = part.crown
    if crown.height is None and crown.radius is not None:
        return float(crown.radius - math.hypot(*crown.centre))
    return crown.height


def lip_in_the_tire(standing: Standing) -> Iterator[Clash]:
    """A lip stands within the tire at ride height: its arch is smaller and its edge no further out."""
    part: LipTable
    for i, part in _of_kind(standing.read, "lip"):
        if part.radius is None or part.rides_on != "body":
            continue
        inside_mm = part.radius - math.hypot(*part.centre)
        if inside_mm < standing.radius_mm and -standing.inboard_mm < part.outboard < 0.8 * standing.outboard_mm:
            at = ("part", i, "radius")
            yield _touching(standing, at, part.name, standing.radius_mm, inside_mm, "from the hub's centre")


def _touching(standing: Standing, at: Path, name: str, reach_mm: float, distance_mm: float, where: str) -> Clash:
    radial = reach_mm == standing.radius_mm
    return hardly(
        at,
        standing.tire_key if radial else standing.wheel_key,
        f'"{name}" stands {both(max(distance_mm, 0.0))} {where}, and tire and wheel reach {both(reach_mm)} that way:'
        f" they would touch at ride height, by up to {both(reach_mm - distance_mm)}. Measure it again.",
    )


BEFORE = (
    uncertainty_and_distance,
    required_and_distance,
    uncertainty_twice,
    short_bar,
    circle_twice,
    same_twice,
)
AFTER = (unknown_names, wall_in_the_tire, tub_in_the_tire, lip_in_the_tire)
