"""`clearance new`: the measuring sheet asked for in the terminal, letter by letter, and the corner file written.

* answers file - the filled sheet as CSV, kept beside the corner file: what was answered so far is in it, so the
  interview can be left at any letter and taken up again, and a filled one needs no terminal at all
"""

from __future__ import annotations

import os
import sys
from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.out import Progress, note, question, say, show, speak_now, write_all
from clearance_cli.stop import asked

import clearance
from clearance.plain import MOST_TITLE, is_one_line, visible


def command(
    sheet: Annotated[
        str, typer.Argument(metavar="[KIND]", help="What carries the wheel: rear-leaf, front-strut...")
    ] = "",
    depth: Annotated[str, typer.Option(help="How much is measured: standing, travel or links.")] = "",
    links: Annotated[str, typer.Option(help="With --depth links: the kind of suspension whose points are taken.")] = "",
    out: Annotated[Path, typer.Option(help="The corner file to write.")] = Path("corner.toml"),
    unit: Annotated[str, typer.Option(help="What the tape is marked in, for bare numbers: in, mm or cm.")] = "",
    answers: Annotated[Path | None, typer.Option(help="A filled measuring sheet (CSV) instead of questions.")] = None,
    start: Annotated[
        str, typer.Option("--from", help="Start from an example (pickup-rear, roadster-front, hatch-rear) or a CSV.")
    ] = "",
    given: Annotated[
        list[str] | None, typer.Option("--set", metavar="LETTER=VALUE", help='One answer, as G="3 3/4 in"; repeatable.')
    ] = None,
    title: Annotated[str, typer.Option(help="A name for this corner.")] = "",
    corner: Annotated[str, typer.Option(help="front-left, front-right, rear-left or rear-right.")] = "",
    ask: Annotated[bool, typer.Option("--ask/--no-ask", help="Ask in the terminal for what is not given.")] = True,
    overwrite: Annotated[bool, typer.Option(help="Replace a corner file that is already there.")] = False,
    still_open: Annotated[
        bool, typer.Option("--open", help="Say how far each open letter could move the answer; a minute or so.")
    ] = False,
    as_json: Annotated[bool, typer.Option("--json", help="Print only JSON; nothing is asked then.")] = False,
) -> int:
    """Ask for the tape numbers of one corner and write a commented corner file.

    The letters are those of the sheet that `clearance measure` prints, in its order. Leave with "quit" at any letter;
    the same command takes up where it was left. With --answers, or with --set for every letter that is needed,
    nothing is asked.
    """
    if os.path.lexists(out) and not overwrite:
        raise clearance.InputError(f"{out} is already there. Write another --out, or --overwrite.")
    state = out.with_name(f"{out.stem}.answers.csv")
    quiet = _unasked(ask and not as_json, answers, given)
    filled = _filled(answers, state)
    name = " ".join(filter(None, (sheet, depth, links)))
    if not any((name, quiet, filled, start)):
        name = _chosen()
        if not name:
            return 0
    measuring = clearance.measuring(
        name, filled=filled, start=start, title=title, corner=corner, given=given or [], unit=unit, note=note
    )
    if quiet or Sitting(measuring, state).held():
        _written(measuring, out, still_open=still_open, as_json=as_json)
        return 0
    say(f"Kept in {state}; the same command goes on from there.")
    if still_open:
        _say_open(measuring)
    return 0


def _unasked(ask: bool, answers: Path | None, given: list[str] | None) -> bool:
    """Whether no letter is asked for. Raises InputError where one would be and there is no terminal."""
    terminal = sys.stdin.isatty()
    if not ask or answers is not None or (given and not terminal):
        return True
    if not terminal:
        raise clearance.InputError(
            "there is no terminal to ask in. Give --answers FILE.csv, or --set LETTER=VALUE for each."
        )
    return False


def _filled(answers: Path | None, state: Path) -> Path | None:
    """The answers that are given, else those that an earlier interview left."""
    if answers is None and os.path.lexists(state):
        return state
    return answers


def _written(measuring: Any, out: Path, *, still_open: bool, as_json: bool) -> None:
    """The corner file and what goes with it, and what is doubted in it."""
    found = _found_open(measuring, quiet=as_json) if still_open else None
    files, answer = clearance.corner_files(measuring, out, still_open=found)
    for doubt in answer.value.doubts:
        note(doubt)
    write_all(out.parent, files)
    if as_json:
        show(answer.to_dict())
    else:
        say(answer.words())


def _found_open(measuring: Any, *, quiet: bool) -> Any:
    """What is open; where a needed letter is, it is said before the refusal that comes of it."""
    progress = Progress(quiet=quiet)
    answer = clearance.still_open(measuring, progress=progress)
    progress.close()
    if any(one.needed for one in answer.value):
        note(answer.words())
    return answer.value


