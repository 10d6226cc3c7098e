"""The `clearance` command: what becomes of an answer, a refusal, a fault of our own, and a stop.

Exit codes mean what the verbs say: 0 to 3. So nothing else may end in one of them by accident: a fault of the program
is 2 and says that it is one, a stop is 130 or more, and a reader who leaves changes nothing.

Nothing heavy is imported above `main`: a Ctrl-C while a library loads is a stop like any other.
"""

from __future__ import annotations

import contextlib
import gc
import os
import sys

from clearance_cli import stop

# sums in an order that does not depend on how many cores there are, whatever the environment says: the same bytes
# everywhere, and nothing to gain from threads on matrices this small
_THREADS = ("OPENBLAS", "OMP", "MKL", "BLIS")

_MADE_BEFORE_LOOKING = 50_000
"""Objects that can hold others, before Python looks for rings of them; arrays are given back without."""


def main() -> None:
    """The console script."""
    stop.heed()
    _open_what_is_closed()
    os.environ.update({f"{name}_NUM_THREADS": "1" for name in _THREADS}, VECLIB_MAXIMUM_THREADS="1")
    # no plugin of anybody else's has a say in what a corner file means; to look for them takes a tenth of a start
    os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"
    _speak_utf_8()
    _hush_libraries()
    # what is imported stays: to look through it for rubbish again and again takes a tenth of a start
    gc.set_threshold(_MADE_BEFORE_LOOKING, 10, 10)
    code = run()
    _let_go()
    sys.exit(code)


def run(arguments: list[str] | None = None) -> int:
    """Run one command and give its exit code; every refusal is one message on stderr and 2."""
    from clearance_cli.out import Held

    real = sys.stdout
    held = Held(real) if real is not None and not real.isatty() else None
    sys.stdout = held if held is not None else real
    try:
        code = _answered(sys.argv[1:] if arguments is None else arguments)
    finally:
        sys.stdout = real
    return code if held is None else _delivered(held.getvalue(), code)


def _answered(words: list[str]) -> int:
    """The exit code of one command, its lines said and its refusals worded."""
    from clearance_cli.out import note

    try:
        return _asked(words)
    except KeyboardInterrupt:
        note("stopped.")
        return 130
    except MemoryError:
        note("not enough memory for this. Close other programs; a large scan can be cropped or decimated.")
        return 2
    except BaseException as fault:  # whatever it is, it is one message
        from clearance_cli.fault import fault_said

        from clearance.errors import ClearanceError

        note(_capped(str(fault)) if isinstance(fault, ClearanceError) else fault_said(fault))
        return 2


def _asked(words: list[str]) -> int:
    import typer
    from clearance_cli.out import note
    from clearance_cli.verbs import build, completes

    asked = next((word for word in words if not word.startswith("-")), None)
    try:
        result = build(asked)(args=words, prog_name="clearance", standalone_mode=False)
        return result if isinstance(result, int) else 0
    except typer.Exit as left:
        return int(left.exit_code)
    except typer.Abort:
        raise KeyboardInterrupt from None
    except SystemExit as answered:
        # what a shell asks for completion is answered by leaving; anything else that leaves so is at fault
        if not completes(words):
            raise
        return answered.code if isinstance(answered.code, int) else 0
    except typer.TyperException as refused:
        context = getattr(refused, "ctx", None)
        if context is not None:
            note(f"{context.get_usage()}\nTry '{context.command_path} --help'.\n")
        note(_capped(refused.format_message()))
        return 2


MOST_LINES, MOST_ACROSS = 40, 1000
"""Of a refusal: what repeats more of a file than a line was meant for nobody."""


def _capped(message: str) -> str:
    lines = [line if len(line) <= MOST_ACROSS else line[: MOST_ACROSS - 3] + "..." for line in message.split("\n")]
    return "\n".join(lines if len(lines) <= MOST_LINES else [*lines[: MOST_LINES - 1], "..."])


# ---- the ends of the pipe


def _delivered(text: str, code: int) -> int:
    """Hand over what was held back. A reader who left changes nothing; an answer that cannot be handed over is none."""
    from clearance_cli.out import note

    if not text:
        return code
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        _point_away(1)
    except (OSError, ValueError):
        _point_away(1)
        note("the answer could not be written to where it was sent: the disk is full, or it cannot be written to.")
        return 2
    return code


def _let_go() -> None:
    """Nothing may be left that Python would try to write, and fail to, on its way out."""
    for number, stream in ((1, sys.stdout), (2, sys.stderr)):
        try:
            if stream is not None:
                stream.flush()
        except (OSError, ValueError):
            _point_away(number)


def _point_away(number: int) -> None:
    with contextlib.suppress(OSError):
        os.dup2(os.open(os.devnull, os.O_WRONLY), number)


def _open_what_is_closed() -> None:
    """A standard stream that was closed: the next file to be opened must not become it."""
    for number in (0, 1, 2):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)


def _speak_utf_8() -> None:
    """The same bytes wherever they are sent; a terminal has its own letters."""
    for stream in (sys.stdout, sys.stderr):
        reconfigure = getattr(stream, "reconfigure", None)
        if reconfigure is not None and stream.isatty():
            reconfigure(errors="backslashreplace")
        elif reconfigure is not None:
            reconfigure(encoding="utf-8", errors="backslashreplace", newline="\n")


def _hush_libraries() -> None:
    """What a library has to say is for those who write it."""
    import logging
    import warnings

    logging.disable(logging.CRITICAL)
    if not sys.warnoptions:
        warnings.simplefilter("ignore")


if __name__ == "__main__":
    main()
