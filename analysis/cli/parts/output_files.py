"""Files to write, checked to be writable before anything is computed."""

from __future__ import annotations

import os
from collections.abc import Iterable, Mapping
from pathlib import Path
from typing import Any

from analysis.explain.figure_names import NAMES
from analysis.storage.file_names import clashes, overwritten
from analysis.storage.formats import FIGURES
from analysis.storage.safe_write import output_fault
from scenarios.format.errors import ScenarioError, fault, shown

# options that name a file to write
OUTPUTS = (
    "figure", "save", "engines", "movie", "out", "map", "rows", "settings", "csv", "geojson", "sheet", "spectrum",
    "rose", "crossings", "shapes",
)  # fmt: skip


def read_output(given: Mapping[str, Any], name: str, endings: tuple[str, ...], faults: list[str]) -> Path | None:
    """The file that an option asks for, None where it is left out; a fault is added.

    endings: file endings allowed.
    """
    text = given.get(name)
    if text is None:
        return None
    path = Path(text)
    wrong = output_fault(path, f"--{name}", endings)
    if wrong:
        faults.append(wrong)
    return path


def read_figure(given: Mapping[str, Any], faults: list[str], name: str = "figure") -> Path | None:
    """The same for a figure."""
    return read_output(given, name, FIGURES, faults)


def clash_faults(given: Mapping[str, Any]) -> list[str]:
    """Faults of two outputs of one command that would be one file."""
    asked = outputs(given)
    return clashes(asked) if len(asked) > 1 else []


def overwrite_faults(given: Mapping[str, Any], inputs: Iterable[Path]) -> list[str]:
    """Faults of outputs that would write over a file that the command reads."""
    return overwritten(outputs(given), tuple(inputs))


def outputs(given: Mapping[str, Any]) -> dict[str, Path]:
    """Every file that a call would write, by the option that asks for it: those of a folder too."""
    asked = {f"--{name}": Path(given[name]) for name in OUTPUTS if isinstance(given.get(name), str)}
    if isinstance(given.get("figures"), str):
        folder = Path(given["figures"])
        asked |= {"--figures": folder} | {f"--figures ({name}.png)": folder / f"{name}.png" for name in NAMES}
    if "--out" in asked and (given.get("pass") is not None or given.get("row") is not None):
        asked["--out (its profile)"] = asked["--out"].with_suffix(".csv")
    return asked


def free_place(name: str, where: str) -> Path:
    """Path of a new NAME.toml for the command `where`. Raises ScenarioError: no place to write, or taken already."""
    given = Path(name)
    if given.name in ("", "..") or name.endswith(("/", os.sep, f"{os.sep}.")):
        raise ScenarioError([fault(where, f"given {shown(name)}, which is a folder", "a name for a new file",
                                   f"{where} my_field")])  # fmt: skip
    path = given if given.suffix == ".toml" else given.with_name(f"{given.name}.toml")
    wrong = output_fault(path, where, (".toml",))
    if wrong is None and path.exists():
        again = path.with_name(f"{path.stem}_2")
        wrong = fault(where, f"given {shown(str(path))}, which is there already", "a name that is free",
                      f"{where} {again}")  # fmt: skip
    if wrong:
        raise ScenarioError([wrong])
    return path
