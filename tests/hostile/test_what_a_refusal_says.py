"""A refusal points at what is wrong: the line, the key, and no more than a line of what was found."""

from __future__ import annotations

import copy
import json
from pathlib import Path

import pytest
from clearance_cli.main import run
from hostile.commands import CORNERS, copied
from hostile.mutants import _PAIR, pairs_of

from clearance.description.load import load
from clearance.errors import CornerFileError

TEXTS = {place.name: place.read_text() for place in sorted(CORNERS.glob("*.toml"))}
PICKUP = TEXTS["orchard-pickup-rear.toml"]


def refused(folder: Path, text: str) -> CornerFileError:
    corner = folder / "c.toml"
    corner.write_text(text)
    with pytest.raises(CornerFileError) as said:
        load(corner)
    return said.value


@pytest.mark.parametrize("name", [n if "pickup" in n else pytest.param(n, marks=pytest.mark.slow) for n in TEXTS])
def test_the_line_that_was_spoiled_is_the_line_that_is_named(name, tmp_path):
    """Every key of every shipped corner, its value become a list of lists: nothing takes one."""
    copied(tmp_path)
    rows = TEXTS[name].split("\n")
    for i in pairs_of(TEXTS[name]):
        match = _PAIR.match(rows[i])
        assert match is not None
        changed = [*rows[:i], f"{match['key']}{match['equals']}[[[true]]]", *rows[i + 1 :]]
        said = refused(tmp_path, "\n".join(changed))
        # a corner that is none is said before anything else, as is the first key that a later one hangs on
        assert said.line == i + 1 or match["key"] in said.key, (name, i + 1, str(said))
        assert len(str(said)) < 1000


@pytest.mark.parametrize(
    ("good", "bad", "key"),
    [
        ('inclination = "8 deg"', 'inclination = "88 deg"', "steering.axis.inclination"),
        ('caster = "3 deg"', 'caster = "-60 deg"', "steering.axis.caster"),
    ],
)
def test_an_axis_that_does_not_stand_up_is_blamed_on_its_angle(good, bad, key, tmp_path):
    """It was blamed on [suspension]."""
    text = (Path(__file__).parents[1] / "description" / "good.toml").read_text()
    assert good in text
    copied(tmp_path)
    (tmp_path / "sheet.off").write_bytes((Path(__file__).parents[1] / "description" / "sheet.off").read_bytes())
    said = refused(tmp_path, text.replace(good, bad, 1))
    assert said.key == key
    assert bad.split('"')[1].split()[0] in said.message


@pytest.mark.parametrize(
    ("section", "key"),
    [
        ('[order]\nthread = "M99x9"', "order.thread"),
        ('[order]\nthread = "a fine one"', "order.thread"),
        (f'[limits]\nspacer = "{"9" * 400} mm"', "limits.spacer"),
        ('[limits]\nbackspace = { least = "1 in", most = "2000 m" }', "limits.backspace.most"),
        (f'[load]\ncorner = "{"9" * 400} kg"', "load.corner"),
        (f'[load]\nspeed = "{"9" * 5000} km/h"', "load.speed"),
        (f'[duals]\nbulge = "{"9" * 400} %"', "duals.bulge"),
        (f'[uncertainty]\npart = {{ "inner wall" = "{"9" * 400} mm" }}', "uncertainty.part.inner wall"),
        (f'[sold]\nspacer = ["3 mm", "{"9" * 400} mm"]', "sold.spacer"),
    ],
)
def test_a_section_of_the_answers_is_refused_at_its_key(section, key, tmp_path):
    """An order's thread was refused on no line, four hundred nines by a trace."""
    text = f"{PICKUP.split('[load_states]')[0]}\n{section}\n"
    said = refused(tmp_path, text)
    assert said.key == key
    assert said.line == text.split("\n").index(section.split("\n")[1]) + 1
    assert len(str(said)) < 400


