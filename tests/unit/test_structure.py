"""The house: which way imports go, how full a folder is, what the physics leans on; read from the source files."""

from __future__ import annotations

import ast
import tomllib
from collections import Counter

import imports
import pytest
from imports import ROOMS, ROOT, circles, graph, imported, modules

ALLOWED = {"sim": {"sim"}, "scenarios": {"scenarios", "sim"}, "analysis": {"analysis", "scenarios", "sim"}}
# the floors inside analysis, lowest first: a file imports from its own folder and from those before it
FLOORS = (
    "present", "crossing", "rows", "stones", "pins", "first_run", "verify", "storage", "window", "fit", "explain",
    "modes", "movie", "compare", "rank", "design", "levelling", "setting_up", "paddock", "drawn", "report", "bench",
    "door", "rowbench", "cli",
)  # fmt: skip
# what the physics may lean on besides the standard library's mathematics and typing
PHYSICS = {
    "__future__", "abc", "collections", "contextlib", "dataclasses", "enum", "functools", "itertools", "math",
    "operator", "time", "typing", "warnings",
    "llvmlite", "numba", "numpy", "scipy", "sim",
}  # fmt: skip
# the files of sim that may read the program's own files, choose the compiler's cache folder and keep machine code there
ON_DISK = {"compilecache.py", "keptcode.py", "keptfiles.py", "keptruntime.py", "sources.py"}
FILES = {
    "hashlib", "importlib", "logging", "os", "pathlib", "pickle", "re", "stat", "sys", "tempfile", "uuid",
}  # fmt: skip
FULL, TOP, LONG = 20, 5, 400  # files in a folder, at the top of analysis; lines in a file


def top(dotted: str) -> str:
    return dotted.split(".", maxsplit=1)[0]


def floor(module: str) -> int:
    """Height of a module of analysis; files at the top of analysis lie below all floors."""
    folder = module.split(".")[1:]
    return FLOORS.index(folder[0]) if folder and folder[0] in FLOORS else -1


def offenders(wrong) -> str:
    return "\n".join(sorted(wrong))


def test_rooms_import_only_downwards():
    wrong = [
        f"{path.relative_to(ROOT)}:{line} imports {dotted}"
        for name, path in modules().items()
        for dotted, line in imported(path)
        if top(dotted) in ROOMS and top(dotted) not in ALLOWED[top(name)]
    ]
    assert not wrong, offenders(wrong)


def test_floors_of_analysis_import_only_downwards():
    links = graph()
    inside = (path.relative_to(ROOT / "analysis") for name, path in modules().items() if top(name) == "analysis")
    folders = {path.parts[0] for path in inside if len(path.parts) > 1}
    assert folders == set(FLOORS), "a folder of analysis without a floor, or a floor without a folder"
    wrong = [
        f"{name} imports {other}"
        for name, others in links.items()
        for other in others
        if top(name) == top(other) == "analysis" and floor(other) > floor(name)
    ]
    assert not wrong, offenders(wrong)


def test_there_is_no_circle_between_files():
    assert circles(graph()) == []


def test_a_circle_is_seen():
    links = {"a": {"b"}, "b": {"c"}, "c": {"b", "d"}, "d": set(), "e": {"a", "f"}, "f": {"g"}, "g": {"e"}}
    assert sorted(circles(links)) == [["b", "c"], ["e", "f", "g"]]


def test_folders_are_not_crowded():
    count = Counter(path.parent for path in modules().values())
    wrong = [f"{folder.relative_to(ROOT)}: {n} files" for folder, n in count.items() if n > FULL]
    assert not wrong, offenders(wrong)
    assert count[ROOT / "analysis"] <= TOP


def test_files_are_not_long():
    lengths = {path: path.read_text(encoding="utf-8").count("\n") for path in modules().values()}
    wrong = [f"{path.relative_to(ROOT)}: {n} lines" for path, n in lengths.items() if n > LONG]
    assert not wrong, offenders(wrong)


def test_every_folder_with_sources_is_distributed():
    listed = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]["packages"]
    folders = {".".join(path.parent.relative_to(ROOT).parts) for path in modules().values()}
    door = {"analysis.rowbench": "rowbench"}  # stands in analysis, is imported by its last name
    assert sorted(listed) == sorted(door.get(folder, folder) for folder in folders)
    bare = [name for name in folders if not ROOT.joinpath(*name.split("."), "__init__.py").is_file()]
    assert not bare, offenders(bare)


def test_what_computes_knows_no_words_and_no_figures():
    """Words and figures are made from results; a module that computes imports neither."""

    def shows(name: str) -> bool:
        last = name.rpartition(".")[2]
        return last.startswith(("figure", "movie")) or last.endswith("words") or last == "sentences"

    def gathers(name: str) -> bool:
        """Documents hold sentences too; a list of a topic's figures names them."""
        return name.endswith(("document", ".figures"))

    makers = ("analysis.cli", "analysis.report", "analysis.present", "analysis.door", "analysis.rowbench")
    wrong = [
        f"{name} imports {other}"
        for name, others in graph().items()
        for other in others
        if shows(other) and not shows(name) and not name.startswith(makers) and not gathers(name)
    ]
    assert not wrong, offenders(wrong)


def test_figures_never_simulate():
    wrong = [
        f"{name} imports {dotted}"
        for name, path in modules().items()
        if name.rpartition(".")[2].startswith("figure")
        for dotted, _ in imported(path)
        if dotted.rpartition(".")[2].startswith(("simulate", "march", "cross_", "prepare_group"))
    ]
    assert not wrong, offenders(wrong)


def test_physics_leans_on_nothing_but_mathematics():
    wrong = []
    for name, path in modules().items():
        if top(name) != "sim":
            continue
        allowed = PHYSICS | (FILES if path.name in ON_DISK else set()) | ({"pymunk"} if ".rigid" in name else set())
        wrong += [f"{name} imports {dotted}" for dotted, _ in imported(path) if top(dotted) not in allowed]
    assert not wrong, offenders(wrong)


def test_physics_does_not_print_or_open_files():
    wrong = []
    for name, path in modules().items():
        if top(name) == "sim":
            calls = (n for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.Call))
            named = ((n.func.id, n.lineno) for n in calls if isinstance(n.func, ast.Name))
            wrong += [f"{name}:{line} {word}" for word, line in named if word in {"print", "open", "input", "exit"}]
    assert not wrong, offenders(wrong)


@pytest.mark.parametrize("strange", ["tests", "conftest", "pytest", "hypothesis", "CoolProp", "sympy", "exudyn"])
def test_no_import_from_the_tests(strange):
    shared = {path.stem for path in (ROOT / "tests" / "support").glob("*.py")} if strange == "tests" else set()
    wrong = [
        f"{name} imports {dotted}"
        for name, path in modules().items()
        for dotted, _ in imported(path)
        if top(dotted) in {strange, *shared}
    ]
    assert imports.ROOT == ROOT
    assert not wrong, offenders(wrong)
