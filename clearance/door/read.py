"""Corners and cars read: from a file, from a text, from a stream."""

from __future__ import annotations

import os
from pathlib import Path
from typing import BinaryIO

from clearance.description.car import car_of_text, corner_of_text
from clearance.description.tables import text_at
from clearance.errors import CornerFileError, FileError
from clearance.mockup.car import Car
from clearance.mockup.mockup import MockUp
from clearance.opener import text_from


def load(file: str | os.PathLike[str], *, corner: str | None = None) -> MockUp:
    """The corner that a corner file describes, or the named `corner` of a car file.

    Raises CornerFileError with the file, the line, the key, what was found and what to write instead.
    """
    return corner_of_text(text_at(Path(file), str(file)), Path(file), corner)


def load_car(file: str | os.PathLike[str]) -> Car:
    """The car that a car file describes; a corner file is a car with that corner. Raises CornerFileError."""
    return car_of_text(text_at(Path(file), str(file)), Path(file))


def read(
    text: str, *, beside: str | os.PathLike[str] = ".", name: str = "corner.toml", corner: str | None = None
) -> MockUp:
    """The corner that the text of a corner or car file describes; what it names lies in the folder `beside`.

    Raises CornerFileError as `load` does, under `name`.
    """
    return corner_of_text(text, Path(beside) / name, corner)


def read_car(text: str, *, beside: str | os.PathLike[str] = ".", name: str = "car.toml") -> Car:
    """The car that the text of a car file describes, likewise. Raises CornerFileError."""
    return car_of_text(text, Path(beside) / name)


def read_from(
    stream: BinaryIO,
    *,
    beside: str | os.PathLike[str] = ".",
    name: str = "standard input",
    corner: str | None = None,
) -> MockUp:
    """The same as `read` from a stream of bytes, to its end. Raises CornerFileError."""
    return read(_text_of(stream, name), beside=beside, name=name, corner=corner)


def read_car_from(stream: BinaryIO, *, beside: str | os.PathLike[str] = ".", name: str = "standard input") -> Car:
    """The same as `read_car` from a stream of bytes, to its end. Raises CornerFileError."""
    return read_car(_text_of(stream, name), beside=beside, name=name)


def _text_of(stream: BinaryIO, name: str) -> str:
    try:
        return text_from(stream, name)
    except FileError as wrong:
        raise CornerFileError(wrong.reason, file=name, line=wrong.line) from None
