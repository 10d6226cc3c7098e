"""The house stays as it was drawn: imports go down, heavy things have one door, and the top level is what it should
be.
"""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

from clearance import defaults

ROOT = Path(__file__).parents[1]
PACKAGE = ROOT / "clearance"

FLOORS = {
    "errors": 0,
    "plain": 1, "pose": 1, "steady": 1, "homes": 1,
    "defaults": 2, "units": 2, "opener": 2, "sound": 2, "beside": 2,
    "geom": 3, "ends": 3,
    "tire": 4, "wheel": 4, "suspension": 4, "well": 4, "terms": 4,
    "mockup": 5,
    "gap": 6, "envelope": 6,
    "zones": 7, "answers": 7, "gauge": 7, "certificate": 7,
    "export": 8, "many": 8,
    "description": 9, "facts": 9,
    "words": 10,
    "report": 11,
    "door": 12,
}  # fmt: skip
DOORS = {
    "trimesh": {"well", "export", "zones"},
    "manifold3d": {"envelope", "gauge", "zones", "export"},
    "pydantic": {"description", "report"},
    "typer": set(),
    "plotly": {"report"},
    "jinja2": {"report"},
    "ezdxf": {"export"},
    "reportlab": {"export", "report"},
    "threadpoolctl": {"steady"},
    "lxml": {"well"},
    "tomlkit": {"description"},
    "scipy": {"well", "answers", "gauge", "export"},
    "shapely": {"tire", "well", "mockup", "gauge", "certificate", "export", "report"},
    "fast_simplification": {"well"},
    "matplotlib": {"export"},
    "OCP": {"export"},
    "pxr": {"export"},
    "pyarrow": {"door"},
    "distributed": {"door"},
    "starlette": set(),
    "uvicorn": set(),
    "websockets": set(),
    "segno": set(),
    "PIL": set(),
}
"""Which rooms may import each heavy dependency; the command line may import typer, and its page
what serves it."""


@cache
def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


@cache
def files() -> list[Path]:
    """The package and its command line."""
    return [*modules(), *sorted((ROOT / "cli").rglob("*.py"))]


def named(path: Path) -> str:
    return str(path.relative_to(ROOT))


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


@cache
def nodes(path: Path) -> list[ast.AST]:
    """Everything that is written in a file."""
    return list(ast.walk(tree(path)))


@pytest.fixture(scope="module", autouse=True)
def _let_go():
    """Each file is read once; what was read is large, and nothing to the tests of others."""
    yield
    for kept in (tree, nodes, calls):
        kept.cache_clear()


def room_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).parts
    return parts[0].removesuffix(".py")


def imports(path: Path):
    """(module, is inside a TYPE_CHECKING block) for every import of a file."""
    for node in nodes(path):
        if isinstance(node, ast.ImportFrom) and node.module and node.level == 0:
            yield node.module
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


@pytest.mark.parametrize("path", modules(), ids=named)
def test_imports_go_down_and_never_sideways(path):
    room = room_of(path)
    if room == "__init__":
        return
    assert room in FLOORS, f"{room} has no floor"
    for module in imports(path):
        if not module.startswith("clearance."):
            assert not module.startswith("clearance_cli"), f"{path.name} imports the command line"
            continue
        other = module.split(".")[1]
        if other == room:
            continue
        assert FLOORS[other] < FLOORS[room], (
            f"{path.relative_to(ROOT)} ({FLOORS[room]}) imports {module} ({FLOORS[other]})"
        )


@pytest.mark.parametrize("path", modules(), ids=named)
def test_heavy_dependencies_have_one_door(path):
    room = room_of(path)
    for module in imports(path):
        rooms = DOORS.get(module.split(".")[0])
        assert rooms is None or room in rooms, f"{path.relative_to(ROOT)} imports {module}"


def test_geometry_knows_numpy_alone():
    allowed = {"numpy", "clearance", "__future__", *sys.stdlib_module_names}
    for path in (PACKAGE / "geom").glob("*.py"):
        for module in imports(path):
            assert module.split(".")[0] in allowed, f"{path.name} imports {module}"


