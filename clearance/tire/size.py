"""What is moulded on a sidewall, taken apart; what the parts mean in millimetres is in `dimensions`.

Forms, each with an example:

* metric            - 245/45R17 95W, P215/65R15, LT235/85R16C, ST225/75R15, HL245/40R19, 195/70R15C 104/102R
* bare metric       - 165R13, 185R14C: no aspect ratio, because it was always 82
* flotation         - 31x10.50R15LT, 28.0x10.5-15: overall diameter x section width, in inches
* numeric           - 7.50-16, 6.70-15, 10.00-15: section width in inches
* letter            - E70-14, ER70-14: a letter for the load, the aspect ratio, the rim
* temporary spare   - T125/70D16
* millimetre rim    - 190/65R390: the rim's diameter in millimetres
* commercial inch   - 11R22.5: tubeless truck sizes on half-inch rims

Construction: R radial, D or - bias (cross ply), B bias-belted. A letter before the R (ZR, VR, HR, SR) is an old way to
say the speed. C after the rim is "commercial" on a metric size and load range C on an LT size.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Callable
from dataclasses import dataclass, replace

from clearance.errors import TireError
from clearance.plain import echoed
from clearance.tire.load import SPEED_KMH, load_kg
from clearance.units import MM_PER_INCH

RADIAL, BIAS, BELTED = "radial", "bias", "bias-belted"

EXAMPLES = (
    "245/45R17 95W",
    "P215/65R15",
    "LT235/85R16C",
    "195/70R15C 104/102R",
    "165R13",
    "31x10.50R15LT",
    "28.0x10.5-15",
    "7.50-16",
    "E70-14",
    "T125/70D16",
    "190/65R390",
    "11R22.5",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Marking:
    """What a marking says; nothing is worked out yet."""

    text: str
    """As it was written, tidied."""
    form: str
    """One of the forms in the module's list."""
    rim_in: float
    """Rim code in inches; of a millimetre rim, its diameter divided by 25.4."""
    construction: str = RADIAL
    """RADIAL, BIAS or BELTED."""
    width_mm: float | None = None
    """Nominal section width of the forms that state it, inches converted."""
    aspect: float | None = None
    """Section height over nominal width, percent."""
    overall_mm: float | None = None
    """Nominal overall diameter, flotation only."""
    letter: str | None = None
    """Load letter, letter form only."""
    prefix: str = ""
    """P, LT, ST, T, HL or nothing."""
    commercial: bool = False
    """C, LT or a truck size: UN R54 rather than R30."""
    extra_load: bool = False
    """XL, RF or EXTRA LOAD."""
    special_use: bool = False
    """POR, ET or MPT: a tread for use on and off the road, of which UN R54 allows more growth."""
    load_range: str | None = None
    """Load range letter or ply rating, as written."""
    load_index: int | None = None
    """Single mounting."""
    load_index_dual: int | None = None
    """Dual mounting, where two are given."""
    speed: str | None = None
    """Speed symbol; "ZR" where only that is said."""

    @property
    def load_kg(self) -> float | None:
        """What one tire carries at its load index."""
        return None if self.load_index is None else load_kg(self.load_index)

    @property
    def load_dual_kg(self) -> float | None:
        """What one tire of a pair carries."""
        return None if self.load_index_dual is None else load_kg(self.load_index_dual)

    @property
    def speed_kmh(self) -> float | None:
        """The speed symbol's limit; None without a symbol and for ZR, which only says "over 240 km/h"."""
        return None if self.speed is None else SPEED_KMH.get(self.speed)

    @property
    def radial(self) -> bool:
        """Radial rather than bias or bias-belted."""
        return self.construction == RADIAL


