"""Wheels that change places, and the spare, in words."""

from __future__ import annotations

from collections.abc import Iterable

from clearance.answers.rotated import WAYS, WORST, Carried, Going, Kind, Rotated, StandIn
from clearance.mockup.car import Car
from clearance.units import KMH_PER_MPH, both
from clearance.words.stance import gap_words
from clearance.words.text import car_head, notes_by_corner, table

SAME = 0.0005
"""A fraction of a turn that no axle feels."""


def page(car: Car, found: Rotated) -> str:
    """Each kind of wheel at every corner, the three ways of changing, the spare; one sentence at the end."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    for kind in found.kinds:
        rows = _rows(car, (one for one in found.goings if one.home == kind.home))
        lines += [f"{_kind(kind)}, from {', '.join(kind.home)}:", *rows, ""]
    lines += [f"  {way:<13} {_way(found, way)}" for way in WAYS]
    lines += ["", ARROW, ""]
    lines += _spare(car, found)
    return "\n".join([*lines, sentence(found)])


ARROW = (
    "Caution: a tire with an arrow on its sidewall turns one way. Across the car it goes only after it was turned on"
    " its rim (common practice)."
)


def _kind(kind: Kind) -> str:
    wheel = kind.stood.wheel
    return f"{kind.name}, backspace {both(wheel.backspace_mm)}, offset {wheel.offset_mm:+.1f} mm"


def _rows(car: Car, goings: Iterable[Going]) -> list[str]:
    return [f"  {_at(one):<20} {_does(car, one)}" for one in goings]


def _at(one: Going) -> str:
    return f"{one.corner}, its own" if one.at_home else one.corner


def _does(car: Car, one: Going) -> str:
    if one.refused:
        return f"does not bolt on: {one.refused}"
    return "nothing stands around it" if one.worst is None else gap_words(car, one.corner, one.worst)


def _way(found: Rotated, way: str) -> str:
    """What one way of changing comes to."""
    moves = found.way(way)
    if not moves:
        return "not said: no two corners of it are described"
    if found.alike(way):
        return "the wheels are alike: each stands as the one before it, as above"
    told_of: dict[str, list[str]] = {}
    for home, corner in moves:
        told_of.setdefault(found.at(home, corner).verdict, []).append(f"{home} to {corner}")
    if list(told_of) == ["clears"]:
        return "clears at every corner"
    return "; ".join(f"{_SAID.get(word, word)}: {', '.join(told_of[word])}" for word in WORST if word in told_of)


_SAID = {"refused": "does not bolt on"}


# ---- the spare


def _spare(car: Car, found: Rotated) -> list[str]:
    carried = found.carried
    if carried is None:
        return [NO_SPARE, ""]
    if carried.missing:
        return [
            f"The spare {carried.name} cannot be put anywhere: not said: {', '.join(carried.missing)} in [spare].",
            "",
        ]
    lines = [f"The spare, {carried.name}, where it stands in:", *_rows(car, found.spare)]
    lines += ["", table(_STANDS, [_stands(one) for one in carried.stands]), ""]
    return [*lines, *_cautions(carried), ""]


NO_SPARE = "The spare is not said. Write [spare] with size, width and backspace, once for the car."
_STANDS = ["at", "hub", "a turn goes", "against the other side"]


def _stands(one: StandIn) -> list[str]:
    hub = "as high" if abs(one.hub_mm) < 0.05 else f"{both(abs(one.hub_mm))} {'higher' if one.hub_mm > 0 else 'lower'}"
    other = "not known" if one.against_other is None else _further(one.against_other)
    return [one.corner, hub, _further(one.rolls), other]


def _further(share: float) -> str:
    if abs(share) < SAME:
        return "as far"
    return f"{100 * abs(share):.1f} % {'further' if share > 0 else 'less far'}"


def _cautions(carried: Carried) -> list[str]:
    lines = []
    if any(one.against_other is not None and abs(one.against_other) >= SAME for one in carried.stands):
        lines.append(DIFFERENTIAL)
    if carried.speed_kmh is not None:
        mph = carried.speed_kmh / KMH_PER_MPH
        lines.append(f"Caution: no faster than {carried.speed_kmh:.0f} km/h ({mph:.0f} mph) on it, by [spare] speed.")
    elif carried.temporary:
        lines.append(TEMPORARY)
    if carried.too_heavy:
        lines.append(f"Caution: {', '.join(carried.too_heavy)}: more stands there by [load] than the spare carries.")
    return lines


DIFFERENTIAL = (
    "Caution: two wheels of one axle that roll differently far keep a differential at work and heat it; a limited-slip"
    " or a locked one suffers most. On the axle that drives, put a road wheel there and the spare on the other axle,"
    " where it clears (common practice)."
)
TEMPORARY = (
    "Caution: a temporary spare is for a short way and slow; how slow stands on its sidewall, often 80 km/h (50 mph)"
    " (common practice). Its speed is not said: write speed in [spare]."
)


def sentence(found: Rotated) -> str:
    """What it comes to."""
    parts = []
    strange = [one for one in found.goings if not one.at_home]
    if not strange and len(found.goings) == 1:
        parts.append("One corner is described, and there is no other for its wheel to go to")
    elif not strange:
        parts.append("The wheels are alike: any goes for any other, and the check holds for all of them")
    else:
        good = sum(one.verdict == "clears" for one in strange)
        parts.append(f"{good} of {len(strange)} wheels clear where another kind stands now")
    if found.spare:
        good = sum(one.verdict == "clears" for one in found.spare)
        parts.append(f"the spare clears at {good} of {len(found.spare)} corners")
    return f"{'; '.join(parts)}."
