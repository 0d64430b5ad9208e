"""Workers that die in mid-run, of this machine and of a cluster: told, what is finished is kept, the same bytes."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
from pathlib import Path

import paddocks
import pytest
from interrupted import run

from analysis.paddock import batch
from analysis.paddock.passes import cluster
from analysis.paddock.store_parts import parts_folder
from scenarios.paddock.load import load_paddock

ROOT = Path(__file__).parents[2]

SCHEDULER = """
import sys
from distributed import LocalCluster
if __name__ == "__main__":
    with LocalCluster(n_workers=1, threads_per_worker=1, processes=False, protocol="tcp://", dashboard_address=None,
                      host="127.0.0.1", silence_logs=50) as started:
        print(started.scheduler_address, flush=True)
        for line in sys.stdin:
            started.scale(0)
"""


@pytest.fixture(scope="module")
def sixteen(tmp_path_factory):
    """A paddock of sixteen passes and its result."""
    folder = tmp_path_factory.mktemp("sixteen")
    path = paddocks.write(folder, {"passes": "count = 16\nlength_m = 20\nsection_m = 5"})
    batch.run_batch(load_paddock(path), folder / "whole.h5", workers=1)
    return path, (folder / "whole.h5").read_bytes()


@pytest.fixture
def scheduler(tmp_path):
    """A scheduler with a worker, in a process of its own that can be killed; a line to it takes the worker away."""
    script = tmp_path / "scheduler_alone.py"
    script.write_text(SCHEDULER, encoding="utf-8")
    env = {**os.environ, "PYTHONPATH": str(ROOT)}
    with subprocess.Popen([sys.executable, str(script)], stdin=subprocess.PIPE, stdout=subprocess.PIPE,
                          stderr=subprocess.DEVNULL, text=True, env=env) as it:  # fmt: skip
        assert it.stdout is not None
        yield it, it.stdout.readline().strip()
        it.kill()


def after_three(monkeypatch, do) -> None:
    """Have `do()` called once when three passes are finished."""
    real = batch.run_batch

    def run_batch(paddock, out, workers=None, cluster=None, told=None, told_sets=None):
        def also(done, total, worked):
            if done == 3:
                do()

        return real(paddock, out, workers, cluster, also, told_sets)

    monkeypatch.setattr("analysis.cli.paddock.run_batch", run_batch)


def kept(out: Path) -> int:
    assert not out.exists()
    return len(list(parts_folder(out).glob("pass-*.npz")))


@pytest.mark.skipif(os.name == "nt", reason="processes are killed in another way")
def test_a_worker_process_that_is_killed(sixteen, tmp_path, capsys, monkeypatch):
    path, whole = sixteen
    out = tmp_path / "r.h5"
    with monkeypatch.context() as patched:
        patched.setattr(batch, "MOST_THREADS", 1)
        patched.setattr(batch, "WORTH_PROCESSES", 0.0)
        after_three(patched, lambda: os.kill(multiprocessing.active_children()[0].pid, signal.SIGKILL))
        code, said = run(capsys, path, out, "--workers", "2")
    assert code == 2
    assert "one of the worker processes was ended from outside" in said
    assert "the same command again: it goes on" in said
    assert 3 <= kept(out) < 16
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole


@pytest.mark.parametrize("lost", ["the scheduler was lost on the way", "no worker is left"])
def test_a_cluster_that_is_lost(sixteen, tmp_path, capsys, monkeypatch, scheduler, lost):
    path, whole = sixteen
    out = tmp_path / "r.h5"
    process, address = scheduler

    def lose() -> None:
        if "scheduler" in lost:
            process.kill()
        else:
            process.stdin.write("go\n")
            process.stdin.flush()

    with monkeypatch.context() as patched:
        patched.setattr(cluster, "PATIENCE", 1.5)
        after_three(patched, lose)
        code, said = run(capsys, path, out, "--cluster", address)
    assert code == 2
    assert lost in said
    assert "what is finished is kept, and the same command goes on" in said
    assert 3 <= kept(out) < 16
    assert run(capsys, path, out)[0] == 0
    assert out.read_bytes() == whole
