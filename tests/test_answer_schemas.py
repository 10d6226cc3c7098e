"""Every answer's JSON keeps its published schema, read by an independent implementation of JSON Schema 2020-12."""

from __future__ import annotations

import copy
import importlib
import inspect
import json
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import jsonschema
import pytest
from clearance_cli.main import run
from clearance_cli.verbs import VERBS
from few import FEW, moved, without

ROOT = Path(__file__).parents[1]
DOCS = ROOT / "docs"
CORNERS = ROOT / "fixtures" / "corners"
PICKUP, COUPE, SEDAN, ROADSTER = (
    str(CORNERS / f"{name}.toml")
    for name in ("orchard-pickup-rear", "tern-coupe-rear", "sorrel-sedan-front", "heron-roadster-front")
)
CAR = str(ROOT / "fixtures" / "cars" / "orchard-pickup.toml")
SCAN = str(CORNERS / "scanned-well.ply")
PLACE = '{ hub = [0.0, 0.0, 0.0], up = "+z", ahead = "+x" }'
MORE = """
[chains]
class = "S"
[coverage]
part = "lip"
[spare_well]
diameter = "700 mm"
depth = "220 mm"
[duals]
spacing = "330 mm"
"""

BOX = (
    "name=one, width=178 mm, straight_edge=95.2 mm, bead_seat_circumference=1194.4 mm, holes=5, hole_reading=108.7 mm,"
    "hole_from=same edge, center_bore=83 mm"
)
WORN = """
[now]
size = "215/75R15 100S"
width = "6 in"
backspace = "3 1/2 in"
[spare]
size = "T145/80R15 98M"
width = "4 in"
backspace = "3 in"
"""

RUNS: dict[str, list[list[str]]] = {
    "check": [["check", PICKUP], ["check", ROADSTER], ["check", CAR]],
    "window": [
        ["window", "few.toml", "--width", "7 in"],
        ["window", SEDAN, "--width", "7 in"],
        ["window", "clear-car.toml", "--width", "7 in"],
    ],
    "largest": [["largest", "few.toml", "--sizes", "sizes.csv"], ["largest", "clear-car.toml", "--sizes", "sizes.csv"]],
    "least-change": [
        ["least-change", "few-tight.toml"],
        ["least-change", "few.toml"],
        ["least-change", "few-car.toml"],
    ],
    "relief": [
        ["relief", "few-tight.toml", "--map", "inner wall"],
        ["relief", "few.toml"],
        ["relief", "few-car.toml", "--map", "inner wall"],
    ],
    "candidates": [["candidates", PICKUP, "list.csv"], ["candidates", "worn.toml", "list.csv"]],
    "study": [
        ["study", "cars", "list.csv"],
        ["study", PICKUP, "--over", "offset=0 mm, 90 mm"],
        ["study", PICKUP, "--sample", "2"],
    ],
    "budget": [["budget", PICKUP]],
    "order": [["order", PICKUP], ["order", "clear-car.toml"]],
    "inspect": [
        ["inspect", PICKUP, "--wheel", "name=one, width=178 mm"],
        ["inspect", CAR, "--wheel", BOX, "--wheel", "name=two, width=178 mm, straight_edge=120 mm"],
    ],
    "motion": [["motion", SEDAN], ["motion", COUPE], ["motion", PICKUP]],
    "tire": [
        ["tire", *size.split()]
        for size in ("235/75R15 225/70R15", "245/45R17 95W", "31x10.50R15LT", "6.70-15", "185/70ZR14")
    ],
    "scan": [["scan", SCAN], ["scan", SCAN, "--unit", "m", "--place", PLACE]],
    "compare": [["compare", PICKUP, COUPE], ["compare", PICKUP, PICKUP], ["compare", "worn.toml"]],
    "rotate": [["rotate", "worn.toml"]],
    "measure": [
        ["measure", "--out", "out"],
        ["measure", "front-strut", "--out", "out"],
        ["measure", "rear-leaf", "--out", "out"],
    ],
    "new": [["new", "--from", "pickup-rear", "--overwrite", "--open", "--out", "new.toml"]],
    "room": [["room", "standing.toml"]],
    "draw": [["draw", "few.toml", "--out", "out"], ["draw", "clear-car.toml", "--out", "out"]],
    "other": [["other", "more.toml"]],
    "envelope": [["envelope", PICKUP, "--slack", "5 mm", "--every", "200 mm", "--out", "out"]],
    "gauge": [["gauge", PICKUP, "--out", "out"], ["gauge", PICKUP, "--flat", "blade", "--out", "out"]],
    "verify": [["verify", "few.toml", "certificate"]],
}


