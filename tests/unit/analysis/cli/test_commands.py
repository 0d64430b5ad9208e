"""One idiom for all commands: options and an answer in a module of its own, printing and writing in `main` alone."""

from __future__ import annotations

import ast
import inspect
import json
import re
import subprocess
import sys
from pathlib import Path

import pytest

from analysis.cli.command_line import read_request
from analysis.cli.commands import COMMANDS, FOLDERS, command
from analysis.cli.main import main
from analysis.cli.parts.answer import Answer

CLI = Path(__file__).parents[4] / "analysis" / "cli"
COMMON = {"__init__", "command_line", "commands", "main", "request"}  # modules that are no command
WRITES = {"write_text", "write_bytes", "savefig", "unlink", "rename", "replacing", "save", "mkdir", "touch"}
# calls that write, or hand on what writes, in a function that `main` is given for a path
WRITERS = {("answer", "write_bytes")}


def modules() -> list[Path]:
    found = sorted(CLI.rglob("*.py"))
    assert len(found) > len(COMMANDS)
    return found


def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))


def imported(path: Path) -> set[str]:
    """Modules imported anywhere in a file, also inside functions and for the type checker."""
    names = set()
    for node in ast.walk(tree(path)):
        if isinstance(node, ast.Import):
            names |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            names |= {str(node.module)} | {f"{node.module}.{alias.name}" for alias in node.names}
    return names


def test_the_table_names_every_module_that_is_a_command():
    found = {
        path.stem: path.parent
        for path in (*CLI.glob("*.py"), *(p for f in FOLDERS.values() for p in CLI.glob(f"{f}/*.py")))
    }
    assert set(COMMANDS) == set(found) - COMMON
    assert all(found[name] == CLI / FOLDERS.get(name, ".") for name in COMMANDS)
    assert all(text and text[0] != " " and not text.endswith(".") for text in COMMANDS.values())


def test_every_command_offers_options_and_an_answer():
    for name in COMMANDS:
        module = command(name)
        assert list(inspect.signature(module.options).parameters) == ["parser"], name
        assert list(inspect.signature(module.answer).parameters) == ["request"], name
        assert inspect.signature(module.answer).return_annotation == "Answer", name
        assert inspect.getdoc(module.options), name
        assert inspect.getdoc(module.answer), name
        public = {
            found.name
            for found in tree(CLI / FOLDERS.get(name, ".") / f"{name}.py").body
            if isinstance(found, ast.FunctionDef)
        }
        assert {found for found in public if not found.startswith("_")} == {"options", "answer"}, name


def test_every_command_takes_json_and_tells_its_options(capsys):
    for name, text in COMMANDS.items():
        with pytest.raises(SystemExit) as ended:
            main([name, "--help"])
        assert ended.value.code == 0
        told = " ".join(capsys.readouterr().out.split())
        assert told.startswith(f"usage: rowbench {name} ")
        assert f"{text[0].upper()}{text[1:]}." in told
        assert "--json one JSON document on standard output" in told


def test_help_lists_every_command_with_its_line(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    told = " ".join(capsys.readouterr().out.split())
    places = [told.index(f" {name} {text}") for name, text in COMMANDS.items()]
    assert places == sorted(places)


def test_only_main_prints_and_sets_exit_codes():
    """With `streams` and `machine`, which are its hands: what is said comes out whole, or is told as a fault."""
    wrong = []
    for path in modules():
        if path.name in ("main.py", "streams.py", "machine.py"):
            continue
        for node in ast.walk(tree(path)):
            used = (isinstance(node, ast.Name) and node.id in {"print", "exit", "quit", "open"}) or (
                isinstance(node, ast.Attribute)
                and node.attr in {"stdout", "stderr", "exit", "_exit", "print_help", "open"}
            )
            if used:
                wrong.append(f"{path.name}:{node.lineno}")
        if imported(path) & {"sys", "logging", "builtins"}:
            wrong.append(f"{path.name}: imports sys")
    assert not wrong


def test_only_main_writes():
    """What writes is handed to `main` with its path: nothing outside of it chooses a path to write to."""
    wrong = []
    for path in modules():
        if path.name == "main.py":
            continue
        for node in ast.walk(tree(path)):
            name = getattr(node, "attr", getattr(node, "id", "")) if isinstance(node, ast.Attribute | ast.Name) else ""
            if name in WRITES and (path.stem, name) not in WRITERS:
                wrong.append(f"{path.name}:{node.lineno}: {name}")
            if isinstance(node, ast.ImportFrom) and node.module == "analysis.storage.safe_write":
                assert {alias.name for alias in node.names} <= {"output_fault", "folder_fault"}, path.name
    assert not wrong


def test_no_command_passes_through_anothers_module():
    names = {command(name).__name__ for name in COMMANDS}
    for path in modules():
        others = imported(path) & names
        assert not others, f"{path.name} imports {', '.join(sorted(others))}"
        if path.parent.name == "parts":
            assert not imported(path) & {"analysis.cli.main", "analysis.cli.commands"}, path.name
    assert not any("analysis.cli.main" in imported(path) for path in modules())


def test_no_circle_between_the_files():
    names = {f"analysis.cli.{'.'.join(path.relative_to(CLI).with_suffix('').parts)}": path for path in modules()}
    needs = {name: imported(path) & set(names) for name, path in names.items()}
    left = dict(needs)
    while free := [name for name, needed in left.items() if not needed & set(left)]:
        for name in free:
            del left[name]
    assert not left, sorted(left)


def test_no_private_part_of_argparse():
    for path in modules():
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Attribute):
                assert not re.match(r"_[A-Za-z]", node.attr), f"{path.name}:{node.lineno}: {node.attr}"


