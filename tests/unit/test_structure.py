"""Three floors, one way up: analysis → scenarios → sim, read from the source files."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("sim", "scenarios", "analysis")
ALLOWED = {"sim": set(), "scenarios": {"sim"}, "analysis": {"sim", "scenarios"}}
# what the physics may lean on besides the standard library's mathematics and typing
PHYSICS = {
    "__future__", "abc", "collections", "contextlib", "dataclasses", "enum", "functools", "hashlib", "itertools",
    "math", "operator", "os", "pathlib", "tempfile", "time", "typing", "warnings",
    "llvmlite", "numba", "numpy", "scipy", "pymunk", "sim",
}  # fmt: skip
FILES_ONLY_IN = {"compilecache.py"}  # the one file of sim that may touch the disk: the compiler's cache folder


def sources(room: str) -> list[Path]:
    found = sorted((ROOT / room).rglob("*.py"))
    assert found, f"no source files in {room}"
    return found


def imports(path: Path) -> set[str]:
    """Top-level names imported anywhere in a file, also inside functions."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name.split(".")[0] for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            names.add((node.module or "").split(".")[0])
    return names


@pytest.mark.parametrize("room", ROOMS)
def test_rooms_import_only_downwards(room):
    for path in sources(room):
        up = (imports(path) & set(ROOMS)) - {room} - ALLOWED[room]
        assert not up, f"{path.relative_to(ROOT)} imports {', '.join(sorted(up))}"


def test_physics_leans_on_nothing_but_mathematics():
    for path in sources("sim"):
        strange = imports(path) - PHYSICS
        assert not strange, f"{path.relative_to(ROOT)} imports {', '.join(sorted(strange))}"
        if path.name not in FILES_ONLY_IN:
            touched = imports(path) & {"os", "pathlib", "tempfile", "hashlib"}
            assert not touched, f"{path.relative_to(ROOT)} reaches for files"


def test_pymunk_stays_in_the_rigid_body_engine():
    for path in sources("sim"):
        if path.parent.name != "rigid":
            assert "pymunk" not in imports(path), path.name


def test_physics_does_not_print_or_open_files():
    for path in sources("sim"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name):
                assert node.func.id not in {"print", "open", "input", "exit"}, f"{path.name}:{node.lineno}"


def test_no_import_from_the_tests():
    for room in ROOMS:
        for path in sources(room):
            assert not imports(path) & {"tests", "conftest", "pytest", "hypothesis", "CoolProp", "sympy", "exudyn"}
