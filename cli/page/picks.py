"""What was picked on a scan, kept beside it after every step: a server that is ended or killed costs nothing.

* picks file - NAME.picks.json beside the scan NAME; it knows by its sum which scan it is of
* kept       - the sum of that file as it was written or read last: where another server wrote it since, nothing is lost

What stands in such a file is taken for a guess: it is said again, step by step, to the same rules as a hand's.
"""

from __future__ import annotations

import contextlib
import os
from dataclasses import dataclass, field
from typing import Any

from clearance_cli.page.folder import Changed, Folder, sum_of

import clearance
from clearance import opener, plain

KINDS = (".json",)
ENDING = ".picks.json"
_FORMAT = "clearance-picks/1"
SAID = ("unit", "distance", "way", "up", "ahead", "outboard", "side", "face_outboard", "bolt_circle", "within",
        "stray", "radius", "from_", "to")  # fmt: skip
"""Every key of `Picked` that is written or chosen."""


def three(values: Any) -> list[float]:
    """A point or a direction. Raises InputError for what is none."""
    if isinstance(values, list) and len(values) == 3:
        found = [float(value) for value in values if isinstance(value, (int, float)) and not isinstance(value, bool)]
        if len(found) == 3 and all(abs(value) < 1e12 for value in found):
            return found
    raise clearance.InputError("that is no place to click. Load the page again.")


@dataclass(kw_only=True)
class Kept:
    """The picks file of one scan."""

    folder: Folder
    name: str = ""
    """Of the file; empty while no scan is on the bench."""
    scan_sum: str = ""
    pieces: int = 0
    """Of the scan."""
    kept: str = ""
    note: str = field(default="", init=False)
    """Why nothing is kept; empty where it is."""

    def begun(self) -> clearance.Picked | None:
        """What was picked before; None where nothing was. A file that does not fit is left, and `note` says so."""
        try:
            place = self.folder.file(self.name, KINDS)
            if not os.path.lexists(place):
                return None
            content = self.folder.content(self.name, KINDS)
            found = self._read(content)
        except (clearance.ClearanceError, opener.NotJson, KeyError, TypeError, ValueError):
            self.note = f"{self.name} is not of this scan and was left, so what you pick now is not kept. Take it away."
            return None
        self.kept = sum_of(content)
        return found

    def _read(self, content: bytes) -> clearance.Picked:
        table = opener.json_value(content)
        if table["format"] != _FORMAT or table["scan"] != self.scan_sum:
            raise clearance.InputError("another scan's.")
        said, found = table["said"], clearance.Picked()
        for key in SAID:
            found = found.said(key, _word(said[key]))
        for group, point in table["points"]:
            found = found.with_point(group, three(point))
        for piece, point in table["gone"]:
            found = found.without_piece(self._piece(piece), three(point))
        return found

    def _piece(self, piece: Any) -> int:
        if not isinstance(piece, int) or not 0 < piece < self.pieces:
            raise clearance.InputError("there is no such piece.")
        return piece

    def write(self, picked: clearance.Picked) -> None:
        """Keep this. Raises Changed where another server kept something else since."""
        if self.note:
            return
        content = plain.json_text(self._table(picked), indent=None).encode() + b"\n"
        try:
            self.folder.write(self.name, content, over=self.kept, kinds=KINDS)
        except Changed:
            raise Changed(
                "somebody else picked on this scan from another page of this folder, so that was left. Open the scan"
                " again: what was picked there comes back."
            ) from None
        except clearance.OutputError as wrong:
            self.note = f"what you pick is not kept: {wrong}"
            return
        self.kept = sum_of(content)

    def _table(self, picked: clearance.Picked) -> dict[str, Any]:
        return {
            "format": _FORMAT,
            "scan": self.scan_sum,
            "said": {key: getattr(picked, key) for key in SAID},
            "points": [[group, list(point)] for group, point in picked.points],
            "gone": [[piece, list(point)] for piece, point in picked.gone],
        }


def begun_here(folder: Folder, scans: list[str]) -> list[str]:
    """Those of these scans that something was picked on."""
    found = []
    for name in scans:
        with contextlib.suppress(clearance.InputError):
            if folder.file(f"{name}{ENDING}", KINDS).is_file():
                found.append(name)
    return found


def _word(text: Any) -> str:
    if not isinstance(text, str) or (text and not plain.is_one_line(text, 60)):
        raise clearance.InputError("this is no line of text.")
    return text
