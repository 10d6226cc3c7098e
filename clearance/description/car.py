"""A car file: several corners in one, each in full, from a corner file, or like another but for what differs.

    title = "Millrace coupe"
    [car]                      what the car has once: wheelbase, tracks, cautions
    [tire] [wheel] ...         what every corner has where it does not say otherwise
    [corner.rear-left]         any section of a corner file below it, as [corner.rear-left.tire]
    file = "rear-left.toml"    ... over those of this file
    [corner.rear-right]
    like = "rear-left"         ... over those of the other corner, put across the car where it is on the other side
    without = ["tail pipe"]    ... less these parts and keys

What lies on top counts: the corner's own keys, then those of `file` or `like`, then the car's.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path as FilePath
from typing import Annotated, Any

from pydantic import Field

from clearance.description import values
from clearance.description.across import other_side
from clearance.description.gathered import Tree, cut, from_folder, laid, names_in, tree_of, without
from clearance.description.lines import Path, path_text
from clearance.description.load import is_car, mockup_of, of_text, said
from clearance.description.numbers import numbers_in, refuse_beyond
from clearance.description.reading import key_names, read
from clearance.description.refusal import Refusal, as_written, nearest
from clearance.description.schema import Table, listed, one_of
from clearance.description.tables import tables_of, text_at
from clearance.description.values import Size, Word
from clearance.description.whole import AGREED, OWN_SECTIONS
from clearance.description.written import Gathered, InFile, Spot
from clearance.ends import families as ends
from clearance.errors import CornerFileError, FileError
from clearance.mockup.car import AXLES, Car
from clearance.mockup.mockup import CORNERS, MockUp
from clearance.opener import beside
from clearance.plain import MOST_TITLE
from clearance.plain import line as one_line
from clearance.steady import steady
from clearance.units import FIRST, both

HEADING = ("title", "units", "car", "corner")
SHARED = (*(name for name in OWN_SECTIONS if name not in (*HEADING, "part")), *AGREED)
"""Sections that a car can have once for all of its corners."""
OWN = (*(name for name in OWN_SECTIONS if name != "corner"), *AGREED)
"""Sections that a corner of a car can have."""
TRACKS_WITHIN_MM = 6.0
"""Two tapes over the same axle agree to this (common practice)."""


class CarTable(Table):
    """[car]: what the car has once."""

    wheelbase: Annotated[Size, ends.WHEELBASE] | None = Field(None, description="front hub to rear hub, along the car")
    track_front: Annotated[Size, ends.TRACK] | None = Field(None, description="front hub face to hub face, across")
    track_rear: Annotated[Size, ends.TRACK] | None = Field(None, description="rear hub face to hub face, across")
    driven: Annotated[str | None, one_of(*AXLES, "both")] = Field(
        None, description='the axle that the engine drives: "front", "rear" or "both"'
    )
    speedometer: Annotated[str | None, one_of(*AXLES)] = Field(
        None, description="the axle whose wheels the speedometer counts; the driven one where not given"
    )
    cautions: tuple[Word, ...] = Field((), description="what applies to this car, whatever is asked; said with answers")


class CornerOfCar(Table):
    """[corner.rear-left] and the like: where the corner comes from, beside its own sections."""

    file: Word | None = Field(None, description="the corner file that it is, from the car file's folder")
    like: Word | None = Field(None, description='another corner of this car that it is like: "rear-left"')
    without: tuple[Word, ...] = Field(
        (), description='parts and keys of those to leave out: ["tail pipe", "wheel.backspace"]'
    )


_FROM = tuple(key_names(CornerOfCar))


def load_car(path: str | FilePath) -> Car:
    """The car that a car file describes; of a corner file, a car with that corner.

    Raises CornerFileError with the file, the line, the key, what was found and what to write instead.
    """
    return car_of_text(text_at(path, str(path)), path)


@steady
def car_of_text(text: str, path: str | FilePath) -> Car:
    """The car that the text of a car file describes; what it names lies beside `path`. Raises CornerFileError."""
    file = str(path)
    tables = tables_of(text, file)
    if not is_car(tables):
        corner = of_text(text, path)
        return Car(title=corner.title, corners={corner.corner: corner}, units=corner.units)
    try:
        return _Reading(file=file, folder=FilePath(path).parent, tree=tree_of(tables, text, file)).car()
    except Refusal as wrong:
        raise said(wrong, InFile(file, text)) from None


def corner_of_text(text: str, path: str | FilePath, corner: str | None = None) -> MockUp:
    """The corner of a corner file, or this corner of a car file. Raises CornerFileError.

    A car with one corner alone needs no name.
    """
    file = str(path)
    tables = tables_of(text, file)
    if not is_car(tables):
        found = of_text(text, path)
        if corner not in (None, found.corner):
            raise CornerFileError(
                f"this is the corner file of the {found.corner}, and {as_written(corner)} was asked for.",
                file=file,
                key="corner",
            )
        return found
    names = list(tables["corner"]) or [CORNERS[0]]
    chosen = names[0] if corner is None and len(names) == 1 else corner
    if chosen not in names:
        there = ", ".join(map(one_line, names))
        missing = "" if corner is None else f" and no {as_written(corner)}"
        raise CornerFileError(
            f"this is a car file with {there}{missing}. Say which is meant: --corner {one_line(names[0])}.",
            file=file,
            key="corner",
        )
    return car_of_text(text, path).at(str(chosen))


def tables_of_corner(text: str, path: str | FilePath, corner: str) -> tuple[Mapping[str, Any], frozenset[int]]:
    """The tables of one corner of a corner or car file, everything laid over everything, and which of its parts were
    measured on the other side of the car. The file has been read as a whole before. Raises CornerFileError."""
    file = str(path)
    tables = tables_of(text, file)
    if not is_car(tables):
        return tables, frozenset()
    try:
        return _Reading(file=file, folder=FilePath(path).parent, tree=tree_of(tables, text, file)).tables(corner)
    except Refusal as wrong:
        raise said(wrong, InFile(file, text)) from None


@dataclass(frozen=True, slots=True, kw_only=True)
class _Reading:
    """One car file on its way to a car."""

    file: str
    folder: FilePath
    tree: Tree
    done: dict[str, Tree] = field(default_factory=dict)
    """The corners that have been put together."""

    def car(self) -> Car:
        """The car. Raises Refusal, and CornerFileError for what stands wrong in one of its corners."""
        self._refuse_unknown()
        title, units, table = self._title(), self._units(), self._table()
        names = self._names()
        corners = {name: self._doubted(self._built(name)) for name in CORNERS if name in names}
        car = Car(
            title=title,
            corners=corners,
            wheelbase_mm=table.wheelbase,
            track_mm=self._tracks(table, list(corners)),
            driven=() if table.driven is None else AXLES if table.driven == "both" else (table.driven,),
            speedometer=table.speedometer,
            cautions=table.cautions,
            units=units,
        )
        for name in car.corners:
            self._refuse_other_track(name, car)
        for axle in car.axles:
            self._refuse_two_tracks(axle, car)
            _refuse_other_travel(car, axle)
        _refuse_short_wheelbase(car)
        return car

    def _refuse_unknown(self) -> None:
        for name in self.tree.tables:
            if name not in (*HEADING, *SHARED):
                hint = nearest(name, (*HEADING, *SHARED))
                if name == "part":
                    hint = "Parts belong to a corner: write [[corner.rear-left.part]]."
                raise Refusal((name,), f"{as_written(name)} is not known to a car file. {hint}")

    def _units(self) -> str:
        units = self.tree.tables.get("units", FIRST[0])
        if units not in FIRST:
            raise Refusal(("units",), f"{as_written(units)} is not a unit that a page can have first. {listed(FIRST)}")
        return str(units)

    def _table(self) -> CarTable:
        written = self.tree.tables.get("car", {})
        table = read(CarTable, written, ("car",))
        refuse_beyond(tuple(numbers_in(CarTable, written, ("car",))))
        return table

    def _doubted(self, corner: MockUp) -> MockUp:
        """The corner, with what is unusual of the car's own numbers first among what to look at."""
        written = self.tree.tables.get("car", {})
        doubts = []
        for number in numbers_in(CarTable, written, ("car",)):
            of_axle = str(number.path[1]).removeprefix("track_")
            if number.doubt and (of_axle not in AXLES or corner.corner.startswith(of_axle)):
                spot = self.tree.spots.get(number.path, Spot(self.file, 1, number.path))
                doubts.append(f"line {spot.line}, {path_text(number.path)}: {number.doubt}")
        return replace(corner, warnings=(*doubts, *corner.warnings)) if doubts else corner

    def _title(self) -> str:
        title = self.tree.tables.get("title", one_line(FilePath(self.file).stem, MOST_TITLE) or "car")
        if not isinstance(title, str) or not title.strip():
            raise Refusal(("title",), f"{as_written(title)} is not a title. Write some words between quotes.")
        return one_line(title.strip(), MOST_TITLE)

    def _names(self) -> list[str]:
        names = list(self.tree.tables["corner"])
        for name in names:
            if name not in CORNERS:
                raise Refusal(("corner", name), f"{as_written(name)} is not a corner. {nearest(name, CORNERS)}")
        if not names:
            raise Refusal(("corner",), "the car has no corner. Write [corner.rear-left] and its sections.")
        return names

    def _tracks(self, table: CarTable, names: list[str]) -> dict[str, float]:
        """Each axle's track: as [car] says it, or else as one of its corners does."""
        found = {"front": table.track_front, "rear": table.track_rear}
        for name in names:
            axle, written = name.partition("-")[0], self.done[name].tables["suspension"].get("track")
            if found[axle] is None and written is not None:
                found[axle] = values.length(written)
        return {axle: mm for axle, mm in found.items() if mm is not None}

    def _refuse_other_track(self, name: str, car: Car) -> None:
        """The axle's track of a corner against the car's."""
        axle = name.partition("-")[0]
        written, stated_mm = self.done[name].tables["suspension"].get("track"), car.track_mm.get(axle)
        if written is None or stated_mm is None:
            return
        track_mm = values.length(written)
        if abs(track_mm - stated_mm) > TRACKS_WITHIN_MM:
            raise Refusal(
                ("car", f"track_{axle}"),
                f"the {axle} track is {both(stated_mm)} here and {both(track_mm)} in {name}, and two tapes over one"
                f" axle agree to {TRACKS_WITHIN_MM:g} mm. Measure it again, hub face to hub face.",
                other=("corner", name),
            )

    def _refuse_two_tracks(self, axle: str, car: Car) -> None:
        """The track of an axle as each of its two sides says it."""
        written = {one.corner: self.done[one.corner].tables["suspension"].get("track") for one in car.sides(axle)}
        known = {name: values.length(text) for name, text in written.items() if text is not None}
        if len(known) == 2 and max(known.values()) - min(known.values()) > TRACKS_WITHIN_MM:
            (here, one_mm), (there, other_mm) = known.items()
            raise Refusal(
                ("corner", there),
                f"the {axle} track is {both(other_mm)} here and {both(one_mm)} in {here}, and two tapes over one axle"
                f" agree to {TRACKS_WITHIN_MM:g} mm. Measure it again, hub face to hub face.",
                other=("corner", here),
            )

    # ---- one corner

    def tables(self, name: str) -> tuple[dict[str, Any], frozenset[int]]:
        """One corner as a corner file would say it, and which of its parts were measured across the car."""
        tree = self._gathered(name, ())
        title = f"{self._title()}, {name.replace('-', ' ')}"
        tables = {"title": title, "units": self._units(), **tree.tables, "corner": name}
        return tables, frozenset(i for i, part in enumerate(names_in(tables)) if part in tree.across)

    def _built(self, name: str) -> MockUp:
        tree = self._gathered(name, ())
        tables, across = self.tables(name)
        written = Gathered(tree.spots, Spot(self.file, self._line(name), ("corner", name)))
        try:
            return mockup_of(tables, self.folder / FilePath(self.file).name, written, across=across)
        except Refusal as wrong:
            raise said(wrong, written) from None

    def _line(self, name: str) -> int:
        spot = self.tree.spots.get(("corner", name))
        return 1 if spot is None else spot.line

    def _gathered(self, name: str, asked: tuple[str, ...]) -> Tree:
        """The tables of one corner, everything laid over everything."""
        if name not in self.done:
            self.done[name] = self._put_together(name, asked)
        return self.done[name]

    def _put_together(self, name: str, asked: tuple[str, ...]) -> Tree:
        at: Path = ("corner", name)
        table = self.tree.tables["corner"][name]
        if not isinstance(table, Mapping):
            raise Refusal(at, f"{as_written(table)} is not a corner. Write [corner.{name}] and its sections.")
        for key in table:
            if key == "corner":
                raise Refusal((*at, key), f"the section [corner.{name}] says which corner it is. Take this out.")
            if key not in (*_FROM, *OWN):
                raise Refusal((*at, key), f"{as_written(key)} is not known to a corner. {nearest(key, (*_FROM, *OWN))}")
        taken = read(CornerOfCar, {key: value for key, value in table.items() if key in _FROM}, at)
        if taken.file is not None and taken.like is not None:
            raise Refusal((*at, "like"), 'it is "like" another corner and has a "file". Keep one.', other=(*at, "file"))
        below = self._shared(self._below(name, taken, asked))
        own = cut(self.tree, "corner", name, without=_FROM)
        return laid(without(below, taken.without, (*at, "without")), own)

    def _below(self, name: str, taken: CornerOfCar, asked: tuple[str, ...]) -> Tree:
        if taken.file is not None:
            return self._of_file(name, taken.file)
        if taken.like is not None:
            return self._like(name, taken.like, (*asked, name))
        return Tree()

    def _shared(self, below: Tree) -> Tree:
        """The car's own sections below those that the corner has from elsewhere, section by section."""
        missing = [name for name in SHARED if name in self.tree.tables and name not in below.tables]
        others = [name for name in self.tree.tables if name not in missing]
        return laid(cut(self.tree, without=others), below)

    def _like(self, name: str, other: str, asked: tuple[str, ...]) -> Tree:
        at: Path = ("corner", name, "like")
        if other not in self.tree.tables["corner"]:
            raise Refusal(
                at, f"there is no corner {as_written(other)} in this car. {nearest(other, self.tree.tables['corner'])}"
            )
        if other in asked:
            way = " like ".join([*asked[asked.index(other) :], other])
            raise Refusal(at, f"this goes in a circle: {way}. Write one of them out, or give it a file.")
        found = self._gathered(other, asked)
        found = replace(found, tables={key: value for key, value in found.tables.items() if key != "title"})
        if other.endswith("left") == name.endswith("left"):
            return found
        try:
            turned = other_side(found.tables)
        except Refusal as wrong:
            raise Refusal(at, wrong.message, other=None) from None
        mirrored = frozenset(part for part in names_in(turned) if part not in found.across)
        return replace(found, tables=turned, spots=_locks_turned(found), across=mirrored)

    def _of_file(self, name: str, file: str) -> Tree:
        at: Path = ("corner", name, "file")
        try:
            place = beside(self.folder, file)
            text = text_at(place, file)
        except FileError as wrong:
            raise Refusal(at, f"{as_written(file)} cannot be read: {wrong.reason}") from None
        except CornerFileError as wrong:
            raise Refusal(at, f"{as_written(file)} cannot be read: {wrong.message}") from None
        tables = tables_of(text, str(place))
        if is_car(tables):
            raise Refusal(at, f"{as_written(file)} is a car file. Name a corner file.")
        there = tables.get("corner")
        if there != name:
            raise Refusal(
                at,
                f"{as_written(file)} is of {as_written(there)}, and this is the {name}."
                f' Name its own file, or write like = "{there}" here.',
            )
        found = cut(tree_of(tables, text, str(place)), without=("corner",))
        return from_folder(found, os.path.dirname(file))