def test_the_top_level_is_as_designed():
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert {"README.md", "DEVELOPERS.md", "pyproject.toml", "clearance", "cli", "tests", "fixtures", "docs"} <= top
    extra = {".ci", ".gitignore", "CHANGELOG.md", "LICENSE", "Makefile", "constraints.txt"}
    assert top - extra == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "clearance",
        "cli",
        "tests",
        "fixtures",
        "docs",
    }


def test_every_room_is_installed():
    """The packages that pyproject names are the folders that are there."""
    import tomllib

    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    named = set(project["tool"]["setuptools"]["packages"]) - {"clearance_cli.page"}
    rooms = (path.parent.relative_to(ROOT) for path in PACKAGE.rglob("__init__.py"))
    there = {"clearance_cli"} | {".".join(room.parts) for room in rooms}
    assert named == there


def test_the_readme_opens_with_the_job():
    text = (ROOT / "README.md").read_text(encoding="utf-8").split("\n\n")
    assert text[0].startswith("# ")
    assert "clear" in text[1]
    assert not text[1].startswith(("!", "#"))


def test_no_registry_address_is_named():
    suspicious = ("--index" + "-url", "pypi" + ".org", "registry" + ".npmjs", '"resolved"')
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    for name in listed.stdout.splitlines():
        path = ROOT / name
        if not path.is_file() or path.suffix in {".png", ".ply", ".obj", ".stl", ".glb"} or path == Path(__file__):
            continue
        text = path.read_text(encoding="utf-8", errors="ignore")
        assert not any(word in text for word in suspicious), name


def test_help_needs_no_numpy():
    """`clearance --help` answers before numpy is loaded; that is what keeps it quick."""
    code = "import sys; from clearance_cli.main import run; run(['--help']); sys.exit('numpy' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    assert "check" in done.stdout


def test_every_verb_has_its_file_and_its_help():
    from clearance_cli.verbs import VERBS

    for verb, (module, summary) in VERBS.items():
        assert (ROOT / "cli" / f"{module}.py").is_file(), verb
        assert summary.endswith((".", "?")), verb


@cache
def calls(path: Path) -> list[tuple[str, int]]:
    """(name as it is written, line) of every call in a file: "json.dumps", "place.read_text"."""
    return [(ast.unparse(node.func), node.lineno) for node in nodes(path) if isinstance(node, ast.Call)]


OPENS = ("open", "os.open", "io.open", "json.load", "json.loads", "csv.reader", "csv.DictReader")
OPENING_TAILS = (".read_text", ".read_bytes", ".open")
MAY_OPEN = {
    "clearance/opener.py": "the opener",
    "clearance/export/usdz.py": "what its library has just written into a folder of its own",
    "clearance/door/study_spread.py": "what the system says of the memory that it holds",
    "clearance/report/page.py": "its own page, style and script",
    "clearance/report/car_page.py": "its own page and style",
    "clearance/report/study_page.py": "its own page, style and script",
    "clearance/tire/catalog.py": "its own list of sizes",
    "clearance/tire/tables.py": "its own tables",
    "clearance/door/measuring.py": "its own examples",
    "cli/out.py": "what it writes",
    "cli/page/serve.py": "its own page, style and scripts",
    "cli/page/photos.py": "a photo that was handed in, in memory",
    "cli/page/shipped.py": "the cars that come along",
    "cli/main.py": "the null device",
    "cli/fault.py": "the file that a fault is written to",
}


@pytest.mark.parametrize("path", files(), ids=named)
def test_every_file_of_a_person_comes_in_through_the_opener(path):
    name = named(path)
    if name in MAY_OPEN:
        return
    found = [c for c in calls(path) if c[0] in OPENS or c[0].endswith(OPENING_TAILS) or c[0].startswith("tomllib.")]
    assert found == [], f"{name} opens or parses by itself: {found}"


SAYS = ("print", "typer.echo", "typer.secho", "sys.stdout.write", "sys.stderr.write")
WRITES_JSON = {
    "clearance/plain.py": "where text leaves",
    "clearance/report/corner_text.py": "a word between quotes, which a corner file is read with",
    "cli/out.py": "the folder's list, of names that it has held",
}


