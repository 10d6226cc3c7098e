"""What to do with a measuring sheet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from clearance.words.open_letters import open_page


def page(said: Mapping[str, Any]) -> str:
    """Which letters are needed, what holds before a hub is moved, and what comes after."""
    return "\n".join(
        [
            f"{said['what']}: take {', '.join(said['needed'])} at least;"
            " the sheet says how, and what holds for the rest.",
            "Car on stands, wheels chocked, springs out before a hub is moved by hand. Measure left and right.",
            f"Then: {said['next']}",
            "How far a letter that you leave open could move the answer: the same command with --open.",
        ]
    )


def carriers_page(said: Mapping[str, Any]) -> str:
    """What can carry a wheel, and how to know it."""
    lines = ["What carries the wheel? Look under the car, on stands, and find it:", ""]
    for row in said["carriers"]:
        lines += [f"  {row['sheet']}: {row['look']}"]
    first = said["carriers"][0]["sheet"]
    return "\n".join([*lines, "", f"Then, for the sheet of one: clearance measure {first}"])


def written_page(said: Mapping[str, Any], *, with_open: bool = False) -> str:
    """What was written, and what comes next; with what is still open where that was asked."""
    depth = "" if said["depth"] == "links" else " What was not measured is named in the file and widens the answer."
    ask = "room" if said["depth"] == "standing" else "check"
    return "\n".join(
        [
            f"{said['corner_file']}: written. The answers are kept in {said['answers']}.{depth}",
            _of_the_other_side(said),
            f"Read it through, then: clearance {ask} {said['corner_file']}",
            *(open_page(said["open"]) if with_open else _how_to_ask(said)),
        ]
    )


def _of_the_other_side(said: Mapping[str, Any]) -> str:
    if said["other_side"]:
        return (
            f"{said['other_side']}: written, the other side as it was measured."
            f" Both together: clearance check {said['car_file']}"
        )
    lacks = said["other_side_lacks"]
    if lacks:
        return f"The other side has no file yet: it lacks {'; '.join(lacks)}."
    return "The other side was not measured: nothing here is said of it. Sides differ by 6 to 25 mm (1/4 to 1 in)."


def _how_to_ask(said: Mapping[str, Any]) -> list[str]:
    if not said["left_out"]:
        return []
    return [f"Left open: {', '.join(said['left_out'])}. How far each could move the answer: clearance new --open."]
