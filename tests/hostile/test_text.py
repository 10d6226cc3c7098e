"""What stands in a file never reaches a terminal, a spreadsheet, a page or a drawing as anything but words."""

from __future__ import annotations

import contextlib
import csv
import io
import json
import struct
import zipfile
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from clearance_cli.main import run
from few import FEW
from hostile.commands import CORNERS

from clearance import plain
from clearance.description.load import load
from clearance.ends.ends import Ends

PICKUP = (CORNERS / "orchard-pickup-rear.toml").read_text()
NASTY = {
    "red": "\x1b[31mred",
    "title of the window": "\x1b]0;owned\x07",
    "eight-bit escape": "\x9b31m",
    "back over it": "hits\b\b\b\bclears",
    "over the line": "hits\rclears",
    "a line of its own": "gap\nIt clears.",
    "turned around": "\u202esraelc",
    "isolated": "\u2066a\u2069",
    "no width": "in\u200bner",
    "joined": "a\u2060b\u200d\ufeff",
    "filler": "\u3164",
    "line separator": "a\u2028b\u2029c",
    "tag": "a\U000e0041",
    "selector": "a\U000e0101",
    "half a pair": "a\ud83db",
    "nothing": "a\0b",
    "delete": "a\x7fb",
}
FORMULAS = ["=1+1", "+1", "-1+1", "@SUM(A1)", " =1+1", '=HYPERLINK("x")', "'=1+1", "-20 mm", "-20", "4 3/4 in", "-"]


@pytest.mark.parametrize("kind", NASTY)
def test_everything_unseen_is_shown_wherever_it_goes(kind):
    text = NASTY[kind]
    ways = {
        "line": plain.line(text, 200),
        "terminal": plain.terminal(text.replace("\n", "")),
        "markup": plain.markup(text),
        "attribute": plain.attribute(text),
        "cell": plain.cell(text),
        "paper": plain.paper(text),
        "ascii": plain.ascii_only(text).decode("ascii"),
        "JSON": plain.json_text({"a": text}, indent=None),
        "refusal": plain.echoed(text),
        "value": plain.quoted({text: text}),
        "file": next(iter(plain.file_names([text]).values())),
    }
    for way, shown in ways.items():
        assert not any(map(plain.is_unseen, shown)), (way, shown)
        shown.encode("utf-8")
    # nothing is lost on the way to another program
    assert json.loads(ways["JSON"]) == {"a": text}


def test_plain_letters_of_every_writing_stay_what_they_are():
    for text in (
        "Orchard half-ton",
        "b\u00e9b\u00e9",
        "\u0440\u0430\u043c\u0430",
        "\u8eca\u8f2a",
        "\u0639\u062c\u0644\u0629",
        "90\u00b0 \u2265 4 \u00d7 5",
        "\U0001f697",
    ):
        assert plain.terminal(text) == text
        assert plain.visible(text) == text


def said(words: list[str]) -> tuple[int, str, str]:
    out, err = io.StringIO(), io.StringIO()
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        code = run(words)
    return code, out.getvalue(), err.getvalue()


def clean(text: str) -> bool:
    return not any(plain.is_unseen(c) for c in text if c != "\n")


def spoiled(text: str) -> str:
    """A text of TOML between its quotes: half a pair cannot stand there at all."""
    return json.dumps(text.replace("\ud83d", ""), ensure_ascii=True)


SAMPLE = ("red", "a line of its own", "turned around")
PLACES = {
    "title": ('title = "Orchard half-ton, rear left"', "title = {}"),
    "corner": ('corner = "rear-left"', "corner = {}"),
    "part": ('name = "inner wall"', "name = {}"),
    "kind": ('kind = "wall"', "kind = {}"),
    "size": ('size = "235/75R15"', "size = {}"),
    "length": ('backspace = "3 3/4 in"', "backspace = {}"),
    "key": ('backspace = "3 3/4 in"', '{} = "3 3/4 in"'),
    "section": ("[load_states]", "[{}]"),
    "state": ("laden", "{}"),
    "list": ('backspace = "3 3/4 in"', "backspace = [{0}, {0}]"),
    "table": ('backspace = "3 3/4 in"', "backspace = {{ {0} = {0} }}"),
    "frame": ('kind = "wall"', 'kind = "wall"\nrides_on = {}'),
    "mesh": ('kind = "wall"', 'kind = "mesh"\nfile = {}'),
    "remark": ('title = "Orchard half-ton, rear left"', 'title = "a" # {}\nx = ='),
}


