"""Machine code on disk that is damaged, cannot be kept, or is made by two at once: said, compiled again, never run."""

from __future__ import annotations

import importlib.util
import os
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from small_disk import small_disk

from analysis.cli.main import main
from sim.arithmetic import compilecache, keptfiles

ROOT = Path(__file__).parents[2]
TINY = "from sim.arithmetic.compiled import kernel\n\n\n@kernel\ndef twice(x):\n    return x + x\n"


@pytest.fixture
def tiny(tmp_path, monkeypatch):
    """twice(x) → 2 x by a kernel that is made anew, as in a new process; the folder of its machine code."""
    monkeypatch.setenv("NUMBA_CACHE_DIR", str(tmp_path / "code"))
    compilecache.cache_folder.cache_clear()
    file = tmp_path / "tiny.py"
    file.write_text(TINY, encoding="utf-8")

    def fresh():
        keptfiles.note.cache_clear()
        spec = importlib.util.spec_from_file_location("tiny", file)
        assert spec is not None
        assert spec.loader is not None
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        return module.twice

    yield fresh
    compilecache.cache_folder.cache_clear()
    keptfiles.note.cache_clear()


def kept(ending: str) -> list[Path]:
    return sorted(compilecache.cache_folder().rglob(f"tiny.*{ending}"))


def was_loaded(twice) -> bool:
    return sum(twice.stats.cache_hits.values()) > 0


def test_whole_machine_code_is_taken_from_the_disk(tiny, caplog):
    first, again = tiny(), tiny()
    assert first(2.0) == 4.0
    assert not was_loaded(first)
    assert again(2.0) == 4.0
    assert was_loaded(again)
    assert caplog.messages == []


def damages(data: bytes) -> dict[str, bytes]:
    flipped = {f"bit {8 * at}": data[:at] + bytes([data[at] ^ 1]) + data[at + 1 :]
               for at in (0, 20, 40, len(data) // 2, len(data) - 1)}  # fmt: skip
    return {"empty": b"", "short": data[:10], "cut": data[: len(data) // 2], "foreign": b"hello" * 100, **flipped}


@pytest.mark.parametrize("ending", [".nbi", ".nbc"])
def test_damaged_machine_code_is_named_and_made_again(tiny, caplog, ending):
    tiny()(2.0)
    (file,) = kept(ending)
    whole = file.read_bytes()
    for how, data in damages(whole).items():
        caplog.clear()
        file.write_bytes(data)
        twice = tiny()
        assert twice(2.0) == 4.0, how
        assert not was_loaded(twice), how
        (said,) = caplog.messages
        assert said.startswith(f"{compilecache.cache_folder()}: holds damaged machine code"), how
        assert "delete the folder" in said
        caplog.clear()
        mended = tiny()
        assert mended(2.0) == 4.0
        assert was_loaded(mended), how
        assert caplog.messages == []
        (file,) = kept(ending) if ending == ".nbi" else [file]


def test_a_disk_without_room_for_machine_code_is_named_and_the_answer_given(tiny, tmp_path, monkeypatch, caplog):
    disk = tmp_path / "disk"
    with small_disk(disk, 4096 * 8) as more_room:
        monkeypatch.setenv("NUMBA_CACHE_DIR", str(disk))
        tiny()
        (disk / "filling").write_bytes(b"x" * 4096 * 6)
        twice = tiny()
        assert twice(2.0) == 4.0
        assert [line for line in caplog.messages if "machine code cannot be kept there" in line]
        assert "every start compiles again" in caplog.messages[-1]
        assert list(compilecache.cache_folder().rglob("*.tmp.*")) == []
        more_room()
        (disk / "filling").unlink()
        tiny()(2.0)
        again = tiny()
        assert again(2.0) == 4.0
        assert was_loaded(again)


def test_two_first_compilations_at_once_never_take_one_anothers_code(tiny):
    """Both saw an empty index: the compiler's own cache gives both the same file."""
    first, second = tiny(), tiny()
    first._cache._cache_file._load_index = dict
    second._cache._cache_file._load_index = dict
    assert first(2.0) == 4.0
    assert second(2) == 4
    assert len(kept(".nbc")) == 2
    for value in (2.0, 2, 3.5):
        found = tiny()(value)
        assert (found, type(found)) == (value + value, type(value))


TOGETHER = """
import sys
sys.path.insert(0, sys.argv[1])
from tiny import twice
print(twice(2.0), twice(3), twice(1j))
"""


def test_processes_that_compile_at_once_leave_whole_files(tiny, tmp_path):
    tiny()
    command = [sys.executable, "-c", TOGETHER, str(tmp_path)]
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    started = [subprocess.Popen(command, env=env, stdout=subprocess.PIPE, stderr=subprocess.PIPE) for _ in range(3)]
    for process in started:
        out, err = process.communicate(timeout=120)
        assert (process.returncode, out.split(), err) == (0, [b"4.0", b"6", b"2j"], b"")
    twice = tiny()
    assert (twice(2.0), twice(3), twice(1j)) == (4.0, 6, 2j)
    assert not list(compilecache.cache_folder().rglob("*.tmp.*"))


def test_a_compilation_that_is_killed_leaves_nothing_that_counts(tiny, monkeypatch):
    """Killed after each step of keeping: what is there is whole, or is not looked at."""
    for stop in range(1, 5):
        for file in kept(".nb?"):
            file.unlink()
        steps = [0]

        def dies(*names, steps=steps, stop=stop, replaces=os.replace):
            steps[0] += 1
            if steps[0] == stop:
                raise SystemExit
            replaces(*names)

        with monkeypatch.context() as patched:
            patched.setattr(os, "replace", dies)
            try:
                tiny()(2.0)
            except SystemExit:
                assert stop <= 2
        assert tiny()(2.0) == 4.0


def test_the_command_names_the_folder_on_standard_error(tiny, capsys, monkeypatch):
    """Said beside the result, in the usual form; the result is what it always is."""
    tiny()(2.0)
    (file,) = kept(".nbc")
    file.write_bytes(b"")
    monkeypatch.setattr("analysis.cli.library.library_text", lambda found: str(tiny()(2.0)))
    assert main(["library"]) == 0
    found, said = capsys.readouterr()
    assert found == "4.0\n"
    assert said.startswith(f"rowbench: {compilecache.cache_folder()}: holds damaged machine code")
    assert "; allowed: " in said
    assert "; try: " in said


NAMELESS = """
import pwd, sys
def nobody(*number):
    raise KeyError
pwd.getpwuid = nobody
from analysis.cli.main import main
sys.exit(main(["run", "smooth", "--json"]))
"""


@pytest.mark.skipif(os.name == "nt", reason="every user of Windows has a folder")
def test_no_home_at_all(tmp_path):
    """A user without a home or a name: the program runs, keeps its code in a private folder, says nothing else."""
    there = compilecache.cache_folder()
    private = tmp_path / f"rowbench-{os.getuid()}" / there.name
    shutil.copytree(there, private)  # compiling would take long
    for folder in (private.parent, private):
        folder.chmod(0o700)
    before = set(private.rglob("*.nbc"))
    done = subprocess.run(
        [sys.executable, "-B", "-c", NAMELESS], capture_output=True, text=True, cwd=ROOT, check=False,
        env={"PATH": os.environ["PATH"], "TMPDIR": str(tmp_path), "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert '"on_depth_share"' in done.stdout
    assert set(private.rglob("*.nbc")) == before
