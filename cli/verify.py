"""`clearance verify`: does a certificate prove what it says of a corner file?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

if TYPE_CHECKING:
    from clearance.certificate.claims import Checked, CheckedEnvelope
    from clearance.mockup.mockup import MockUp


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    certificate: Annotated[
        Path, typer.Argument(help="What `check --certificate` wrote.", show_default=False, metavar="CERTIFICATE")
    ],
    as_json: Annotated[bool, typer.Option("--json", help="Print what was proven, as JSON.")] = False,
) -> int:
    """Does a certificate prove what it says of a corner file? Checked by what knows nothing of how it was found.

    Exit code 0: it holds, and every part clears. 1: it holds, and something is tight or hits. 2: it does not hold, or
    is of another corner. 3: it holds, and something is undecided.
    """
    from clearance_cli.check import EXIT_CODES
    from clearance_cli.out import Progress, say, show

    from clearance import opener
    from clearance.certificate.claims import checked, overall
    from clearance.certificate.file import MOST_BYTES
    from clearance.corner_file.load import load

    progress = Progress()
    mockup = load(file)
    parts, envelopes = checked(mockup, opener.bytes_of(certificate, most=MOST_BYTES), progress=progress)
    progress.close()
    if as_json:
        show(_rows(mockup, parts, envelopes))
    else:
        say(page(mockup, parts, envelopes))
    return EXIT_CODES[overall(parts)]


def _rows(mockup: MockUp, parts: list[Checked], envelopes: list[CheckedEnvelope]) -> dict[str, Any]:
    return {
        "title": mockup.title,
        "parts": [
            {
                "name": part.name,
                "verdict": part.verdict,
                "at_least": None if part.at_least_mm is None else round(part.at_least_mm, 4),
                "at_most": round(part.at_most_mm, 4),
                "required": round(part.required_mm, 4),
                "planes": part.leaves,
            }
            for part in parts
        ],
        "envelopes": [
            {"name": one.name, "grown": round(one.grown_mm, 4), "slack": round(one.slack_mm, 4), "planes": one.leaves}
            for one in envelopes
        ],
    }


def page(mockup: MockUp, parts: list[Checked], envelopes: list[CheckedEnvelope]) -> str:
    """What was proven, part by part."""
    from clearance_cli.answer_text import table

    from clearance.units import both

    rows = []
    for part in parts:
        least = "-" if part.at_least_mm is None else both(part.at_least_mm)
        planes = f"{part.leaves:,}" if part.leaves else "-"
        rows.append([part.verdict, part.name, least, both(part.at_most_mm), both(part.required_mm), planes])
    lines = [
        mockup.title or "Corner",
        "",
        table(["", "part", "proven at least", "found", "must keep", "planes"], rows),
    ]
    for one in envelopes:
        lines += [
            "",
            f"  {one.name} holds the wheel at every position, by {one.leaves:,} planes, and lies nowhere more than"
            f" {one.slack_mm:.2f} mm outside of its way.",
        ]
    return "\n".join([*lines, "", "The certificate holds: its planes were checked one by one, rounding outward."])
