"""Full disks under every kind of file that a command writes: one message, status 2, what was there stays."""

from __future__ import annotations

import errno
import os
import signal
import subprocess
import sys
import threading
import time
from pathlib import Path

import h5py
import paddocks
import pytest
from small_disk import small_disk

from analysis.cli.main import main
from analysis.storage.hdf5_whole import new_hdf5
from analysis.storage.safe_write import replacing, write_all
from scenarios.format.errors import ScenarioError

ROOT = Path(__file__).parents[2]
SHORT = 'title = "Short"\n[ground]\nlength_m = 6\nroughness = { class = "C" }\n'
FULL = r"No space left|File too large"
PAGE = 4096


@pytest.fixture(scope="module")
def inputs(tmp_path_factory):
    """A short scenario and a small paddock's result, with latitudes and longitudes."""
    folder = tmp_path_factory.mktemp("inputs")
    (folder / "short.toml").write_text(SHORT, encoding="utf-8")
    here = "latitude = -33.1\nlongitude = 148.2\nheading_deg = 30\n"
    path = paddocks.write(folder, {"passes": f"count = 2\nlength_m = 10\nsection_m = 1\n{here}"})
    assert main(["paddock", str(path), "--out", str(folder / "r.h5"), "--workers", "1"]) == 0
    assert main(["run", str(folder / "short.toml"), "--save", str(folder / "run.h5")]) == 0
    return folder


# command, input, options that name a file to write
WRITES = {
    "run --save": ("run", "short.toml", {"--save": "a.h5"}),
    "run --figure": ("run", "short.toml", {"--figure": "a.png"}),
    "run --figure, svg": ("run", "short.toml", {"--figure": "a.svg"}),
    "run --figure, pdf": ("run", "short.toml", {"--figure": "a.pdf"}),
    "both": ("run", "short.toml", {"--save": "a.h5", "--figure": "a.png"}),
    "draw": ("draw", "short.toml", {"--figure": "a.png"}),
    "explain --movie": ("explain", "short.toml", {"--movie": "a.gif", "--from": 3, "--to": 4}),
    "explain --figures": ("explain", "short.toml", {"--figures": "all"}),
    "report": ("report", "r.h5", {"--out": "a.html"}),
    "paddock --map": ("paddock", "r.h5", {"--map": "a.png"}),
    "paddock --csv": ("paddock", "r.h5", {"--csv": "a.csv"}),
    "paddock --geojson": ("paddock", "r.h5", {"--geojson": "a.geojson"}),
}


@pytest.mark.parametrize("name", WRITES)
def test_a_full_disk_under_every_output(name, inputs, tmp_path, capsys):
    command, source, outputs = WRITES[name]
    with small_disk(tmp_path / "disk", 4 * PAGE) as more_room:
        disk = tmp_path / "disk"
        earlier = {disk / file: b"kept" for file in outputs.values() if "a." in str(file)}
        for path, data in earlier.items():
            path.write_bytes(data)
        words = [command, str(inputs / source)]
        for option, value in outputs.items():
            words += [option, str(disk / value if isinstance(value, str) else value)]
        capsys.readouterr()
        assert main(words) == 2
        found, said = capsys.readouterr()
        assert found == ""
        assert said.count("could not be written") == 1
        assert "what was there before is as it was" in said
        assert "; allowed: a disk with room" in said
        assert "; try: make room" in said
        assert {path: path.read_bytes() for path in disk.iterdir()} == earlier
        if name == "both":
            more_room()
            assert main(words) == 0
            assert all(path.stat().st_size > PAGE for path in earlier)


def test_a_full_disk_under_a_new_file(tmp_path, capsys):
    with small_disk(tmp_path / "disk", 1 * PAGE):
        for words in (["new"], ["paddock", "--new"]):
            assert main([*words, str(tmp_path / "disk" / "mine")]) == 2
            assert "mine.toml: could not be written" in capsys.readouterr().err
        assert list((tmp_path / "disk").iterdir()) == []


