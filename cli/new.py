"""`clearance new`: the measuring sheet asked for in the terminal, letter by letter, and the corner file written.

* answers file - the filled sheet as CSV, kept beside the corner file: what was answered so far is in it, so the
  interview can be left at any letter and taken up again, and a filled one needs no terminal at all
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path
from typing import Annotated, Any

import typer
from clearance_cli.out import note, say, speak_now, write_all
from clearance_cli.stop import asked

from clearance.plain import MOST_TITLE, echoed, is_one_line, visible

Answers = dict[str, str]


def command(
    sheet: Annotated[str, typer.Argument(metavar="[KIND]", help="rear-leaf, rear or front.")] = "",
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
) -> int:
    """Ask for the tape numbers of one corner and write a commented corner file.

    The letters are those of the sheet that `clearance measure` prints, in its order. Leave with "quit" at any letter;
    the same command takes up where it was left. With --answers, or with --set for every letter that is needed,
    nothing is asked.
    """
    from clearance.errors import InputError

    if os.path.lexists(out) and not overwrite:
        raise InputError(f"{out} is already there. Write another --out, or --overwrite.")
    sheet, known = _collected(sheet, _state_file(out), answers, start, title, corner)
    _add_flags(sheet, known, given or [], unit)
    quiet = answers is not None or not ask or (bool(given) and not sys.stdin.isatty())
    if not quiet:
        if not sys.stdin.isatty():
            raise InputError("there is no terminal to ask in. Give --answers FILE.csv, or --set LETTER=VALUE for each.")
        if not Interview(sheet, known, unit, _state_file(out)).held():
            say(f"Kept in {_state_file(out)}; the same command goes on from there.")
            return 0
    return _written(sheet, known, out, unit)


def _state_file(out: Path) -> Path:
    return out.with_name(f"{out.stem}.answers.csv")


def _collected(
    sheet: str, state: Path, filled: Path | None, start: str, title: str, corner: str
) -> tuple[str, Answers]:
    """The kind of corner and what is already answered: by the filled sheet, an earlier sitting or the example."""
    from clearance.errors import InputError
    from clearance.report.answers import read_csv
    from clearance.report.letters import SHEETS, letters_of

    source = filled or (state if os.path.lexists(state) else None)
    known: Answers = {}
    if source is not None:
        found, known = read_csv(_text_of(source), named=str(source), note=note)
        note(f"{'Read' if filled else 'Taking up'} {source}: {_count(known)} letters answered.")
    elif start:
        found, known = read_csv(_example(start), named=start, note=note)
    else:
        found = ""
    if sheet and found and sheet != found:
        raise InputError(
            f"{source or start} is a sheet for {found}, not {sheet}. Leave {sheet} out, or use another file."
        )
    chosen = sheet or found
    if not chosen:
        kinds = "; ".join(f"{name} ({words})" for name, words in SHEETS.items())
        raise InputError(f"which kind of corner? Write clearance new KIND, one of: {kinds}.")
    letters_of(chosen)
    known.update({key: text for key, text in (("title", title), ("corner", corner)) if text})
    return chosen, known


def _count(known: Mapping[str, str]) -> int:
    return len([key for key in known if key not in ("title", "corner")])


def _text_of(path: Path) -> str:
    from clearance.opener import text_of

    return text_of(path)


def _example(name: str) -> str:
    from importlib.resources import files

    from clearance.errors import InputError

    examples = {
        item.name.removeprefix("example_").removesuffix(".csv"): item
        for item in files("clearance.report").iterdir()
        if item.name.startswith("example_")
    }
    if name in examples:
        return examples[name].read_text(encoding="utf-8")
    if os.path.lexists(name):
        return _text_of(Path(name))
    raise InputError(
        f"there is no example {echoed(name)} and no such file. Write one of {', '.join(sorted(examples))}."
    )


def _add_flags(sheet: str, known: Answers, given: list[str], unit: str) -> None:
    from clearance.errors import InputError
    from clearance.report.answers import written
    from clearance.report.letters import letters_of

    letters = {letter.letter: letter for letter in letters_of(sheet)}
    for flag in given:
        key, equals, text = flag.partition("=")
        key = key.strip().upper()
        if not equals or key not in letters:
            raise InputError(
                f"--set {echoed(flag)} cannot be read. Write LETTER=VALUE with one of {', '.join(letters)}."
            )
        try:
            known[key] = written(letters[key], text, unit or None)
        except InputError as wrong:
            raise InputError(f"--set {key} ({letters[key].name}): {wrong}") from None


def _written(sheet: str, known: Answers, out: Path, unit: str) -> int:
    """Write the corner file and the answers beside it, or refuse with what is missing or cannot be."""

    from clearance.errors import InputError
    from clearance.report.answers import doubts, missing
    from clearance.report.corner_text import corner_text
    from clearance.report.measuring_sheet import answers_csv

    lacking = missing(sheet, known)
    if lacking:
        raise InputError(f"still needed: {'; '.join(lacking)}.")
    found = doubts(sheet, known)
    for doubt in found:
        if doubt.stops:
            raise InputError(f"{' and '.join(doubt.letters)}: {doubt.words}")
        note(f"check {', '.join(doubt.letters)}: {doubt.words}")
    text = corner_text(sheet, known)
    _hold(text, out)
    state = _state_file(out)
    write_all(out.parent, {out.name: text.encode(), state.name: answers_csv(sheet, unit=unit or "in", answers=known)})
    say(f"{out}: written. The answers are kept in {state}.")
    say(f"Read it through, then: clearance check {out} --out {out.stem}")
    return 0


def _hold(text: str, out: Path) -> None:
    """Refuses answers that make a corner file which every other verb would refuse; with the letter that it is about."""
    from clearance.description.load import of_text
    from clearance.errors import CornerFileError, InputError

    try:
        of_text(text, out)
    except CornerFileError as wrong:
        rows = text.splitlines()
        row = rows[wrong.line - 1] if wrong.line and wrong.line <= len(rows) else ""
        about = row.partition("# ")[2] or row.strip() or wrong.key
        raise InputError(f"these answers make no corner. {about}:\n  {wrong.message}") from None


class Interview:
    """One sitting: the letters that are left, in the order of the sheet."""

    def __init__(self, sheet: str, known: Answers, unit: str, state: Path) -> None:
        from clearance.report.letters import letters_of

        self.sheet = sheet
        self.known = known
        self.unit = unit
        self.state = state
        self.letters = letters_of(sheet)

    def held(self) -> bool:
        """Ask everything that is left; False where the person left."""
        from clearance.report.letters import CAUTIONS, SHEETS

        speak_now()
        say(f"{SHEETS[self.sheet]}. Safety first:")
        for caution in CAUTIONS:
            say(f"  - {caution}")
        say('Enter keeps what stands in [ ] or leaves a letter out; "?" says how; "back"; "quit" keeps all so far.\n')
        return self._header() and self._every_letter()

    def _header(self) -> bool:
        from clearance.mockup.mockup import CORNERS
        from clearance.report.measuring_sheet import UNITS

        if not self.unit and not self._choose("What is your tape marked in", UNITS, "unit"):
            return False
        self.unit = self.unit or self.known.pop("unit", "")
        while not self.known.get("title"):
            text = self._read("A name for this corner")
            if text is None:
                return False
            if text and not is_one_line(text, MOST_TITLE):
                say(f"  Write one line of at most {MOST_TITLE} letters.")
                continue
            self.known["title"] = text or "unnamed corner"
        return bool(self.known.get("corner")) or self._choose("Which corner", CORNERS, "corner")

    def _choose(self, question: str, choices: tuple[str, ...], key: str) -> bool:
        while True:
            text = self._read(f"{question} ({', '.join(choices)})")
            if text is None:
                return False
            if text in choices:
                self.known[key] = text
                return True
            say(f"  Write one of {', '.join(choices)}.")

    def _every_letter(self) -> bool:
        place, group = 0, ""
        while place < len(self.letters):
            letter = self.letters[place]
            if letter.group != group:
                group = letter.group
                say(f"\n{group}")
            step = self._one(letter)
            self._save()
            if step is None:
                return False
            place = max(0, place + step)
        return True

    def _one(self, letter: Any) -> int | None:
        """Ask one letter until it is answered or left: how far to go on, or None to leave."""
        doubted = ""
        while True:
            text = self._read(self._prompt(letter))
            if text is None or text.lower() in ("quit", "q"):
                return None
            if text.lower() == "back":
                return -1
            if text == "?":
                say(f"  {letter.how}")
                continue
            if text and text != doubted and not self._take(letter, text):
                continue
            if not text and not self._may_leave(letter):
                continue
            words = self._doubt(letter)
            if not words or (text == "" and doubted) or text == doubted != "":
                return 1
            say(words)
            if words.endswith("again."):
                self.known.pop(letter.letter, None)
            else:
                doubted = text or self.known.get(letter.letter, "")

    def _prompt(self, letter: Any) -> str:
        from clearance.report.answers import needed_now
        from clearance.report.measuring_sheet import unit_of

        kept = f" [{self.known[letter.letter]}]" if self.known.get(letter.letter) else ""
        unit = unit_of(letter, self.unit)
        star = " *" if needed_now(letter, self.known) and not kept else ""
        return f"{letter.letter:>2}  {letter.name}{f' ({unit})' if unit else ''}{star}{kept}"

    def _take(self, letter: Any, text: str) -> bool:
        from clearance.errors import InputError
        from clearance.report.answers import value_of, written
        from clearance.report.letters import LENGTH
        from clearance.report.measuring_sheet import unit_of
        from clearance.units import both

        try:
            self.known[letter.letter] = written(letter, text, unit_of(letter, self.unit))
        except InputError as wrong:
            say(f"  {wrong}")
            return False
        if letter.measure == LENGTH:
            say(f"      {both(value_of(self.known, letter.letter) or 0.0)}")
        return True

    def _may_leave(self, letter: Any) -> bool:
        from clearance.report.answers import needed_now

        if self.known.get(letter.letter):
            return True
        if needed_now(letter, self.known):
            say('  This one is needed. "?" says how to take it; "quit" keeps what you have.')
            return False
        say(f"      left out: {letter.left_out}.")
        return True

    def _doubt(self, letter: Any) -> str:
        """What is wrong or odd about this letter, with what to do; empty where nothing is."""
        from clearance.report.answers import doubts

        for doubt in doubts(self.sheet, self.known):
            if letter.letter in doubt.letters and self.known.get(letter.letter):
                if doubt.stops:
                    return f"  {' and '.join(doubt.letters)}: {doubt.words} Write it again."
                return f"  {', '.join(doubt.letters)}: {doubt.words} Enter keeps it, or write another."
        return ""

    def _read(self, prompt: str) -> str | None:
        """A line from the terminal, without blanks around it; None at its end or a Ctrl-C."""
        try:
            with asked():
                return input(f"{visible(prompt)}: ").strip()
        except (EOFError, KeyboardInterrupt):
            say("")
            return None
        except UnicodeDecodeError:
            say("  that is no text that can be read. Write it again.")
            return self._read(prompt)

    def _save(self) -> None:

        from clearance.report.measuring_sheet import answers_csv

        content = answers_csv(self.sheet, unit=self.unit or "in", answers=self.known)
        write_all(self.state.parent, {self.state.name: content})