@pytest.mark.parametrize("kind", [k if k in SAMPLE else pytest.param(k, marks=pytest.mark.slow) for k in NASTY])
@pytest.mark.parametrize("where", PLACES)
def test_a_corner_file_says_nothing_but_words(where, kind, tmp_path):
    good, bad = PLACES[where]
    assert good in PICKUP, good
    corner = tmp_path / "c.toml"
    corner.write_text(PICKUP.replace(good, bad.format(spoiled(NASTY[kind])), 1), encoding="utf-8")
    for words in (["other", str(corner)], ["order", str(corner)]):
        code, out, err = said(words)
        assert code in (0, 1, 2, 3)
        assert clean(out), (words, out)
        assert clean(err), (words, err)
        assert "a fault in clearance" not in err


@pytest.mark.parametrize("kind", NASTY)
def test_raw_controls_in_a_file_and_in_its_name_are_seen(kind, tmp_path):
    content = PICKUP.replace("inner wall", NASTY[kind], 1).encode("utf-8", "surrogatepass")
    name = NASTY[kind].replace("\0", "").replace("\ud83d", "\udcff").replace("/", "") + ".toml"
    corner = tmp_path / name
    corner.write_bytes(content)
    for words in (["check", str(corner), "--json"], ["scan", str(corner)], ["order", str(corner)], [str(corner)]):
        code, out, err = said(words)
        assert code in (0, 1, 2)
        assert clean(out)
        assert clean(err)
        assert "a fault in clearance" not in err


@cache
def found_of_the_pickup() -> str:
    return said(["check", str(CORNERS / "orchard-pickup-rear.toml"), "--json"])[1]


@pytest.mark.parametrize("kind", NASTY)
def test_a_findings_file_says_nothing_but_words(kind, tmp_path):
    findings = json.loads(found_of_the_pickup())
    findings["title"] = NASTY[kind]
    findings["parts"][0]["name"] = findings["parts"][0]["where"] = NASTY[kind]
    place = tmp_path / "findings.json"
    place.write_text(json.dumps(findings))
    code, out, err = said(["compare", str(place), str(place), "--picture", str(tmp_path / "p.svg")])
    if kind == "half a pair":
        # no text at all, and refused as such
        assert code == 2
        assert clean(err)
        return
    assert code == 0, err
    assert clean(out)
    from lxml import etree

    etree.fromstring((tmp_path / "p.svg").read_bytes())
    code, out, err = said(["compare", str(place), str(place), "--json"])
    assert clean(out)
    assert json.loads(out)["before"]["title"] == NASTY[kind]


@pytest.mark.parametrize("text", FORMULAS)
def test_no_cell_is_run_by_a_spreadsheet_and_what_was_written_comes_back(text):
    row = next(csv.reader(io.StringIO(plain.csv_row([text, "b"]))))
    assert not row[0].lstrip().startswith(("=", "@")), row
    # a plus or a minus may only begin a number or a measure
    assert row[0].lstrip()[:1] not in ("+", "-") or row[0].strip()[1:2].isdigit()
    assert plain.cell_text(row[0]) == text


def test_a_filled_sheet_with_a_formula_for_a_title_comes_back_as_it_was(tmp_path):
    words = ["new", "--from", "pickup-rear", "--no-ask", "--out"]
    assert said([*words, str(tmp_path / "a.toml"), "--title", "=1+1"])[0] == 0
    text = (tmp_path / "a.answers.csv").read_text()
    rows = {row["letter"]: row["answer"] for row in csv.DictReader(io.StringIO(text))}
    assert rows["title"] == "'=1+1"
    again = ["new", "--answers", str(tmp_path / "a.answers.csv"), "--out", str(tmp_path / "b.toml")]
    assert said(again)[0] == 0
    assert load(tmp_path / "b.toml").title == "=1+1"


def test_two_parts_never_share_a_file():
    names = plain.file_names(["Inner wall", "inner-wall", "INNER WALL!", "\u5185", "\u5916", "..", "con", "a" * 500])
    assert len(set(names.values())) == len(names)
    assert all(name.isascii() and "/" not in name and not name.startswith(".") for name in names.values())
    assert all(len(name) < 100 for name in names.values())


TITLE = 'Q\'s <b>&"$x^2$" =1+1 \u00e9\u8eca'


@pytest.mark.parametrize(
    "words",
    [["gauge"], pytest.param(["gauge", "--flat", "rings"], marks=pytest.mark.slow), ["draw"], ["check"], ["motion"]],
)
def test_a_title_of_signs_is_only_a_title(words, tmp_path):
    """Markup, mathematics, a formula and letters that a font may lack: every file opens and says it as words."""
    corner = tmp_path / "c.toml"
    corner.write_text(FEW.replace('title = "Orchard half-ton, rear left"', f"title = {json.dumps(TITLE)}"))
    out = tmp_path / "out"
    extra = (
        ["--picture", str(out / "m.svg"), "--csv", str(out / "m.csv")] if words == ["motion"] else ["--out", str(out)]
    )
    extra += ["--slack", "5 mm"] if words == ["check"] else []
    code, _, err = said([words[0], str(corner), *words[1:], *extra])
    assert code in (0, 1), err
    for place in sorted(out.iterdir()):
        opened(place)


