"""`clearance verify`: does a certificate prove what it says of a corner file?"""

from __future__ import annotations

from pathlib import Path
from typing import Annotated

import typer
from clearance_cli.options import EXIT_CODES, Units, Which, corner_at
from clearance_cli.out import Progress, say, show

import clearance


def command(
    file: Annotated[Path, typer.Argument(help="The corner file; - reads it from standard input.", show_default=False)],
    certificate: Annotated[
        Path, typer.Argument(help="What `check --certificate` wrote.", show_default=False, metavar="CERTIFICATE")
    ],
    which: Which = None,
    units: Units = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print what was proven, as JSON.")] = False,
) -> int:
    """Does a certificate prove what it says of a corner file? Checked by what knows nothing of how it was found.

    Exit code 0: it holds, and every part clears. 1: it holds, and something is tight or hits. 2: it does not hold, or
    is of another corner. 3: it holds, and something is undecided.
    """
    progress = Progress()
    found = clearance.verify(corner_at(file, units, which), certificate, progress=progress)
    progress.close()
    if as_json:
        show(found.to_dict())
    else:
        say(found.words())
    return EXIT_CODES[found.value.verdict]