def _locks_turned(tree: Tree) -> dict[Path, Spot]:
    """The spots of a corner put across the car: the two locks have changed places."""
    names = {"left": "right", "right": "left", "rack_left": "rack_right", "rack_right": "rack_left"}
    return {
        (path[0], names.get(str(path[1]), path[1]), *path[2:])
        if path[:1] == ("steering",) and len(path) > 1
        else path: spot
        for path, spot in tree.spots.items()
    }


# ---- what the corners say against the car


def _refuse_other_travel(car: Car, axle: str) -> None:
    """What one side of an axle says of the other wheel's travel is what that wheel says itself."""
    if len(car.sides(axle)) < 2:
        return
    for here, there in (car.sides(axle), car.sides(axle)[::-1]):
        other, own = here.suspension.cycle.other_bump_mm, there.suspension.cycle.bump_mm
        if other != (0.0, 0.0) and max(abs(a - b) for a, b in zip(other, own, strict=True)) > TRACKS_WITHIN_MM:
            raise Refusal(
                ("corner", here.corner),
                f"it has the other wheel travel {both(-other[0])} down and {both(other[1])} up, and {there.corner} says"
                f" {both(-own[0])} and {both(own[1])} of itself. Write other_bump and other_droop, or measure again.",
                other=("corner", there.corner),
            )


def _refuse_short_wheelbase(car: Car) -> None:
    """The tires of one side stand behind one another."""
    if car.wheelbase_mm is None:
        return
    radii = [max((one.tire.full_diameter_mm / 2 for one in car.sides(axle)), default=0.0) for axle in AXLES]
    if sum(radii) >= car.wheelbase_mm:
        raise Refusal(
            ("car", "wheelbase"),
            f"a wheelbase of {both(car.wheelbase_mm)} has no room for tires of {both(2 * radii[0])} and"
            f" {both(2 * radii[1])}. Measure from hub to hub.",
        )
