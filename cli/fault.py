"""A fault of our own: what is said of it, and where the whole of it goes."""

from __future__ import annotations

import os

TRACE = "CLEARANCE_TRACE"
"""Environment variable: the file that a fault of the program is written to in full, for whoever mends it."""

ON_A_PAGE = (
    "This is a fault in clearance, not in what you did: there is no answer. What there is to say of it stands in the"
    " terminal that the page was opened from."
)


def fault_said(fault: BaseException) -> str:
    """What is said of a fault of our own; the whole of it goes where the person asked for it."""
    place = os.environ.get(TRACE, "")
    words = (
        "This is a fault in clearance, not in what you wrote: there is no answer. Please report it, with the"
        " command and the files that it read."
    )
    if not place:
        return f"{words}\nFor whoever mends it: run the same again with {TRACE}=fault.txt and add that file."
    import traceback

    try:
        with open(place, "w", encoding="utf-8", errors="backslashreplace") as file:
            file.write("".join(traceback.format_exception(fault)))
    except OSError:
        return f"{words}\n{place} could not be written."
    return f"{words}\nThe whole of it stands in {place}."
