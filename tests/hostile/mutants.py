"""Accidents that happen to files: on purpose, by a slip of the hand, by a bad disk. All from a numbered generator.

* must - an accident after which the file says something that nobody can mean: it has to be refused
* may  - one after which it may still be a good file: refused in one message, or answered
"""

from __future__ import annotations

import copy
import json
import re
import struct
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

Rng = np.random.Generator

CONTROLS = ["\x1b[31m", "\x9b", "\u202e", "\u200b", "\x00", "\x07", "\r"]
HUGE = ["9" * 400, "9" * 5000, "1e999", "-" + "9" * 400]
WORDS = ["", "0", "-1", "0.0", "1", "nan", "inf", "-inf", "true", "null", "[]", "{}", "[[]]", '""', '"0 mm"', '"-5 mm"',
         '"1 mm"', '"99 m"', '"1e3 mm"', '"5 lb"', '"90 deg"', '"-90 deg"', '"x"', '"axle"', '"body"', "1979-05-27",
         "07:32:00", "0x1F", "'''a\nb'''", "[1, [2, [3]]]", '["1 mm", "2 mm", "3 mm"]', '"\u00bd in"', '"4\u00a0in"',
         '"\u0664 mm"', '"0/0 in"', '"1/3 ft"']  # fmt: skip


@dataclass(frozen=True, slots=True, kw_only=True)
class Mutant:
    """A changed file, what was done to it, and whether it must be refused."""

    text: str
    how: str
    must: bool = False


_PAIR = re.compile(r"^(?P<key>[\w-]+)(?P<equals>\s*=\s*)(?P<value>[^#\n]+?)(?P<rest>\s*(?:#.*)?)$")


def pairs_of(text: str) -> list[int]:
    """The rows that are a key and its whole value."""
    rows = [_PAIR.match(row) for row in text.split("\n")]
    return [i for i, m in enumerate(rows) if m is not None and m["value"].count("[") == m["value"].count("]")]


def _changed(text: str, rng: Rng, change: Callable[[re.Match[str]], str | None]) -> str | None:
    """The text with one pair changed; None where there is none that the change fits."""
    rows = text.split("\n")
    for i in rng.permutation(pairs_of(text)):
        match = _PAIR.match(rows[i])
        assert match is not None
        new = change(match)
        if new is not None:
            rows[i] = new
            return "\n".join(rows)
    return None


def _with_value(value: str) -> Callable[[re.Match[str]], str]:
    return lambda m: f"{m['key']}{m['equals']}{value}{m['rest']}"


def _measures(match: re.Match[str]) -> bool:
    return bool(re.fullmatch(r'"[-\d./ ]+ ?(mm|in|deg)"', match["value"]))


# ---- accidents of a corner file that must be refused


def no_unit(text: str, rng: Rng) -> str | None:
    """A measure without its unit, the slip that the file exists to prevent."""

    def change(m: re.Match[str]) -> str | None:
        if not _measures(m):
            return None
        return _with_value('"' + re.sub(r"[^\d./ -]", "", m["value"]).strip() + '"')(m)

    return _changed(text, rng, change)


def no_quotes(text: str, rng: Rng) -> str | None:
    """A measure without its quotes."""
    return _changed(text, rng, lambda m: _with_value(m["value"].strip('"'))(m) if _measures(m) else None)


def unknown_key(text: str, rng: Rng) -> str | None:
    """A key that nobody knows, anywhere but where the names are the person's own."""
    named, _, rest = text.partition("[load_states]")
    new = _changed(named, rng, lambda m: f"{m[0]}\n{m['key']}q{rng.integers(99)} = {m['value']}")
    return None if new is None else new + ("[load_states]" + rest if rest else "")


def said_twice(text: str, rng: Rng) -> str | None:
    """A key for the second time."""
    return _changed(text, rng, lambda m: f"{m[0]}\n{m['key']} = {m['value']}")


def far_too_large(text: str, rng: Rng) -> str | None:
    """A number of hundreds or thousands of digits."""
    number = str(rng.choice(HUGE))

    def change(m: re.Match[str]) -> str | None:
        return _with_value(f'"{number} {m["value"].strip(chr(34)).split()[-1]}"')(m) if _measures(m) else None

    return _changed(text, rng, change)


def wrong_kind(text: str, rng: Rng) -> str | None:
    """A table, a list, a truth or a date where a measure belongs."""
    value = str(rng.choice(["{ a = 1 }", "[1, 2]", "true", "1979-05-27", "[[]]", "nan"]))
    return _changed(text, rng, lambda m: _with_value(value)(m) if _measures(m) else None)


