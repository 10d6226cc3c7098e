"""`clearance verify`: does a certificate prove what it says of a corner file?"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

if TYPE_CHECKING:
    pass


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
    from clearance.description.load import load
    from clearance.facts.verify import facts
    from clearance.words.verify import page

    progress = Progress()
    mockup = load(file)
    parts, envelopes = checked(mockup, opener.bytes_of(certificate, most=MOST_BYTES), progress=progress)
    progress.close()
    if as_json:
        show(facts(mockup, parts, envelopes))
    else:
        say(page(mockup, parts, envelopes))
    return EXIT_CODES[overall(parts)]
