"""The ways that an input can be wrong, named for what the user must change.

::

    ClearanceError
    |-- InputError              something the user wrote or measured; exit code 2
    |   |-- UnitError           a length or an angle that cannot be read
    |   |-- TireError           a marking, or dimensions that contradict each other
    |   |-- WheelError          a rim, a backspace, a bolt circle
    |   |-- SuspensionError     hardpoints, a table, steering, a travel that cannot be reached
    |   |-- PartError           a wall, a lip, a bar
    |   |-- MeshError           a scan or CAD file
    |   |-- ShapeError          an outline or profile that is not a closed simple chain
    |   |-- FileError           a file that cannot be opened, or is not what its name says
    |   `-- CornerFileError     any of the above, with file, line and key
    `-- OutputError             a file that cannot be written; exit code 2

A message says what was found and what to write instead. Only the corner file knows about files and lines: it
wraps what the rooms below it raise.
"""

from __future__ import annotations


class ClearanceError(Exception):
    """Anything that this package refuses."""


class InputError(ClearanceError):
    """Something that the user wrote or measured cannot be used.

    `key`, where given, is the corner file's word for the number at fault ("max", "tie_rod.inner"), so that the corner
    file can point at its line; `also` is the word for the number that it contradicts.
    """

    key: str = ""
    also: str = ""

    def __init__(self, message: str = "", *, key: str = "", also: str = "") -> None:
        super().__init__(message)
        if key:
            self.key = key
        self.also = also


class UnitError(InputError):
    """A length or an angle that cannot be read."""


class TireError(InputError):
    """A tire marking that cannot be read, or dimensions that contradict each other."""


class WheelError(InputError):
    """A rim, a backspace or a bolt circle that cannot be."""


class SuspensionError(InputError):
    """Hardpoints, a measured table or a steering that cannot be, or a travel out of reach."""


class PartError(InputError):
    """A part of the well that cannot be built from its numbers."""


class MeshError(InputError):
    """A mesh file that cannot be read or placed."""


class ShapeError(InputError):
    """An outline that is not one closed chain without crossings."""


class FileError(InputError):
    """A file that cannot be opened, or is not what its name says.

    `reason` is the sentence without the file, for whoever has named it already.
    """

    def __init__(self, path: object, reason: str, *, line: int | None = None) -> None:
        self.path = str(path)
        self.reason = reason
        self.line = line
        super().__init__(f"{self.path}:{line}: {reason}" if line else f"{self.path}: {reason}")


class CornerFileError(InputError):
    """Something in a corner file, with the place where it stands.

    ``str()`` gives the place on the first line and the message, indented, below it.
    """

    def __init__(self, message: str, *, file: str, line: int | None = None, key: str = "") -> None:
        self.message = message
        self.file = file
        self.line = line
        place = f"{file}:{line}" if line else file
        head = f"{place}  {key}".rstrip()
        body = "\n".join(f"  {row}" for row in message.splitlines())
        super().__init__(f"{head}\n{body}", key=key)


class OutputError(ClearanceError):
    """A file that cannot be written."""
