"""The distribution as a user gets it: built twice, installed in an environment of its own, used, and taken away.

The environment borrows the packages that the program needs from the one that runs the tests; its compiler's cache is
a folder of its own, so that compiling is told and kept there and nowhere else.
"""

from __future__ import annotations

import base64
import hashlib
import json
import os
import re
import shutil
import subprocess
import sys
import sysconfig
import tarfile
import zipfile
from importlib.metadata import version
from pathlib import Path
from typing import NamedTuple

import pytest

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("sim", "scenarios", "analysis")
PIP = (sys.executable, "-m", "pip", "--disable-pip-version-check", "--quiet")
BACKEND = "from setuptools.build_meta import build_sdist; import sys; build_sdist(sys.argv[1])"
SHORT = 'title = "Short"\n[ground]\nlength_m = 6\nroughness = { class = "C" }\n'
SCRIPT = """
import rowbench as rb

scenario = rb.load("short.toml", seed=3, soil={"strength_MPa": 1.4})
run: rb.Run = scenario.run(oil_pressure_bar=70, speed_kmh=9)
share: float = run.summary()["depth"]["on_depth_share"]
depth = float(run.series["depth"].max())


def told(done: int, total: int) -> None:
    print(done, total)


def setting(name: str) -> tuple[float, float]:
    window = rb.window(rb.load(name), pressures_bar=[50, 60], speeds_kmh=[8], seeds=1, progress=told)
    best = window.pick or window.nearest
    assert best is not None
    window.figure().savefig("map.png")
    return best.oil_pressure_bar, best.speed_kmh


def more(scenario: rb.Scenario) -> list[str]:
    places = rb.explain(scenario, from_m=1.0).places
    return [rb.pressures(scenario, cold_degC=-5).text(), str(len(places)), rb.paddock("r.h5").table.name]


print(rb.__version__, run.engine, 0.0 <= share <= 1.0, depth > 0.0)
"""
WRONG = 'import rowbench as rb\n\nrb.load("rough", spead_kmh=9).run(speed_kmh="fast")\nrb.load("rough").rum()\n'


class Installed(NamedTuple):
    """An environment with the program in it."""

    bin: Path
    site: Path
    cache: Path
    folder: Path  # where a user works
    before: set[Path]  # what was there before the program came
    wheels: tuple[Path, Path]  # built from the sources, and from the source distribution

    def call(self, *words: object, folder: Path | None = None, **variables: str) -> subprocess.CompletedProcess[str]:
        """A program of the environment, run in the user's folder."""
        first, *rest = map(str, words)
        return subprocess.run(
            [str(self.bin / first), *rest], cwd=folder or self.folder, capture_output=True, text=True, check=False,
            encoding="utf-8", env=_surroundings(self.cache, **variables),
        )  # fmt: skip


def _surroundings(cache: Path, **variables: str) -> dict[str, str]:
    """Variables for a program that must not find the checkout or its cache."""
    kept = {k: v for k, v in os.environ.items() if not k.startswith(("PYTHON", "NUMBA_", "COV_", "PYTEST"))}
    return {**kept, "XDG_CACHE_HOME": str(cache), "PYTHONIOENCODING": "utf-8", **variables}


