"""Every option that takes a number, given any number: within its ends, or refused; never a trace, never a hang."""

from __future__ import annotations

import contextlib
import io

import pytest
from clearance_cli.main import run
from hostile.commands import CORNERS
from hostile.test_programs import patient

PICKUP, SCAN = str(CORNERS / "orchard-pickup-rear.toml"), str(CORNERS / "scanned-well.ply")
COUNTER = str(CORNERS.parent / "cars" / "at-the-counter.csv")
CARS = str(CORNERS.parent / "cars")
LENGTHS = [
    "0 mm", "-1 mm", "0.0001 mm", "99 m", "101 m", "nan mm", "inf in", "9" * 400 + " mm", "", "mm", "5", "\x1b[31m",
    "\u00bd in", "1/0 in", "-99 m", "3 deg",
]  # fmt: skip
COUNTS = ["0", "-1", "1", "9" * 30, "9" * 5000, "1.5", "nan", "", "\u0663", "0x10", "1e3"]
SIZES = ["0x0", "1x1", "9999999x9", "1e3x1", "x", "", "220x220", "9" * 400 + "x1x1", "0x0x0", "-1x2x3", "\u0663x3x3"]

OPTIONS = {
    "check --tolerance": (["check", PICKUP, "--tolerance"], LENGTHS),
    "check --slack": (["check", PICKUP, "--slack"], LENGTHS),
    "check --work": (["check", PICKUP, "--work"], COUNTS),
    "motion --step": (["motion", PICKUP, "--step"], LENGTHS),
    "window --width": (["window", PICKUP, "--width"], LENGTHS),
    "largest --target": (["largest", PICKUP, "--enough", "1", "--target"], LENGTHS),
    "largest --rim": (["largest", PICKUP, "--enough", "1", "--rim"], LENGTHS),
    "largest --enough": (["largest", PICKUP, "--enough"], COUNTS),
    "candidates --enough": (["candidates", PICKUP, COUNTER, "--enough"], COUNTS),
    "study --processes": (["study", CARS, COUNTER, "--processes"], [one for one in COUNTS if one != "1"]),
    "study --sample": (["study", PICKUP, "--sample"], [one for one in COUNTS if one not in ("1", "2")]),
    "study --memory": (["study", CARS, COUNTER, "--memory"], SIZES),
    "budget --rechecks": (["budget", PICKUP, "--rechecks"], COUNTS),
    "relief --slack": (["relief", PICKUP, "--slack"], LENGTHS),
    "envelope --required": (["envelope", PICKUP, "--slack", "10 mm", "--required"], LENGTHS),
    "envelope --every": (["envelope", PICKUP, "--slack", "10 mm", "--every"], LENGTHS),
    "envelope --tub-from": (["envelope", PICKUP, "--slack", "10 mm", "--tub-from"], LENGTHS),
    "envelope --tub-sheet": (["envelope", PICKUP, "--slack", "10 mm", "--tub-sheet"], LENGTHS),
    "envelope --flange": (["envelope", PICKUP, "--slack", "10 mm", "--flange"], LENGTHS),
    "envelope --tabs": (["envelope", PICKUP, "--slack", "10 mm", "--flange", "20 mm", "--tabs"], LENGTHS),
    "envelope --longest": (["envelope", PICKUP, "--slack", "10 mm", "--longest"], LENGTHS),
    "envelope --arch": (
        ["envelope", PICKUP, "--slack", "10 mm", "--arch"],
        [
            "30 deg, 50 deg",
            "30, 50",
            "90 deg",
            "5 deg, 5 deg",
            "1 deg, -1 deg",
            "nan deg, inf deg",
            ",",
            "",
            "\x1b",
            "x" * 5000,
        ],
    ),
    "envelope --slack": (["envelope", PICKUP, "--slack"], LENGTHS),
    "envelope --ends-at": (
        ["envelope", PICKUP, "--slack", "10 mm", "--ends-at"],
        [
            "110 mm outboard",
            "110 mm outboard, 9 mm ahead",
            "-9 m outboard",
            "1 mm up",
            "outboard",
            "nan mm ahead",
            ",",
            "",
        ],
    ),
    "envelope --paper": (
        ["envelope", PICKUP, "--slack", "10 mm", "--paper"],
        ["a3", "a7", "roll 24 in", "roll 24", "roll 1 mm", "roll 99 m", "roll nan in", "roll", "", "\x1b", "a" * 5000],
    ),
    "gauge --bed": (["gauge", PICKUP, "--bed"], SIZES),
    "gauge --fit": (["gauge", PICKUP, "--fit"], LENGTHS),
    "gauge --plate": (["gauge", PICKUP, "--plate"], LENGTHS),
    "gauge --stud": (["gauge", PICKUP, "--stud"], LENGTHS),
    "gauge --nut": (["gauge", PICKUP, "--nut"], LENGTHS),
    "gauge --over": (["gauge", PICKUP, "--over"], LENGTHS),
    "gauge --sheet": (["gauge", PICKUP, "--flat", "rings", "--sheet"], SIZES),
    "gauge --thickness": (["gauge", PICKUP, "--flat", "rings", "--thickness"], LENGTHS),
    "gauge --kerf": (["gauge", PICKUP, "--flat", "rings", "--kerf"], LENGTHS),
    "gauge --also": (["gauge", PICKUP, "--flat", "rings", "--also"], LENGTHS),
    "gauge --ends": (["gauge", PICKUP, "--flat", "rings", "--ends"], ["short", "glued", "", "\x1b", "x" * 5000]),
    "scan --tire": (["scan", SCAN, "--unit", "m", "--tire"], LENGTHS),
    "scan --unit": (["scan", SCAN, "--unit"], ["mm", "ft", "furlong", "", "\x1b", "m" * 5000]),
    "scan --side": (["scan", SCAN, "--unit", "m", "--place", "corner axes", "--side"], ["left", "up", "", "\x1b"]),
    "tire --rim": (["tire", "235/75R15", "--rim"], LENGTHS),
    "measure --unit": (["measure", "front-strut", "--unit"], ["in", "ft", "", "\x1b"]),
    "measure --paper": (["measure", "front-strut", "--paper"], ["a4", "a3", "", "\x1b"]),
    "new --unit": (
        ["new", "--from", "pickup-rear", "--no-ask", "--set", "G=4", "--unit"],
        ["in", "ft", "", "\x1b", "mm"],
    ),
    "draw --full-size": (["draw", PICKUP, "--full-size"], ["up", "\x1b", "x" * 5000]),
    "compare --picture": (["compare", PICKUP, PICKUP, "--picture"], ["a.png", "a", "", "\x1b.svg", "no/such/a.svg"]),
}
QUICK = ("check --tolerance", "check --work", "motion --step", "gauge --bed", "scan --tire", "tire --rim", "new --unit")
CASES = [
    pytest.param(name, value, id=f"{name} {value!r}"[:60], marks=() if name in QUICK else pytest.mark.slow)
    for name, (_, values) in OPTIONS.items()
    for value in values
]