def test_hdf5_on_a_disk_that_fills_up_at_any_write(tmp_path):
    """In a process of its own, since what is tested against is a segmentation fault."""
    code = f"""
import errno, io, os, sys
from pathlib import Path
import h5py, numpy as np
from analysis.storage import hdf5_whole
class Failing(hdf5_whole._Patient):
    left = 0
    def write(self, data):
        Failing.left -= 1
        if Failing.left == 0:
            self.failed = OSError(errno.ENOSPC, "full")
        return super().write(data)
hdf5_whole._Patient = Failing
def attempt(place):
    with hdf5_whole.new_hdf5(place) as file:
        for k in range(6):
            made = file.create_dataset(f"s/{{k}}", data=np.arange(5000.0) + k, compression="gzip", fletcher32=True)
            made.attrs["units"] = "m"
place = Path({str(tmp_path / "a.h5")!r})
attempt(place)
writes = -Failing.left
for count in range(1, writes + 1):
    Failing.left = count
    try:
        attempt(place)
    except OSError as error:
        assert error.errno == errno.ENOSPC
    else:
        raise AssertionError(count)
print(writes)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False,
                          env={**os.environ, "PYTHONPATH": str(ROOT)})  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "")
    assert int(done.stdout) > 20


def test_hdf5_that_has_room_is_whole(tmp_path):
    with new_hdf5(tmp_path / "a.h5") as file:
        file["x"] = [1.0, 2.0]
    with h5py.File(tmp_path / "a.h5") as file:
        assert list(file["x"][:]) == [1.0, 2.0]


def refuse(number: int):
    def call(*given, **named):
        raise OSError(number, os.strerror(number))

    return call


@pytest.mark.parametrize("call", ["fsync", "replace"])
def test_a_disk_that_tells_late_that_it_is_full(tmp_path, monkeypatch, call):
    """As with a quota on a network disk: writing goes well, flushing does not."""
    for name in ("a.txt", "b.txt"):
        (tmp_path / name).write_text("old", encoding="utf-8")
    files = [(tmp_path / name, lambda path: path.write_text("new")) for name in ("a.txt", "b.txt")]
    with monkeypatch.context() as patched:
        patched.setattr(os, call, refuse(errno.EDQUOT))
        with pytest.raises(ScenarioError, match="could not be written"):
            write_all(files)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["a.txt", "b.txt"]
    assert {path.read_text(encoding="utf-8") for path in tmp_path.iterdir()} == {"old"}


def test_no_folder_is_left_where_a_figure_fails(tmp_path):
    folder = tmp_path / "all"
    with pytest.raises(ZeroDivisionError):
        write_all([(folder / "a.txt", lambda path: path.write_text("x")), (folder / "b.txt", lambda path: 1 / 0)],
                  folder=folder)  # fmt: skip
    assert list(tmp_path.iterdir()) == []
    folder.mkdir()
    (folder / "mine.txt").write_text("kept", encoding="utf-8")
    with pytest.raises(ZeroDivisionError):
        write_all([(folder / "b.txt", lambda path: 1 / 0)], folder=folder)
    assert [path.name for path in folder.iterdir()] == ["mine.txt"]


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such modes")
@pytest.mark.parametrize("mode", [0o600, 0o640, 0o664, 0o444])
def test_a_file_that_is_replaced_keeps_its_mode_also_while_it_is_written(tmp_path, mode):
    path = tmp_path / "a.txt"
    path.write_text("old", encoding="utf-8")
    path.chmod(mode)
    with replacing(path) as place:
        place.write_text("new", encoding="utf-8")
        assert place.stat().st_mode & 0o777 == mode
    assert path.stat().st_mode & 0o777 == mode
    assert path.read_text(encoding="utf-8") == "new"


@pytest.mark.skipif(os.name == "nt", reason="Windows keeps no such modes")
def test_a_new_file_has_the_mode_that_the_user_gives_new_files(tmp_path):
    before = os.umask(0o027)
    try:
        with replacing(tmp_path / "a.txt") as place:
            place.write_text("new", encoding="utf-8")
    finally:
        os.umask(before)
    assert (tmp_path / "a.txt").stat().st_mode & 0o777 == 0o640


@pytest.mark.skipif(not hasattr(os, "getuid") or os.getuid() != 0, reason="only root gives files away")
def test_root_leaves_a_users_file_to_its_user(tmp_path):
    path = tmp_path / "a.txt"
    path.touch()
    os.chown(path, 12345, 12346)
    with replacing(path) as place:
        place.write_text("new", encoding="utf-8")
    assert (path.stat().st_uid, path.stat().st_gid) == (12345, 12346)


def test_a_link_stays_and_what_it_leads_to_is_replaced(tmp_path):
    (tmp_path / "far").mkdir()
    target, link = tmp_path / "far" / "a.txt", tmp_path / "a.txt"
    target.write_text("old", encoding="utf-8")
    link.symlink_to(target)
    with replacing(link) as place:
        assert place.parent == target.parent
        place.write_text("new", encoding="utf-8")
    assert link.is_symlink()
    assert target.read_text(encoding="utf-8") == "new"


def test_two_writers_of_one_file_leave_one_of_the_two_whole(tmp_path):
    path, ready = tmp_path / "a.txt", threading.Barrier(2)

    def write(letter: str) -> None:
        for _ in range(20):
            ready.wait()
            with replacing(path) as place:
                place.write_text(letter * 100_000, encoding="utf-8")

    threads = [threading.Thread(target=write, args=(letter,)) for letter in "ab"]
    for thread in threads:
        thread.start()
    seen = set()
    while any(thread.is_alive() for thread in threads):
        if path.exists():
            seen.add(path.read_text(encoding="utf-8"))
    assert seen <= {"a" * 100_000, "b" * 100_000}
    assert [p.name for p in tmp_path.iterdir()] == ["a.txt"]


SLOW = """
import sys, time
from pathlib import Path
from analysis.cli import library
from analysis.cli.parts.answer import Answer
from analysis.cli.main import main
def write(path):
    path.write_text("half")
    print("writing", flush=True)
    for _ in range(600):  # a signal that comes just before a sleep begins is seen when it ends
        time.sleep(0.1)
