"""One trial: a field fitted, and what became of its pick."""

from __future__ import annotations

import time
import tomllib
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np
from scipy.special import ndtr

from analysis.fit.fit import fit
from analysis.fit.fitted import Fit
from analysis.fit.fitted_file import uncertain_lines
from analysis.fit.reading.readings import Measured
from analysis.window.cross_grid import search
from analysis.window.doubt.pick import in_doubt
from analysis.window.grid import Window
from analysis.window.limits import meets
from analysis.window.pick import Pick, choose
from scenarios.doubt.uncertain import Uncertain
from scenarios.scenario import Scenario

from .field import Field, field

LISTS = ("keys", "centre", "spread", "correlation")
TRUTH_SEED = 500  # grounds that the pick is held against


@dataclass(frozen=True)
class Setting:
    """A pick against the truth."""

    bar: float | None
    kmh: float | None
    holds: bool  # meets every limit in the true field
    chance: float | None = None  # with which it is said to

    @property
    def there(self) -> bool:
        return self.kmh is not None


@dataclass(frozen=True)
class Trial:
    """What one trial gave; of values in the order of `names`."""

    number: int
    names: tuple[str, ...]
    z: tuple[float, ...]  # truth, in standard deviations of the prior
    at: tuple[float, ...]  # fitted
    sd: tuple[float, ...]
    rank: tuple[float, ...]  # of the truth in the posterior, 0 to 1
    p: float
    worst: float  # largest standardised residual
    normal: bool
    off: float
    effective: float
    seconds: float
    known: Setting  # with everything known
    before: Setting  # with the file's own values
    after: Setting  # with the fitted ones taken as known
    sure: Setting  # by the chance under what the fit leaves in doubt

    def document(self) -> dict[str, object]:
        return asdict(self)


def trial(number: int, wrong: str = "", *, picks: bool = True, workers: int | None = 1) -> Trial:
    """Draw a field, read it, fit it."""
    made = field(number, wrong)
    begin = time.perf_counter()
    found = fit(made.believed, Measured(Path("afternoon.csv"), made.readings), workers)
    seconds = time.perf_counter() - begin
    middle, sd, rank = standing(found, made)
    none = Setting(None, None, False)
    known, before, after, sure = _picks(found, made, workers) if picks else (none, none, none, none)
    worst = found.worst
    return Trial(
        number, made.doubt.names, tuple(made.z), tuple(middle), tuple(sd), tuple(rank), found.check.p,
        0.0 if worst is None else worst.standardised, found.posterior.normal, found.posterior.worst,
        found.posterior.effective, seconds, known, before, after, sure,
    )  # fmt: skip


def standing(found: Fit, made: Field):
    """Middle and standard deviation of each value after the readings, and the truth's rank among its draws."""
    post, unknowns = found.posterior, found.posterior.maximum.likelihood.model.unknowns
    if post.draws is not None:
        z = unknowns.z(post.draws)
        return z.mean(axis=0), z.std(axis=0), (z < made.z).mean(axis=0)
    n = unknowns.values
    middle = unknowns.z(post.x)
    sd = np.sqrt(np.diag(unknowns.root @ post.covariance[:n, :n] @ unknowns.root.T))
    return middle, sd, ndtr((made.z - middle) / sd)


def _picks(found: Fit, made: Field, workers: int | None) -> tuple[Setting, Setting, Setting, Setting]:
    """The pick with everything known, with the file's own values, with the fitted ones, and by their chance, held
    against the truth.
    """
    true = _window(replace(made.truth, ground=replace(made.truth.ground, seed=TRUTH_SEED)), workers)
    held = meets(true, true.limits)
    after = _window(found.fitted, workers)
    doubted = in_doubt(_in_doubt(found), after, workers)
    assert doubted is not None
    chosen = [choose(true), choose(_window(made.believed, workers)), choose(after), doubted.sure]
    known, before, taken, sure = (
        Setting(one.oil_pressure_bar, one.speed_kmh, bool(held[one.i, one.j]), one.chance)
        if isinstance(one, Pick)
        else Setting(None, None, False)
        for one in chosen
    )
    return known, before, taken, sure


def _in_doubt(found: Fit) -> Scenario:
    """The fitted scenario with what its file would say in [uncertain]."""
    said = tomllib.loads("\n".join(uncertain_lines(found)))["uncertain"]
    said["correlation"] = tuple(map(tuple, said["correlation"]))
    return replace(found.fitted, uncertain=Uncertain(**{k: tuple(v) if k in LISTS else v for k, v in said.items()}))


def _window(scenario: Scenario, workers: int | None) -> Window:
    return search(scenario, workers=workers, unchanged=False)
