"""A full disk, a folder that is not to be written, Ctrl-C, damage, strangers: a message, status 2, nothing lost."""

from __future__ import annotations

import json
import os
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path
from types import SimpleNamespace

import h5py
import numpy as np
import paddocks
import pytest
from interrupted import half_done, run
from small_disk import small_disk

from analysis.cli.main import main
from analysis.paddock.store_parts import parts_folder, take_room
from analysis.storage.sealed import seal

ROOT = Path(__file__).parents[2]
FULL = r"No space left|File too large"


def test_a_disk_that_fills_up_while_passes_are_kept(made, tmp_path, capsys):
    path, whole = made
    with small_disk(tmp_path / "disk", 100_000) as more_room:
        out = tmp_path / "disk" / "r.h5"
        code, said = run(capsys, path, out)
        assert code == 2
        assert "nothing more can be written there" in said
        assert "the same command goes on" in said
        kept = sorted(parts_folder(out).glob("pass-*.npz"))
        assert not out.exists()
        assert list(parts_folder(out).glob(".*.tmp")) == []
        before = {part.name: part.read_bytes() for part in kept}
        more_room()
        assert run(capsys, path, out)[0] == 0
        assert out.read_bytes() == whole
        assert len(before) < 3


def test_a_disk_that_is_too_small_for_the_join(made, tmp_path, capsys):
    path, whole = made
    out = tmp_path / "disk" / "r.h5"
    parts = tmp_path / "parts"

    def keep(done, total, worked):
        if done == total:
            shutil.copytree(parts_folder(tmp_path / "r.h5"), parts)

    from analysis.paddock.batch import run_batch  # noqa: PLC0415
    from scenarios.paddock.load import load_paddock  # noqa: PLC0415

    run_batch(load_paddock(path), tmp_path / "r.h5", 1, told=keep)
    size = sum(part.stat().st_size for part in parts.iterdir())
    with small_disk(tmp_path / "disk", (size // 4096 + 8) * 4096) as more_room:
        shutil.copytree(parts, parts_folder(out))
        code, said = run(capsys, path, out)
        assert code == 2
        assert "could not be joined" in said or "nothing more can be written" in said
        assert len(list(parts_folder(out).glob("pass-*.npz"))) == 3
        assert not out.exists()
        more_room()
        assert run(capsys, path, out)[0] == 0
        assert out.read_bytes() == whole


def test_a_folder_that_cannot_be_written(made, tmp_path, capsys):
    path, _ = made
    folder = tmp_path / "still"
    folder.mkdir()
    earlier = folder / "earlier.h5"
    earlier.write_bytes(b"kept")
    mounted = False
    if os.getuid() == 0:
        bound = subprocess.run(["mount", "--bind", str(folder), str(folder)], capture_output=True, check=False)
        mounted = bound.returncode == 0
        if mounted:
            subprocess.run(["mount", "-o", "remount,bind,ro", str(folder)], check=True)
    else:
        folder.chmod(0o555)
    target = folder if mounted or os.getuid() else Path("/proc")
    try:
        code, said = run(capsys, path, target / "r.h5")
        assert code == 2
        assert "nothing can be written in" in said
        assert earlier.read_bytes() == b"kept"
        if mounted:
            assert sorted(p.name for p in folder.iterdir()) == ["earlier.h5"]
    finally:
        if mounted:
            subprocess.run(["umount", str(folder)], check=True)
        folder.chmod(0o755)


def test_no_such_folder(made, tmp_path, capsys):
    code, said = run(capsys, made[0], tmp_path / "none" / "r.h5")
    assert code == 2
    assert "there is no folder" in said


def test_ctrl_c_keeps_what_is_done_and_says_how_to_go_on(tmp_path):
    """A real interrupt, sent when the first pass is there."""
    path = paddocks.write(tmp_path, {"passes": "count = 60\nlength_m = 60", "machine": "rows = 16"})
    out = tmp_path / "r.h5"
    command = [sys.executable, "-m", "analysis.cli.main", "paddock", str(path), "--out", str(out)]
    started = subprocess.Popen(command, stderr=subprocess.PIPE, stdout=subprocess.PIPE, encoding="utf-8", cwd=ROOT)
    for _ in range(3600):
        if list(parts_folder(out).glob("pass-*.npz")) or started.poll() is not None:
            break
        time.sleep(0.05)
    started.send_signal(signal.SIGINT)
    _, said = started.communicate(timeout=60)
    assert started.returncode == 130
    kept = len(list(parts_folder(out).glob("pass-*.npz")))
    assert 1 <= kept < 60
    assert f"stopped; {kept} of 60 passes are finished and kept" in said
    assert f"rowbench paddock {path} --out {out}" in said
    assert "Traceback" not in said


def test_an_unfinished_result_says_how_far_it_is(made, tmp_path, capsys):
    path, _ = made
    half_done(path, tmp_path / "r.h5")
    assert main(["paddock", str(tmp_path / "r.h5"), "--summary"]) == 2
    assert "not finished: 2 of 3 passes of small" in capsys.readouterr().err


@pytest.mark.parametrize("how", ["cut", "flipped", "empty"])
def test_a_damaged_pass_is_named(made, tmp_path, capsys, how):
    path, whole = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    part = sorted(parts_folder(out).glob("pass-*.npz"))[1]
    data = bytearray(part.read_bytes())
    if how == "flipped":
        data[len(data) // 2] ^= 0xFF
    part.write_bytes({"cut": data[: len(data) // 2], "flipped": data, "empty": b""}[how])
    code, said = run(capsys, path, out)
    assert code == 2
    assert part.name in said
    assert "damaged" in said
    part.unlink()
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole


def test_passes_of_another_paddock_are_refused(made, tmp_path, capsys):
    path, _ = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    other = paddocks.write(tmp_path, {"ground": "seed = 77"}, name="other")
    code, said = run(capsys, other, out)
    assert code == 2
    assert "passes of another paddock or other settings (small)" in said
    assert len(list(parts_folder(out).glob("pass-*.npz"))) == 2


@pytest.mark.parametrize(
    ("key", "value", "words"),
    [
        ("format_version", 99, "format version 99"),
        ("versions", {"numpy": "0.1"}, "passes made with"),
        ("versions", [], "about.json cannot be read"),
        ("fingerprint", None, "about.json cannot be read"),
    ],
)
def test_passes_of_another_version_are_refused(made, tmp_path, capsys, key, value, words):
    path, _ = made
    out = tmp_path / "r.h5"
    half_done(path, out)
    place = parts_folder(out) / "about.json"
    about = json.loads(place.read_text(encoding="utf-8"))
    about[key] = value
    if value is None:
        del about[key]
    place.write_text(json.dumps(about), encoding="utf-8")
    code, said = run(capsys, path, out)
    assert code == 2
    assert words in said


def test_room_is_taken_and_given_back(tmp_path):
    with small_disk(tmp_path / "disk", 1_000_000):
        place = tmp_path / "disk" / "trial"
        take_room(place, 200_000)
        assert not place.exists()
        with pytest.raises(OSError, match=FULL):
            take_room(place, 5_000_000)
        assert not place.exists()


def test_room_that_the_disk_only_seems_to_have(tmp_path, monkeypatch):
    """A user's quota does not show in what the disk says is free."""
    monkeypatch.setattr(shutil, "disk_usage", lambda folder: SimpleNamespace(free=10**12))
    with small_disk(tmp_path / "disk", 1_000_000):
        with pytest.raises(OSError, match=FULL):
            take_room(tmp_path / "disk" / "trial", 5_000_000)
        assert list((tmp_path / "disk").iterdir()) == []


@pytest.mark.parametrize("how", ["cut", "flipped", "no_hdf5", "other_kind", "other_version"])
def test_a_result_that_cannot_be_trusted_is_refused(made, tmp_path, capsys, how):
    path, whole = made
    out = tmp_path / "r.h5"
    out.write_bytes({"cut": whole[: len(whole) // 2], "no_hdf5": b"hello"}.get(how, whole))
    if how in ("other_kind", "other_version"):
        with h5py.File(out, "r+") as file:
            file.attrs.modify("format" if how == "other_kind" else "format_version", "x" if how == "other_kind" else 99)
        seal(out)
    if how == "flipped":
        with h5py.File(out) as file:
            chunk = file["row_pin_peak"].id.get_chunk_info(0)
        data = bytearray(whole)
        data[chunk.byte_offset + chunk.size // 2] ^= 0xFF
        out.write_bytes(data)
    changed = out.read_bytes()
    code, said = run(capsys, path, out)
    assert code == 2
    assert {"other_kind": "another kind", "other_version": "format version 99"}.get(how, "damaged") in said
    assert out.read_bytes() == changed
    if how != "flipped":  # the summary reads other datasets
        assert main(["paddock", str(out), "--summary"]) == 2
        assert "Traceback" not in capsys.readouterr().err


def test_a_result_that_is_whole_is_left_alone(made, tmp_path, capsys):
    path, whole = made
    out = tmp_path / "r.h5"
    out.write_bytes(whole)
    stamp = out.stat().st_mtime_ns
    assert run(capsys, path, out)[0] == 0
    assert out.stat().st_mtime_ns == stamp
    assert np.frombuffer(whole, dtype=np.uint8).size > 1000
