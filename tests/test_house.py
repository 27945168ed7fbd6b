"""The house keeps its order: imports point one way, files stay small, --help stays light."""

from __future__ import annotations

import ast
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
PACKAGE = ROOT / "embellish"

# Left never imports right; rooms of one floor are siblings that do not import each other.
FLOORS: tuple[tuple[str, ...], ...] = (
    ("units", "errors", "findings", "arrays"),
    ("geometry", "formats"),
    ("catalogue", "artwork"),
    ("layout",),
    ("plans",),
    ("checks", "outputs"),
    ("job",),
    ("workbench",),
    ("cli",),
    ("__main__",),
)
FLOOR_OF = {room: floor for floor, rooms in enumerate(FLOORS) for room in rooms}

MODULES = sorted(path for path in PACKAGE.rglob("*.py") if path.name != "__init__.py")


def imported(path: Path) -> Iterator[str]:
    """Every module of the package that a file imports, wherever in the file."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: imports are absolute"
            names = [f"{node.module}.{alias.name}" for alias in node.names]
        else:
            continue
        yield from (name for name in names if name.split(".")[0] == "embellish")


def room_of(module: str) -> str | None:
    parts = module.split(".")
    return parts[1] if len(parts) > 1 else None


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_imports_point_one_way(path: Path):
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    here = parts[0]
    assert here in FLOOR_OF, f"{here} has no floor in the plan"
    for name in imported(path):
        there = room_of(name)
        if there is None or there in (here, "__version__"):
            continue
        assert FLOOR_OF[there] < FLOOR_OF[here], f"{here} imports {name}"


def test_no_two_files_import_each_other_in_a_circle():
    names = {
        "embellish." + ".".join(path.relative_to(PACKAGE).with_suffix("").parts): path
        for path in MODULES
    }
    edges = {
        name: {
            target
            for each in imported(path)
            for target in (each, each.rpartition(".")[0])
            if target in names and target != name
        }
        for name, path in names.items()
    }
    done: set[str] = set()

    def visit(name: str, trail: tuple[str, ...]) -> None:
        assert name not in trail, " -> ".join([*trail, name])
        if name not in done:
            for each in sorted(edges[name]):
                visit(each, (*trail, name))
            done.add(name)

    for name in sorted(names):
        visit(name, ())


@pytest.mark.parametrize("path", MODULES, ids=lambda path: str(path.relative_to(PACKAGE)))
def test_files_stay_small(path: Path):
    lines = len(path.read_text(encoding="utf-8").splitlines())
    assert lines <= 450, "two ideas in one file?"


@pytest.mark.parametrize(
    "words", [["--version"], ["--help"], ["make", "--help"], ["look", "--help"]], ids=" ".join
)
def test_help_starts_without_the_heavy_libraries(words: list[str]):
    program = (
        "import sys\n"
        "from embellish.cli.app import app\n"
        f"try: app({words!r})\n"
        "except SystemExit: pass\n"
        "heavy = {'numpy', 'shapely', 'scipy', 'PIL', 'lxml'} & set(sys.modules)\n"
        "sys.exit(f'heavy: {heavy}' if heavy else 0)\n"
    )
    done = subprocess.run(
        [sys.executable, "-c", program], capture_output=True, text=True, check=False, cwd=ROOT
    )
    assert done.returncode == 0, done.stderr


def test_the_top_level_is_what_it_should_be():
    listed = subprocess.run(
        ["git", "ls-files"], capture_output=True, text=True, check=False, cwd=ROOT
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    top = {line.split("/")[0] for line in listed.stdout.splitlines()}
    known = {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "embellish",
        "catalogues",
        "tests",
        "demos",
    }
    assert {name for name in top if not name.startswith(".")} <= known
