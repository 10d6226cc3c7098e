"""What is on the car now against what is next: reach, height, rake, track, speedometer, load, scrub radius.

* now, next - what [now] says is on the car, and the tire and wheel that the file describes
* rake      - the rear's rise less the front's, over the wheelbase; positive where the nose goes down
* track     - between the middles of an axle's two tires, at hub height: hub face to hub face less both offsets
* not said  - what nothing in the file says; what hangs on it is left out, and named

A hub rises by half the difference of diameters, and the body with it: both tires are taken to squat alike. Lengths are
millimetres, angles degrees, loads kg, speeds km/h.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from clearance.answers.said import marking_of, missing_of, put_on
from clearance.answers.scrub import Scrub, scrub_of
from clearance.answers.swap import Rolls, Swap, against_now, mounted_rolls
from clearance.mockup.car import AXLES
from clearance.terms import Load

if TYPE_CHECKING:
    from clearance.mockup.car import Car
    from clearance.mockup.mockup import MockUp
    from clearance.tire.size import Marking


@dataclass(frozen=True, slots=True, kw_only=True)
class Rating:
    """What a sidewall lets a tire carry, and how fast it lets it go; None where it does not say."""

    load_index: int | None
    load_kg: float | None
    speed: str | None
    speed_kmh: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class AtCorner:
    """One wheel, now and next."""

    corner: str
    next: Rolls
    swap: Swap | None
    """None where no [now] says what is on the car."""
    now_rating: Rating
    next_rating: Rating
    load: Load
    """What the file says that the tire must carry."""
    next_scrub: Scrub | None
    now_scrub: Scrub | None
    offset_mm: float
    """Of the next wheel."""
    not_said: tuple[str, ...]

    @property
    def middle_mm(self) -> float | None:
        """How much further outboard the tire's middle stands; None where it is not known of what is on it now."""
        if self.swap is None or self.swap.inboard_mm is None or self.swap.outboard_mm is None:
            return None
        return (self.swap.outboard_mm - self.swap.inboard_mm) / 2

    @property
    def scrub_mm(self) -> float | None:
        """How much more the scrub radius is."""
        if self.now_scrub is None or self.next_scrub is None:
            return None
        return self.next_scrub.radius_mm - self.now_scrub.radius_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class OnAxle:
    """One axle, now and next."""

    axle: str
    corners: tuple[str, ...]
    hub_mm: float | None
    """How much higher its hubs stand, the middle of both sides where they differ."""
    track_next_mm: float | None
    track_change_mm: float | None
    not_said: tuple[str, ...]

    @property
    def track_now_mm(self) -> float | None:
        """Between the middles of what is on it now."""
        if self.track_next_mm is None or self.track_change_mm is None:
            return None
        return self.track_next_mm - self.track_change_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class Stance:
    """A car, now and next."""

    corners: Mapping[str, AtCorner]
    axles: Mapping[str, OnAxle]
    rake_mm: float | None
    rake_deg: float | None
    wheelbase_mm: float | None
    driven: tuple[str, ...]
    """The axles that the engine drives; empty where that is not said."""
    counted: str | None
    """The axle that the speedometer goes by."""
    not_said: tuple[str, ...]
    """What of the car is not said, beside that of its corners and axles."""

    @property
    def apart(self) -> float | None:
        """How much further a turn of a rear wheel rolls than one of a front wheel, as a share, with what is next."""
        return self._apart({name: one.next.rolling_mm for name, one in self.corners.items()})

    @property
    def apart_now(self) -> float | None:
        """The same with what is on the car now; None where that is not said of every wheel."""
        known = {name: one.swap.old.rolling_mm for name, one in self.corners.items() if one.swap is not None}
        return self._apart(known) if len(known) == len(self.corners) else None

    def _apart(self, rolling_mm: Mapping[str, float]) -> float | None:
        of = [[mm for name, mm in rolling_mm.items() if name.startswith(axle)] for axle in AXLES]
        front, rear = (sum(sides) / len(sides) if sides else None for sides in of)
        return None if front is None or rear is None else rear / front - 1.0

    @property
    def anything(self) -> bool:
        """Does any corner say what is on it now?"""
        return any(one.swap is not None for one in self.corners.values())