_BUILD = r"(?P<build>[ZVHST]?RF?-?|[DB]|-)"
_RIM = r"(?P<rim>\d{1,2}(?:\.\d)?)"
_MARK = r"(?P<mark>C(?![A-Z0-9])|LT(?![A-Z0-9]))?"
_PREFIX = r"(?P<prefix>HL|P|LT|ST|T)? ?"
_END = r"(?![\d.])"
_BETWEEN = r" ?(?P<build>R-?|[DB]|-|X|/| ) ?"
_FORMS: tuple[tuple[str, re.Pattern[str]], ...] = (
    (
        "metric",
        re.compile(
            rf"{_PREFIX}(?P<width>\d{{2,3}})/(?P<aspect>\d{{2,3}}) ?{_BUILD} ?"
            rf"(?P<rim>\d{{1,3}}(?:\.\d)?){_END} ?{_MARK}"
        ),
    ),
    (
        "loose metric",
        re.compile(
            rf"{_PREFIX}(?P<width>\d{{3}})[/ .-]?(?P<aspect>[2-9]\d)(?P<build> ?[ZVHST]?RF?-? ?| ?[DB] ?|[/ .-]?)"
            rf"(?P<rim>[12]\d(?:\.5)?){_END} ?{_MARK}"
        ),
    ),
    (
        "bare metric",
        re.compile(rf"(?P<width>1[1-9]\d|2[0-6]\d) ?(?:{_BUILD}|X) ?(?P<rim>[12]\d(?:\.5)?){_END} ?{_MARK}"),
    ),
    (
        "flotation",
        re.compile(
            r"(?P<prefix>LT)? ?(?P<overall>\d{2}(?:\.\d+)?)"
            r"(?:[X-](?P<width>\d{1,2}(?:\.\d+)?|\d{3,4})|[/ ](?P<inch>\d{1,2}\.\d+))"
            rf"{_BETWEEN}{_RIM}{_END} ?{_MARK}"
        ),
    ),
    (
        "numeric",
        re.compile(rf"(?P<width>\d{{1,2}}\.\d{{2}})(?:/(?P<also>\d{{1,2}}\.\d{{2}}))?{_BETWEEN}{_RIM}{_END} ?{_MARK}"),
    ),
    ("hundredths", re.compile(rf"(?P<width>[4-9]\d{{2}}|[12]\d{{3}}) ?(?P<build>R-?|[DB]|-|X) ?{_RIM}{_END} ?{_MARK}")),
    (
        "commercial inch",
        re.compile(rf"(?P<width>(?:[4-9]|1\d|2[0-4])(?:\.\d)?) ?(?P<build>R-?|[DB]|-|X) ?{_RIM}{_END} ?{_MARK}"),
    ),
    (
        "letter",
        re.compile(
            rf"(?P<letter>[A-HJ-N])(?P<build>R|B)?(?P<aspect>\d{{2}})(?: ?-|/|X| ?(?P<late>R)-?| )? ?{_RIM}{_END}"
        ),
    ),
)
_SERVICE = re.compile(r"\(?(?P<single>\d{2,3})(?:/(?P<dual>\d{2,3}))? ?(?P<speed>A[1-8]|[B-HJ-NP-WYZ])\)?(?![A-Z0-9])")
_LOAD_ONLY = re.compile(r"(?P<single>\d{2,3})(?:/(?P<dual>\d{2,3}))?(?![\dA-Z])")
_PLIES = re.compile(r"(?:(?P<ply>\d{1,2}) ?(?:PR|PLY)|(?:LOAD RANGE|LR) ?(?P<range>[A-N])|(?P<bare>[A-N]))(?![A-Z0-9])")
_PLAIN_WORDS = re.compile(
    r"(?:M ?[+&/] ?S|TUBELESS|TUBE TYPE|TL|TT|REINFORCED|REINF|EXTRA LOAD|XL|RF|HL|SL|RUN ?FLAT|DOT|LT|FI|ST|MH"
    r"|POR|ET|MPT)(?![A-Z0-9])"
)
_EXTRA = {"REINFORCED", "REINF", "EXTRA LOAD", "XL", "RF"}
_SPECIAL_USE = {"POR", "ET", "MPT"}
_LEAST_BIAS_ASPECT = 60
"""Bias car tires under 60 series are not made (common practice): there a hyphen or nothing stands for R."""
_FIFTEEN_DEGREE_CODES = (17.5, 19.5, 22.5, 24.5)
"""Rims of tubeless truck tires, whose widths are written without hundredths: 11R22.5."""


MOST_LETTERS = 120