def opened(place: Path) -> None:
    from lxml import etree

    content = place.read_bytes()
    if place.suffix == ".svg":
        etree.fromstring(content)
    elif place.suffix == ".3mf":
        etree.fromstring(zipfile.ZipFile(io.BytesIO(content)).read("3D/3dmodel.model"))
    elif place.suffix == ".json":
        json.loads(content)
    elif place.suffix == ".glb":
        length = struct.unpack("<I", content[12:16])[0]
        json.loads(content[20 : 20 + length])
    elif place.suffix == ".html":
        assert b"<b>&" not in content
    elif place.suffix == ".dxf":
        import ezdxf

        assert not ezdxf.read(io.StringIO(content.decode())).audit().errors
    elif place.suffix == ".pdf":
        assert content.startswith(b"%PDF")
        assert content.rstrip().endswith(b"%%EOF")
    elif place.suffix == ".csv":
        assert all(not cell.startswith("=") for row in csv.reader(io.StringIO(content.decode())) for cell in row)


# ---- a law of `new`: what it writes, `check` reads


WORDS = ["", "0", "-1", "12", "4 3/4", "4-3/4\"", "1/0", "9" * 400, "235/75R15", "31x10.50R15", "5 x 4.5 in", "rear",
         "=1+1", "\x1b[31m", "a\nb", "'", '"', "\u202e", "\U0001f697", "1e5 mm", "-3 in", "3 in", "100 mm", "20 mm",
         "45 deg", "-45 deg", "89 deg", "700 mm", "12 cm", "nan mm", "\u0663 mm", "\u00b2 in"]  # fmt: skip


def usual_answers(sheet: str) -> dict[str, str]:
    """The answers of the shipped example of this kind."""
    from importlib.resources import files

    name = {"rear-leaf": "pickup-rear", "rear-twin-beam": "hatch-rear", "front-strut": "roadster-front"}[sheet]
    text = files("clearance.report").joinpath(f"example_{name}.csv").read_text(encoding="utf-8")
    return {row["letter"]: row["answer"] for row in csv.DictReader(io.StringIO(text))}


def random_answers(rng: np.random.Generator, sheet: str) -> str:
    """A filled sheet: an example's answers, some of them another length, some of them anything at all."""
    from clearance.report.forms import form_of

    usual = usual_answers(sheet)
    titles, corners = ["Fen", "Moor", *WORDS], [usual["corner"], usual["corner"].replace("left", "right"), "", "up"]
    rows = [("letter", "what", "unit", "answer", "needed"), ("sheet", "", "", sheet, "")]
    rows.append(("title", "", "", titles[min(int(rng.exponential(3)), len(titles) - 1)], ""))
    rows.append(("corner", "", "", corners[min(int(rng.exponential(0.7)), 3)], ""))
    for letter in form_of(sheet).letters:
        answer, luck = usual.get(letter.letter, ""), rng.random()
        unit = "deg" if letter.measure == "angle" else "mm"
        if luck < 0.02:
            answer = str(rng.choice(WORDS))
        elif luck < 0.08:
            answer = ""
        elif luck < 0.2 and isinstance(letter.ends, Ends):
            size = 25.4 if letter.ends.unit == "in" else 1.0
            answer = f"{size * rng.uniform(letter.ends.least, letter.ends.most):.1f} {unit}"
        rows.append((letter.letter, "", unit if letter.ends is not None else "", answer, ""))
    return "".join(map(plain.csv_row, rows))


def new_holds(seed: int, count: int, folder: Path) -> tuple[int, int]:
    """How many corner files were written, and how many sets of answers were refused."""
    rng = np.random.default_rng(seed)
    written = refused = 0
    for number in range(count):
        filled = folder / "filled.csv"
        filled.write_text(
            random_answers(rng, str(rng.choice(["rear-leaf", "rear-twin-beam", "front-strut"]))), encoding="utf-8"
        )
        out = folder / f"{number}.toml"
        code, _, err = said(["new", "--answers", str(filled), "--out", str(out)])
        assert "a fault in clearance" not in err, filled.read_text()
        assert clean(err)
        if code == 0:
            written += 1
            load(out)
            again = folder / f"{number}-again.toml"
            assert said(["new", "--answers", str(folder / f"{number}.answers.csv"), "--out", str(again)])[0] == 0
            assert again.read_bytes() == out.read_bytes()
        else:
            refused += 1
            assert code == 2
            assert not out.exists()
    return written, refused


def test_new_writes_no_file_that_check_refuses(tmp_path):
    written, refused = new_holds(3, 60, tmp_path)
    assert written > 5
    assert refused > 5


@pytest.mark.slow
def test_new_writes_no_file_that_check_refuses_a_thousand_times(tmp_path):
    written, refused = new_holds(17, 1000, tmp_path)
    assert written > 100
    assert refused > 100