def _say_open(measuring: Any) -> None:
    progress = Progress()
    answer = clearance.still_open(measuring, progress=progress)
    progress.close()
    say(answer.words("in" if measuring.interview.unit == "in" else None))


def _chosen() -> str:
    """What carries the wheel and how much is measured, asked; empty where the person left."""
    speak_now()
    say("What carries the wheel?")
    carriers, depths = clearance.carriers(), clearance.depths()
    for number, (name, look) in enumerate(carriers.items(), start=1):
        say(f"  {number:>2}  {name}: {look}")
    carrier = _one_of("Its number or its word", list(carriers))
    if not carrier:
        return ""
    say("How much do you want to measure?")
    for number, (name, words) in enumerate(depths.items(), start=1):
        say(f"  {number:>2}  {name}: {words}")
    depth = _one_of("Its number or its word", list(depths))
    return f"{carrier} {depth}" if depth else ""


def _one_of(question: str, choices: list[str]) -> str:
    """One of these by its number or word; empty where the person left."""
    while True:
        text = _read(question)
        if text is None or text.lower() in ("quit", "q"):
            return ""
        if text.isascii() and text.isdigit() and 1 <= int(text) <= len(choices):
            return choices[int(text) - 1]
        if text in choices:
            return text
        say(f"  Write one of {', '.join(choices)}.")


class Sitting:
    """The interview held in a terminal."""

    def __init__(self, measuring: Any, state: Path) -> None:
        self.measuring = measuring
        self.state = state

    def held(self) -> bool:
        """Ask everything that is left; False where the person left."""
        speak_now()
        say(f"{self.measuring.form.words}. Safety first:")
        for caution in self.measuring.cautions:
            say(f"  - {caution}")
        say('Enter keeps what stands in [ ] or leaves a letter out; "?" says how; "back"; "quit" keeps all so far.\n')
        return self._header() and self._letters()

    def _header(self) -> bool:
        known = self.measuring.interview.known
        unit = self.measuring.interview.unit or _one_of(
            f"What is your tape marked in ({', '.join(self.measuring.units)})", list(self.measuring.units)
        )
        if not unit:
            return False
        self.measuring.interview.unit = unit
        while not known.get("title"):
            text = _read("A name for this corner")
            if text is None:
                return False
            if text and not is_one_line(text, MOST_TITLE):
                say(f"  Write one line of at most {MOST_TITLE} letters.")
                continue
            known["title"] = text or "unnamed corner"
        if not known.get("corner"):
            corners = list(self.measuring.corners)
            known["corner"] = _one_of(f"Which corner ({', '.join(corners)})", corners)
        return bool(known["corner"])

    def _letters(self) -> bool:
        interview = self.measuring.interview
        while interview.letter() is not None:
            if heading := interview.heading():
                say(f"\n{heading}")
            does, said = interview.answered(_read(interview.prompt()))
            for words in said:
                say(f"  {words}")
            write_all(self.state.parent, {self.state.name: self.measuring.kept()})
            if does == "leave":
                return False
        return self._near()

    def _near(self) -> bool:
        """What else stands near, named by its letters; then those are asked."""
        interview = self.measuring.interview
        if not (nearby := interview.nearby()):
            return self._other_side()
        say("\nWhat else stands close to tire or rim? Write its letters, or Enter for nothing.")
        for letter in nearby:
            say(f"  {letter.letter}  {letter.name.partition(':')[0]}")
        while True:
            text = _read("Near")
            if text is None or text.lower() in ("quit", "q"):
                return False
            if wrong := interview.name_near(text):
                say(f"  {wrong}")
                continue
            return self._letters()

    def _other_side(self) -> bool:
        """The other wheel of the axle: asked only where it was measured, and "same" taken only where it is written."""
        other = self.measuring.other_side()
        if other.letter() is None:
            return True
        say("\nLeft and right differ, often by 6 to 25 mm (1/4 to 1 in). Was the other side")
        say("measured too? Without it nothing is said of it.")
        answer = _one_of("yes or no", ["yes", "no"])
        if answer != "yes":
            return answer == "no"
        say('Its number; "same" only where you measured it there and it is; Enter where you')
        say("did not.")
        while other.letter() is not None:
            text = _read(other.prompt())
            if text is None or text.lower() in ("quit", "q"):
                return False
            if wrong := other.answered(text):
                say(f"  {wrong}")
            write_all(self.state.parent, {self.state.name: self.measuring.kept()})
        return True


def _read(prompt: str) -> str | None:
    """A line from the terminal, without blanks around it; None at its end or a Ctrl-C."""
    try:
        with asked():
            return input(question(visible(prompt))).strip()
    except (EOFError, KeyboardInterrupt):
        say("")
        return None
    except UnicodeDecodeError:
        say("  that is no text that can be read. Write it again.")
        return _read(prompt)
