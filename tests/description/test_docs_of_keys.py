"""docs/corner-file.md names every key there is, and docs/errors.md says what is really said."""

from __future__ import annotations

import importlib.util
import re
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from pydantic import BaseModel

from clearance import errors
from clearance.description import agreed, schema
from clearance.description.load import load
from clearance.description.parts import box, kinds, mesh, tub
from clearance.description.reading import key_names, read
from clearance.description.whole import AGREED, OWN_SECTIONS
from clearance.suspension.kinds import AXIS_KEYS, KINDS, STEERING_KEYS

DOCS = Path(__file__).parent.parent.parent / "docs"
PAGE = (DOCS / "corner-file.md").read_text(encoding="utf-8")
ERRORS = (DOCS / "errors.md").read_text(encoding="utf-8")
MODELS = [
    model
    for model in {**vars(schema), **vars(agreed), **vars(mesh), **vars(tub), **vars(box), **vars(kinds)}.values()
    if isinstance(model, type) and issubclass(model, BaseModel) and model not in (BaseModel, schema.Table)
]


def module(path: Path, name: str) -> ModuleType:
    """A Python file that is not part of the package."""
    spec = importlib.util.spec_from_file_location(name, path)
    assert spec is not None
    assert spec.loader is not None
    found = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(found)
    return found


@pytest.mark.parametrize("model", MODELS, ids=lambda model: model.__name__)
def test_every_key_of_every_table_is_named_with_its_meaning(model):
    for key in key_names(model):
        assert f"`{key}`" in PAGE or f"{key} =" in PAGE or f"`[{key}]`" in PAGE
    assert all(field.description for field in model.model_fields.values())


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_of_suspension_is_there_with_every_key(kind):
    section = PAGE.split(f"#### `{kind}`\n")[1].split("\n#### ")[0]
    assert [key.name for key in KINDS[kind].keys if f"| `{key.name}` |" not in section] == []


def test_every_key_of_steering_is_there():
    assert [key.name for key in (*STEERING_KEYS, *AXIS_KEYS) if f"| `{key.name}` |" not in PAGE] == []


def test_every_section_is_there():
    assert [name for name in (*OWN_SECTIONS, *AGREED) if f"[{name}]" not in PAGE and f"`{name}`" not in PAGE] == []


def test_the_tables_are_those_of_the_models():
    """Where this fails: python docs/corner_file_tables.py, and read what changed."""
    assert module(DOCS / "corner_file_tables.py", "corner_file_tables").written(PAGE) == PAGE


def test_the_whole_example_of_the_page_loads(tmp_path):
    blocks = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    (tmp_path / "example.toml").write_text(blocks[0], encoding="utf-8")
    assert load(tmp_path / "example.toml").title == "Orchard half-ton, rear left"


def test_the_sections_for_other_questions_are_read_as_they_stand():
    blocks = re.findall(r"```toml\n(.*?)```", PAGE, re.DOTALL)
    tables = tomllib.loads(blocks[-1])
    assert set(tables) == set(AGREED)
    assert read(agreed.AgreedTables, tables, ()).value().limits.spacer_mm == 25


def test_what_the_page_of_errors_quotes_is_what_is_said():
    said = {row.words for row in module(Path(__file__).parent / "test_bad_files.py", "bad_files").TABLE}
    rows = ERRORS.split("| you write | it says |\n|---|---|\n")[1].split("\n\n")[0].splitlines()
    quoted = [row.strip("| ").split(" | ", 1)[1] for row in rows]
    assert len(quoted) > 10
    assert [words for words in quoted if words not in said] == []


def test_the_page_of_errors_names_every_class():
    classes = [name for name, found in vars(errors).items() if isinstance(found, type)]
    assert [name for name in classes if f"| `{name}` |" not in ERRORS] == []
