"""Readings of a unit and its ground: the values that explain them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields
from functools import cached_property
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.door.ready import ready
from analysis.fit import fitted
from analysis.fit.document import fit_document
from analysis.fit.fit import fit as fit_to
from analysis.fit.fitted_file import file_text
from analysis.fit.following.measure_next import Next, measure_next
from analysis.fit.reading.read_measured import read_measured
from analysis.fit.words import fit_text, heading
from analysis.storage.file_names import overwritten
from analysis.storage.safe_write import write_all
from scenarios import scenario as plain
from scenarios.format.errors import ScenarioError

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, repr=False)
class Fit(fitted.Fit):
    """What readings say: `values` with their doubt before and after (SI), `correlation`, `settings`, `residuals`,
    `check`, and `fitted`, the scenario with the fitted values.
    """

    workers: int | None = None

    def __repr__(self) -> str:
        learned = [one.doubtful.name for one in self.values if one.learned == "learned"]
        return f"{type(self).__name__} {heading(self)}\n  learned: {', '.join(learned) or 'nothing well'}"

    @cached_property
    def next(self) -> Next | None:
        """What to measure next; takes about as long as the fit."""
        ready(rows=True, of_any=True)
        return measure_next(self, self.workers)

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench fit --json` prints (without its own times); computes `next`."""
        return fit_document(self, self.next)

    def text(self, out: str | Path = "fitted.toml") -> str:
        """The screen of `rowbench fit`; computes `next`."""
        return fit_text(self, self.next, Path(out), self.scenario.warnings)

    def save(self, out: str | Path) -> Path:
        """Write the scenario with the fitted values and [uncertain]; raises ScenarioError where it cannot be."""
        path = Path(out)
        if wrong := overwritten({"save": path}, (*self.scenario.files, self.measured.path)):
            raise ScenarioError(wrong)
        text = file_text(self, path)
        write_all([(path, lambda place: place.write_text(text, encoding="utf-8", errors="replace"))])
        return path

    def figure(self) -> Figure:
        """Readings against what is expected, before and after; and how far each value narrowed."""
        from analysis.fit.figure import fit_figure  # noqa: PLC0415

        return fit_figure(self)


def fit(
    scenario: plain.Scenario,
    measured: str | Path,
    *,
    workers: int | None = None,
    progress: Callable[[int], None] | None = None,
) -> Fit:
    """Fit the values in doubt of a scenario to a CSV file of readings (what, value, …).

    workers: threads (None: one a core; the numbers are the same). progress(trials): called as trials are made. Raises
    ScenarioError with every fault of the readings.
    """
    ready(rows=True, of_any=True)
    made = fit_to(scenario, read_measured(Path(measured)), workers, progress)
    values = {item.name: getattr(made, item.name) for item in fields(fitted.Fit)}
    return Fit(**values, workers=workers)
