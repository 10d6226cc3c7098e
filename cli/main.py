"""The `clearance` command: one verb per file, loaded only when it is asked for.

`clearance --help` must not wait for numpy, so the verbs and their one-line helps stand here and only the verb that was
asked for is imported. Every refusal ends here: one message on stderr, exit code 2, no traceback.
"""

from __future__ import annotations

import errno
import importlib
import os
import sys
from typing import Annotated, Any

import typer

# sums in an order that does not depend on how many cores there are: the same bytes everywhere, and nothing to gain
# from threads on matrices this small
for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS", "VECLIB_MAXIMUM_THREADS"):
    os.environ.setdefault(_threads, "1")

VERBS: dict[str, tuple[str, str]] = {
    "draw": ("draw", "Draw the corner to scale, and full size on request."),
    "measure": ("measure", "Print the blank measuring sheet that `new` asks from."),
    "new": ("new", "Ask for the tape numbers of one corner and write its corner file."),
    "tire": ("tire", "What a tire marking means: dimensions, rims, load, speed, turns per km."),
    "scan": ("scan", "What is in a mesh file, in which unit, and where it stands on the hub."),
    "motion": ("motion", "How the wheel moves: camber, toe, across and along, to hold against the car."),
    "envelope": ("envelope", "The shape that a tub must stay outside of, and templates to build it to."),
    "gauge": ("gauge", "A mock-up to print or cut, bolt to the hub and cycle the suspension with."),
    "check": ("check", "Does everything clear, everywhere in the travel and steering? The main job."),
    "verify": ("verify", "Does a certificate prove what it says of a corner file?"),
    "window": ("window", "The backspace and offset range that clears, for each rim width, and what binds each end."),
    "largest": ("largest", "The tire sizes that clear at their best backspace, best first."),
    "relief": ("relief", "How far each part must move, and which way, before it clears; what to cut from a scan."),
    "least-change": (
        "least_change",
        "The smallest single change that clears: spacer, stop, lock, camber, lip, tire; pairs where none does.",
    ),
    "compare": ("compare", "Two corner files or findings, part by part; the left of one car against its right."),
    "budget": ("budget", "What the uncertainty of every measurement does to the answer, and which to take again."),
    "other": ("other", "Load states, chains, the spare in its well, duals, the body's cover."),
    "order": ("order", "The order card: what to tell the wheel maker, and how each number is measured."),
    "inspect": ("inspect", "The wheels in their boxes against the order and each other: accept, re-measure, return."),
}
"""Verb: (module in this package, one-line help). Each module has a function `command`."""


def build(asked: str | None) -> typer.Typer:
    """The command with the verb that was asked for in full, and the others by their one line."""
    app = typer.Typer(
        name="clearance",
        help="Does this wheel and tire clear everything, in every position of the axle and the steering?",
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
        no_args_is_help=False,
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback(invoke_without_command=True)(_top)
    for verb, (module_name, summary) in VERBS.items():
        if verb == asked:
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

        typer.echo(f"clearance {installed('wheelwell-clearance')}")
        raise typer.Exit(0)
    if context.invoked_subcommand is None:
        typer.echo(context.get_help())


def _elsewhere() -> None:
    """Stands for a verb that was not asked for."""


def run(arguments: list[str] | None = None) -> int:
    """Run one command and give its exit code; every refusal is one message on stderr and 2."""
    from clearance.errors import ClearanceError

    words = sys.argv[1:] if arguments is None else arguments
    asked = next((word for word in words if not word.startswith("-")), None)
    try:
        result: Any = build(asked)(args=words, prog_name="clearance", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except typer.Exit as left:
        return left.exit_code
    except (typer.Abort, KeyboardInterrupt):
        _say("stopped.")
        return 130
    except typer.TyperException as refused:
        show = getattr(refused, "show", None)  # with the usage line, where the refusal is about how it was called
        if show is None:
            _say(refused.format_message())
        else:
            show()
        return 2
    except ClearanceError as refused:
        _say(str(refused))
        return 2
    except BrokenPipeError:
        # whoever was reading has left: nothing more to say, and nowhere to say it
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except MemoryError:
        _say("not enough memory for this. Decimate or crop the scan, or close other programs.")
        return 2
    except OSError as refused:
        _say(_file_trouble(refused))
        return 2


def _file_trouble(trouble: OSError) -> str:
    name = trouble.filename or "a file"
    if trouble.errno == errno.ENOSPC:
        return f"{name}: the disk is full. Nothing was left half-written; free some space or choose another --out."
    return f"{name}: {trouble.strerror or trouble}."


def _say(message: str) -> None:
    typer.echo(message, err=True)


def main() -> None:
    """The console script."""
    sys.exit(run())


if __name__ == "__main__":
    main()