library.answer = lambda request: Answer("x", {}, files=((Path(sys.argv[1]), write),))
sys.exit(main(["library"]))
"""


@pytest.mark.skipif(os.name == "nt", reason="Windows ends processes in another way")
@pytest.mark.parametrize(("number", "code", "left"), [(signal.SIGINT, 130, 0), (signal.SIGTERM, 143, 0),
                                                      (signal.SIGHUP, 129, 0), (signal.SIGKILL, -9, 1)])  # fmt: skip
def test_a_command_that_is_ended_while_it_writes(tmp_path, number, code, left):
    """What was there stays; the half of a file is cleared away, but where the process is killed."""
    path = tmp_path / "a.txt"
    path.write_text("old", encoding="utf-8")
    with subprocess.Popen([sys.executable, "-c", SLOW, str(path)], stdout=subprocess.PIPE, stderr=subprocess.PIPE,
                          env={**os.environ, "PYTHONPATH": str(ROOT)}, text=True) as started:  # fmt: skip
        assert started.stdout is not None
        assert started.stdout.readline() == "writing\n"
        begin = time.monotonic()
        started.send_signal(number)
        _, said = started.communicate(timeout=20)
    assert time.monotonic() - begin < 10.0
    assert started.returncode == code
    assert said == ("\nrowbench: stopped; nothing was written\n" if code > 0 else "")
    assert path.read_text(encoding="utf-8") == "old"
    assert len(list(tmp_path.iterdir())) == 1 + left