def read(text: str) -> Marking:
    """A marking as people write it: case, spaces and the usual other signs do not matter.

    What can be read in one way only is read; what can be read in two is refused with both. Raises TireError that shows
    what was understood and near examples.

    >>> m = read("245/45 zr 17 99Y XL")
    >>> m.width_mm, m.aspect, m.rim_in, m.load_kg, m.speed_kmh, m.extra_load
    (245.0, 45.0, 17.0, 775, 300.0, True)
    >>> read("p245-45 17").text, read("1000r20").text, read("31 x 1050 r 15 lt").text
    ('P245/45R17', '10.00R20', '31x10.50R15LT')
    """
    if len(text) > MOST_LETTERS:
        raise TireError(f"{echoed(text)} is longer than any sidewall says. Write the size, as {EXAMPLES[0]}.")
    tidy = _tidied(text)
    if not tidy:
        raise TireError(f"an empty tire size. Write it as on the sidewall: {', '.join(EXAMPLES[:4])}.")
    for form, pattern in _FORMS:
        match = pattern.match(tidy)
        if match is None or not _may_be(form, match.groupdict()):
            continue
        marking = _READERS[form](_written(match), {**match.groupdict(), "written": match[0]})
        rest = tidy[match.end() :].strip()
        marking = replace(marking, text=f"{marking.text} {rest}".strip() if rest[:1] != "/" else marking.text + rest)
        return _believable(_described(marking, rest, marking.text))
    raise TireError(_half_understood(text.strip(), tidy))


_SIGNS: dict[str, str | int | None] = {
    **dict.fromkeys("\u00d7*", "X"),
    **dict.fromkeys("\u2010\u2011\u2012\u2013\u2014\u2212", "-"),
    **dict.fromkeys("\u2044\u2215\\", "/"),
}


def _tidied(text: str) -> str:
    plain = unicodedata.normalize("NFKC", text.translate(str.maketrans(_SIGNS))).strip().upper()
    plain = re.sub(r"(?<=\d),(?=\d)", ".", plain.translate(str.maketrans(_SIGNS)))
    plain = re.sub(r"[\s,]+", " ", plain)
    # an inch sign behind the rim says what is known: 17", 17 in
    plain = re.sub(r"""(?<=\d) ?(?:"|\u201d|'{1,2}|\u2032{1,2}|INCH(?:ES)?\b|IN\b)""", "", plain)
    plain = re.sub(r"(?<=\d) ?X ?(?=\d)", "X", plain)
    return re.sub(r" ?([/]) ?| ?(-) ?", lambda m: m[1] or m[2], plain)


def _written(match: re.Match[str]) -> str:
    # the trade writes the multiplication sign small
    return re.sub(r"(?<=\d)X(?=\d)", "x", match[0].replace(" ", "")).replace("R-", "R")


def _may_be(form: str, part: Groups) -> bool:
    """Numbers that no tire of a loosely written form has: it is another form then, or none."""
    if form == "loose metric":
        return 105 <= float(part["width"] or 0) <= 455
    return form != "flotation" or float(part["overall"] or 0) >= 16


def _two_readings(part: Groups, one: str, other: str) -> TireError:
    return TireError(
        f"{echoed(part['written'] or '')} can be read in two ways: {one}, or {other}. Write the one that you mean."
    )


Groups = dict[str, str | None]


def _construction(build: str) -> str:
    if "R" in build:
        return RADIAL
    return BELTED if build.strip() == "B" else BIAS


def _old_speed(build: str) -> str | None:
    if build.startswith("ZR"):
        return "ZR"
    return build[0] if len(build) > 1 and build[1] == "R" else None


def _metric(text: str, part: Groups) -> Marking:
    rim, prefix, build = float(part["rim"] or 0), part["prefix"] or "", part["build"] or ""
    in_mm = rim >= 100
    form = "millimetre rim" if in_mm else "temporary spare" if prefix == "T" else "metric"
    aspect = float(part["aspect"] or 0)
    low = build == "-" and aspect < _LEAST_BIAS_ASPECT
    return Marking(
        text=text,
        form=form,
        rim_in=rim / MM_PER_INCH if in_mm else rim,
        construction=RADIAL if low else _construction(build),
        width_mm=float(part["width"] or 0),
        aspect=aspect,
        prefix=prefix,
        commercial=part["mark"] is not None or prefix == "LT",
        load_range="C" if part["mark"] == "C" and prefix in ("LT", "ST") else None,
        speed=_old_speed(build),
    )


