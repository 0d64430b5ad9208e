"""A whole machine over a paddock."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.door.ready import ready
from analysis.paddock import summary as summed
from analysis.paddock.batch import run_batch
from analysis.paddock.table import load_table
from analysis.paddock.words import paddock_text
from analysis.parallel import Progress
from analysis.storage.formats import RESULTS
from analysis.storage.safe_write import output_fault
from analysis.window.pick import Nearest, Pick
from scenarios.format.errors import ScenarioError, fault, shown
from scenarios.paddock.load import load_paddock
from scenarios.spec import Limits

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SHADES = ("on-depth", "wheel-off", "worst-pin")


@dataclass(frozen=True, repr=False)
class PaddockResult(summed.Summary):
    """A paddock summed up, SI units: `table` with all sections at all settings, `rows`, `zones`, `limits`.

    The file at `table.path` also opens in xarray as it is (engine "h5netcdf").
    """

    @property
    def pick(self) -> Pick | None:
        """What to set on the whole paddock; None where no setting meets every limit."""
        return self.choice if isinstance(self.choice, Pick) else None

    @property
    def nearest(self) -> Nearest | None:
        """Where no setting meets every limit: the one that fails least; None where none could be crossed either."""
        return self.choice if isinstance(self.choice, Nearest) and self.crossed else None

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench paddock --json` prints."""
        return {**summed.to_dict(self), "result": str(self.table.path)}

    def text(self, *, details: bool = False) -> str:
        """The screen of `rowbench paddock`; details: with every setting, zone and note."""
        return paddock_text(self, details=details)

    def map_figure(self, shade: str = "on-depth") -> Figure:
        """Map of all sections at the chosen setting, shaded by "on-depth", "wheel-off" or "worst-pin".

        Raises ScenarioError for another shade.
        """
        from analysis.paddock.figures.figure_map import map_figure  # noqa: PLC0415

        if shade not in SHADES:
            raise ScenarioError([fault("shade", f"given {shown(shade)}", ", ".join(SHADES), shown(SHADES[0]))])
        return map_figure(self.table, self.setting, shade)

    def rows_figure(self) -> Figure:
        """Mean depth error of each row with its interval, at the chosen setting."""
        from analysis.paddock.figures.figure_rows import rows_figure  # noqa: PLC0415

        return rows_figure(self)

    def settings_figure(self) -> Figure:
        """Area on depth by setting."""
        from analysis.paddock.figures.figure_settings import settings_figure  # noqa: PLC0415

        return settings_figure(self)


def paddock(
    source: str | Path,
    out: str | Path | None = None,
    *,
    workers: int | None = None,
    progress: Progress | None = None,
) -> PaddockResult:
    """Run a paddock file (or a name of the library) to the result `out`, or open a stored result (.h5).

    Passes are kept one by one: the same call goes on where it was stopped, and reads a finished result. workers: cores
    to use (None: all; over four of them are processes, so a script then needs `if __name__ == "__main__":`).
    progress(passes done, all). Raises ScenarioError with all faults of the file.
    """
    if str(source).lower().endswith(RESULTS):
        if out is not None:
            raise ScenarioError([fault("out", "given with a stored result", "out with a paddock file", "leave it out")])
        return _summed(Path(source), None)
    faults = []
    target = Path(out) if out is not None else None
    if target is None:
        faults.append(fault("out", "missing", "a file for the result", f'out="{Path(source).stem}.h5"'))
    elif wrong := output_fault(target, "out", RESULTS):
        faults.append(wrong)
    try:
        made = load_paddock(source)
    except ScenarioError as error:
        raise ScenarioError([*faults, *error.faults]) from None
    if target is None or faults:
        raise ScenarioError(faults)
    if not target.exists():
        ready(rows=True)
    run_batch(made, target, workers, None, None if progress is None else lambda done, all_, _: progress(done, all_))
    return _summed(target, made.limits)


def _summed(path: Path, limits: Limits | None) -> PaddockResult:
    made = summed.summarise(load_table(path), limits)
    return PaddockResult(**{item.name: getattr(made, item.name) for item in fields(summed.Summary)})
