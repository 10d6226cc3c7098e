"""The verbs, and the command that they make together: only the one that was asked for is loaded.

`clearance --help` must not wait for numpy, so the verbs and their one-line helps stand here.
"""

from __future__ import annotations

import importlib
import os
from collections.abc import Sequence
from typing import Annotated

import typer
from clearance_cli.out import say

VERBS: dict[str, tuple[str, str]] = {
    "open": ("open", "A page in the browser: drag the backspace and watch the gaps move; leave with the order."),
    "draw": ("draw", "Draw the corner to scale, and full size on request."),
    "measure": ("measure", "Print the blank measuring sheet that `new` asks from."),
    "new": ("new", "Ask for the tape numbers of one corner and write its corner file."),
    "tire": ("tire", "What a tire marking means: dimensions, rims, load, speed, turns per km."),
    "scan": ("scan", "What is in a mesh file, in which unit, and where it stands on the hub."),
    "motion": ("motion", "How the wheel moves: camber, toe, across and along, to hold against the car."),
    "envelope": ("envelope", "The shape that a tub must stay outside of, and templates to build it to."),
    "gauge": ("gauge", "A mock-up to print or cut, bolt to the hub and cycle the suspension with."),
    "check": ("check", "Does everything clear, everywhere in the travel and steering? The main job."),
    "room": ("room", "What a corner could take before it touches, where its travel was not measured."),
    "verify": ("verify", "Does a certificate prove what it says of a corner file?"),
    "window": ("window", "The backspace and offset range that clears, for each rim width, and what binds each end."),
    "largest": ("largest", "The tire sizes that clear at their best backspace, best first."),
    "candidates": ("candidates", "Tires and wheels that can be had, put on the car and ranked."),
    "study": ("study", "A list of tires and wheels on a folder of cars: every combination, here or on a cluster."),
    "relief": ("relief", "How far each part must move, and which way, before it clears; what to cut from a scan."),
    "least-change": (
        "least_change",
        "The smallest single change that clears: spacer, stop, lock, camber, lip, tire; pairs where none does.",
    ),
    "compare": ("compare", "Two files, part by part; left against right; what is on a car now against what is next."),
    "rotate": ("rotate", "Wheels that change places on a car, and the spare where it stands in."),
    "budget": ("budget", "What the uncertainty of every measurement does to the answer, and which to take again."),
    "other": ("other", "Load states, chains, the spare in its well, duals, the body's cover."),
    "order": ("order", "The order card: what to tell the wheel maker, and how each number is measured."),
    "inspect": ("inspect", "The wheels in their boxes: keep, read again, return; a sheet and a CSV to fill."),
}
"""Verb: (module in this package, one-line help). Each module has a function `command`."""

COMPLETES = "_CLEARANCE_COMPLETE"
"""Set where a shell asks how the line goes on."""


def completes(words: Sequence[str]) -> bool:
    """Is it a shell that asks, or somebody who wants it to?"""
    return COMPLETES in os.environ or any(word in ("--show-completion", "--install-completion") for word in words)


def build(asked: str | None) -> typer.Typer:
    """The command with the verb that was asked for in full, and the others by their one line."""
    app = typer.Typer(
        name="clearance",
        help="Does this wheel and tire clear everything, in every position of the axle and the steering?",
        add_completion=True,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        no_args_is_help=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    # a shell asks for the options of whatever verb stands on its line
    completing = COMPLETES in os.environ
    app.callback(invoke_without_command=True)(_top)
    for verb, (module_name, summary) in VERBS.items():
        if verb == asked or completing:
            function = importlib.import_module(f"clearance_cli.{module_name}").command
            app.command(name=verb, short_help=summary)(function)
        else:
            app.command(name=verb, help=summary)(_elsewhere)
    return app


def _top(
    context: typer.Context, version: Annotated[bool, typer.Option("--version", help="Print the version.")] = False
) -> None:
    if version:
        from importlib.metadata import version as installed

        say(f"clearance {installed('wheelwell-clearance')}")
        raise typer.Exit(0)
    if context.invoked_subcommand is None:
        say(context.get_help())


def _elsewhere() -> None:
    """Stands for a verb that was not asked for."""
