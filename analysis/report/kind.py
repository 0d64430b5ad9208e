"""Which command wrote a stored result: a run or a whole paddock."""

from __future__ import annotations

from pathlib import Path

import h5py

from analysis.paddock.store import FORMAT as PADDOCK
from analysis.paddock.store_parts import parts_folder, read_about
from analysis.storage.run_file import FORMAT as RUN
from scenarios.format.errors import ScenarioError, fault, shown

WANTED = "a whole file of rowbench run --save or of rowbench paddock --out"


def kind_of(path: Path) -> str:
    """`RUN` or `PADDOCK`. Raises ScenarioError: missing, not finished, damaged, or of another kind."""
    try:
        with h5py.File(path, "r") as file:
            kind = str(file.attrs.get("format", ""))
    except FileNotFoundError:
        raise _refused(path, *_missing(path)) from None
    except (OSError, RuntimeError) as error:
        reason = str(error).split("(", maxsplit=1)[0].strip() or type(error).__name__
        raise _refused(path, f"damaged or no HDF5 file ({reason})", WANTED, "make it again") from None
    if kind not in (RUN, PADDOCK):
        allowed = f"format {shown(RUN)} or {shown(PADDOCK)}"
        raise _refused(path, f"HDF5 of another kind ({shown(kind)})", allowed, WANTED)
    return kind


def _missing(path: Path) -> tuple[str, str, str]:
    """Fault of a result that is not there; of a paddock that was stopped, how far it is."""
    folder = parts_folder(path)
    if not folder.is_dir():
        return "there is no such file", WANTED, "check the path"
    about = read_about(path)
    kept = len(list(folder.glob("pass-*.npz")))
    given = f"not finished: {kept} of {about['passes']} passes of {about['name']}"
    return given, "a finished result", f"rowbench paddock FILE --out {path} again: it goes on"


def _refused(path: Path, given: str, allowed: str, hint: str) -> ScenarioError:
    return ScenarioError([fault(str(path), given, allowed, hint)])