def test_what_was_found_is_repeated_by_a_line_at_most(tmp_path):
    for bad in ('kind = "' + "x" * 100_000 + '"', f"kind = [{'1, ' * 100_000}]", '"' + "k" * 100_000 + '" = 1'):
        said = refused(tmp_path, PICKUP.replace('kind = "wall"', bad, 1))
        assert len(str(said)) < 700, str(said)[:900]


# ---- findings that nobody wrote


@pytest.fixture(scope="module")
def good(tmp_path_factory) -> dict:
    import contextlib
    import io

    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert run(["check", str(CORNERS / "orchard-pickup-rear.toml"), "--json"]) == 0
    found: dict = json.loads(out.getvalue())
    return found


BAD_FINDINGS = {
    "the format alone": (lambda f: [f.pop(k) for k in list(f) if k != "format"], "is missing"),
    "another format": (lambda f: f.update(format="clearance-findings/9"), "not a findings.json"),
    "no format": (lambda f: f.pop("format"), "not a findings.json"),
    "no verdict": (lambda f: f.pop("verdict"), "verdict is missing"),
    "a verdict of its own": (lambda f: f.update(verdict="zzz"), 'verdict is "zzz"'),
    "a verdict that is not the worst": (lambda f: f.update(verdict="hits"), "the worst of its parts"),
    "a part's verdict": (lambda f: f["parts"][0].update(verdict="zzz"), 'parts[1].verdict is "zzz"'),
    "a part that says it clears": (lambda f: f["parts"][0]["gap"].update(at_least=-5.0), "says clears and its gap"),
    "a part that says it hits": (lambda f: f["parts"][0].update(verdict="hits"), "says hits and its gap"),
    "ends turned round": (lambda f: f["parts"][0]["gap"].update(at_most=-9.0), "above its upper one"),
    "a gap of text": (lambda f: f["parts"][0]["gap"].update(at_least="12"), 'is "12", where a number'),
    "a gap of nothing": (lambda f: f["parts"][0]["gap"].update(at_least=None), "says clears and its gap does not"),
    "a gap of truth": (lambda f: f["parts"][0]["gap"].update(at_least=True), "is true, where a number"),
    "no gap": (lambda f: f["parts"][0].pop("gap"), "parts[1].gap is missing"),
    "a required of nothing": (lambda f: f["parts"][0].update(required=None), "parts[1].required is nothing"),
    "a required below zero": (lambda f: f["parts"][0].update(required=-1), "parts[1].required is -1"),
    "parts of numbers": (lambda f: f.update(parts=[1, 2]), "parts[1] is 1, where a table"),
    "parts of nothing": (lambda f: f.update(parts=None), "parts is nothing"),
    "a table of parts": (lambda f: f.update(parts={"a": 1}), "parts is {"),
    "no parts": (lambda f: f.update(parts=[]), "the worst of its parts undecided"),
    "two of one name": (lambda f: f["parts"].append(copy.deepcopy(f["parts"][0])), "two parts are called"),
    "a name of nothing": (lambda f: f["parts"][0].update(name=""), "parts[1].name"),
    "a number out of this world": (lambda f: f["parts"][0]["position"].update(bump=1e300), "parts[1].position.bump"),
    "a corner of its own": (lambda f: f.update(corner="middle"), 'corner is "middle"'),
}


