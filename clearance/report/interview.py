"""The measuring sheet asked for letter by letter: which comes next, what an answer does, what is said to it.

It neither reads nor prints. The terminal and a page both put its questions and hand back what a person wrote.

* known - letter: answer, with "title" and "corner"; it can be kept at any moment and taken up again
* near  - the letters of what else stands near, as the person named them
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field

from clearance.errors import InputError
from clearance.report.answers import doubts, needed_now, value_of, written
from clearance.report.forms import Form
from clearance.report.letters import KEEP, LENGTH, PLACE, Letter
from clearance.report.measuring_sheet import unit_of
from clearance.units import both

BACK, AGAIN, ON, LEAVE = "back", "again", "on", "leave"
QUIT = ("quit", "q")
IN_A_TERMINAL = ' "?" says how to take it; "quit" keeps what you have.'
"""What there are no keys for on a page."""


@dataclass(slots=True)
class Interview:
    """One sitting."""

    form: Form
    known: dict[str, str]
    unit: str
    place: int = 0
    near: set[str] = field(default_factory=set)
    asked_near: bool = False
    doubted: str = ""
    """The answer that was just doubted: given again, it stands."""

    def letters(self) -> tuple[Letter, ...]:
        """All that are asked, as far as it is known now."""
        return self.form.asked(self.known, self.near)

    def letter(self) -> Letter | None:
        """The letter that is open; None at the end."""
        letters = self.letters()
        return letters[self.place] if self.place < len(letters) else None

    def nearby(self) -> tuple[Letter, ...]:
        """What may stand near, to be named once the letters are through; nothing when it was."""
        if self.asked_near or self.letter() is not None:
            return ()
        return tuple(one for one in self.form.letters if one.measure == PLACE and not self.known.get(one.letter))

    def name_near(self, text: str) -> str:
        """Take the letters of what stands near; what to say where one is none of them."""
        codes = text.upper().replace(",", " ").split()
        offered = {letter.letter for letter in self.nearby()}
        if wrong := [code for code in codes if code not in offered]:
            return f"there is no {', '.join(wrong)}. Write some of {', '.join(sorted(offered))}, or nothing."
        self.near |= set(codes)
        self.asked_near = True
        letters = [letter.letter for letter in self.letters()]
        self.place = min((letters.index(code) for code in codes), default=len(letters))
        return ""

    def heading(self) -> str:
        """The heading that the open letter is the first below; empty where it is not."""
        letters = self.letters()
        first = self.place == 0 or letters[self.place - 1].group != letters[self.place].group
        return letters[self.place].group if first else ""

    def prompt(self) -> str:
        """The open letter as a question."""
        letter = self.letter()
        assert letter is not None
        answer = self.known.get(letter.letter)
        unit = unit_of(letter, self.unit)
        star = " *" if needed_now(self.form, letter, self.known) and not answer else ""
        kept = f" [{answer}]" if answer else ""
        if letter.group == KEEP and not answer:
            kept = f" [{letter.left_out.partition(',')[0]}]"
        return f"{letter.letter:>2}  {letter.name}{f' ({unit})' if unit else ''}{star}{kept}"

    def answered(self, text: str | None) -> tuple[str, list[str]]:
        """What an answer does (BACK, AGAIN, ON, LEAVE) and what is said to it. None is a person who has left."""
        letter = self.letter()
        assert letter is not None
        if text is None or text.lower() in QUIT:
            return LEAVE, []
        if text.lower() == "back":
            self.place, self.doubted = max(0, self.place - 1), ""
            return BACK, []
        if text == "?":
            return AGAIN, [letter.how]
        said = list(self._taken(letter, text))
        if said and said[-1] is _AGAIN:
            return AGAIN, said[:-1]
        self.place, self.doubted = self.place + 1, ""
        return ON, said

    def _taken(self, letter: Letter, text: str) -> Iterator[str]:
        """What is said to one answer; the last is `_AGAIN` where it is asked again."""
        if text and text != self.doubted:
            try:
                self.known[letter.letter] = written(letter, text, unit_of(letter, self.unit) or None)
            except InputError as wrong:
                yield from (str(wrong), _AGAIN)
                return
            if letter.measure == LENGTH:
                yield f"    {both(value_of(self.known, letter.letter) or 0.0)}"
        if not self.known.get(letter.letter):
            if needed_now(self.form, letter, self.known):
                yield from (f"This one is needed.{IN_A_TERMINAL}", _AGAIN)
            else:
                yield f"    left out: {letter.left_out}."
            return
        yield from self._doubted(letter, text)

    def _doubted(self, letter: Letter, text: str) -> Iterator[str]:
        """What is wrong or odd about the open letter, with what to do."""
        if self.doubted and text in ("", self.doubted):
            return
        for doubt in doubts(self.form, self.known):
            if letter.letter in doubt.letters and doubt.stops:
                self.known.pop(letter.letter)
                yield from (f"{' and '.join(doubt.letters)}: {doubt.words} Write it again.", _AGAIN)
                return
            if letter.letter in doubt.letters:
                self.doubted = text or self.known[letter.letter]
                yield from (f"{', '.join(doubt.letters)}: {doubt.words} Enter keeps it, or write another.", _AGAIN)
                return


_AGAIN = "\0again"