def cut_short(text: str, rng: Rng) -> str | None:
    """Cut inside a quoted value: the rest was never written."""
    spots = [m.start() + 2 for m in re.finditer(r'= *"\w', text)]
    return text[: int(rng.choice(spots)) + 1] if spots else None


def brackets(text: str, rng: Rng) -> str | None:
    """Brackets without end."""
    count = int(rng.choice([50, 500, 5000, 100_000]))
    return _changed(text, rng, lambda m: _with_value("[" * count + "]" * count)(m))


def dots(text: str, rng: Rng) -> str | None:
    """A key of very many parts."""
    return "a" + ".a" * int(rng.choice([40, 400, 4000])) + " = 1\n" + text


def second_section(text: str, rng: Rng) -> str | None:
    """A section that stands twice, or that nobody knows."""
    sections = ["[tire]", "[wheel]", "[engine]\npower = 3", "[[tire]]", "part = 3"]
    return f"{text}\n{rng.choice(sections)}\n"


def unseen_name(text: str, rng: Rng) -> str | None:
    """A name with a sign that cannot be seen."""
    sign = json.dumps(CONTROLS[int(rng.integers(len(CONTROLS)))])[1:-1]
    return _changed(text, rng, lambda m: _with_value(f'"a{sign}b"')(m) if m["key"] in ("name", "title") else None)


MUST: tuple[Callable[[str, Rng], str | None], ...] = (
    no_unit, no_quotes, unknown_key, said_twice, far_too_large, wrong_kind, cut_short, brackets, dots, second_section,
    unseen_name,
)  # fmt: skip


# ---- accidents after which it may be a good file


def other_value(text: str, rng: Rng) -> str | None:
    """Any value in any place."""
    return _changed(text, rng, _with_value(str(rng.choice(WORDS))))


def other_number(text: str, rng: Rng) -> str | None:
    """A digit more, a digit less, another sign, another unit: what the hand slips to."""

    def change(m: re.Match[str]) -> str | None:
        if not _measures(m):
            return None
        value = m["value"]
        slips = [
            value.replace('"', '"-', 1), re.sub(r"(\d)", r"\g<1>0", value, count=1), re.sub(r"\d", "", value, count=1),
            value.replace("mm", "in"), value.replace(" in", " mm"), re.sub(r"(\d+)", "0", value, count=1),
        ]  # fmt: skip
        return _with_value(str(rng.choice(slips)))(m)

    return _changed(text, rng, change)


def lost_line(text: str, rng: Rng) -> str | None:
    """A line that is gone."""
    rows = text.split("\n")
    del rows[int(rng.integers(len(rows)))]
    return "\n".join(rows)


def doubled_lines(text: str, rng: Rng) -> str | None:
    """A stretch of lines that was pasted twice."""
    rows = text.split("\n")
    at, many = int(rng.integers(len(rows))), int(rng.integers(1, 9))
    return "\n".join(rows[: at + many] + rows[at : at + many] + rows[at + many :])


def swapped(text: str, rng: Rng) -> str | None:
    """Two values that changed places."""
    rows = text.split("\n")
    places = pairs_of(text)
    first, second = (_PAIR.match(rows[int(rng.choice(places))]) for _ in range(2))
    if first is None or second is None:
        return None
    swap = {first[0]: _with_value(second["value"])(first), second[0]: _with_value(first["value"])(second)}
    return "\n".join(swap.get(row, row) for row in rows)


def flipped(text: str, rng: Rng) -> str | None:
    """A few bytes that a bad disk gave back otherwise."""
    content = bytearray(text.encode())
    for _ in range(int(rng.integers(1, 5))):
        content[int(rng.integers(len(content)))] = int(rng.integers(256))
    return content.decode("utf-8", "surrogateescape")


def many_parts(text: str, rng: Rng) -> str | None:
    """A great many parts, each of its own name."""
    part = '\n[[part]]\nname = "p{}"\nkind = "wall"\ninboard = "900 mm"\n'
    return text + "".join(part.format(i) for i in range(int(rng.choice([20, 200, 3000]))))


MAY: tuple[Callable[[str, Rng], str | None], ...] = (
    other_value, other_value, other_number, other_number, lost_line, doubled_lines, swapped, flipped,
)  # fmt: skip


def corner_mutant(rng: Rng, text: str) -> Mutant:
    """One corner file with an accident in it, or with two."""
    must = rng.random() < 0.5
    kinds = MUST if must else MAY
    while True:
        change = kinds[int(rng.integers(len(kinds)))]
        new = change(text, rng)
        if new is not None and new != text:
            return Mutant(text=new, how=change.__name__, must=must)


# ---- meshes


