"""The other wheel of the same axle: never taken to be alike, only where a person says that it was measured and is.

Tire and wheel are one order for both sides, and track and articulation are the axle's; everything else that the sheet
asks is of one side. Its answer on the other side stands beside it, under the letter with " other" behind it.

* "same" - measured, and the same; it is taken only where it is written
* empty  - not measured on the other side
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from clearance.errors import InputError
from clearance.report.answers import OTHER, SAME, missing, of_other_side
from clearance.report.forms import Form
from clearance.report.letters import AXLE_LETTERS, KEEP, TIRE, WHEEL, Letter
from clearance.report.measuring_sheet import unit_of


def is_sided(letter: Letter) -> bool:
    """Whether the other side has a number of its own for it."""
    return letter.group not in (TIRE, WHEEL, KEEP) and letter.letter not in AXLE_LETTERS


def other_key(letter: str) -> str:
    """Under what the other side's answer is kept."""
    return f"{letter}{OTHER}"


def other_corner(corner: str) -> str:
    """The corner across the axle.

    >>> other_corner("rear-left"), other_corner("front-right")
    ('rear-right', 'front-left')
    """
    axle, _, side = corner.partition("-")
    return f"{axle}-{'right' if side == 'left' else 'left'}"


def is_told(answers: Mapping[str, str]) -> bool:
    """Whether anything was said of the other side."""
    return any(key.endswith(OTHER) and text for key, text in answers.items())


def other_answers(form: Form, answers: Mapping[str, str]) -> dict[str, str]:
    """The answers of the other side's own sheet: what is of both, and what was said of that side."""
    here = answers.get("corner") or ("front-left" if form.carrier.front else "rear-left")
    found = {"title": f"{answers.get('title', '') or 'corner'}: {other_corner(here)}", "corner": other_corner(here)}
    for letter in form.letters:
        said = answers.get(other_key(letter.letter), "") if is_sided(letter) else SAME
        text = answers.get(letter.letter, "") if said == SAME else said
        if text:
            found[letter.letter] = text
    return found


def lacking(form: Form, answers: Mapping[str, str]) -> tuple[str, ...]:
    """What the other side still needs before a corner file of it can be written."""
    return missing(form, other_answers(form, answers))


@dataclass(slots=True)
class OtherSide:
    """The other side asked letter by letter, of what was answered on this one."""

    form: Form
    known: dict[str, str]
    unit: str
    place: int = 0

    def letters(self) -> tuple[Letter, ...]:
        """What this side has an answer for."""
        return tuple(one for one in self.form.letters if is_sided(one) and self.known.get(one.letter))

    def letter(self) -> Letter | None:
        """The one that is open; None at the end."""
        letters = self.letters()
        return letters[self.place] if self.place < len(letters) else None

    def prompt(self) -> str:
        """The open letter as a question, with what this side has."""
        letter = self.letter()
        assert letter is not None
        unit = unit_of(letter, self.unit)
        kept = self.known.get(other_key(letter.letter), "")
        here = f"{self.known[letter.letter]} on this side"
        return f"{letter.letter:>2}  other side{f' ({unit})' if unit else ''}; {here}{f' [{kept}]' if kept else ''}"

    def facts(self) -> dict[str, str]:
        """The open letter as a page shows it."""
        letter = self.letter()
        assert letter is not None
        return {
            "letter": letter.letter,
            "name": letter.name,
            "unit": unit_of(letter, self.unit),
            "how": letter.how,
            "here": self.known[letter.letter],
            "answer": self.known.get(other_key(letter.letter), ""),
        }

    def answered(self, text: str) -> str:
        """Take one answer; what to say where it is none, and then it is asked again."""
        letter = self.letter()
        assert letter is not None
        if text == "?":
            return letter.how
        if text:
            try:
                self.known[other_key(letter.letter)] = of_other_side(letter, text, unit_of(letter, self.unit) or None)
            except InputError as wrong:
                return str(wrong)
        self.place += 1
        return ""
