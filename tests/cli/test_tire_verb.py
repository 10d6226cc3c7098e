"""`clearance tire` as a user runs it."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path

import pytest
from clearance_cli.main import run

PAGE = Path(__file__).parents[2] / "docs" / "tires-and-wheels.md"


def test_the_page_shows_each_number_in_both_units_with_its_source(capsys: pytest.CaptureFixture[str]) -> None:
    """245/45R17 by UN R30: D 652 mm (25 11/16 in), 243 mm on 8 in, 253.2 on 9; 690 kg, 270 km/h, 503 turns a km."""
    assert run(["tire", "245/45R17", "95W", "--rim", "9 in"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"overall diameter +652\.0 +25 11/16 in +marking, UN R30 formula", said)
    assert re.search(r"section width on 9 in +253\.2 +9 15/16 in .*\+10\.2 mm for the rim", said)
    assert re.search(r"load, single +690 kg +1521 lb +index 95", said)
    assert re.search(r"speed +270 km/h +168 mph", said)
    # UN R30, as a chassis textbook quotes it: 85 % of the load of a W tire at 270 km/h, 0.85 x 690
    assert re.search(r"at 270 km/h +586 kg +1293 lb +85 % of it", said)
    assert "503 per km" in said
    assert re.search(r"class S +726 mm +283 mm", said)


def test_json_holds_the_same_numbers_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tire", "T125/70D16", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["format"] == "clearance-tire/1"
    assert (facts["section_width"], facts["overall_diameter"]) == (131, 582)
    assert facts["understood"] == ["temporary spare", "width 125 mm", "aspect 70 %", "bias", "rim 16 in"]


def test_an_upper_bound_is_called_one(capsys: pytest.CaptureFixture[str]) -> None:
    """9.00-16: no row was read; section height 111 % of 228.6 mm, rounded up: 407 + 2 x 254 = 915 mm."""
    assert run(["tire", "9.00-16"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"overall diameter, upper bound +915\.0 +36 in +upper bound, no table read", said)
    assert "UN R54 annex 5 (from memory) says 900 mm" in said
    assert "new, at least" not in said
    assert "warning: 9.00-16: its overall diameter and its section width are in no table" in said
    assert run(["tire", "9.00-16", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert facts["stands_on"] == {"section_width": "bound", "overall_diameter": "bound"}
    assert facts["overall_diameter_new"][0] is None


def test_a_size_of_several_published_tires_has_the_largest(capsys: pytest.CaptureFixture[str]) -> None:
    """12.00R20: 1115 to 1140 mm on a maker's pages."""
    assert run(["tire", "12.00R20"]) == 0
    said = capsys.readouterr().out
    assert re.search(r"overall diameter, largest known +1140\.0", said)
    assert "of the smallest, 1115 mm over all" in said


def test_only_the_fast_symbols_carry_less_at_their_speed(capsys: pytest.CaptureFixture[str]) -> None:
    for marking, left in (("205/65R15 95V", 627.9), ("205/65R15 95H", 690.0), ("205/65R15", None)):
        assert run(["tire", *marking.split(), "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["load_at_speed_kg"] == left
    assert run(["tire", "205/65R15", "95H"]) == 0
    assert "  at 210 km/h" not in capsys.readouterr().out


def test_a_rim_outside_the_permitted_ones_is_warned_of(capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["tire", "245/45R17", "--rim", "10.5 in"]) == 0
    assert "warning: a 10.5 in rim is outside what 245/45R17 may be mounted on: 7.5 to 9 in" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["245/45"], "Missing"),
        (["245/45R17", "--rim", "9"], "has no unit"),
        (["245/45R17", "--rim", "228 in"], "between 1 and 40 in"),
        (["E40-18"], "Measure the tire and give overall_diameter and section_width"),
        (["28.0x10.5-15"], "racing or implement tire"),
        (["7x15"], "can be read in two ways"),
    ],
)
def test_bad_input_is_one_message_and_exit_code_2(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["tire", *words]) == 2
    out, err = capsys.readouterr()
    assert not out
    assert said in err
    assert "Traceback" not in err


def test_the_verb_starts_without_the_heavy_libraries() -> None:
    """Half a second is the promise; each of these costs a good part of it."""
    program = (
        "import sys; from clearance_cli.main import run; code = run(['tire', '245/45R17', '--json']);"
        "heavy = {'numpy', 'scipy', 'shapely', 'trimesh', 'manifold3d'} & set(sys.modules);"
        "sys.exit(f'loaded {heavy}' if heavy else code)"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr


def test_the_output_in_the_docs_is_the_real_output(capsys: pytest.CaptureFixture[str]) -> None:
    shown = re.findall(r"```\n\$ clearance (tire [^\n]*)\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    assert shown
    for words, output in shown:
        assert run([word.strip('"') for word in re.findall(r'"[^"]*"|\S+', words)]) == 0
        assert capsys.readouterr().out == output
