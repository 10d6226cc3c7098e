"""From a tape to a corner file: the sheets, the interview, and the file that the answers make."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from clearance.door.answer import Answer
from clearance.errors import CornerFileError, InputError
from clearance.plain import echoed, quoted

if TYPE_CHECKING:
    from clearance.report.forms import Form
    from clearance.report.interview import Interview
    from clearance.report.letters import Letter
    from clearance.report.other_side import OtherSide
    from clearance.report.still_open import OpenLetter


_PICTURE_SCALE = 0.14
"""Of a view on a screen, so that its letters can be read on a phone."""


def carriers() -> dict[str, str]:
    """What can carry a wheel, by the word for its sheet: how to know it from under the car."""
    from clearance.report.forms import CARRIERS

    return {name: carrier.look for name, carrier in CARRIERS.items()}


def carrier_files(*, paper: str = "letter") -> tuple[dict[str, bytes], Answer[Mapping[str, str]]]:
    """A page with a picture of everything that can carry a wheel, as a PDF, and how to know each.

    Raises OutputError for a paper that is not known.
    """
    from clearance.facts.carriers import facts
    from clearance.report.carried import carriers_page
    from clearance.words.sheet import carriers_page as page

    files = {"carriers.pdf": carriers_page(paper)}
    said = facts(carriers(), sorted(files))
    return files, Answer(value=carriers(), told=partial(page, said), plain=lambda: said, listed="carriers")


def depths() -> dict[str, str]:
    """How much can be measured, and what the answer then stands on."""
    from clearance.report.letters import DEPTHS

    return dict(DEPTHS)


def sheet_files(
    kind: str, *, depth: str = "", links: str = "", unit: str = "in", paper: str = "letter"
) -> tuple[dict[str, bytes], Answer[str]]:
    """The blank measuring sheet of one kind of corner, as a PDF and as a CSV to fill in.

    Raises InputError for a kind of corner, a depth, a unit or a paper that is not known.
    """
    from clearance.facts.measure import facts
    from clearance.report.forms import form_of
    from clearance.report.measuring_sheet import answers_csv, measuring_sheet
    from clearance.words.sheet import page

    form = form_of(kind, depth, links)
    name = f"measuring-{form.name.replace(' ', '-')}"
    files = {
        f"{name}.pdf": measuring_sheet(form, unit=unit, paper=paper),
        f"{name}.csv": answers_csv(form, unit=unit),
    }
    needed = [letter.letter for letter in form.letters if form.needs(letter)]
    then = f"clearance new {form.options} --out my-corner.toml"
    said = facts(form.name, form.words, then, needed, sorted(files))
    return files, Answer(value=form.name, told=partial(page, said), plain=lambda: said)


@dataclass(slots=True, kw_only=True)
class Measuring:
    """A sheet on its way: what is answered, and what is still to be asked."""

    form: Form
    interview: Interview

    @property
    def known(self) -> dict[str, str]:
        """Letter, "title" or "corner": what was written, with its unit."""
        return self.interview.known

    @property
    def cautions(self) -> tuple[str, ...]:
        """What holds before a hub is moved."""
        from clearance.report.letters import CAUTIONS

        return CAUTIONS

    @property
    def units(self) -> tuple[str, ...]:
        """What a tape may be marked in."""
        from clearance.report.measuring_sheet import UNITS

        return UNITS

    @property
    def corners(self) -> tuple[str, ...]:
        """The four."""
        from clearance.mockup.mockup import CORNERS

        return CORNERS

    def other_side(self) -> OtherSide:
        """The other wheel of the axle, to be asked."""
        from clearance.report.other_side import OtherSide

        return OtherSide(self.form, self.known, self.interview.unit)

    def picture(self, letter: str) -> str:
        """The view that a letter stands on, with it lit, as SVG. Raises InputError for a letter that is none."""
        from clearance.export.svg import picture
        from clearance.report.drawn import CAPTIONS, lit_view

        found = self._letter(letter)
        view, drawing = lit_view(self.form, found, _PICTURE_SCALE)
        return picture(drawing, title=f"{letter}, {found.name}", description=CAPTIONS[view])

    def asked(self, letter: str, text: str) -> tuple[str, list[str]]:
        """An answer to any letter that is asked: what it does ("on", "again"), and what is said to it.

        Raises InputError for a letter that is none.
        """
        from clearance.report.interview import IN_A_TERMINAL

        letters = [one.letter for one in self.interview.letters()]
        if letter not in letters:
            raise InputError(f"{echoed(letter)} is no letter that is asked here.")
        if self.interview.place != letters.index(letter):
            self.interview.place, self.interview.doubted = letters.index(letter), ""
        # what leaves or turns back in a terminal is no answer on a page
        held = "" if text.strip().lower() in ("back", "quit", "q") else text.strip()
        does, said = self.interview.answered(held)
        return does, [words.removesuffix(IN_A_TERMINAL) for words in said]

    def rows(self) -> list[dict[str, Any]]:
        """Every letter that is asked as far as it is known now, with what is written beside it."""
        from clearance.report.answers import needed_now
        from clearance.report.measuring_sheet import unit_of

        return [
            {
                "letter": one.letter,
                "name": one.name,
                "group": one.group,
                "how": one.how,
                "left_out": one.left_out,
                "measure": one.measure,
                "choices": list(one.choices),
                "unit": unit_of(one, self.interview.unit),
                "needed": needed_now(self.form, one, self.known),
                "answer": self.known.get(one.letter, ""),
            }
            for one in self.interview.letters()
        ]

    def _letter(self, letter: str) -> Letter:
        for one in self.form.letters:
            if one.letter == letter:
                return one
        raise InputError(f"{echoed(letter)} is no letter of this sheet.")

    def kept(self) -> bytes:
        """The filled sheet as CSV, to be taken up again."""
        from clearance.report.measuring_sheet import answers_csv

        return answers_csv(self.form, unit=self.interview.unit or "in", answers=self.known)


def measuring(
    sheet: str = "",
    *,
    filled: str | Path | None = None,
    start: str = "",
    title: str = "",
    corner: str = "",
    given: Sequence[str] = (),
    unit: str = "",
    note: Callable[[str], None] = lambda _: None,
) -> Measuring:
    """A sheet with what is answered already: in a filled CSV, an example, or as LETTER=VALUE.

    Raises InputError for a sheet, a file, a letter or a value that is none.
    """
    from clearance.opener import text_of
    from clearance.report.answers import read_csv
    from clearance.report.forms import form_of
    from clearance.report.interview import Interview

    found: Form | None = None
    known: dict[str, str] = {}
    if filled is not None:
        found, known = read_csv(text_of(filled), named=str(filled), note=note)
        note(f"Read {filled}: {sum(key not in ('title', 'corner') for key in known)} letters answered.")
    elif start:
        found, known = read_csv(_example(start), named=start, note=note)
    form = _one_form(form_of(sheet) if sheet else None, found, str(filled or start))
    known.update({key: text for key, text in (("title", title), ("corner", corner)) if text})
    for flag in given:
        _set(form, known, flag, unit)
    return Measuring(form=form, interview=Interview(form, known, unit))


def still_open(
    measuring: Measuring, *, progress: Callable[[int, int, str], None] = lambda *_: None
) -> Answer[tuple[OpenLetter, ...]]:
    """What is open on a sheet, and how far each letter could move the answer, most first; a minute where it steers."""
    from clearance.facts.open_letters import open_facts
    from clearance.report.still_open import still_open as asked
    from clearance.words.open_letters import open_page

    found = asked(measuring.form, measuring.known, progress=progress)
    told = open_facts(found)
    return Answer(value=found, told=lambda: "\n".join(open_page(told)), plain=lambda: {"open": told})


def _one_form(asked: Form | None, found: Form | None, where: str) -> Form:
    from clearance.report.forms import CARRIERS

    if asked is not None and found is not None and asked.name != found.name:
        raise InputError(
            f"{where} is a sheet for {found.name}, not {asked.name}. Leave {asked.name} out, or use another file."
        )
    form = asked or found
    if form is None:
        kinds = "; ".join(f"{name} ({carrier.words})" for name, carrier in CARRIERS.items())
        raise InputError(f"which kind of corner? Write clearance new KIND, one of: {kinds}.")
    return form


def _example(name: str) -> str:
    from importlib.resources import files

    from clearance.opener import text_of

    examples = {
        item.name.removeprefix("example_").removesuffix(".csv"): item
        for item in files("clearance.report").iterdir()
        if item.name.startswith("example_")
    }
    if name in examples:
        return examples[name].read_text(encoding="utf-8")
    if os.path.lexists(name):
        return text_of(Path(name))
    raise InputError(
        f"there is no example {echoed(name)} and no such file. Write one of {', '.join(sorted(examples))}."
    )


def _set(form: Form, known: dict[str, str], flag: str, unit: str) -> None:
    from clearance.report.answers import OTHER, of_other_side, written

    key, equals, text = flag.partition("=")
    words = key.upper().split()
    key, other = (words or [""])[0], words[1:] == ["OTHER"]
    letters = {letter.letter: letter for letter in form.letters}
    if not equals or key not in letters or len(words) > 1 + other:
        raise InputError(f"--set {echoed(flag)} cannot be read. Write LETTER=VALUE with one of {', '.join(letters)}.")
    try:
        if other:
            known[f"{key}{OTHER}"] = of_other_side(letters[key], text, unit or None)
        else:
            known[key] = written(letters[key], text, unit or None)
    except InputError as wrong:
        raise InputError(f"--set {key} ({letters[key].name}): {wrong}") from None


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """A corner file that the answers make."""

    text: str
    doubts: tuple[str, ...]
    """What should be looked at again."""
    sheet: str


def corner_files(
    measuring: Measuring, out: str | Path, *, still_open: Sequence[Any] | None = None
) -> tuple[dict[str, bytes], Answer[Written]]:
    """The corner file and the filled sheet beside it, by their names; the corner has been read once.

    With what `still_open` found, the answer says it. Raises InputError with the letters for what lacks or cannot be.
    """
    from clearance.facts.new import facts
    from clearance.report.answers import doubts, missing
    from clearance.report.corner_text import corner_text
    from clearance.words.sheet import written_page

    form, known, place = measuring.form, measuring.known, Path(out)
    if lacking := missing(form, known):
        raise InputError(f"still needed: {'; '.join(lacking)}.")
    found = doubts(form, known)
    for doubt in found:
        if doubt.stops:
            raise InputError(f"{' and '.join(doubt.letters)}: {doubt.words}")
    text = corner_text(form, known)
    _hold(text, place)
    other, other_file, lacks = _other_files(form, known, place)
    state = place.with_name(f"{place.stem}.answers.csv")
    left_out = [letter.letter for letter in form.letters if not known.get(letter.letter)]
    asked_about = [f"check {', '.join(doubt.letters)}: {doubt.words}" for doubt in found]
    said = facts(form.name, form.depth, str(place), str(state), left_out, asked_about, still_open or ())
    car = _car_of(place, Path(other_file)) if other_file else {}
    car_file = next((str(place.with_name(name)) for name in car), None)
    said |= {"other_side": other_file, "other_side_lacks": lacks, "car_file": car_file}
    files = {place.name: text.encode(), **other, **car, state.name: measuring.kept()}
    value = Written(text=text, doubts=tuple(asked_about), sheet=form.name)
    return files, Answer(
        value=value, told=partial(written_page, said, with_open=still_open is not None), plain=lambda: said
    )


def _car_of(place: Path, other: Path) -> dict[str, bytes]:
    """The car file of one axle, of which both sides have a corner file beside it."""
    there = other.stem.removeprefix(f"{place.stem}-")
    axle, side = there.split("-")
    here = f"{axle}-{'left' if side == 'right' else 'right'}"
    rows = ["# Both sides of the axle, each from its own file. What the car has once goes into [car].", ""]
    for corner, file in sorted(((here, place.name), (there, other.name))):
        rows += [f"[corner.{corner}]", f"file = {quoted(file, 1000)}", ""]
    return {f"{place.stem}-car.toml": "\n".join(rows).encode()}


def _other_files(
    form: Form, known: dict[str, str], place: Path
) -> tuple[dict[str, bytes], str | None, list[str] | None]:
    """The corner file of the other side, its name, and what it lacks; of what was said of that side alone."""
    from clearance.report.answers import doubts
    from clearance.report.corner_text import corner_text
    from clearance.report.other_side import is_told, lacking, other_answers

    if not is_told(known):
        return {}, None, None
    if lacks := lacking(form, known):
        return {}, None, list(lacks)
    answers = other_answers(form, known)
    for doubt in doubts(form, answers):
        if doubt.stops:
            raise InputError(f"other side, {' and '.join(doubt.letters)}: {doubt.words}")
    name = f"{place.stem}-{answers['corner']}.toml"
    text = corner_text(form, answers)
    _hold(text, place.with_name(name))
    return {name: text.encode()}, str(place.with_name(name)), []


def _hold(text: str, out: Path) -> None:
    """Refuses answers that make a corner file which every other verb would refuse; with the letter that it is about."""
    from clearance.description.load import of_text

    try:
        of_text(text, out)
    except CornerFileError as wrong:
        rows = text.splitlines()
        row = rows[wrong.line - 1] if wrong.line and wrong.line <= len(rows) else ""
        about = row.partition("# ")[2] or row.strip() or wrong.key
        raise InputError(f"these answers make no corner. {about}:\n  {wrong.message}") from None