NAMED = (
    "out",
    "certificate",
    "new.toml",
    "more.toml",
    "standing.toml",
    "few.toml",
    "few-tight.toml",
    "few-car.toml",
    "clear-car.toml",
    "worn.toml",
    "list.csv",
    "sizes.csv",
    "cars",
)
"""What the runs read and write."""


class Answers:
    """What each verb prints, run by run; asked once."""

    def __init__(self, folder: Path) -> None:
        pickup = Path(PICKUP).read_text(encoding="utf-8")
        self.names = {name: str(folder / name) for name in NAMED}
        (folder / "more.toml").write_text(pickup + MORE, encoding="utf-8")
        known = [f"--set={flag}" for flag in ("A=235/75R15", "F=7", "G=3 3/4", "R=7", "S=6 1/2", "T=17", "T1=17")]
        stands = ["new", "rear-leaf", "--depth", "standing", "--unit", "in", "--no-ask", *known]
        assert run([*stands, "--out", self.names["standing.toml"]]) == 0
        standing = (folder / "standing.toml").read_text(encoding="utf-8")
        (folder / "standing.toml").write_text(without(standing, "fender lip"), encoding="utf-8")
        (folder / "few.toml").write_text(FEW, encoding="utf-8")
        (folder / "few-tight.toml").write_text(moved(FEW, "145 mm"), encoding="utf-8")
        for car, corner, wall in (("few-car", "few-tight", "150 mm"), ("clear-car", "few", "155 mm")):
            sides = f'[corner.rear-left]\nfile = "{corner}.toml"\n[corner.rear-right]\nlike = "rear-left"\n'
            other = f'[[corner.rear-right.part]]\nname = "inner wall"\ninboard = "{wall}"\n'
            (folder / f"{car}.toml").write_text(sides + other, encoding="utf-8")
        listed = "tire,width,backspace\n235/75R15,7 in,3 3/4 in\n235/75R15,7 in,5 in\n235/75R15,12 in,5 in\n"
        (folder / "sizes.csv").write_text("size\n235/75R15\n215/75R15\n", encoding="utf-8")
        (folder / "list.csv").write_text(listed, encoding="utf-8")
        (folder / "cars").mkdir()
        (folder / "cars" / "tight.toml").write_text(moved(pickup, "145 mm"), encoding="utf-8")
        (folder / "cars" / "torn.toml").write_text("[tire", encoding="utf-8")
        (folder / "worn.toml").write_text(pickup + WORN, encoding="utf-8")
        self.kept: dict[str, list[Any]] = {}

    def of(self, verb: str, capsys: pytest.CaptureFixture[str]) -> list[Any]:
        if verb not in self.kept:
            self.kept[verb] = [self.said(words, capsys) for words in RUNS[verb]]
        return self.kept[verb]

    def said(self, words: list[str], capsys: pytest.CaptureFixture[str]) -> Any:
        if words[0] == "verify":
            assert run(["check", self.names["few.toml"], "--certificate", self.names["certificate"]]) in (0, 1, 3)
        capsys.readouterr()
        code = run([*(self.names.get(word, word) for word in words), "--json"])
        heard = capsys.readouterr()
        assert code in (0, 1, 3), heard.err
        return json.loads(heard.out)


@pytest.fixture(scope="module")
def answers(tmp_path_factory):
    return Answers(tmp_path_factory.mktemp("answers"))


def schema_of(answer: Any) -> dict[str, Any]:
    """By the `format` that it says, as somebody who was sent the JSON would look it up."""
    kind = answer["format"]
    name = "findings.schema.json" if kind == "clearance-findings/1" else f"schemas/{kind.replace('/', '-')}.schema.json"
    return json.loads((DOCS / name).read_text(encoding="utf-8"))


def trouble(answer: Any) -> list[str]:
    """What the schema of this answer has against it."""
    found = jsonschema.Draft202012Validator(schema_of(answer)).iter_errors(answer)
    return [f"{'/'.join(map(str, wrong.absolute_path))}: {wrong.message[:200]}" for wrong in found]


