"""Why the depth moves along one crossing."""

from __future__ import annotations

from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.door.ready import ready
from analysis.explain import explain as told
from analysis.explain.document import document
from analysis.explain.words import explain_text
from analysis.parallel import Progress
from analysis.present.scenario_words import scenario_title
from scenarios.format.errors import ScenarioError, closest, fault, shown
from scenarios.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, repr=False)
class Explanation(told.Explanation):
    """One crossing explained, SI units: `places`, `episodes`, `breakouts`, each with what helps; `tried`; `run`."""

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench explain --json` prints."""
        return document(self)

    def text(self) -> str:
        """The screen of `rowbench explain`."""
        return explain_text(self, scenario_title(self.scenario))

    def figure(self, name: str = "causes") -> Figure:
        """A figure by its name: causes, crossing, gauge_load, depth, pins, gas, drift, spectrum.

        Raises ScenarioError for another name.
        """
        from analysis.explain.figures import figure_makers  # noqa: PLC0415

        makers = figure_makers(self)
        if name not in makers:
            near = closest(name, makers) or "causes"
            raise ScenarioError([fault("figure", f"given {shown(name)}", ", ".join(makers), shown(near))])
        return makers[name]()

    def save_movie(self, path: str | Path) -> None:
        """The unit crossing the worst place, or the whole stretch where one was asked for, as a GIF."""
        from analysis.movie.movie import save_movie  # noqa: PLC0415

        save_movie(self, Path(path), self.stretch != (0.0, self.scenario.length))


def explain(
    scenario: Scenario,
    *,
    from_m: float | None = None,
    to_m: float | None = None,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Explanation:
    """Cross a scenario and say why the depth moves between two distances along the track [m].

    Changes of pressure, speed and depth setting are run on the same ground, on `workers` threads (None: one a core);
    progress(done, all) counts them. Raises ScenarioError for a stretch off the measured ground and for a crossing
    that cannot be made.
    """
    ready()
    try:
        made = told.explain(scenario, from_m, to_m, workers, progress)
    except ScenarioError as error:  # the options of the command line by the names they have here
        raise ScenarioError(f.replace("--from", "from_m").replace("--to", "to_m") for f in error.faults) from None
    return Explanation(**{item.name: getattr(made, item.name) for item in fields(told.Explanation)})