def bytes_mutant(rng: Rng, content: bytes) -> bytes:
    """One to four small accidents: a flipped bit, a cut, bytes doubled, lost, zeroed or overwritten."""
    broken = bytearray(content)
    for _ in range(rng.integers(1, 5)):
        if not broken:
            return bytes(broken)
        at, length = int(rng.integers(len(broken))), int(rng.integers(1, 60))
        accident = rng.integers(7)
        if accident == 0:
            broken[at] ^= 1 << int(rng.integers(8))
        elif accident == 1:
            del broken[at:]
        elif accident == 2:
            broken[at:at] = broken[at : at + length]
        elif accident == 3:
            del broken[at : at + length]
        elif accident == 4:
            broken[at : at + 4] = rng.bytes(4)
        elif accident == 5:
            broken[at : at + length] = b"\0" * length
        else:
            broken[at : at + 1] = b"99999999"
    return bytes(broken)


VALUES: list[Any] = [
    None, True, False, 0, 1, -1, 2, 3, 10**18, -(10**18), 1.5, 1e300, -1e300, 1e-300, "", "x", "\x1b[31m", [], {}, [[]],
    [1], {"a": 1}, "5126", 5126, 5125, 255, 65536, 2**31, 2**63, "\ud800",
]  # fmt: skip


def json_mutant(rng: Rng, value: Any) -> Any:
    """A value of JSON with something in it replaced, lost, added or doubled, anywhere inside."""
    changed = copy.deepcopy(value)
    for _ in range(int(rng.integers(1, 4))):
        _spoil(rng, changed)
    return changed


def _spoil(rng: Rng, value: Any) -> None:
    """Walk down to somewhere and do one thing there."""
    while True:
        keys: list[Any] = list(value) if isinstance(value, dict) else list(range(len(value)))
        if not keys:
            return
        key = keys[int(rng.integers(len(keys)))]
        inside = value[key]
        if isinstance(inside, (dict, list)) and inside and rng.random() < 0.8:
            value = inside
            continue
        luck = rng.random()
        if luck < 0.6:
            value[key] = copy.deepcopy(VALUES[int(rng.integers(len(VALUES)))])
        elif luck < 0.8:
            del value[key]
        elif isinstance(value, list):
            value.append(copy.deepcopy(inside))
        else:
            value[f"{key}x"] = inside
        return


def json_text_mutant(rng: Rng, value: Any) -> str:
    """The same as text, now and then with what is no JSON at all."""
    text = json.dumps(json_mutant(rng, value))
    luck = rng.random()
    if luck < 0.05:
        return text[: int(rng.integers(len(text)))]
    if luck < 0.1:
        return re.sub(r"-?\d+\.\d+", lambda m: str(rng.choice(["NaN", "Infinity", "1e999", "9" * 5000])), text, count=1)
    if luck < 0.13:
        return "[" * int(rng.choice([100, 100_000])) + text
    return text


def glb_mutant(rng: Rng, content: bytes) -> bytes:
    """A GLB whose scene was changed, with a header that fits."""
    length = struct.unpack("<I", content[12:16])[0]
    scene = json.loads(content[20 : 20 + length])
    text = json.dumps(json_mutant(rng, scene)).encode("utf-8", "surrogatepass")
    text += b" " * (-len(text) % 4)
    body = struct.pack("<I4s", len(text), b"JSON") + text + content[20 + length :]
    return content[:8] + struct.pack("<I", 12 + len(body)) + body


# ---- tables

CELLS = [
    "", "0", "-1", "nan", "inf", "1e999", "9" * 400, "9" * 5000, "=1+1", "\x1b[31m", '"', '""', "a\nb", "x" * 200_000,
    "\u202e", "1,5", "4 3/4 in", "-20 mm", "\u00b2", "\0", "1_000", "0x10", "1e5", " ",
]  # fmt: skip


def table_mutant(rng: Rng, text: str) -> str:
    """A CSV with a cell, a row or a column that came out otherwise."""
    rows = text.split("\n")
    for _ in range(int(rng.integers(1, 4))):
        if not rows:
            break
        at = int(rng.integers(len(rows)))
        cells = rows[at].split(",")
        luck = rng.random()
        if luck < 0.5:
            cells[int(rng.integers(len(cells)))] = str(rng.choice(CELLS))
            rows[at] = ",".join(cells)
        elif luck < 0.6:
            rows[at] = ",".join([*cells, *cells])
        elif luck < 0.7:
            del rows[at]
        elif luck < 0.8:
            rows.insert(at, rows[at])
        elif luck < 0.9:
            rows[at] = rows[at][: int(rng.integers(len(rows[at]) + 1))]
        else:
            rows[at] = '"' + rows[at]
    joined = "\n".join(rows)
    return joined[: int(rng.integers(len(joined) + 1))] if rng.random() < 0.1 else joined
