"""What the files of the program import of each other, read from the sources, for tests of the structure."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]
ROOMS = ("sim", "scenarios", "analysis")


def modules() -> dict[str, Path]:
    """All modules by dotted name; a package goes by its own."""
    found = {}
    for room in ROOMS:
        for path in sorted((ROOT / room).rglob("*.py")):
            name = ".".join(path.relative_to(ROOT).with_suffix("").parts)
            found[name.removesuffix(".__init__")] = path
    assert len(found) > 150, "the sources were not found"
    return found


@cache
def imported(path: Path) -> tuple[tuple[str, int], ...]:
    """(dotted name, line) of everything imported anywhere in a file, also in functions and for the type checker.

    `from package import name` counts as `package.name`, whether that is a module or something in one.
    """
    found = []
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found += [(alias.name, node.lineno) for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative import"
            found += [(f"{node.module}.{alias.name}", node.lineno) for alias in node.names]
    return tuple(found)


def graph() -> dict[str, set[str]]:
    """Which modules of the program each of them imports."""
    known = modules()
    made: dict[str, set[str]] = {}
    for name, path in known.items():
        made[name] = set()
        for dotted, _ in imported(path):
            target = dotted if dotted in known else dotted.rpartition(".")[0]
            if target in known and target != name:
                made[name].add(target)
    return made


def circles(links: dict[str, set[str]]) -> list[list[str]]:
    """Sets of two or more modules each of which leads to all others (strong components)."""
    order: list[str] = []
    seen: set[str] = set()

    def leave(name: str) -> None:
        """Note a module once all that it leads to is noted; without recursion."""
        trail = [(name, iter(sorted(links[name])))]
        seen.add(name)
        while trail:
            here, rest = trail[-1]
            following = next((other for other in rest if other not in seen), None)
            if following is None:
                order.append(here)
                trail.pop()
            else:
                seen.add(following)
                trail.append((following, iter(sorted(links[following]))))

    for name in links:
        if name not in seen:
            leave(name)
    back: dict[str, set[str]] = {name: set() for name in links}
    for name, others in links.items():
        for other in others:
            back[other].add(name)
    found, taken = [], set()
    for name in reversed(order):
        if name in taken:
            continue
        group, waiting = [], [name]
        while waiting:
            here = waiting.pop()
            if here not in taken:
                taken.add(here)
                group.append(here)
                waiting += back[here] - taken
        if len(group) > 1:
            found.append(sorted(group))
    return found
