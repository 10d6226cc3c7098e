"""What is on the car now against what is next, in words."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from clearance.answers.stance import AtCorner, OnAxle, Rating, Stance
from clearance.answers.swap import NOTHING_NOW, Swap
from clearance.gap.found import Gap
from clearance.mockup.car import AXLES, Car
from clearance.units import KG_PER_POUND, KMH_PER_MPH, both
from clearance.words.text import car_head, notes_by_corner, position_words, told

NO_CHANGE_MM = 0.05
"""Less than this is no change: it is written to a tenth."""
ODOMETER = 10_000
APART = 0.01
"""As far as two axles on one engine may roll apart before it is said (common practice, from memory: about one percent;
makers differ, and some ask for less)."""

Gaps = Mapping[str, tuple[Gap | None, Gap | None]]
"""Corner: the tightest gap with what is on it now, and with what is next; None where it was not measured."""


def page(car: Car, found: Stance, gaps: Gaps) -> str:
    """Wheel by wheel, then the car, then the gaps of both."""
    lines = [*car_head(car), *notes_by_corner({name: corner.warnings for name, corner in car.corners.items()})]
    for names, said in _alike({name: _at(one) for name, one in found.corners.items()}):
        lines += [f"{', '.join(names)}: {said[0]}", *said[1:], ""]
    lines += ["The car", *_rows(_of_car(found)), ""]
    lines += _gap_lines(car, gaps)
    lines += _reads_low(found)
    lines += _not_said(found)
    return "\n".join([*lines, sentence(found)])


def sentence(found: Stance) -> str:
    """What it comes to, in one sentence."""
    if not found.anything:
        return NOTHING_NOW
    parts = [f"the {axle} {_rise(one.hub_mm)}" for axle, one in found.axles.items() if one.hub_mm is not None]
    if found.rake_mm is not None:
        parts.append(f"{_rake(found)}")
    return f"Against what is on it now: {'; '.join(parts)}."


def brief(found: Stance) -> list[str]:
    """The same in a few lines, as it stands beside one of many; nothing where no [now] says what is on the car."""
    if not found.anything:
        return []
    lines = [line for axle in found.axles for line in _brief_of(found, axle)]
    return [*lines, f"rake {_rake(found)}"]


def _brief_of(found: Stance, axle: str) -> list[str]:
    one = found.axles[axle]
    sides = [found.corners[name] for name in one.corners]
    swaps = [side.swap for side in sides if side.swap is not None]
    if not swaps or len(swaps) < len(sides):
        return []
    reach = _every(_reaches(swap) for swap in swaps)
    lines = [
        f"{axle}: {reach}; hub and body {_rise(one.hub_mm)}; track {_track_change(one)}",
        f"{axle}: {_every(speed_words(swap) for swap in swaps)}; {_every(map(load_words, sides))}",
    ]
    if any(side.next_scrub is not None for side in sides):
        lines.append(f"{axle}: scrub radius {_every(map(scrub_words, sides))}")
    return lines


# ---- one wheel


def _at(one: AtCorner) -> list[str]:
    swap = one.swap
    if swap is None:
        return [f"{one.next.name}; what is on it now is not said", *_rows(_known(one))]
    rows = [
        ("reach inboard", _reach(swap.inboard_mm, "in")),
        ("reach outboard", _reach(swap.outboard_mm, "out")),
        ("hub, body", f"{_rise(swap.hub_mm)}: half of {swap.old.overall_mm:.1f} to {swap.new.overall_mm:.1f} mm"),
        ("speedometer", speed_words(swap)),
        ("odometer", odometer_words(swap)),
        *_known(one),
    ]
    return [f"{swap.old.name} comes off, {swap.new.name} goes on", *_rows(rows)]


def _known(one: AtCorner) -> list[tuple[str, str]]:
    rows = [("load", load_words(one)), ("speed", rated_words(one))]
    return [*rows, ("scrub radius", scrub_words(one))] if one.next_scrub is not None else rows


def _reach(change_mm: float | None, way: str) -> str:
    if change_mm is None:
        return "not known: width and backspace of both are needed"
    if abs(change_mm) < NO_CHANGE_MM:
        return "the same"
    return f"{both(abs(change_mm))} {'further' if change_mm > 0 else 'less far'} {way}"


def _reaches(swap: Swap) -> str:
    return f"reach {_reach(swap.inboard_mm, 'in')}, {_reach(swap.outboard_mm, 'out')}"


def _rise(change_mm: float | None) -> str:
    if change_mm is None:
        return "not known"
    if abs(change_mm) < NO_CHANGE_MM:
        return "as high as now"
    return f"{both(abs(change_mm))} {'higher' if change_mm > 0 else 'lower'}"


def speed_words(swap: Swap) -> str:
    """What the speedometer reads at a true 60 mph and 100 km/h, where it was right before."""
    mph = swap.shown(60 * KMH_PER_MPH) / KMH_PER_MPH
    share = 100 * (swap.shown(1.0) - 1.0)
    if abs(share) < 0.005:
        return "reads the same"
    way = "low" if share < 0 else "high"
    return f"at a true 60 mph it reads {mph:.1f}, at 100 km/h {swap.shown(100.0):.1f} ({share:+.1f} %, {way})"


def odometer_words(swap: Swap) -> str:
    """What the odometer shows after a true ten thousand."""
    return f"after a true {ODOMETER:,} it shows {swap.shown(ODOMETER):,.0f}"


def load_words(one: AtCorner) -> str:
    """What one tire may carry, against what is on it now and what the file says that it must."""
    new, old, must = one.next_rating.load_kg, one.now_rating.load_kg, one.load.corner_kg
    words = "load index not said" if new is None else f"{_index(one.next_rating)} carries {_kg(new)} a tire"
    if old is not None:
        words += f", {_index(one.now_rating)} now {_kg(old)}"
    if new is not None and old is not None and new < old:
        words += ": LESS THAN NOW"
    if must is not None:
        words += f"; {_kg(must)} stands on it"
    if must is not None and new is not None:
        words += ": enough" if new >= must else ": NOT ENOUGH"
    return words


def rated_words(one: AtCorner) -> str:
    """How fast the tire may go, against what is on it now and what the file says."""
    new, old, must = one.next_rating.speed_kmh, one.now_rating.speed_kmh, one.load.speed_kmh
    words = "speed symbol not said" if new is None else f"{one.next_rating.speed} to {_kmh(new)}"
    if old is not None:
        words += f", {one.now_rating.speed} now to {_kmh(old)}"
    if new is not None and old is not None and new < old:
        words += ": LESS THAN NOW"
    if must is not None:
        words += f"; it goes {_kmh(must)}"
    if must is not None and new is not None:
        words += ": enough" if new >= must else ": NOT ENOUGH"
    return words


def scrub_words(one: AtCorner) -> str:
    """Scrub radius next, and now where it is known."""
    if one.next_scrub is None:
        return "not known"
    new = f"{both(one.next_scrub.radius_mm)}, unloaded"
    if one.now_scrub is None:
        return new
    change = one.scrub_mm or 0.0
    if abs(change) < NO_CHANGE_MM:
        return f"{new}, the same"
    return f"{new}, now {both(one.now_scrub.radius_mm)}"


def _index(rating: Rating) -> str:
    return f"index {rating.load_index}"


def _kg(kg: float) -> str:
    return f"{kg:.0f} kg ({kg / KG_PER_POUND:.0f} lb)"


def _kmh(kmh: float) -> str:
    return f"{kmh:.0f} km/h ({kmh / KMH_PER_MPH:.0f} mph)"


# ---- the car


def _of_car(found: Stance) -> list[tuple[str, str]]:
    rows = [("ride height", "; ".join(f"{axle} {_rise(one.hub_mm)}" for axle, one in found.axles.items()))]
    rows.append(("rake", _rake(found)))
    rows += [(f"track, {axle}", _track(one)) for axle, one in found.axles.items()]
    rows.append(("speedometer", _reads(found)))
    return [*rows, ("both axles driven", _turns_apart(found))] if len(found.driven) == len(AXLES) else rows


def _reads(found: Stance) -> str:
    """One reading where all wheels that it may count give it; else what would say which."""
    counted = {name: one for name, one in found.corners.items() if found.counted in (None, name.rpartition("-")[0])}
    if not counted:
        return f"goes by the {found.counted} wheels, of which none is described"
    known = [speed_words(one.swap) for one in counted.values() if one.swap is not None]
    if len(known) < len(counted):
        return "not known of every wheel" if found.counted is None else f"not known of every {found.counted} wheel"
    if len(set(known)) == 1:
        return known[0] if found.counted is None else f"{known[0]}, by the {found.counted} wheels"
    if found.counted is None:
        return "by the wheels that it counts, see above: [car] speedometer or driven would say which"
    return f"between those of both {found.counted} wheels, see above"


def _turns_apart(found: Stance) -> str:
    """How far the turns of both axles are apart, where one engine drives both."""
    if found.apart is None:
        return "not known of both axles"
    words = _rolls(found.apart)
    if found.apart_now is not None and _rolls(found.apart_now) != words:
        words += f"; now {_rolls(found.apart_now)}"
    if abs(found.apart) > APART:
        words += f": MORE THAN {100 * APART:g} %, look in the maker's book before both axles are locked together"
    return words


def _rolls(share: float) -> str:
    if abs(share) < 0.00005:
        return "front and rear roll alike"
    return f"the rear rolls {100 * abs(share):.2f} % {'further' if share > 0 else 'less far'} a turn than the front"


def _rake(found: Stance) -> str:
    if found.rake_mm is None:
        missing = [key for key in found.not_said if key != "wheelbase"] or ["[now]"]
        return f"not known, not said: {', '.join(missing)}"
    if abs(found.rake_mm) < NO_CHANGE_MM:
        return "as now"
    way = "nose down" if found.rake_mm > 0 else "nose up"
    turned = "" if found.rake_deg is None else f"{abs(found.rake_deg):.2f} deg more {way}: "
    over = way if found.wheelbase_mm is None else f"over the wheelbase of {both(found.wheelbase_mm, digits=0)}"
    return f"{turned}the rear {both(abs(found.rake_mm))} {'higher' if found.rake_mm > 0 else 'lower'} {over}"


def _track_change(one: OnAxle) -> str:
    change = one.track_change_mm
    if change is None:
        return "not known"
    return "as now" if abs(change) < NO_CHANGE_MM else f"{both(abs(change))} {'wider' if change > 0 else 'narrower'}"


def _track(one: OnAxle) -> str:
    words = _track_change(one)
    if one.track_next_mm is None:
        missing = [name for name in one.not_said if name.startswith(one.axle)] or list(one.not_said)
        return f"{words}; tire middle to middle is not known, not said: {', '.join(missing)}"
    now = "" if one.track_now_mm is None else f"{both(one.track_now_mm, digits=0)} to "
    return f"{words}: {now}{both(one.track_next_mm, digits=0)}, tire middle to middle"


# ---- the gaps of both


def _said_of(car: Car, gaps: Gaps) -> dict[str, list[str]]:
    """Corner: a line for each gap that is known, now and next."""
    said = {}
    for name, pair in gaps.items():
        known = [(when, gap) for when, gap in zip(("now", "next"), pair, strict=True) if gap is not None]
        if known:
            said[name] = [f"    {when:<5} {gap_words(car, name, gap)}" for when, gap in known]
    return said


def _gap_lines(car: Car, gaps: Gaps) -> list[str]:
    said = _said_of(car, gaps)
    if not said:
        return []
    lines = ["What each leaves, over the whole cycle"]
    for names, rows in _alike(said):
        lines += [f"  {', '.join(names)}", *rows]
    if any(pair[0] is not None and pair[0].verdict == "hits" for pair in gaps.values()):
        lines += ["", HITS_NOW]
    return [*lines, ""]


def gap_words(car: Car, name: str, gap: Gap) -> str:
    """A corner's deciding gap in a line: the verdict, the part, the gap, what it must keep, where the tire is."""
    keeps = "" if gap.verdict == "hits" else f", must keep {both(gap.required_mm)}"
    when = position_words(car.at(name), gap)
    return f"{gap.verdict}: {gap.part}, {told(gap)}{keeps}; {when}"


