"""Which values of a file move what: all screened where there are many, the strongest shared out by variance.

Grounds are the same for every set, so that what differs is of the values alone, not of the ground's chance.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from analysis.parallel import Progress
from analysis.rank.crossed import Evaluation, Tally, reason
from analysis.rank.knobs import Knob, Left, Refused, Varied, Within, every_doubt, every_key, groups_of
from analysis.rank.shares import Screened, Shares, Stop, screened, shares
from analysis.rows.cells import lay
from analysis.rows.together import subject_of
from scenarios.scenario import Scenario
from sim.errors import SimulationError
from sim.march.rows import Case, check_row

MOST = 24  # values up to which none is screened out
STRONGEST = 20  # of more: so many are shared out
SCREENS = 4  # first points of a screening
Meters = Callable[[str], Progress]


@dataclass(frozen=True, eq=False)
class Ranking:
    """What a ranking came to.

    varied: what the shares are of, `groups` the names of those that follow its knobs in `shares`; by: the number in
    RANKED of the measure that leads; share: of `--within`, None where it is what is believed. still: values that moved
    nothing at all; small: those screened out, with their mean sizes (k, s) from end to end; left: not varied, and why;
    tally: sets that could not be crossed, of so many `asked`.
    """

    scenario: Scenario
    seeds: tuple[int, ...]
    share: float | None
    by: int
    varied: Varied
    groups: tuple[str, ...]
    shares: Shares
    small: tuple[tuple[Knob, np.ndarray], ...]
    still: tuple[Knob, ...]
    left: tuple[Left, ...]
    tally: Tally
    asked: int
    screened: int  # values that were screened; 0: none
    stopped: tuple[int, int] | None = None  # first points done and asked for, where it was stopped

    @property
    def order(self) -> list[int]:
        """Numbers of the knobs that move the leading measure, the largest total share first."""
        total = self.shares.total.value[: len(self.varied.knobs), self.by]
        return [int(i) for i in np.argsort(-total, kind="stable") if total[i] > 0.0]


class Stopped(Exception):
    """Stopped before anything could be said, or with a ranking of what was done."""

    def __init__(self, ranking: Ranking | None, said: str) -> None:
        super().__init__(said)
        self.ranking = ranking


def what_varies(scenario: Scenario, share: float | None) -> tuple[Varied, tuple[Left, ...]]:
    """What is varied: numeric keys within a share of their value, or (None) what is believed; and what is left out."""
    if share is None:
        return every_doubt(scenario)
    within, left = every_key(scenario, share)
    able, unable = _settable(within)
    return within.only(able), (*left, *unable)


def _settable(within: Within) -> tuple[list[int], list[Left]]:
    """Knobs with which alone, at both their ends, the unit can be set; of the others why not."""
    able, unable = [], []
    for i, knob in enumerate(within.knobs):
        alone = within.only([i])
        for u, end in ((0.0, knob.low), (1.0, knob.high)):
            try:
                made = alone.at(np.array([u]))
                settings = replace(made.settings, setting="redone")
                check_row(subject_of(made), Case(0, settings))
            except (Refused, SimulationError) as error:
                why = str(error) if isinstance(error, Refused) else reason(str(error))
                unable.append(Left(knob.name, f"at {end:.4g}: {why}"))
                break
        else:
            able.append(i)
    return able, unable


def rank(
    scenario: Scenario, varied: Varied, left: Sequence[Left] = (), *, share: float | None = None, by: int = 0,
    workers: int | None = None, meters: Meters | None = None,
) -> Ranking:  # fmt: skip
    """Rank what varies by `RANKED[by]`, over `search.draws` first points on the grounds of the file's search.

    The same numbers for any number of workers. Raises Stopped on Ctrl-C.
    """
    seeds, tally = tuple(ground.seed for ground in lay(scenario, scenario.search_seeds)), Tally()
    told = meters or (lambda _what: lambda _done, _total: None)
    asked, count = 0, 0
    small: tuple[tuple[Knob, np.ndarray], ...] = ()
    still: tuple[Knob, ...] = ()
    chosen = varied
    if len(varied.knobs) > MOST:
        count = len(varied.knobs)
        function = Evaluation(varied, seeds, tally)
        try:
            first = screened(function, count, SCREENS, seed=scenario.seed, workers=workers,
                             progress=told(f"screening {count} values: parts"))  # fmt: skip
        except Stop as stop:
            raise Stopped(None, f"{stop.done} of {stop.asked} parts of the screening were done: too few to rank "
                          "anything; nothing was written") from stop  # fmt: skip
        asked += SCREENS * (1 + count)
        strong, weak, none = sorted_out(first, by)
        chosen = varied.only(strong)
        small = tuple((varied.knobs[i], first.size[i]) for i in weak)
        still = tuple(varied.knobs[i] for i in none)
    groups = groups_of(chosen.knobs)
    together = {name: numbers for name, numbers in groups.items() if len(numbers) > 1}
    n, k = scenario.search.draws, len(chosen.knobs)
    made: Ranking | None = None

    def ranking(found: Shares, done: tuple[int, int] | None = None) -> Ranking:
        return Ranking(scenario, seeds, share, by, chosen, tuple(together), found, small, still, tuple(left), tally,
                       asked + n * (2 + k + len(together)), count, done)  # fmt: skip

    try:
        found = shares(Evaluation(chosen, seeds, tally), k, n, list(together.values()), seed=scenario.seed,
                       workers=workers, progress=told(f"sharing out {k} values: parts"))  # fmt: skip
    except Stop as stop:
        said = f"{stop.done} of {stop.asked} first points were done"
        if stop.found is not None:
            made = ranking(stop.found, (stop.done, stop.asked))
        raise Stopped(made, f"{said}: {'what they say stands above' if made else 'too few to rank anything'}") from stop
    return ranking(found)


def sorted_out(first: Screened, by: int) -> tuple[list[int], list[int], list[int]]:
    """Numbers of the strongest by a measure, of the others that move it or another one, of those that move nothing."""
    moving = first.most.max(axis=1) > 0.0
    order = [int(i) for i in np.argsort(-first.size[:, by], kind="stable")]
    ranked = [i for i in order if moving[i]]
    return sorted(ranked[:STRONGEST]), ranked[STRONGEST:], [i for i in range(len(moving)) if not moving[i]]