@pytest.mark.parametrize("kind", BAD_FINDINGS)
def test_findings_that_nobody_wrote_are_refused_at_their_place(kind, good, tmp_path, capsys):
    """`{"format": ...}` alone, and a verdict "zzz", were exit code 0."""
    spoil, words = BAD_FINDINGS[kind]
    findings = copy.deepcopy(good)
    spoil(findings)
    place = tmp_path / "f.json"
    place.write_text(json.dumps(findings))
    for pair in ([str(place), str(CORNERS / "orchard-pickup-rear.toml")], [str(place), str(place)]):
        assert run(["compare", *pair]) == 2
        err = capsys.readouterr().err
        assert words in err
        assert "f.json" in err
        assert len(err) < 400


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "not JSON"), ("{", "not JSON"), ("nope", "not JSON"),
        ("[1, 2]", "not a findings"), ("3", "not a findings"),
        ('{"format": NaN}', "NaN stands"), ('{"a": -Infinity}', "Infinity stands"), ('{"a": 1e999}', "too large"),
        ('{"a": ' + "9" * 5000 + "}", "5,000 digits"), ('{"a": ' + "[" * 100_000, "far too deep"),
        ('{"a": ' + "[" * 60 + "]" * 60 + "}", "far too deep"), ('{"a": 1, "a": 2}', "stands twice"),
        ("\ufeff{}", "not a findings.json"),
    ],
    ids=lambda value: str(value)[:20],
)  # fmt: skip
def test_text_that_is_no_json_is_refused_in_our_words(text, words, tmp_path, capsys):
    place = tmp_path / "f.json"
    place.write_text(text, encoding="utf-8")
    assert run(["compare", str(place), str(place)]) == 2
    err = capsys.readouterr().err
    assert words in err
    assert "Expecting" not in err
    assert "delimiter" not in err
    assert len(err) < 400


def test_compare_says_undecided_where_it_is(good, tmp_path):
    """What is not decided after is not clear after."""
    findings = copy.deepcopy(good)
    findings["verdict"] = findings["parts"][0]["verdict"] = "undecided"
    findings["parts"][0]["gap"]["at_least"] = None
    place = tmp_path / "f.json"
    place.write_text(json.dumps(findings))
    assert run(["compare", str(CORNERS / "orchard-pickup-rear.toml"), str(place)]) == 3


# ---- readings of wheels


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("[[wheel]]\nname = 3\nwidth = \"7 in\"\n", "name: 3 is not text"),
        ("[[wheel]]\nname = [1]\n", "name: [1] is not text"),
        ("[[wheel]]\nname = \"a\"\nwidth = 3\n", "width: 3 has no unit"),
        ("[[wheel]]\nname = \"a\"\nwidth = \"-7 in\"\n", "more than zero"),
        ("[[wheel]]\nname = \"a\"\nread_to = \"-1 mm\"\n", "more than zero"),
        ("[[wheel]]\nname = \"a\"\nholes = 5.5\nhole_reading = \"100 mm\"\n", "not a number of holes"),
        ("[[wheel]]\nname = \"a\"\nholes = nan\nhole_reading = \"100 mm\"\n", "not a number of holes"),
        ("[[wheel]]\nname = \"a\"\nholes = 5\nhole_reading = \"1 mm\"\n", "not believable"),
        ("[[wheel]]\nname = \"a\"\nthread = {}\n", "thread: {  } is not text"),
        ("[[wheel]]\nname = \"a\"\nlug_seat = \"a\\u001bb\"\n", "lug_seat"),
        ("[[wheel]]\nname = \"a\"\nengagement_turns = 1e9\n", "number of turns"),
        ("wheel = 3\n", "list of tables"), ("[wheel]\nname = \"a\"\n", "list of tables"),
        ("wheel = [1]\n", "list of tables"),
        ("[[box]]\n", "does not belong here"), ("x = " + "[" * 100_000, "far too deep"),
        ("x = " + "9" * 5000, "too many digits"), ("{", "not TOML"), ("", "no wheel was measured"),
    ],
    ids=lambda value: str(value)[:40],
)  # fmt: skip
def test_readings_that_nobody_took_are_refused(text, words, tmp_path, capsys):
    place = tmp_path / "m.toml"
    place.write_text(text)
    assert run(["inspect", str(CORNERS / "orchard-pickup-rear.toml"), "--measured", str(place)]) == 2
    err = capsys.readouterr().err
    assert words in err, err
    assert len(err) < 600


def test_a_table_that_was_cut_short_is_no_shorter_table(tmp_path, capsys):
    place = tmp_path / "m.csv"
    place.write_text("name,width,straight_edge\nbox 1,7 in,3 3/4 in\nbox 2,7 i")
    assert run(["inspect", str(CORNERS / "orchard-pickup-rear.toml"), "--measured", str(place)]) == 2
    assert "cut short" in capsys.readouterr().err