HITS_NOW = (
    "Caution: what is on the car now hits by this file. If it does not rub on the car, taken there, something in the"
    " file is not as it is on the car; put that right before anything is bought by it."
)


def _reads_low(found: Stance) -> list[str]:
    low = any(one.swap is not None and one.swap.speed > READS_LOW for one in found.corners.values())
    return ["Caution: a speedometer that reads low is against the code in many places. Check yours.", ""] if low else []


READS_LOW = 0.0005
"""A fraction of the speed that no needle shows."""


def _not_said(found: Stance) -> list[str]:
    """Every key that would say more, once."""
    lines = []
    for names, said in _alike({name: list(one.not_said) for name, one in found.corners.items()}):
        lines += [f"  {', '.join(names)}: {'; '.join(said)}"] if said else []
    axles = [key for one in found.axles.values() for key in one.not_said]
    rest = [*axles, *found.not_said]
    lines += [f"  the car: {'; '.join(rest)}"] if rest else []
    return ["Not said, and left out:", *lines, ""] if lines else []


# ---- lines


def _rows(rows: Iterable[tuple[str, str]]) -> list[str]:
    return [f"    {name:<15} {words}" for name, words in rows]


def _alike(said: Mapping[str, list[str]]) -> list[tuple[list[str], list[str]]]:
    """Corners of which the same is said, together."""
    found: list[tuple[list[str], list[str]]] = []
    for name, lines in said.items():
        same = next((names for names, other in found if other == lines), None)
        if same is None:
            found.append(([name], lines))
        else:
            same.append(name)
    return found


def _every(words: Iterable[str]) -> str:
    """What both sides say, once where they say the same."""
    distinct: Sequence[str] = list(dict.fromkeys(words))
    return distinct[0] if len(distinct) == 1 else f"left {distinct[0]}, right {distinct[-1]}"
