"""`clearance least-change`: the smallest single change that clears, and what it costs."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import Progress, say, show

if TYPE_CHECKING:
    pass


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """The smallest change that clears: spacer, backspace, bump stop, steering stop, ride height, camber, lip, tire
    size.

    Each is the exact minimum over the whole cycle, then rounded up to what is sold. Where no single change does it, the
    least pairs. How far each may go is in [limits] of the corner file, what is sold in [sold]. Exit code 0: it clears
    as it is; 1: something must change.
    """
    from clearance_cli.answer_text import read_corner

    from clearance.answers.checked import all_clear
    from clearance.answers.least_change import least_change
    from clearance.facts.least_change import facts
    from clearance.tire.catalog import standard_sizes
    from clearance.words.least_change import page

    mockup = read_corner(file)
    progress = Progress(quiet=as_json)
    found = least_change(mockup, mockup.terms, standard_sizes(), progress=progress)
    progress.close()
    if as_json:
        show(facts(mockup, found))
    else:
        say(page(mockup, found))
    return 0 if all_clear(found.before) else 1
