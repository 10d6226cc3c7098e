"""Other clearances of the same tire."""

from __future__ import annotations

from collections.abc import Sequence

from clearance.answers.checked import binding
from clearance.answers.other import Cover, LoadState, Room
from clearance.gap.found import Gap
from clearance.mockup.mockup import MockUp
from clearance.units import both
from clearance.words.text import head, place_words, position_words, table, told


def page(
    mockup: MockUp,
    states: Sequence[LoadState],
    chains: Sequence[Gap],
    rooms: Sequence[Room],
    body: Cover | None,
) -> str:
    """The same, as a fabricator reads it."""

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

    rows = [[g.part, told(g), g.verdict, position_words(mockup, g), place_words(mockup, g)] for g in gaps]
    return table(["part", "gap left", "", "at", "where"], rows)


def _room_table(rooms: Sequence[Room]) -> str:

    rows = [
        [r.name, both(r.gap_mm), both(r.required_mm, digits=0), "enough" if r.enough else "NOT ENOUGH", r.how]
        for r in rooms
    ]
    return table(["room", "gap", "must keep", "", "how"], rows)


def _cover(body: Cover) -> list[str]:

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
