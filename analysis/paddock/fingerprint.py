"""What a paddock's result depends on, as one text, its digest, and the versions that computed it."""

from __future__ import annotations

import hashlib
import json
import platform
from dataclasses import asdict
from functools import cache
from importlib.metadata import version
from typing import Any

from analysis.version import VERSION
from scenarios.paddock.paddock import Paddock
from sim.arithmetic import sources


def inputs(paddock: Paddock) -> dict[str, Any]:
    """Everything that decides the numbers, SI units; limits other than the tolerance only judge them."""
    parts = ("unit", "soil", "variation", "settings", "machine", "passes", "ground", "stones", "search", "keep")
    found: dict[str, Any] = {name: asdict(getattr(paddock, name)) for name in parts}
    found["ground"]["features"] = [{"kind": f.kind, **asdict(f)} for f in paddock.ground.features]
    found["zones"] = [asdict(zone) for zone in paddock.zones]
    found["depth_tolerance"] = paddock.limits.depth_tolerance
    found["files"] = dict(paddock.files)
    if paddock.uncertain is not None:  # then it decides as well, and what is assumed of the values it does not name
        found["uncertain"], found["prior"] = asdict(paddock.uncertain), asdict(paddock.prior)
    return found


def fingerprint(paddock: Paddock) -> str:
    """Digest of `inputs`: equal where the numbers have to be equal."""
    return hashlib.sha256(json.dumps(inputs(paddock), sort_keys=True).encode()).hexdigest()


@cache
def versions() -> dict[str, str]:
    """Versions of everything that computes; `sources` is a digest of the program's own files that decide numbers."""
    computing = sources.behind([sources.ROOT / "analysis" / "paddock" / "passes" / "crossing.py"])
    packages = {name: version(name) for name in ("numpy", "scipy", "numba", "h5py")}
    python = platform.python_version()
    return {"rowbench": VERSION, "sources": sources.digest(computing), "python": python, **packages}
