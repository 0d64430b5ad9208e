"""The search: NSGA-II (Deb et al. 2002, memory) by pymoo, which is asked for points and told what they are worth."""

from __future__ import annotations

import importlib
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from analysis.design.free import Space
from analysis.design.judged import Judge, Judged
from analysis.parallel import Progress, part_of
from analysis.rank.design import Values
from analysis.rows.cells import lay
from scenarios.format.errors import ScenarioError, fault

A_SIDE = 8  # designs in a generation for each coordinate, and as many besides
AIMS = 3
MOST = 24  # designs that are written as files
UNKNOWN = 1e9  # aims of what could not be crossed: never better than anything


@dataclass(frozen=True, eq=False)
class Search:
    """What a search came to.

    whole: designs that meet every limit and that no other one beats in all of hectares an hour, on-depth share and pin
    load, the most hectares first; front: of these up to MOST that lie evenly over them, the best in each aim among
    them; own: the file's own values at its own speed; nearest: where the front is empty, the design that fails by
    least; unseen: the front judged on grounds that the search did not see, in its order.
    """

    space: Space
    seeds: tuple[int, ...]
    tried: int
    asked: int
    whole: tuple[Judged, ...]
    front: tuple[Judged, ...]
    own: Judged
    nearest: Judged | None
    met: int  # designs tried that meet every limit
    uncrossed: int
    new_seeds: tuple[int, ...] = ()
    unseen: tuple[Judged, ...] = ()

    @property
    def stopped(self) -> bool:
        """Whether it was stopped before its end."""
        return self.tried < self.asked


class Stopped(Exception):
    """Stopped by Ctrl-C; `found` holds what was known by then."""

    def __init__(self, found: Search) -> None:
        super().__init__(f"{found.tried} of {found.asked} designs")
        self.found = found


def need_optimiser() -> None:
    """Raises ScenarioError where pymoo is not installed."""
    try:
        importlib.import_module("pymoo.algorithms.moo.nsga2")
    except ImportError:
        raise ScenarioError(
            [fault("rowbench design", "needs the package pymoo, which is not installed",
                   "rowbench with its extra design", "pip install 'rowbench[design]'")]
        ) from None  # fmt: skip


def search(
    space: Space, own: Judged, tries: int, *, workers: int | None = None, progress: Progress | None = None,
    new_grounds: int = 3,
) -> Search:  # fmt: skip
    """Search a space on the grounds of its file with so many designs, then judge the front on new grounds.

    The same for any number of workers. Raises Stopped on Ctrl-C, with the front of what was tried and no new grounds.
    """
    seeds = space.scenario.search_seeds
    judge = Judge.on(space, seeds)
    all_tried: list[Judged] = []
    moo = _Moo(space.size, space.scenario.seed)
    try:
        while len(all_tried) < tries:
            points = moo.ask()[: tries - len(all_tried)]
            made = _judged(judge, points, workers, progress, len(all_tried), tries)
            all_tried += made
            moo.tell(made)
    except KeyboardInterrupt as stopped:
        raise Stopped(_found(space, seeds, all_tried, tries, own)) from stopped
    found = _found(space, seeds, all_tried, tries, own)
    new = tuple(range(seeds[-1] + 1, seeds[-1] + 1 + new_grounds))
    if not found.front or len(lay(space.scenario, (seeds[0], *new))) == 1:  # nothing on it is random: no other ground
        return found
    try:
        unseen = Judge.on(space, new).all([one.point for one in found.front], workers)
    except KeyboardInterrupt as stopped:
        raise Stopped(found) from stopped
    return replace(found, new_seeds=new, unseen=tuple(unseen))


def _judged(
    judge: Judge, points: Sequence[Values], workers: int | None, progress: Progress | None, before: int, tries: int
) -> list[Judged]:
    told = None if progress is None else part_of(progress, before, tries)
    return judge.all(points, workers, told)


def _found(space: Space, seeds: tuple[int, ...], tried: Sequence[Judged], tries: int, own: Judged) -> Search:
    able = [one for one in tried if one.meets]
    crossed = [one for one in tried if one.worth is not None]
    nearest = min(crossed, key=lambda one: one.short, default=None) if not able else None
    whole = front_of(able)
    return Search(space, seeds, len(tried), tries, whole, evenly(whole), own, nearest, len(able),
                  len(tried) - len(crossed))  # fmt: skip


def front_of(able: Sequence[Judged]) -> tuple[Judged, ...]:
    """Those that no other one beats in every aim (of equal ones the first), the most hectares an hour first."""
    if not able:
        return ()
    aims = np.array([one.aims for one in able])
    kept: list[int] = []
    for i, mine in enumerate(aims):
        better = (aims <= mine).all(axis=1) & (aims < mine).any(axis=1)
        same = (aims[:i] == mine).all(axis=1)
        if not better.any() and not same.any():
            kept.append(i)
    order = sorted(kept, key=lambda i: tuple(aims[i]))
    return tuple(able[i] for i in order)


def evenly(whole: Sequence[Judged], most: int = MOST) -> tuple[Judged, ...]:
    """Up to so many of a front, in its order: the best of each aim, then always that farthest from all taken so far."""
    if len(whole) <= most:
        return tuple(whole)
    aims = np.array([one.aims for one in whole])
    size = np.ptp(aims, axis=0)
    aims = aims / np.where(size > 0.0, size, 1.0)
    taken = sorted({int(aims[:, aim].argmin()) for aim in range(AIMS)})
    while len(taken) < most:
        apart = np.linalg.norm(aims[:, None] - aims[None, taken], axis=2).min(axis=1)
        taken.append(int(apart.argmax()))
    return tuple(whole[i] for i in sorted(taken))


class _Moo:
    """pymoo's NSGA-II, asked for points and told what came of them."""

    def __init__(self, size: int, seed: int) -> None:
        from pymoo.algorithms.moo.nsga2 import NSGA2  # noqa: PLC0415 (0.7 s)
        from pymoo.core.problem import Problem  # noqa: PLC0415
        from pymoo.core.termination import NoTermination  # noqa: PLC0415
        from pymoo.operators.sampling.lhs import LHS  # noqa: PLC0415

        self.problem = Problem(n_var=size, n_obj=AIMS, n_ieq_constr=1, xl=np.zeros(size), xu=np.ones(size))
        self.way: Any = NSGA2(pop_size=A_SIDE * (size + 1), sampling=LHS(), eliminate_duplicates=True)
        self.way.setup(self.problem, termination=NoTermination(), seed=seed, verbose=False)
        self.population: Any = None

    def ask(self) -> list[Values]:
        """The next points."""
        self.population = self.way.ask()
        return list(np.asarray(self.population.get("X"), dtype=np.float64))

    def tell(self, made: Sequence[Judged]) -> None:
        """What came of them; at the end fewer than were asked for."""
        from pymoo.core.evaluator import Evaluator  # noqa: PLC0415
        from pymoo.problems.static import StaticProblem  # noqa: PLC0415

        told = self.population[: len(made)]
        aims = np.array([np.full(AIMS, UNKNOWN) if one.worth is None else one.aims for one in made])
        Evaluator().eval(StaticProblem(self.problem, F=aims, G=np.array([[one.short] for one in made])), told)
        self.way.tell(infills=told)
