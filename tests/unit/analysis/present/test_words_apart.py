"""What computes knows neither words nor figures, and words and figures run no model; read from the source files."""

from __future__ import annotations

import ast
from pathlib import Path

ANALYSIS = Path(__file__).parents[4] / "analysis"
TOLD = ("present/texts.py", "present/sentences.py", "present/cautions.py")
# what hands over: a command, the door, a page, the document of --json (its `says`), the figures of a crossing, a movie
HANDS_OVER = ("cli/", "door/", "rowbench/", "movie/", "report/page.py", "report/field_sheet.py", "report/paddock.py",
              "report/picture.py", "bench/page.py", "bench/field_map.py", "explain/figures.py")  # fmt: skip
MODEL = ("sim.run", "sim.setting", "sim.march", "sim.rigid", "sim.model", "sim.mechanism", "analysis.rows")


def speaks(name: str) -> bool:
    """Whether a file (its path below analysis) is one of words or a figure."""
    stem = name.rsplit("/", maxsplit=1)[-1].removesuffix(".py")
    return stem in ("words", "sentences") or stem.endswith("_words") or stem.startswith("figure") or name in TOLD


def hands_over(name: str) -> bool:
    stem = name.removesuffix(".py")
    return name.startswith(HANDS_OVER) or stem.endswith(("/document", "_document"))


def files() -> dict[str, Path]:
    found = {path.relative_to(ANALYSIS).as_posix(): path for path in sorted(ANALYSIS.rglob("*.py"))}
    assert sum(map(speaks, found)) > 25
    assert sum(map(hands_over, found)) > 10
    return found


def imported(path: Path) -> set[str]:
    """Modules that a file imports anywhere, also inside functions and for the type checker."""
    names = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {node.module or "", *(f"{node.module}.{alias.name}" for alias in node.names)}
    return names


def test_what_computes_imports_neither_words_nor_figures():
    wrong = [
        f"{name} imports {module}"
        for name, path in files().items()
        if not speaks(name) and not hands_over(name)
        for module in sorted(imported(path))
        if module.startswith("analysis.") and speaks(module.removeprefix("analysis.").replace(".", "/") + ".py")
    ]
    assert not wrong, "\n".join(wrong)


def test_words_and_figures_run_no_model():
    wrong = [
        f"{name} imports {module}"
        for name, path in files().items()
        if speaks(name)
        for module in sorted(imported(path))
        if module.startswith(MODEL)
    ]
    assert not wrong, "\n".join(wrong)
