"""What trials found, kept in `found.json`, and the page that says it: docs/mutants.md."""

from __future__ import annotations

import json
import tomllib
from pathlib import Path

from tests.mutation.rooms import ROOMS
from tests.mutation.trial import ROOT, Tried

_HERE = Path(__file__).parent
FOUND, PAGE = _HERE / "found.json", ROOT / "docs" / "mutants.md"
Survivor = dict[str, str]

_HEAD = """# Mutants: would a test notice?

A mutant is a module with one small fault put in: `<` made `<=`, a sign turned, a number one off, a `not` too many.
Each is tried against the tests of its room (`tests/mutation/rooms.py` says which), until the first of them fails.
Written by `make mutants` (`python -m tests.mutation --write`); do not edit by hand.

* mutants - how many places there are to change; annotations, words of decorators and bare stars are passed over
* tried - a sample of the mutants, drawn with a seed: the same one for the same seed, size and text of the module
* killed - a test failed, or came to no end within four times its time
* explained - noticed by no test, and rightly: what changes is nothing that the room promises. Listed below, with why
* left - noticed by no test of the room, without an explanation: listed below too
* share - killed of those tried that are not explained

A row is made by `python -m tests.mutation --write --seed SEED --each TRIED MODULE`. The tests of a room are those of
its row in that table alone: others, the judge and the oracles among them, may well notice what is left. What was not
tried is not known, and a row holds for the text that the module had when it was tried.

"""
_COLUMNS = ("module", "mutants", "tried", "seed", "killed", "explained", "left", "share")


def explained() -> list[Survivor]:
    """Rows of module, was, now, why."""
    rows: list[Survivor] = tomllib.loads((_HERE / "explained.toml").read_text())["same"]
    return rows


def why_of(module: str, was: str, now: str) -> str:
    """Why a survivor changes nothing that is promised; empty where nobody has said so."""
    rows = (row for row in explained() if row["module"] == module)
    return next((row["why"] for row in rows if (row["was"], row["now"]) == (was, now)), "")


def kept(found: dict[str, dict], module: str, places: int, seed: int, trials: list[Tried]) -> None:  # type: ignore[type-arg]
    """Note what the trials of a room found."""
    survivors = sorted({(t.mutant.line, t.mutant.was, t.mutant.now) for t in trials if t.end == "survived"})
    found[module] = {
        "mutants": places,
        "tried": len(trials),
        "seed": seed,
        "survived": [{"was": was, "now": now} for _, was, now in survivors],
    }


def page() -> str:
    """The whole of docs/mutants.md."""
    found = json.loads(FOUND.read_text())
    lines = [
        "| module | mutants | tried | seed | killed | explained | left | share |",
        "|---|---|---|---|---|---|---|---|",
    ]
    same, left = [], []
    for module in (room.module for room in ROOMS):
        if module not in found:
            lines.append(f"| `{module}` | | none | | | | | |")
            continue
        row = found[module]
        reasons = [(s, why_of(module, s["was"], s["now"])) for s in row["survived"]]
        same += [f"* `{module}`: `{s['was']}` -> `{s['now']}`: {why}" for s, why in reasons if why]
        left += [f"* `{module}`: `{s['was']}` -> `{s['now']}`" for s, why in reasons if not why]
        said = sum(1 for _, why in reasons if why)
        killed = row["tried"] - len(reasons)
        share = killed / max(row["tried"] - said, 1)
        numbers = (row["mutants"], row["tried"], row["seed"], killed, said, len(reasons) - said, f"{share:.0%}")
        lines.append(f"| `{module}` | " + " | ".join(map(str, numbers)) + " |")
    parts = ["\n".join(lines), "## Explained", "\n".join(same) or "None.", "## Left", "\n".join(left) or "None."]
    return _HEAD + "\n\n".join(parts) + "\n"
