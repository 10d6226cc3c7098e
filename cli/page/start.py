"""What lies on the bench when the page opens: a file, or the first of a folder."""

from __future__ import annotations

from pathlib import Path

from clearance_cli.page.folder import Folder
from clearance_cli.page.house import House
from clearance_cli.page.sitting import Sitting

import clearance
from clearance import opener


def house_of(opened: Path, corner: str | None) -> House:
    """A house with this file on its bench; of a folder, an empty bench. Raises ClearanceError for what is neither."""
    if opened.is_dir():
        return House(Folder(place=opened.resolve()))
    text = opener.text_of(opened)
    place = opened.resolve()
    bench = clearance.on_bench(text, place, corner=corner)
    folder = Folder(place=place.parent)
    return House(folder, Sitting(folder=folder, name=place.name, bench=bench, as_read=text))
