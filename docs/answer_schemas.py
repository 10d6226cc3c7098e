"""Writes docs/schemas/ and docs/json.md from what the facts of every answer declare. `make docs` runs it."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from clearance.facts.published import answer_schemas, schema_file

DOCS = Path(__file__).parent
FINDINGS = "findings.schema.json"

HEAD = """# The JSON of every answer

What `--json` prints is one JSON object. Its `format` says what it is; the number changes when a reader of the old
layout would misread the new one. Each format has a JSON Schema (draft 2020-12), in which every key has its meaning and
its unit. Where keys are fixed no other is allowed. Lengths are millimetres, angles degrees, steer is the car's own
(positive to the left, left corner and right), whatever unit the pages have first. Sentences within JSON have
millimetres first.

This page and the schemas are made from what makes the answers; a test runs every verb and holds what it prints against
them.
"""


def files() -> dict[str, str]:
    """Path below docs: text, of the page and of every schema."""
    schemas = answer_schemas()
    made = {f"schemas/{schema_file(kind)}": _text(schema) for kind, schema in schemas.items()}
    findings = json.loads((DOCS / FINDINGS).read_text(encoding="utf-8"))
    links = {"clearance-findings/1": (FINDINGS, findings)}
    links |= {kind: (f"schemas/{schema_file(kind)}", schema) for kind, schema in sorted(schemas.items())}
    index = ["| `format` | printed by | what it is |", "|---|---|---|"]
    index += [
        f"| [`{kind}`]({link}) | `{_verb(kind)}` | {schema['description']} |" for kind, (link, schema) in links.items()
    ]
    pages = [_section(kind, schema) for kind, (_, schema) in links.items()]
    return {**made, "json.md": "\n".join([HEAD, *index, "", *pages])}


def _verb(kind: str) -> str:
    verb = kind.removeprefix("clearance-").removeprefix("car-").split("/")[0]
    return "check" if verb == "findings" else verb


def _section(kind: str, schema: dict[str, Any]) -> str:
    rows = [f"| `{key}` | {word} | {words} |" for key, word, words in _keys(schema, "")]
    return "\n".join([f"## {kind}", "", "| key | kind | meaning |", "|---|---|---|", *rows, ""])


def _keys(schema: dict[str, Any], before: str) -> Iterator[tuple[str, str, str]]:
    for key, inner in schema.get("properties", {}).items():
        yield f"{before}{key}", _kind(inner), inner.get("description", "").replace("|", "\\|")
        yield from _within(inner, f"{before}{key}")


def _within(schema: dict[str, Any], name: str) -> Iterator[tuple[str, str, str]]:
    items, free = schema.get("items"), schema.get("additionalProperties")
    if isinstance(items, dict):
        yield from _within(items, f"{name}[]")
    elif isinstance(free, dict):
        yield from _within(free, f"{name}.*")
    else:
        yield from _keys(schema, f"{name}.")


def _kind(schema: dict[str, Any]) -> str:
    if "const" in schema:
        return f"`{schema['const']}`"
    if "enum" in schema:
        return ", ".join("null" if word is None else f'`"{word}"`' for word in schema["enum"])
    kinds = schema.get("type", "")
    return " or ".join(kinds) if isinstance(kinds, list) else str(kinds)


def _text(schema: dict[str, Any]) -> str:
    return json.dumps(schema, indent=1, ensure_ascii=False) + "\n"


def main() -> None:
    """Writes them; a schema that is made no more is taken away."""
    made = files()
    (DOCS / "schemas").mkdir(exist_ok=True)
    for old in (DOCS / "schemas").glob("*.json"):
        if f"schemas/{old.name}" not in made:
            old.unlink()
    for name, text in made.items():
        (DOCS / name).write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main()