def test_every_verb_that_prints_json_is_run_here():
    prints = {
        verb
        for verb, (module, _) in VERBS.items()
        if "as_json" in inspect.signature(importlib.import_module(f"clearance_cli.{module}").command).parameters
    }
    assert prints == set(RUNS)


@pytest.mark.parametrize("verb", RUNS)
def test_what_a_verb_prints_keeps_its_schema(verb, answers, capsys):
    for answer in answers.of(verb, capsys):
        jsonschema.Draft202012Validator.check_schema(schema_of(answer))
        assert trouble(answer) == []


@pytest.mark.parametrize("verb", RUNS)
def test_a_key_too_many_one_too_few_and_a_value_of_another_kind_are_seen(verb, answers, capsys):
    """At every place of the answer that its schema gives fixed keys to."""
    for answer in answers.of(verb, capsys):
        places = list(fixed(schema_of(answer), answer, ()))
        assert () in places
        for place in places:
            for change in (_one_more, _one_fewer, _other_kind):
                spoilt = copy.deepcopy(answer)
                at = spoilt
                for step in place:
                    at = at[step]
                change(at, schema_at(schema_of(answer), place))
                # looked up by the format that it had: this too may be what was spoilt
                validator = jsonschema.Draft202012Validator(schema_of(answer))
                assert not validator.is_valid(spoilt), (verb, place, change.__name__)


def fixed(schema: Any, value: Any, place: tuple[Any, ...]) -> Iterator[tuple[Any, ...]]:
    """The places within an answer whose keys are fixed."""
    if isinstance(value, dict):
        if schema.get("additionalProperties") is False:
            yield place
        for key, inner in value.items():
            yield from fixed(below(schema, key), inner, (*place, key))
    elif isinstance(value, list) and value:
        yield from fixed(schema["items"], value[0], (*place, 0))


def below(schema: Any, step: Any) -> Any:
    if isinstance(step, int):
        return schema["items"]
    return schema.get("properties", {}).get(step) or schema["additionalProperties"]


def schema_at(schema: Any, place: tuple[Any, ...]) -> Any:
    for step in place:
        schema = below(schema, step)
    return schema


def _one_more(table: dict[str, Any], _: Any) -> None:
    table["no such key"] = 1


def _one_fewer(table: dict[str, Any], schema: Any) -> None:
    del table[schema["required"][-1]]


def _other_kind(table: dict[str, Any], schema: Any) -> None:
    # nothing that an answer says is a list of a list of nothing, or null within one
    table[schema["required"][0]] = [[None]]


def test_every_key_says_what_it_means_and_every_number_its_unit():
    from clearance.facts.published import answer_schemas

    unit = re.compile(r"\b(mm|deg|in|kg|km/h|mph|hours|cm2|cm3|mm2|percent|0 to 1|without unit|own unit|unit of it)\b")
    bare = {"effort", "turns_per_km", "low", "high", "exact", "bought", "mm_per_unit"}
    findings = json.loads((DOCS / "findings.schema.json").read_text(encoding="utf-8"))
    for schema in (*answer_schemas().values(), findings):
        for key, inner in keys(schema):
            assert inner.get("description"), key
            kinds = inner.get("type", ())
            if key not in bare and ("number" in kinds):
                assert unit.search(inner["description"]), (schema["title"], key, inner["description"])


def keys(schema: Any) -> Iterator[tuple[str, Any]]:
    for key, inner in schema.get("properties", {}).items():
        yield key, inner
        yield from keys(inner)
    for name in ("items", "additionalProperties"):
        if isinstance(schema.get(name), dict):
            yield from keys(schema[name])


def test_page_and_schemas_are_what_the_facts_declare(monkeypatch):
    """Where this fails: make docs, and read what changed."""
    monkeypatch.syspath_prepend(str(DOCS))
    sys.modules.pop("answer_schemas", None)
    import answer_schemas

    made = answer_schemas.files()
    for name, text in made.items():
        assert (DOCS / name).read_text(encoding="utf-8") == text, name
    assert {f"schemas/{path.name}" for path in (DOCS / "schemas").iterdir()} == set(made) - {"json.md"}
