"""`clearance other`: load states, chains, the spare in its well, duals, the body's cover."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from clearance_cli.out import say, show

if TYPE_CHECKING:
    from clearance.answers.other import Room

WRITE = (
    "nothing to answer: the corner file has none of [load_states], [chains], [spare_well], [duals], [coverage]."
    ' Write one, for example [load_states] with laden = "-35 mm".'
)


def command(
    file: Annotated[Path, typer.Argument(help="The corner file.", show_default=False)],
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON.")] = False,
) -> int:
    """Other clearances of the same tire, for whichever of these sections the corner file has:

    [load_states], [chains], [spare_well], [duals], [coverage]. Exit code 0: all of them have room enough; 1: one has
    not.
    """
    from clearance_cli.answer_text import read_corner

    from clearance.answers.checked import all_clear
    from clearance.answers.other import between_duals, cover, in_spare_well, load_states, with_chains
    from clearance.errors import InputError
    from clearance.facts.other import facts
    from clearance.words.other import page

    mockup = read_corner(file)
    states = load_states(mockup, mockup.terms.load_states_mm)
    chains = () if mockup.terms.chains is None else with_chains(mockup, mockup.terms.chains)
    rooms: list[Room] = []
    if mockup.terms.spare_well is not None:
        rooms += in_spare_well(mockup, mockup.terms.spare_well)
    if mockup.terms.duals is not None:
        rooms += between_duals(mockup, mockup.terms.duals)
    body = None if mockup.terms.coverage is None else cover(mockup, mockup.terms.coverage)
    if not (states or chains or rooms or body):
        raise InputError(f"{file}: {WRITE}")
    enough = all(all_clear(s.gaps) for s in states) and all_clear(chains) and all(r.enough for r in rooms)
    if as_json:
        show(facts(mockup, states, chains, rooms, body))
    else:
        say(page(mockup, states, chains, rooms, body))
    return 0 if enough and (body is None or body.kept) else 1
