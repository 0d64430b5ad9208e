"""A paddock on a real cluster of two worker processes, one of them killed on the way: the same bits as here."""

from __future__ import annotations

import os
import signal
import socket
import threading
from contextlib import suppress

import paddocks
import pytest
from distributed import Client, LocalCluster
from every import every

from analysis.paddock.batch import run_batch
from analysis.paddock.passes.cluster import on_cluster
from analysis.paddock.store_parts import parts_folder
from scenarios.format.errors import ScenarioError


@pytest.fixture(scope="module")
def cluster():
    with LocalCluster(
        n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None, host="127.0.0.1", silence_logs=50
    ) as started:
        yield started


def test_serial_and_cluster_give_the_same_bytes_with_a_worker_killed(cluster, tmp_path):
    paddock = paddocks.small(tmp_path, {"passes": "count = 16\nlength_m = 20\nsection_m = 5"})
    run_batch(paddock, tmp_path / "here.h5", workers=1)
    with Client(cluster.scheduler_address, set_as_default=False) as client:
        workers = client.run(os.getpid)
    assert len(workers) == 2
    killed = []

    def told(done, total, worked):
        if done == 3 and not killed:
            killed.append(next(iter(workers.values())))
            os.kill(killed[0], signal.SIGKILL)

    out = tmp_path / "there.h5"
    run_batch(paddock, out, cluster=cluster.scheduler_address, told=told)
    assert killed
    assert out.read_bytes() == (tmp_path / "here.h5").read_bytes()
    assert not parts_folder(out).exists()


def test_no_scheduler_is_told(tmp_path, monkeypatch):
    paddock = paddocks.small(tmp_path)
    monkeypatch.setattr("analysis.paddock.passes.cluster.CONNECT", "1s")
    with pytest.raises(ScenarioError, match="no scheduler answers"):
        run_batch(paddock, tmp_path / "r.h5", cluster="tcp://127.0.0.1:9")


@every("address", ["", "inproc://x", "\x1b[2J:1", "nonsense://x:1", "tcp://127.0.0.1", "tcp://127.0.0.1:x", "tcp://:8786",
                   "tcp://127.0.0.1:99999", f"tcp://{'a' * 70}:1", "tcp://no.such.host.invalid:8786"])  # fmt: skip
def test_what_is_no_address_is_told(tmp_path, address):
    paddock = paddocks.small(tmp_path)
    with pytest.raises(ScenarioError, match=r"no address of a scheduler|no scheduler answers") as caught:
        next(on_cluster(paddock, "x", [0], address))
    assert "tls://HOST:PORT" in str(caught.value)
    assert str(caught.value).isprintable()


def test_an_answer_that_is_no_schedulers_is_told(tmp_path, monkeypatch):
    """A web server at the address: what it says must not be taken for sizes of messages."""
    monkeypatch.setattr("analysis.paddock.passes.cluster.CONNECT", "3s")
    with socket.create_server(("127.0.0.1", 0)) as server:
        threading.Thread(target=_chatter, args=(server,), daemon=True).start()
        address = f"tcp://127.0.0.1:{server.getsockname()[1]}"
        with pytest.raises(ScenarioError, match="no scheduler answers"):
            next(on_cluster(paddocks.small(tmp_path), "x", [0], address))


def _chatter(server: socket.socket) -> None:
    with suppress(OSError):  # the server is closed at the end
        while True:
            asking, _ = server.accept()
            with suppress(OSError), asking:
                asking.sendall(b"HTTP/1.1 400 Bad Request\r\n\r\n" * 10)


def test_tls_without_certificates_is_told(cluster, tmp_path):
    address = cluster.scheduler_address.replace("tcp://", "tls://")
    with pytest.raises(ScenarioError, match="no certificates are named to Dask"):
        next(on_cluster(paddocks.small(tmp_path), "x", [0], address))


def test_workers_with_other_versions_are_refused(cluster, tmp_path, monkeypatch):
    paddock = paddocks.small(tmp_path)
    monkeypatch.setattr("analysis.paddock.passes.cluster.versions", lambda: {"numpy": "0.1"})
    with pytest.raises(ScenarioError, match="install the same versions on all workers"):
        next(on_cluster(paddock, "x", [0], cluster.scheduler_address))
