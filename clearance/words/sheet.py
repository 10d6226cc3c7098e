"""What to do with a measuring sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any


def page(said: Mapping[str, Any]) -> str:
    """Which letters are needed, what holds before a hub is moved, and what comes after."""
    return "\n".join(
        [
            f"{said['what']}: take {', '.join(said['needed'])} at least;"
            " the sheet says how, and what holds for the rest.",
            "Car on stands, wheels chocked, springs out before a hub is moved by hand. Measure left and right.",
            f"Then: {said['next']}",
        ]
    )


def written_page(said: Mapping[str, Any]) -> str:
    """What was written, and what comes next."""
    depth = "" if said["depth"] == "links" else " What was not measured is named in the file and widens the answer."
    ask = "room" if said["depth"] == "standing" else "check"
    return "\n".join(
        [
            f"{said['corner_file']}: written. The answers are kept in {said['answers']}.{depth}",
            f"Read it through, then: clearance {ask} {said['corner_file']}",
        ]
    )
