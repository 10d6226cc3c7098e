"""`clearance other`: load states, chains, the spare in its well, duals, the body's cover."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer
from clearance_cli.out import say, show

if TYPE_CHECKING:
    from clearance.answers.other import Cover, LoadState, Room
    from clearance.gap.found import Gap
    from clearance.mockup.mockup import MockUp

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


def facts(
    mockup: MockUp, states: Sequence[LoadState], chains: Sequence[Gap], rooms: Sequence[Room], body: Cover | None
) -> dict[str, Any]:
    """Everything that the page says."""
    from clearance_cli.answer_text import gap_json

    return {
        "format": "clearance-other/1",
        "title": mockup.title,
        "warnings": list(mockup.warnings),
        "load_states": [
            {
                "name": s.name,
                "height": round(s.height_mm, 2),
                "bump": round(s.bump_mm, 2),
                "travel_left": round(s.travel_left_mm, 2),
                "on_stop": s.on_stop,
                "gaps": [gap_json(mockup, gap) for gap in s.gaps],
            }
            for s in states
        ],
        "chains": [gap_json(mockup, gap) for gap in chains],
        "rooms": [
            {"name": r.name, "gap": round(r.gap_mm, 2), "required": r.required_mm, "enough": r.enough, "how": r.how}
            for r in rooms
        ],
        "coverage": None
        if body is None
        else {
            "kept": body.kept,
            "tire_out": round(body.tire_out_mm, 2),
            "least": None if body.least_mm == float("-inf") else round(body.least_mm, 2),
            "least_at_deg": body.least_at_deg,
            "bare_deg": list(body.bare_deg),
            "source": body.rule.source,
        },
    }


def page(
    mockup: MockUp,
    states: Sequence[LoadState],
    chains: Sequence[Gap],
    rooms: Sequence[Room],
    body: Cover | None,
) -> str:
    """The same, as a fabricator reads it."""
    from clearance_cli.answer_text import head

    lines = head(mockup)
    if states:
        lines += _states(mockup, states)
    if chains and mockup.terms.chains is not None:
        room = mockup.terms.chains
        title = f"  With chains ({room.name}: {room.tread_mm:g} mm over the tread, {room.side_mm:g} mm over each side)"
        lines += [title, _gap_table(mockup, chains), ""]
    if rooms:
        lines += [_room_table(rooms), ""]
    if body is not None:
        lines += _cover(body)
    return "\n".join(lines).rstrip()


def _states(mockup: MockUp, states: Sequence[LoadState]) -> list[str]:
    from clearance_cli.answer_text import position_words, table, told

    from clearance.answers.checked import binding
    from clearance.units import both

    rows = []
    for state in states:
        gap = binding(state.gaps)
        left = "on the stop" if state.on_stop else both(state.travel_left_mm, digits=0)
        rows.append(
            [
                state.name,
                both(state.height_mm, digits=0),
                left,
                gap.part,
                told(gap),
                both(gap.required_mm, digits=0),
                gap.verdict,
                position_words(mockup, gap),
            ]
        )
    header = ["standing", "height", "travel left", "tightest", "gap", "must keep", "", "at"]
    return ["  Standing at each load, lock to lock (over the whole travel see `check`)", table(header, rows), ""]


def _gap_table(mockup: MockUp, gaps: Sequence[Gap]) -> str:
    from clearance_cli.answer_text import position_words, table, told

    rows = [[g.part, told(g), g.verdict, position_words(mockup, g), g.where] for g in gaps]
    return table(["part", "gap left", "", "at", "where"], rows)


def _room_table(rooms: Sequence[Room]) -> str:
    from clearance_cli.answer_text import table

    from clearance.units import both

    rows = [
        [r.name, both(r.gap_mm), both(r.required_mm, digits=0), "enough" if r.enough else "NOT ENOUGH", r.how]
        for r in rooms
    ]
    return table(["room", "gap", "must keep", "", "how"], rows)


def _cover(body: Cover) -> list[str]:
    from clearance.units import both

    rule = body.rule
    lines = [
        f"  Cover from {rule.ahead_deg:g} deg ahead to {rule.behind_deg:g} deg behind straight up ({rule.source})",
        f"  the tire's outer face stands {both(body.tire_out_mm)} outboard of the hub face",
    ]
    if body.bare_deg:
        lines.append(f"  no cover at all at {len(body.bare_deg)} of the degrees, from {body.bare_deg[0]:+g}")
    if body.least_mm != float("-inf"):
        side = "past the tire" if body.least_mm >= 0 else "short of the tire"
        ahead = "ahead" if body.least_at_deg >= 0 else "behind"
        lines.append(
            f"  the cover ends {both(abs(body.least_mm))} {side} at worst, {abs(body.least_at_deg):g} deg {ahead}"
        )
    kept = "kept" if body.kept else "NOT KEPT"
    return [*lines, f"  The rule is {kept} as written; a rule for the road is your local code, not this file."]
