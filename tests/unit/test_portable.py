"""Every desk: nothing in the sources holds on one system only. Read from the source files."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import no_posix
import pytest

ROOT = Path(__file__).parents[2]
ROOMS = ("sim", "scenarios", "analysis")
READERS = {"open", "read_text", "write_text", "fdopen", "TextIOWrapper", "NamedTemporaryFile", "TemporaryFile"}
STARTERS = {"run", "Popen", "check_output", "check_call", "call", "getoutput"}
# beside what no_posix can hide from a process and let Python's library work
SYSTEM = no_posix.FUNCTIONS | {"uname", "statvfs", "O_DIRECTORY", "O_NOFOLLOW", "O_CLOEXEC", "O_NONBLOCK", "O_SYNC"}
SIGNALS = {"SIGKILL", "SIGHUP", "SIGUSR1", "SIGUSR2", "SIGALRM", "SIGCHLD", "SIGPIPE", "SIGXFSZ", "SIGQUIT", "SIGSTOP",
           "alarm", "setitimer", "pthread_kill", "pthread_sigmask", "sigwait"}  # fmt: skip


def sources(*rooms: str) -> list[Path]:
    found = [path for room in rooms for path in sorted((ROOT / room).rglob("*.py"))]
    assert len(found) > 5
    return found


def calls(tree: ast.AST) -> Iterator[tuple[ast.Call, str, str]]:
    """Every call, the last part of what is called, and what it is a part of ("" for a plain name)."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Call):
            if isinstance(node.func, ast.Attribute):
                yield node, node.func.attr, ast.unparse(node.func.value)
            elif isinstance(node.func, ast.Name):
                yield node, node.func.id, ""


def mode(call: ast.Call, owner: str) -> str:
    """Mode that a file is opened with: the second place of `open(path, mode)`, the first of `path.open(mode)`."""
    at = 0 if owner else 1
    given = [k.value for k in call.keywords if k.arg == "mode"] + call.args[at : at + 1]
    return given[0].value if given and isinstance(given[0], ast.Constant) and isinstance(given[0].value, str) else "r"


def no_encoding(text: str) -> list[int]:
    """Lines that open a text, or start a process and read text from it, in the encoding of the desk at hand."""
    found = []
    for call, name, owner in calls(ast.parse(text)):
        named = {keyword.arg for keyword in call.keywords}
        if name == "open" and (owner in ("os", "Image", "rasterio") or "b" in mode(call, owner)):
            continue
        if name == "read_text" and owner == "":  # scenarios.format.read
            continue
        texts = name in READERS or (
            name in STARTERS and owner == "subprocess" and named & {"text", "universal_newlines"}
        )
        if texts and "encoding" not in named:
            found.append(call.lineno)
    return found


def no_newline(text: str) -> list[int]:
    """Lines that leave the ends of lines to the desk at hand where tables are written: Python's csv brings its own."""
    tree = ast.parse(text)
    if not any(name in ("writer", "DictWriter") for _, name, _ in calls(tree)):
        return []
    opened = [(call, mode(call, owner)) for call, name, owner in calls(tree) if name == "open" and owner != "os"]
    return [
        call.lineno
        for call, how in opened
        if how[0] in "wax" and "b" not in how
        and not any(k.arg == "newline" for k in call.keywords)
    ]  # fmt: skip


def one_system_only(text: str) -> list[str]:
    """Imports and attributes that not every system has, where nothing asks for them first."""
    found: list[str] = []
    _walk(ast.parse(text), frozenset(), found)
    return found


def _walk(node: ast.AST, asked: frozenset[str], found: list[str]) -> None:
    if isinstance(node, ast.Import | ast.ImportFrom):
        names = [node.module or ""] if isinstance(node, ast.ImportFrom) else [alias.name for alias in node.names]
        found += [f"{node.lineno}: import {n}" for n in names if n in (no_posix.MODULES | {"posix"}) - asked]
        if isinstance(node, ast.ImportFrom) and node.module in ("os", "signal"):
            found += [f"{node.lineno}: {a.name}" for a in node.names if a.name in (SYSTEM | SIGNALS) - asked]
    if isinstance(node, ast.Attribute) and isinstance(node.value, ast.Name):
        listed = {"os": SYSTEM, "signal": SIGNALS}.get(node.value.id, frozenset())
        if node.attr in listed - asked:
            found.append(f"{node.lineno}: {node.value.id}.{node.attr}")
    if isinstance(node, ast.Try) and any("ImportError" in ast.unparse(h.type or node) for h in node.handlers):
        asked = asked | no_posix.MODULES
    if isinstance(node, ast.If | ast.IfExp):
        for call, name, _ in calls(node.test):
            if name == "hasattr" and isinstance(call.args[1], ast.Constant):
                asked = asked | {str(call.args[1].value)}
    for child in ast.iter_child_nodes(node):
        _walk(child, asked, found)


@pytest.mark.parametrize(
    ("check", "rooms"),
    [(no_encoding, (*ROOMS, "tests/support")), (no_newline, ROOMS), (one_system_only, ROOMS)],
)
def test_the_sources_hold_on_every_system(check, rooms):
    found = {str(path.relative_to(ROOT)): check(path.read_text(encoding="utf-8")) for path in sources(*rooms)}
    assert {name: lines for name, lines in found.items() if lines} == {}


def test_a_text_without_encoding_is_found():
    text = """
path.read_text()
path.open("w")
open("a.txt", "r")
subprocess.run(["a"], text=True)
path.open(encoding="utf-8"), open("a", mode="rb"), path.open("xb"), os.open("a", 0), subprocess.run(["a"])
"""
    assert no_encoding(text) == [2, 3, 4, 5]


def test_a_table_with_ends_of_lines_of_its_own_is_found():
    text = 'import csv\nwith path.open("w", encoding="utf-8") as s:\n    csv.writer(s)\n'
    assert no_newline(text) == [2]
    assert no_newline(text.replace('"w"', '"w", newline=""')) == []


def test_what_one_system_has_is_found():
    text = """
import fcntl
from resource import getrlimit
from os import fork
os.getuid(), signal.SIGKILL, os.O_DIRECTORY
try:
    import pwd
except ImportError:
    pwd = None
os.getuid() if hasattr(os, "getuid") else 0
if hasattr(os, "fork"):
    os.fork()
"""
    assert one_system_only(text) == [
        "2: import fcntl", "3: import resource", "4: fork", "5: os.getuid", "5: signal.SIGKILL", "5: os.O_DIRECTORY",
    ]  # fmt: skip