def _loose_metric(text: str, part: Groups) -> Marking:
    """Width, aspect ratio and rim with other signs between them, or none; the construction must be said or sure."""
    build = (part["build"] or "").strip(" -/.")
    size = f"{part['prefix'] or ''}{part['width']}/{part['aspect']}"
    rim = f"{part['rim']}{part['mark'] or ''}"
    if not build and float(part["aspect"] or 0) >= _LEAST_BIAS_ASPECT:
        raise _two_readings(part, f'"{size}R{rim}", radial', f'"{size}-{rim}", bias')
    return _metric(f"{size}{build or 'R'}{rim}", {**part, "build": build or "R"})


def _bare_metric(text: str, part: Groups) -> Marking:
    build = part["build"] or ""
    return Marking(
        text=text,
        form="bare metric",
        rim_in=float(part["rim"] or 0),
        construction=_construction(build),
        width_mm=float(part["width"] or 0),
        aspect=82.0,
        commercial=part["mark"] is not None,
        speed=_old_speed(build),
    )


def _hundredths(width: str) -> str:
    """1050 for 10.50: hundredths of an inch with the point left out."""
    return f"{width[:-2]}.{width[-2:]}" if "." not in width and len(width) >= 3 else width


def _flotation(text: str, part: Groups) -> Marking:
    width, build = _hundredths(part["width"] or part["inch"] or "0"), (part["build"] or "").strip("/ X") or "-"
    size = f"{part['prefix'] or ''}{part['overall']}x{width}{build.rstrip('-') or '-'}{part['rim']}{part['mark'] or ''}"
    return Marking(
        text=size,
        form="flotation",
        rim_in=float(part["rim"] or 0),
        construction=_construction(build),
        width_mm=float(width) * MM_PER_INCH,
        overall_mm=float(part["overall"] or 0) * MM_PER_INCH,
        prefix=part["prefix"] or "",
        commercial=part["mark"] == "LT" or part["prefix"] == "LT",
        load_range="C" if part["mark"] == "C" else None,
    )


def _numeric(text: str, part: Groups) -> Marking:
    """Inches and hundredths; of two widths for one tire (4.80/4.00-8) the wider counts."""
    width = max(_hundredths(part["width"] or "0"), part.get("also") or "0", key=float)
    rim, build = float(part["rim"] or 0), (part["build"] or "").strip("/ -")
    if rim in _FIFTEEN_DEGREE_CODES:
        return _commercial_inch(text, {**part, "width": f"{float(width):g}"})
    both = f"{part['width']}/{part['also']}" if part.get("also") else width
    between = build if build in ("R", "D", "B") else "-"
    return Marking(
        text=f"{both}{between}{part['rim']}{part['mark'] or ''}",
        form="numeric",
        rim_in=rim,
        construction=_construction(build),
        width_mm=float(width) * MM_PER_INCH,
        prefix="LT" if part["mark"] == "LT" else "",
        commercial=part["mark"] is not None,
        load_range="C" if part["mark"] == "C" else None,
    )


def _commercial_inch(text: str, part: Groups) -> Marking:
    width, rim, build = part["width"] or "0", part["rim"], (part["build"] or "").strip("/ -")
    if build == "X":
        wheel = f"a wheel {width} in wide for {rim} in tires"
        raise _two_readings(part, wheel, f'a tire, "{width}R{rim}" or "{width}-{rim}"')
    return Marking(
        text=f"{width}{build or '-'}{rim}{part['mark'] or ''}",
        form="commercial inch",
        rim_in=float(rim or 0),
        construction=_construction(build),
        width_mm=float(width) * MM_PER_INCH,
        commercial=True,
        load_range="C" if part["mark"] == "C" else None,
    )