@pytest.mark.parametrize("path", files(), ids=named)
def test_every_word_leaves_through_one_place(path):
    """Lines through `say`, `show` and `note` of cli/out.py; JSON, CSV and markup through `plain`."""
    name = named(path)
    said = [c for c in calls(path) if c[0] in SAYS]
    assert said == [] or name in ("cli/out.py", "cli/main.py"), f"{name} speaks past cli/out.py: {said}"
    other = {"json.dumps", "csv.writer", "escape", "quoteattr", "html.escape"}
    found = [c for c in calls(path) if c[0] in other]
    if name == "clearance/report/page.py":
        found = [c for c in found if c[0] != "escape"]  # markupsafe's, around lengths in a sentence
    assert found == [] or name in WRITES_JSON, f"{name} writes past clearance/plain.py: {found}"


def test_what_was_found_is_never_repeated_whole():
    """A refusal shows at most a line of it: through `plain.echoed` or `plain.quoted`, not as it is."""
    for path in files():
        for node in nodes(path):
            if isinstance(node, ast.FormattedValue) and node.conversion == ord("r"):
                raise AssertionError(f"{path.relative_to(ROOT)}:{node.lineno} shows a value whole")


FACTORS = {25.4, 304.8, 0.45359237, 1.609344}
"""Of inch, foot, pound and mile."""
MAY_WRITE_A_FACTOR = {
    "clearance/units.py": "their home",
    "clearance/report/answers.py": "two flanges of half an inch, which are as much by chance",
}
TAKEN = {
    "tolerance_mm": defaults.TOLERANCE_MM,
    "slack_mm": defaults.SLACK_MM,
    "every_mm": defaults.TEMPLATE_EVERY_MM,
    "fit_mm": defaults.FIT_MM,
    "plate_mm": defaults.PLATE_MM,
    "stud_mm": defaults.STUD_MM,
    "nut_mm": defaults.NUT_MM,
    "over_mm": defaults.OVER_MM,
    "bed": defaults.by(defaults.BED_MM),
    "sheet": defaults.by(defaults.SHEET_MM),
}


@pytest.mark.parametrize("path", files(), ids=named)
def test_a_fact_stands_once(path):
    """Factors between units in clearance/units.py; what is taken where nothing is said in clearance/defaults.py."""
    name = named(path)
    written = {n.value for n in nodes(path) if isinstance(n, ast.Constant) and isinstance(n.value, float)}
    assert not written & FACTORS or name in MAY_WRITE_A_FACTOR, f"{name} writes {written & FACTORS}"
    for function in nodes(path):
        if not isinstance(function, ast.FunctionDef):
            continue
        given = function.args
        pairs = [*zip(given.args[len(given.args) - len(given.defaults) :], given.defaults, strict=True)]
        pairs += zip(given.kwonlyargs, given.kw_defaults, strict=True)
        spelt = [a.arg for a, v in pairs if isinstance(v, ast.Constant) and a.arg in TAKEN and v.value == TAKEN[a.arg]]
        assert spelt == [], f"{name}:{function.lineno} spells its own default of {spelt}"
        measures = [
            value.value
            for _, value in pairs
            if name.startswith("cli/") and isinstance(value, ast.Constant) and isinstance(value.value, str)
        ]
        measures = [text for text in measures if re.match("[1-9]", text)]
        assert measures == [], f"{name}:{function.lineno} spells its own default of {measures}"


MAY_TURN_THE_MIRROR = {
    "clearance/pose.py": "the home of the mirror's signs",
    "clearance/export/glb.py": "the mirror as a matrix, in a scene's axes",
}


@pytest.mark.parametrize("path", modules(), ids=named)
def test_the_sign_of_a_right_corner_stands_once(path):
    """What a right corner turns round is asked of `pose.car_steer_deg` and `pose.rightward`."""
    name = named(path)
    found = [
        node.lineno
        for node in nodes(path)
        if isinstance(node, ast.IfExp)
        and "right_hand" in ast.unparse(node.test)
        and any(isinstance(end, ast.UnaryOp) and isinstance(end.op, ast.USub) for end in (node.body, node.orelse))
    ]
    assert found == [] or name in MAY_TURN_THE_MIRROR, f"{name} has a sign of its own in lines {found}"