def stance_of(car: Car) -> Stance:
    """What the car stands on next against what it stands on now.

    Raises TireError or WheelError for a [now] that cannot be.
    """
    corners = {name: _corner(corner) for name, corner in car.corners.items()}
    axles = {axle: _axle(car, axle, corners) for axle in car.axles}
    rake_mm, rake_deg = _rake(car, axles)
    missing = [f"a corner of the {axle} axle" for axle in AXLES if axle not in axles]
    missing += ["wheelbase"] if car.wheelbase_mm is None and len(axles) == len(AXLES) else []
    return Stance(
        corners=corners,
        axles=axles,
        rake_mm=rake_mm,
        rake_deg=rake_deg,
        wheelbase_mm=car.wheelbase_mm,
        driven=car.driven,
        counted=car.counted,
        not_said=tuple(missing),
    )


def _rake(car: Car, axles: Mapping[str, OnAxle]) -> tuple[float | None, float | None]:
    """How much more the rear rises than the front, mm and deg over the wheelbase."""
    front, rear = (axles[axle].hub_mm if axle in axles else None for axle in AXLES)
    if front is None or rear is None:
        return None, None
    rake_mm = rear - front
    return rake_mm, None if car.wheelbase_mm is None else math.degrees(math.atan2(rake_mm, car.wheelbase_mm))


def _corner(corner: MockUp) -> AtCorner:
    now = corner.terms.now
    on_now = None if now is None else put_on(corner, now)
    now_rating = _rating(None if now is None else marking_of(now))
    next_rating = _rating(corner.tire.info)
    next_scrub = scrub_of(corner)
    return AtCorner(
        corner=corner.corner,
        next=mounted_rolls(corner.tire, corner.wheel),
        swap=against_now(corner),
        now_rating=now_rating,
        next_rating=next_rating,
        load=corner.terms.load,
        next_scrub=next_scrub,
        now_scrub=None if on_now is None else scrub_of(on_now),
        offset_mm=corner.wheel.offset_mm,
        not_said=tuple(_not_said(corner, now_rating, next_rating, scrub=next_scrub is not None)),
    )


def _not_said(corner: MockUp, now_rating: Rating, next_rating: Rating, *, scrub: bool) -> list[str]:
    """What of a corner nothing says, by the keys that would."""
    now, load = corner.terms.now, corner.terms.load
    missing = ["[now]"] if now is None else [f"{key} in [now]" for key in missing_of(now)]
    for rating, whose in ((now_rating, "[now]"), (next_rating, "[tire]")):
        if now is not None or whose == "[tire]":
            missing += _not_rated(rating, whose)
    missing += ["corner in [load]"] if load.corner_kg is None else []
    missing += ["speed in [load]"] if load.speed_kmh is None else []
    return [*missing, *(["steering axis"] if _steers(corner) and not scrub else [])]


def _steers(corner: MockUp) -> bool:
    return corner.suspension.cycle.steer_deg != (0.0, 0.0) or corner.corner.startswith("front")


def _not_rated(rating: Rating, whose: str) -> list[str]:
    known = {f"load index in {whose} size": rating.load_kg, f"speed symbol in {whose} size": rating.speed_kmh}
    return [key for key, value in known.items() if value is None]


def _rating(marked: Marking | None) -> Rating:
    if marked is None:
        return Rating(load_index=None, load_kg=None, speed=None, speed_kmh=None)
    return Rating(load_index=marked.load_index, load_kg=marked.load_kg, speed=marked.speed, speed_kmh=marked.speed_kmh)


def _axle(car: Car, axle: str, corners: Mapping[str, AtCorner]) -> OnAxle:
    sides = [corners[corner.corner] for corner in car.sides(axle)]
    rises = [one.swap.hub_mm for one in sides if one.swap is not None]
    moves = [one.middle_mm for one in sides if one.middle_mm is not None]
    both_sides = len(sides) == 2
    missing = [f"{axle}-{side}" for side in ("left", "right") if f"{axle}-{side}" not in corners]
    missing += [] if axle in car.track_mm else [f"track_{axle}"]
    return OnAxle(
        axle=axle,
        corners=tuple(one.corner for one in sides),
        hub_mm=sum(rises) / len(rises) if len(rises) == len(sides) else None,
        track_next_mm=_track_mm(car, axle, sides) if both_sides else None,
        track_change_mm=sum(moves) if both_sides and len(moves) == 2 else None,
        not_said=tuple(missing),
    )


def _track_mm(car: Car, axle: str, sides: Sequence[AtCorner]) -> float | None:
    """Between the tires' middles at hub height."""
    stated = car.track_mm.get(axle)
    return None if stated is None else stated - sum(one.offset_mm for one in sides)