def _letter(text: str, part: Groups) -> Marking:
    # FR70-14 is radial, FB70-14 belted, F70-14 bias
    build = part["build"] or part["late"] or ""
    return Marking(
        text=f"{part['letter']}{build}{part['aspect']}-{part['rim']}",
        form="letter",
        rim_in=float(part["rim"] or 0),
        construction=_construction(build),
        aspect=float(part["aspect"] or 0),
        letter=part["letter"],
    )


_READERS: dict[str, Callable[[str, Groups], Marking]] = {
    "metric": _metric,
    "loose metric": _loose_metric,
    "bare metric": _bare_metric,
    "flotation": _flotation,
    "numeric": _numeric,
    "hundredths": _numeric,
    "commercial inch": _commercial_inch,
    "letter": _letter,
}


def _described(marking: Marking, rest: str, tidy: str) -> Marking:
    """The marking with what follows the size: load index, speed, load range, plies, extra load."""
    while rest:
        rest = rest.lstrip(" ,;/")
        for pattern, add in _AFTER:
            match = pattern.match(rest)
            if match is not None:
                marking, rest = add(marking, match), rest[match.end() :]
                break
        else:
            if rest:
                raise TireError(
                    f"{echoed(tidy)}: {echoed(rest)} at the end is not understood. Understood before it:"
                    f" {'; '.join(understood(marking))}.\nAfter the size come the load index and speed symbol (95W,"
                    " 104/102R), XL, or the load range (C, 8PR). Leave out brand and tread names."
                )
    return marking


def _with_service(marking: Marking, match: re.Match[str]) -> Marking:
    if marking.load_index is not None:
        return marking
    dual, speed = match["dual"], match["speed"]
    return replace(
        marking,
        load_index=_known_index(int(match["single"]), marking),
        load_index_dual=None if dual is None else _known_index(int(dual), marking),
        speed=speed or marking.speed,
    )


def _with_load(marking: Marking, match: re.Match[str]) -> Marking:
    dual = match["dual"]
    return replace(
        marking,
        load_index=_known_index(int(match["single"]), marking),
        load_index_dual=None if dual is None else _known_index(int(dual), marking),
    )


def _known_index(index: int, marking: Marking) -> int:
    try:
        load_kg(index)
    except TireError as trouble:
        raise TireError(f"{echoed(marking.text)}: {trouble} Understood: {'; '.join(understood(marking))}.") from None
    return index


def _with_plies(marking: Marking, match: re.Match[str]) -> Marking:
    return replace(marking, load_range=f"{match['ply']}PR" if match["ply"] else match["range"] or match["bare"])


def _with_word(marking: Marking, match: re.Match[str]) -> Marking:
    word = match[0]
    if word == "LT":
        return replace(marking, commercial=True, prefix=marking.prefix or "LT")
    return replace(
        marking,
        extra_load=marking.extra_load or word in _EXTRA,
        special_use=marking.special_use or word in _SPECIAL_USE,
    )


_AFTER: tuple[tuple[re.Pattern[str], Callable[[Marking, re.Match[str]], Marking]], ...] = (
    (_SERVICE, _with_service),
    (_PLAIN_WORDS, _with_word),
    (_PLIES, _with_plies),
    (_LOAD_ONLY, _with_load),
)


def understood(marking: Marking) -> tuple[str, ...]:
    """The parts of a marking in words."""
    words = [marking.form]
    if marking.overall_mm is not None:
        words.append(f"overall diameter {marking.overall_mm / MM_PER_INCH:g} in")
    if marking.width_mm is not None:
        inch = marking.form in ("flotation", "numeric", "commercial inch")
        words.append(f"width {marking.width_mm / MM_PER_INCH:.4g} in" if inch else f"width {marking.width_mm:g} mm")
    if marking.letter is not None:
        words.append(f"load letter {marking.letter}")
    if marking.aspect is not None:
        words.append(f"aspect {marking.aspect:g} %")
    words.append(marking.construction)
    mm_rim = marking.form == "millimetre rim"
    words.append(f"rim {marking.rim_in * MM_PER_INCH:g} mm" if mm_rim else f"rim {marking.rim_in:g} in")
    return tuple(words)