def test_imports_inside_functions_have_a_reason():
    """Only what is heavy and asked for by an option: figures, HDF5, the second engine, stones, rows, compiling."""
    heavy = re.compile(
        r"analysis\.\w+(\.\w+)?\.(figure\w*|movie|run_file|figures)$|analysis\.(stones|rows|first_run)\."
        r"|analysis\.present\.texts$|sim\.rigid\.|sim\.march\.rows$|analysis\.pins\.duty\.(often|extremes)$"
        r"|analysis\.report\.of_result$"
    )
    found = []
    for path in modules():
        for function in ast.walk(tree(path)):
            if isinstance(function, ast.FunctionDef):
                inside = [str(n.module) for n in ast.walk(function) if isinstance(n, ast.ImportFrom)]
                inside += [a.name for n in ast.walk(function) if isinstance(n, ast.Import) for a in n.names]
                found += [f"{path.name}: {name}" for name in inside if not heavy.match(name)]
    assert not found


@pytest.mark.parametrize(
    ("words", "code"), [(["--version"], 0), (["--help"], 0), ([], 2), (["windw"], 2), (["new"], 2), (["new", "-h"], 0)]
)
def test_a_light_call_loads_nothing_heavy(words, code):
    program = (
        "import sys\nfrom analysis.cli.main import main\n"
        f"try:\n    code = main({words!r})\nexcept SystemExit as ended:\n    code = ended.code\n"
        "heavy = {'numba', 'numpy', 'scipy', 'pydantic', 'matplotlib', 'h5py'} & set(sys.modules)\n"
        "loaded = [m for m in sys.modules if m.startswith('analysis.cli.')]\n"
        "import json; print('\\n' + json.dumps([code, sorted(heavy), sorted(loaded)]))"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    told, heavy, loaded = json.loads(done.stdout.splitlines()[-1])
    assert told == code
    # a starter file names the keys of every ground feature, which stand beside their shapes: numpy, a tenth of a second
    assert heavy == (["numpy"] if words[:1] == ["new"] else [])
    asked = {words[0]} & set(COMMANDS) if words else set()
    assert {name.rsplit(".", maxsplit=1)[-1] for name in loaded} & set(COMMANDS) == asked


def test_an_answer_writes_all_of_its_files_or_none(tmp_path, monkeypatch, capsys):
    def fails(path):
        path.write_text("half", encoding="utf-8")
        raise KeyboardInterrupt

    found = Answer("told", {}, files=((tmp_path / "a.txt", lambda p: p.write_text("a")), (tmp_path / "b.txt", fails)))
    monkeypatch.setattr("analysis.cli.library.answer", lambda request: found)
    assert main(["library"]) == 130
    assert capsys.readouterr().out == ""
    assert list(tmp_path.iterdir()) == []


def test_a_check_that_failed_ends_with_1_and_the_text_is_told(monkeypatch, capsys):
    def answer(request):
        request.show("one")
        request.say("beside")
        return Answer("told", {"passed": False}, passed=False)

    monkeypatch.setattr("analysis.cli.library.answer", answer)
    assert main(["library"]) == 1
    assert capsys.readouterr() == ("one\ntold\n", "beside\n")
    assert main(["library", "--json"]) == 1
    assert capsys.readouterr() == ('{\n "passed": false\n}\n', "beside\n")


def test_options_of_a_request_are_as_given():
    request = read_request(["run", "rough", "--pressure", "45", "--nosuch", "3"])
    assert (request.command, request.source, request.json) == ("run", "rough", False)
    assert request.given["pressure"] == "45"
    assert request.given["speed"] is None
    assert [text.split(";")[0] for text in request.faults] == ["rowbench run: unknown option --nosuch"]