def _run(*words: object, cwd: Path, **variables: str) -> None:
    usual = {"PIP_COMPILE": "1"}  # as a user's pip does, whatever the tests' own does
    done = subprocess.run(
        [*map(str, words)], cwd=cwd, capture_output=True, text=True, check=False,
        env={**os.environ, **usual, **variables},
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def _files(folder: Path) -> set[Path]:
    return set(folder.rglob("*"))


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> tuple[Path, Path, Path]:
    """The source distribution, a wheel of it, and a wheel of the sources, from a copy of the checkout."""
    work = tmp_path_factory.mktemp("built")
    copy = work / "copy"
    copy.mkdir()
    left_out = shutil.ignore_patterns("__pycache__", "*.egg-info")
    for room in ROOMS:
        shutil.copytree(ROOT / room, copy / room, ignore=left_out)
    for name in ("pyproject.toml", "README.md", "LICENSE"):
        shutil.copy(ROOT / name, copy / name)
    tools = work / "tools"
    tools.mkdir()
    if int(version("setuptools").split(".")[0]) < 77:  # older than pyproject.toml asks for
        _run(*PIP, "install", "--no-deps", "--target", tools, "setuptools>=77", cwd=work)
    variables = {"PYTHONPATH": str(tools)}
    _run(sys.executable, "-c", BACKEND, work, cwd=copy, **variables)
    (source,) = work.glob("*.tar.gz")
    for place, given in (("of_sdist", source), ("of_sources", copy)):
        _run(*PIP, "wheel", "--no-deps", "--no-build-isolation", "--wheel-dir", work / place, given,
             cwd=work, **variables)  # fmt: skip
    (of_sdist,), (of_sources,) = ((work / place).glob("*.whl") for place in ("of_sdist", "of_sources"))
    return source, of_sdist, of_sources


@pytest.fixture(scope="module")
def installed(built, tmp_path_factory) -> Installed:
    work = tmp_path_factory.mktemp("installed")
    home = work / "env"
    _run(sys.executable, "-m", "venv", "--without-pip", home, cwd=work)
    scripts = home / ("Scripts" if os.name == "nt" else "bin")
    python = scripts / ("python.exe" if os.name == "nt" else "python")
    (site,) = (Path(p) for p in {sysconfig.get_path("purelib", vars={"base": str(home), "platbase": str(home)})})
    (site / "needed.pth").write_text(sysconfig.get_path("purelib") + "\n")
    before = _files(home)
    _run(*PIP[:3], "--python", python, *PIP[3:], "install", "--no-deps", built[1], cwd=work)
    folder = work / "user"
    folder.mkdir()
    (folder / "short.toml").write_text(SHORT)
    (folder / "script.py").write_text(SCRIPT)
    return Installed(scripts, site, work / "cache", folder, before, built[1:])


def names(wheel: Path) -> set[str]:
    with zipfile.ZipFile(wheel) as file:
        return {name for name in file.namelist() if not name.endswith("/")}


def test_both_ways_of_building_give_one_and_the_same(built):
    source, of_sdist, of_sources = built
    assert names(of_sdist) == names(of_sources)
    with tarfile.open(source) as file:
        inside = {name.partition("/")[2] for name in file.getnames()}
    assert {"LICENSE", "README.md", "pyproject.toml", "analysis/rowbench/__init__.py"} <= inside


def test_all_of_the_sources_and_nothing_else_is_in_the_wheel(built):
    found = {name for name in names(built[1]) if ".dist-info/" not in name}
    kinds = {".py", ".typed", ".toml", ".csv", ".j2", ".js", ".css"}
    here = [
        file.relative_to(ROOT) for room in ROOMS for file in (ROOT / room).rglob("*")
        if file.is_file() and "__pycache__" not in file.parts and file.suffix not in (".nbi", ".nbc")
    ]  # fmt: skip
    assert {path.suffix for path in here} <= kinds
    assert found == {re.sub(r"^analysis/rowbench/", "rowbench/", path.as_posix()) for path in here}


def test_compiling_is_told_on_standard_error_once_and_kept_in_the_cache(installed):
    told = "compiling the model, once on this machine: "
    first = installed.call("python", "script.py")
    assert (first.returncode, first.stdout) == (0, f"{version_of(installed)} compiled True True\n"), first.stderr
    lines = first.stderr.splitlines()
    before, *on_its_way, after = lines  # how long it has taken so far, where a machine is slow
    assert before.startswith(f"{told}about ")
    assert all(line.startswith(told) for line in (*on_its_way, after)), lines
    assert after.endswith(" s taken")
    assert any(installed.cache.rglob("*.nbc"))
    assert not any(installed.site.rglob("*.nb[ci]"))
    for words in (("python", "script.py"), ("rowbench", "run", "short.toml")):
        again = installed.call(*words)
        assert (again.returncode, again.stderr) == (0, ""), words


def heavier(wheel: Path, folder: Path) -> Path:
    """The same distribution with gravity half as much again: another version, as far as machine code goes."""
    name, made = "sim/unit.py", folder / wheel.name
    with zipfile.ZipFile(wheel) as old, zipfile.ZipFile(made, "w") as new:
        inside = {item.filename: old.read(item) for item in old.infolist()}
        changed = inside[name].replace(b"GRAVITY = 9.80665", b"GRAVITY = 1.5 * 9.80665")
        assert changed != inside[name]
        (record,) = (file for file in inside if file.endswith(".dist-info/RECORD"))
        digest = base64.urlsafe_b64encode(hashlib.sha256(changed).digest()).rstrip(b"=").decode()
        line = f"{name},sha256={digest},{len(changed)}".encode()
        inside[record] = re.sub(rf"^{name},.*$".encode(), line, inside[record], flags=re.M)
        for file, data in {**inside, name: changed}.items():
            new.writestr(file, data)
    return made


def install(installed: Installed, wheel: Path) -> None:
    _run(*PIP[:3], "--python", installed.bin / "python", *PIP[3:], "install", "--no-deps", "--force-reinstall", wheel,
         cwd=installed.folder)  # fmt: skip


def test_machine_code_of_another_version_never_runs(installed, tmp_path):
    """Used, another version put in its place, used again: the kernels hold the numbers of `sim/unit.py`."""
    words = ("rowbench", "run", "short.toml", "--json")
    sketch = ("rowbench", "draw", "rough", "--json")

    def load() -> tuple[float, str]:
        done = installed.call(*words)
        assert done.returncode == 0, done.stderr
        return json.loads(done.stdout)["gauge_load"]["mean_N"], done.stderr

    first, drawn = load(), installed.call(*sketch).stdout
    try:
        install(installed, heavier(installed.wheels[0], tmp_path))
        other, said = load()
        assert "compiling the model" in said
        assert 1.2 < other / first[0] < 2.5
        assert installed.call(*sketch).stdout != drawn
        assert not any(installed.site.rglob("*.nb[ci]"))
    finally:
        install(installed, installed.wheels[0])
    assert load() == (first[0], "")
    assert installed.call(*sketch).stdout == drawn
    assert not any(installed.site.rglob("*.nb[ci]"))


def test_stored_parts_of_another_version_are_told_apart(installed):
    code = "from analysis.paddock.fingerprint import versions; print(versions()['sources'])"
    first = installed.call("python", "-c", code).stdout
    for name in ("analysis/crossing/one_or_eight.py", "analysis/crossing/loads.py", "sim/unit.py"):
        file = installed.site / name
        sound = file.read_bytes()
        file.write_bytes(sound + b"\n# changed\n")
        other = installed.call("python", "-c", code).stdout
        file.write_bytes(sound)
        assert len(other) == len(first) == 17, name
        assert other != first, name


def version_of(installed: Installed) -> str:
    (about,) = installed.site.glob("rowbench-*.dist-info")
    return about.name.removeprefix("rowbench-").removesuffix(".dist-info")


def test_the_command_works_from_any_folder_whatever_lies_there(installed, tmp_path):
    for name in ("analysis.py", "scenarios.py", "sim.py", "rowbench.py"):
        (tmp_path / name).write_text("raise SystemExit('taken for ours')\n")
    assert installed.call("rowbench", "--version", folder=tmp_path).stdout == f"rowbench {version_of(installed)}\n"
    for words in (("library",), ("pressures", "rough"), ("new", "mine")):
        done = installed.call("rowbench", *words, folder=tmp_path)
        assert (done.returncode, done.stderr) == (0, ""), words
    assert (tmp_path / "mine.toml").is_file()


@pytest.mark.parametrize(
    ("name", "starts"),
    [
        ("analysis.py", (("mine.py",), ("-m", "mine"), ("analysis.py",))),
        ("scenarios.py", (("mine.py",),)),
        ("sim/__init__.py", (("-c", "import mine"),)),
    ],
)
def test_a_file_of_the_users_own_in_the_way_is_named(installed, tmp_path, name, starts):
    file = tmp_path / name
    file.parent.mkdir(exist_ok=True)
    file.write_text("import rowbench\n")  # a script may itself be called analysis.py
    (tmp_path / "mine.py").write_text("import rowbench\n")
    for words in starts:
        done = installed.call("python", *words, folder=tmp_path)
        last = done.stderr.splitlines()[-1]
        assert (done.returncode, done.stdout) == (1, "")
        assert last.startswith(f"ImportError: {file} is in the way"), last
        assert "PYTHONSAFEPATH=1" in last


def test_the_way_round_a_file_of_the_users_own_works(installed, tmp_path):
    (tmp_path / "analysis.py").write_text("raise SystemExit('taken for ours')\n")
    (tmp_path / "mine.py").write_text('import rowbench as rb\nprint(rb.load("rough").name)\n')
    assert installed.call("python", "-P", "mine.py", folder=tmp_path).stdout == "rough\n"
    assert installed.call("python", "mine.py", folder=tmp_path, PYTHONSAFEPATH="1").stdout == "rough\n"


def test_a_plain_folder_of_that_name_is_not_in_the_way(installed, tmp_path):
    (tmp_path / "analysis").mkdir()
    done = installed.call("python", "-c", "import rowbench; print(rowbench.load('rough').name)", folder=tmp_path)
    assert (done.stdout, done.stderr) == ("rough\n", "")


def test_types_reach_a_users_script(installed, tmp_path):
    wrong = installed.folder / "wrong.py"
    wrong.write_text(WRONG)
    python = installed.bin / "python"
    done = subprocess.run(
        [sys.executable, "-m", "mypy", "--strict", "--python-executable", python, "--cache-dir", tmp_path / "mypy",
         "--config-file", os.devnull, "script.py", "wrong.py"],
        cwd=installed.folder, capture_output=True, text=True, check=False, env=_surroundings(installed.cache),
    )  # fmt: skip
    faults = [line for line in done.stdout.splitlines() if "error:" in line]
    assert all(line.startswith("wrong.py") for line in faults), done.stdout
    for part in ("spead_kmh", '"speed_kmh" to "run" of "Scenario"', 'no attribute "rum"'):
        assert any(part in line for line in faults), (part, done.stdout)


def test_zz_taking_it_away_leaves_nothing(installed):
    """The last test of this file: what was compiled lies in the cache only, and no bytecode stays beside sources."""
    _run(*PIP[:3], "--python", installed.bin / "python", *PIP[3:], "uninstall", "--yes", "rowbench", cwd=ROOT)
    left = _files(installed.bin.parent) - installed.before
    assert not left