@pytest.mark.parametrize(("name", "value"), CASES)
def test_any_value_is_taken_or_refused(name, value, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    words, _ = OPTIONS[name]
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err), patient():
        code = run([*words, value])
    assert "a fault in clearance" not in err.getvalue()
    assert "\x1b" not in out.getvalue() + err.getvalue()
    assert code in (0, 1, 2, 3)
    if code == 2:
        assert out.getvalue() == ""
        assert max(map(len, err.getvalue().splitlines())) < 1000
        assert [p for p in tmp_path.rglob("*") if p.is_file()] == []


def test_every_option_of_a_number_is_here():
    """A new option that takes a length or a count is given every number too."""
    import inspect
    import typing

    from clearance_cli.verbs import VERBS

    missing = []
    for verb, (module, _) in VERBS.items():
        command = __import__(f"clearance_cli.{module}", fromlist=["command"]).command
        hints = typing.get_type_hints(command, include_extras=True)
        for key in inspect.signature(command).parameters:
            names = [n for n in hints[key].__metadata__[0].param_decls or () if n.startswith("--")]
            names = names or [f"--{key.replace('_', '-')}"]
            if key not in NOT_NUMBERS and not any(f"{verb} {name}" in OPTIONS for name in names):
                missing.append(f"{verb} {names[0]}")
    assert missing == []


NOT_NUMBERS = {
    "file", "before", "after", "mesh", "size", "sheet", "out", "as_json", "picture", "csv", "sizes", "by", "paper",
    "flat", "cut", "part", "measured", "wheel", "place", "scale", "answers", "start", "given", "title", "corner", "ask",
    "overwrite", "certificate", "units", "depth", "links", "into", "name", "blank", "still_open",
    "untrimmed", "which", "list_", "opened", "browser", "phone", "as_step", "as_usdz", "each_side", "cars", "scheduler",
    "over",
}  # fmt: skip
"""Files, words and tables, which other tests spoil."""
