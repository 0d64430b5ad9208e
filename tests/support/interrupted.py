"""Small paddocks that are computed by the command, whole or only in part."""

from __future__ import annotations

from pathlib import Path

import paddocks

from analysis.cli.main import main
from analysis.paddock.batch import run_batch
from scenarios.paddock.load import load_paddock


def whole(folder: Path) -> tuple[Path, bytes]:
    """A paddock file of three passes and its result."""
    path = paddocks.write(folder)
    assert main(["paddock", str(path), "--out", str(folder / "whole.h5"), "--workers", "1"]) == 0
    return path, (folder / "whole.h5").read_bytes()


def run(capsys, path: Path, out: Path, *more: str) -> tuple[int, str]:
    """Exit code and message of the command."""
    code = main(["paddock", str(path), "--out", str(out), "--workers", "1", *more])
    return code, capsys.readouterr().err


def half_done(path: Path, out: Path) -> None:
    """Leave two of three passes finished."""

    def stop(done, total, worked):
        if done == 2:
            raise KeyboardInterrupt

    try:
        run_batch(load_paddock(path), out, 1, told=stop)
    except KeyboardInterrupt:
        return
    raise AssertionError("the run was not stopped")
