"""Where compiled kernels are kept: one folder for each state of the sources, whatever is imported first."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from sim.arithmetic import compilecache as cache
from sim.arithmetic import sources

COMPILED = [file.relative_to(sources.ROOT).as_posix() for file in sources.compiled_sources()]


@pytest.fixture
def fresh(monkeypatch):
    """chosen() → the cache folder, chosen anew."""
    monkeypatch.delenv("NUMBA_CACHE_DIR", raising=False)

    def chosen() -> Path:
        cache.cache_folder.cache_clear()
        sources._files.cache_clear()
        return cache.cache_folder()

    yield chosen
    cache.cache_folder.cache_clear()


@pytest.fixture
def copied(tmp_path, monkeypatch, fresh):
    """The three packages once more, elsewhere: the folder they would use, and where they are."""
    for package in sources.PACKAGES:
        shutil.copytree(sources.ROOT / package, tmp_path / package, ignore=shutil.ignore_patterns("__pycache__"))
    monkeypatch.setattr(sources, "ROOT", tmp_path)
    return tmp_path


def test_a_users_own_folder_is_used_with_a_folder_of_ours_in_it(monkeypatch, tmp_path, fresh):
    ours = fresh().name
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path))
    assert fresh() == tmp_path / ours


def test_every_compiled_file_of_all_three_packages_counts():
    """Found by another way: whatever holds one of the decorators or imports the compiler."""
    marks = ("@kernel", "@part", "@njit", "@kernel_apart", "@instruction", "@overload", "import numba", "from numba")
    marked = {
        file.relative_to(sources.ROOT).as_posix()
        for file in sources.all_sources()
        if any(line.strip().startswith(marks) for line in file.read_text(encoding="utf-8").splitlines())
    }
    assert {"sim", "scenarios", "analysis"} == {name.split("/")[0] for name in marked}
    assert marked <= set(COMPILED), marked - set(COMPILED)


def test_what_compiled_code_imports_counts_too():
    """A constant of another file is baked into machine code: sim/unit.py holds no kernel, yet its numbers are."""
    assert "sim/unit.py" in COMPILED
    assert not [name for name in COMPILED if name.startswith(("analysis/cli", "analysis/report", "analysis/window"))]


def test_the_folder_is_named_after_the_sources_and_their_place(copied, fresh):
    first = fresh()
    assert fresh() == first
    for name in ("sim/unit.py", "analysis/rows/sums.py", "scenarios/paddock/surface_lines.py"):
        before = fresh()
        with (copied / name).open("a", encoding="utf-8") as file:
            file.write("# changed\n")
        assert fresh() != before, name
    # a file that no compiled one imports is left alone
    before = fresh()
    (copied / "analysis/report/page.py").write_text("changed", encoding="utf-8")
    assert fresh() == before
    # a new compiled file is found without being listed anywhere
    new = copied / "analysis/window/quick.py"
    new.write_text("from sim.arithmetic.compiled import kernel\n", encoding="utf-8")
    assert fresh() != before


@pytest.fixture
def homeless(monkeypatch, tmp_path):
    """No folder for caches can be made; temporary files lie in a folder of the test's own, which is returned."""
    blocked = tmp_path / "file"
    blocked.write_text("", encoding="utf-8")
    monkeypatch.setenv("XDG_CACHE_HOME", str(blocked / "cache"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    return tmp_path


def test_without_a_writable_home_a_private_temporary_folder_serves(homeless, fresh, caplog):
    folder = fresh()
    assert folder.parent.parent == homeless
    assert not folder.stat().st_mode & 0o077
    assert not folder.parent.stat().st_mode & 0o077
    assert fresh() == folder
    assert caplog.messages == []


OTHERS = {
    "everybody may write above it": lambda folder: folder.parent.chmod(0o777),
    "everybody may write in it": lambda folder: folder.chmod(0o777),
    "others of the group may write in it": lambda folder: folder.chmod(0o770),
    "it is a link": lambda folder: (folder.rmdir(), folder.symlink_to(folder.parent)),
    "it is a file": lambda folder: (folder.rmdir(), folder.touch()),
    "another made it": lambda folder: os.chown(folder, 12345, 12345),
    "another made the one above it": lambda folder: os.chown(folder.parent, 12345, 12345),
}


@pytest.mark.parametrize("how", OTHERS)
def test_a_folder_that_another_may_have_filled_is_never_read(how, homeless, fresh, caplog):
    """The name of the last resort can be guessed, and what lies in the compiler's cache is run."""
    folder = fresh()
    if how.startswith("another") and os.getuid():
        pytest.skip("only root gives files away")
    OTHERS[how](folder)
    assert not fresh().is_dir()
    (said,) = caplog.messages
    assert "machine code cannot be kept" in said
    assert str(folder.parent) in said
    assert "try: NUMBA_CACHE_DIR set to one" in said


def test_a_home_that_another_may_write_is_passed_over(monkeypatch, homeless, fresh):
    home = homeless / "home"
    monkeypatch.setenv("XDG_CACHE_HOME", str(home))
    first = fresh()
    assert first.is_relative_to(home)
    first.chmod(0o777)
    assert fresh().parent.parent == homeless


@pytest.mark.skipif(not hasattr(os, "getuid"), reason="a system with other rights")
def test_a_folder_that_others_can_write_is_not_used(monkeypatch, tmp_path, fresh):
    """The compiler's index is a pickle: whoever writes it runs code."""
    monkeypatch.setenv("XDG_CACHE_HOME", str(tmp_path / "home"))
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path))
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "own"))
    ours = fresh()
    assert ours.parent == tmp_path / "own"
    assert not ours.stat().st_mode & 0o077
    ours.chmod(0o777)
    assert fresh().parent == tmp_path / "home" / "rowbench"
    ours.chmod(0o700)
    assert fresh() == ours
    (tmp_path / "own").chmod(0o777)  # others could put a folder of theirs in its place
    assert fresh() != ours
    (tmp_path / "own").chmod(0o1777)
    assert fresh() == ours
    monkeypatch.setattr(os, "getuid", lambda: 12345)  # it is another's
    assert fresh() != ours


FIRST = {
    "the compiler": "import numba",
    "a module of analysis": "import analysis.crossing.events",
    "a module of scenarios": "import scenarios.paddock.surface_lines",
    "the command line": "import analysis.cli.main",
}


@pytest.mark.parametrize("first", FIRST)
def test_whichever_module_comes_first_nothing_is_written_beside_the_sources(first, copied, tmp_path):
    """A kernel compiled in a process of its own lands in the chosen folder and nowhere else."""
    code = f"{FIRST[first]}; import numba; before = numba.config.CACHE_DIR\n" + (
        "import numpy as np\n"
        "from sim.arithmetic.compilecache import cache_folder\n"
        "from analysis.crossing.peaks import peaks\n"
        "peaks(np.ones((9, 14)))\n"
        "assert numba.config.CACHE_DIR == before\n"
        "print(cache_folder())"
    )
    env = {**os.environ, "XDG_CACHE_HOME": str(tmp_path / "home"), "PYTHONPATH": str(copied)}
    env.pop("NUMBA_CACHE_DIR", None)
    done = subprocess.run(
        [sys.executable, "-B", "-c", code],
        capture_output=True,
        text=True,
        env=env,
        cwd=copied,
        check=False,
        timeout=120,
    )
    assert done.returncode == 0, done.stderr
    folder = Path(done.stdout.strip())
    assert list(folder.rglob("peaks.*.nbi"))
    assert set(copied.rglob("*.nb?")) == set(folder.rglob("*.nb?"))
