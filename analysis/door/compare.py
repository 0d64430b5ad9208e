"""Two to six designs on the same ground."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields
from pathlib import Path
from typing import TYPE_CHECKING, Any

from analysis.compare import compare as told
from analysis.compare.designs import MOST, apart, designs_of
from analysis.compare.document import compare_document
from analysis.compare.words import compare_text
from analysis.door.ready import ready
from analysis.parallel import Progress
from scenarios.format.errors import ScenarioError, fault
from scenarios.scenario import Scenario

if TYPE_CHECKING:
    from matplotlib.figure import Figure


@dataclass(frozen=True, repr=False)
class Comparison(told.Comparison):
    """Designs on the same grounds, SI units: `results`, one a design, with its pick and its values at both settings."""

    def summary(self) -> dict[str, Any]:
        """The document that `rowbench compare --json` prints, without its own times."""
        return compare_document(self)

    def text(self, details: bool = False) -> str:
        """The screen of `rowbench compare`."""
        return compare_text(self, details=details)

    def figure(self) -> Figure:
        """Every difference from the first design with its interval."""
        from analysis.compare.figure_differences import differences_figure  # noqa: PLC0415

        return differences_figure(self)

    def crossings(self) -> Figure:
        """The first design and the one that parts from it most, over the same metres."""
        from analysis.compare.figure_crossings import crossings_figure  # noqa: PLC0415
        from analysis.compare.pair import pair  # noqa: PLC0415

        return crossings_figure(pair(self))

    def save_movie(self, path: str | Path) -> None:
        """The same as a moving picture, a GIF."""
        from analysis.compare.figure_movie import save_pair_movie  # noqa: PLC0415
        from analysis.compare.pair import pair  # noqa: PLC0415

        save_pair_movie(pair(self), Path(path))


def compare(
    *scenarios: Scenario,
    names: Sequence[str] | None = None,
    grounds: int = told.GROUNDS,
    workers: int | None = None,
    progress: Progress | None = None,
) -> Comparison:
    """Compare two to six scenarios on the ground of the first, each at its own pick and all at one setting.

    names: what they are called, None: by their files, numbered; grounds: how many of that ground. progress(done, all).
    Raises ScenarioError for another number of scenarios or of names.
    """
    if not 2 <= len(scenarios) <= MOST:
        raise ScenarioError(
            [fault("compare", f"{len(scenarios)} scenarios", f"two to {MOST}", "rb.compare(one, other)")]
        )
    called = list(names) if names is not None else apart([one.path for one in scenarios])
    if len(called) != len(scenarios) or len(set(called)) != len(called):
        given = (
            f"{len(called)} names for {len(scenarios)} scenarios" if len(set(called)) == len(called) else "a name twice"
        )
        raise ScenarioError([fault("names", given, "a name of its own for each", "leave names out")])
    ready(rows=True)
    made = told.compare(designs_of(scenarios, called), grounds, workers, progress)
    return Comparison(**{item.name: getattr(made, item.name) for item in fields(told.Comparison)})
