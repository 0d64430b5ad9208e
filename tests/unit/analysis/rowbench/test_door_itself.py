"""The package `rowbench`: it only hands names on, tells before it compiles, and refuses a stranger's `analysis`."""

import ast
import doctest
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

import rowbench as rb
from analysis.door import ready as door_ready
from sim.arithmetic import compiling

ROOT = Path(__file__).parents[4]
SOURCE = (ROOT / "analysis" / "rowbench" / "__init__.py").read_text(encoding="utf-8")


def test_it_holds_names_and_one_check():
    body = ast.parse(SOURCE).body
    functions = [node.name for node in body if isinstance(node, ast.FunctionDef | ast.ClassDef)]
    assert functions == ["_check_own", "__getattr__", "__dir__"]
    (typed,) = (node for node in body if isinstance(node, ast.If))
    handed = {alias.asname or alias.name: (node.module, alias.name) for node in typed.body for alias in node.names}
    assert sorted(handed) == sorted(rb.__all__)
    assert handed == rb._PLACES  # what the type checker reads is what is loaded
    assert set(rb.__all__) <= set(dir(rb))
    with pytest.raises(AttributeError, match="no attribute 'windw'"):
        _ = rb.windw
    assert sorted(p.name for p in (ROOT / "analysis" / "rowbench").iterdir() if p.name != "__pycache__") == [
        "__init__.py", "py.typed",
    ]  # fmt: skip


def test_the_import_loads_nothing_heavy():
    program = (
        "import sys\nsys.path.insert(0, 'analysis')\nimport rowbench\n"
        "print(*{'numba', 'numpy', 'scipy', 'pydantic', 'analysis.door'} & set(sys.modules))"
    )
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.split() == []


def test_the_worked_example_runs():
    found = doctest.testmod(rb, optionflags=doctest.ELLIPSIS)
    assert found.attempted > 15
    assert found.failed == 0
    assert 50 <= len(rb.__doc__.splitlines()) <= 90  # a page


def test_every_name_says_what_it_is():
    for name in rb.__all__:
        if name != "__version__":
            assert getattr(rb, name).__doc__, name
            for key, method in vars(getattr(rb, name)).items() if isinstance(getattr(rb, name), type) else ():
                if not key.startswith("_") and callable(method):
                    assert method.__doc__, f"{name}.{key}"


def test_compiling_is_told_once_and_never_on_standard_output(monkeypatch, caplog, capsys):
    def compiles(name, taken):
        def warmed(**what):
            compiling.tell(name, begun=True)
            compiling.tell(name, begun=False)
            return taken

        return warmed

    monkeypatch.setattr(door_ready, "time_to_compile", lambda one, rows, of_any: 45.0 if rows else 29.0)
    monkeypatch.setattr(door_ready, "compile_at_once", lambda **what: 0.0)
    monkeypatch.setattr(door_ready, "warm_up", compiles("sim.march.loop.march", 1.5))
    monkeypatch.setattr(door_ready, "warm_up_rows", compiles("analysis.rows.feed.march_and_feed", 2.5))
    door_ready.ready.cache_clear()
    try:
        assert [door_ready.ready(), door_ready.ready(), door_ready.ready(rows=True)] == [1.5, 1.5, 2.5]
    finally:
        door_ready.ready.cache_clear()
    told = [record.getMessage() for record in caplog.records if record.name == "rowbench"]
    what = "compiling the model, once on this machine"
    assert [text for text in told if "about" in text] == [f"{what}: about {n} s, more on a busy one…" for n in (30, 50)]
    assert [text for text in told if "taken" in text] == [f"{what}: 1 s taken"] * 2
    assert len(told) == 4
    assert capsys.readouterr().out == ""


@pytest.mark.parametrize("name", ["analysis", "scenarios", "sim"])
def test_a_module_of_the_users_own_is_named(name, monkeypatch, tmp_path):
    stranger = ModuleType(name)
    stranger.__file__ = str(tmp_path / f"{name}.py")
    monkeypatch.setitem(sys.modules, name, stranger)
    with pytest.raises(ImportError, match="is in the way") as caught:
        rb._check_own()
    assert (caught.value.name, caught.value.path) == (name, stranger.__file__)
    assert "PYTHONSAFEPATH=1" in str(caught.value)


def test_the_packages_of_the_distribution_are_the_folders_that_are_packages():
    table = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["setuptools"]
    mapped = {folder.replace("/", "."): name for name, folder in table["package-dir"].items()}
    files = [file for room in ("sim", "scenarios", "analysis") for file in (ROOT / room).rglob("__init__.py")]
    found = [".".join(file.parent.relative_to(ROOT).parts) for file in files]
    assert sorted(table["packages"]) == sorted(mapped.get(name, name) for name in found)
    for name in ("sim", "scenarios", "analysis", "rowbench"):
        assert "py.typed" in table["package-data"][name]