def _believable(marking: Marking) -> Marking:
    inch_form = marking.form in ("flotation", "numeric", "commercial inch")
    width = marking.width_mm
    limits = (
        ("rim", marking.rim_in, 8, 30, "in", "the rim code is the last number, as 15 in 245/60R15"),
        ("aspect", marking.aspect, 20, 100, "%", "the aspect ratio stands after the slash, as 60 in 245/60R15"),
        ("width", None if inch_form else width, 100, 455, "mm", "the width stands first, as 245 in 245/60R15"),
        (
            "width",
            width / MM_PER_INCH if inch_form and width is not None else None,
            3,
            25,
            "in",
            "as 7.50 in 7.50-16 or 10.50 in 31x10.50R15",
        ),
        (
            "overall diameter",
            None if marking.overall_mm is None else marking.overall_mm / MM_PER_INCH,
            16,
            60,
            "in",
            "as 31 in 31x10.50R15",
        ),
    )
    for name, value, least, most, unit, hint in limits:
        if value is not None and not least <= value <= most:
            raise TireError(
                f"{echoed(marking.text)}: {name} {value:g} {unit} is not made; {least} to {most} {unit} is ({hint})."
                f" Understood: {'; '.join(understood(marking))}."
            )
    return marking


_LOOSE = re.compile(
    r"(?P<prefix>HL|P|LT|ST|T)?(?P<width>\d{3})(?P<slash>[/ -]?)(?:(?P<aspect>\d{2})(?!\d))?"
    r"(?P<build>[^\d]*)(?P<rim>\d{2}(?:\.5)?)?(?!\d).*"
)
_LOOSE_INCH = re.compile(
    r"(?P<overall>\d{2}(?:\.\d+)?) ?X ?(?P<width>\d{1,2}(?:\.\d+)?)(?P<tail>[^\d]*)(?P<rim>\d{2})?.*"
)


def _half_understood(text: str, tidy: str) -> str:
    inch, metric = _LOOSE_INCH.fullmatch(tidy), _LOOSE.fullmatch(tidy)
    if inch is not None:
        return _half_flotation(text, inch)
    if metric is None or (metric["aspect"] is None and metric["rim"] is None):
        return f"{echoed(text)} is not a tire size. Write it as on the sidewall; examples: {', '.join(EXAMPLES)}."
    return _half_metric(text, metric)


def _half_flotation(text: str, part: re.Match[str]) -> str:
    found = f"overall diameter {part['overall']} in, width {part['width']} in"
    found += f", rim {part['rim']} in" if part["rim"] else ""
    missing = "R, D or - before the rim" if part["rim"] else "the rim code"
    size, rim = f"{part['overall']}x{part['width']}", part["rim"] or "15"
    return (
        f"{echoed(text)} is only half a tire size. Understood: {found}. Missing: {missing}.\n"
        f'Write "{size}R{rim}LT" for a radial or "{size}-{rim}" for a bias tire, as on the sidewall.'
    )


def _half_metric(text: str, part: re.Match[str]) -> str:
    found = [f"width {part['width']} mm"]
    found += [f"aspect {part['aspect']} %"] if part["aspect"] else []
    found += [f"rim {part['rim']} in"] if part["rim"] else []
    missing = _missing_of_metric(part)
    size, rim = f"{part['prefix'] or ''}{part['width']}/{part['aspect'] or '70'}", part["rim"] or "15"
    return (
        f"{echoed(text)} is only half a tire size. Understood: {', '.join(found)}."
        f" Missing: {' and '.join(missing) or 'a known construction (R, D or -)'}.\n"
        f'Write "{size}R{rim}" for a radial or "{size}-{rim}" for a bias tire, as on the sidewall.'
    )


def _missing_of_metric(part: re.Match[str]) -> list[str]:
    missing = [] if part["aspect"] else ["the aspect ratio after a slash"]
    missing += ["the slash before the aspect ratio"] if part["aspect"] and part["slash"] != "/" else []
    missing += [] if part["build"].strip("/ ") else ["R (radial), D or - (bias) before the rim"]
    missing += [] if part["rim"] else ["the rim code"]
    return missing