# ---- how branched a function is


BRANCHES = (ast.If, ast.IfExp, ast.For, ast.While, ast.ExceptHandler, ast.Assert, ast.comprehension)
MOST_BRANCHED = 0.01
"""The share of functions that may have a cyclomatic complexity of more than ten."""


def complexity(function: ast.AST) -> int:
    """One, and one for each branch, loop, handler, assertion, `and`, `or`, and loop or filter of a comprehension.

    McCabe's count (IEEE Transactions on Software Engineering 2, 1976, from memory) with the conditions of one test
    counted singly. Measured against radon 6.0.1 over the whole package: the same number for every function that has no
    function inside it, and never a smaller one.
    """
    found = 1
    for node in ast.walk(function):
        found += isinstance(node, BRANCHES)
        if isinstance(node, ast.BoolOp):
            found += len(node.values) - 1
        elif isinstance(node, ast.comprehension):
            found += len(node.ifs)
        elif isinstance(node, (ast.For, ast.While, ast.Try)):
            found += bool(node.orelse)
        elif isinstance(node, ast.Match):
            found += len(node.cases)
    return found


def test_complexity_is_counted_as_it_should_be():
    text = """
def f(a, b):
    if a and b or a is None:
        return [x for x in a if x]
    for x in a:
        b = x if x else b
    else:
        assert b
    try:
        g()
    except ValueError:
        pass
"""
    # if, and, or; comprehension and its if; for and its else; if expression; assert; except
    assert complexity(ast.parse(text).body[0]) == 1 + 3 + 2 + 2 + 1 + 1 + 1


def test_few_functions_are_much_branched():
    """Fewer than one in a hundred has more than ten ways through it."""
    found = [
        (complexity(node), f"{path.relative_to(ROOT)}:{node.lineno} {node.name}")
        for path in files()
        for node in nodes(path)
        if isinstance(node, ast.FunctionDef)
    ]
    much = sorted((row for row in found if row[0] > 10), reverse=True)
    assert len(much) < MOST_BRANCHED * len(found), much


# ---- what a function refuses, it says


def error_names() -> set[str]:
    """The errors of the package: everything that derives from one of `clearance.errors`, and what rooms make of it."""
    bases: dict[str, set[str]] = {}
    for path in modules():
        for node in nodes(path):
            if isinstance(node, ast.ClassDef):
                bases[node.name] = {ast.unparse(base).rpartition(".")[2] for base in node.bases}
    known: set[str] = {"Exception"}
    while more := {name for name, own in bases.items() if own & known} - known:
        known |= more
    return known - {"Exception"}


def public_functions(within: ast.Module | ast.ClassDef):
    for node in within.body:
        if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
            yield from public_functions(node)
        elif isinstance(node, ast.FunctionDef) and not node.name.startswith("_"):
            yield node


def raised_by(function: ast.FunctionDef) -> set[str]:
    """The classes that a function's own lines raise; a function inside raises when it is called."""
    found, todo = set(), list(function.body)
    while todo:
        node: ast.AST = todo.pop()
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            found.add(ast.unparse(node.exc.func).rpartition(".")[2])
        if not isinstance(node, (ast.FunctionDef, ast.ClassDef, ast.Lambda)):
            todo += ast.iter_child_nodes(node)
    return found


def test_a_public_function_names_what_it_raises():
    errors = error_names()
    assert {"ClearanceError", "InputError", "SuspensionError", "Refusal", "Unproven"} <= errors
    silent = [
        f"{path.relative_to(ROOT)}:{node.lineno} {node.name} raises {name}"
        for path in modules()
        for node in public_functions(tree(path))
        for name in sorted(raised_by(node) & errors)
        if name not in (ast.get_docstring(node) or "")
    ]
    assert silent == []
