"""What to measure next: which reading takes most off the doubt about the pick.

With predictions linear about the fit (slopes J of a candidate's numbers, their covariance V) and the posterior's C,
the covariance after the candidate's readings is (C⁻¹ + JᵀV⁻¹J)⁻¹ whatever they will be; the doubt about the pick's
room is gᵀ…g under it (`analysis.fit.following.target`). The best few are then held against the model itself: fields
are drawn from the posterior, their readings made with errors, the room estimated from each (`told_apart`), and the
error's root mean square compared with that without.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from analysis.fit.fitted import Fit
from analysis.fit.following.candidates import NEW, Candidate, candidates
from analysis.fit.following.largest import Largest, largest
from analysis.fit.following.target import Target, rooms, target
from analysis.fit.likelihood import Likelihood, likelihood
from analysis.fit.model import Model, statistics_of
from analysis.fit.reading.groups import groups_of
from analysis.fit.slopes import Slopes
from analysis.fit.unknowns import Unknowns, unknowns
from sim.errors import SimulationError

Vector = NDArray[np.float64]

BEST = 3  # told, and checked
FIELDS, AGAIN = 48, 50  # drawn for the check, and readings of each
SEED = 7


@dataclass(frozen=True)
class Suggestion:
    """A job, and the share of the doubt about the pick's room that it takes away."""

    candidate: Candidate
    narrows: float
    checked: float | None = None  # the same, found by simulation


@dataclass(frozen=True, eq=False)
class Next:
    """What to measure next, the best first, and what for."""

    target: Target
    doubt: float  # standard deviation of the pick's room as it is
    suggestions: tuple[Suggestion, ...]
    largest: Largest | None = None  # the value that the doubt goes with most


def measure_next(
    found: Fit, workers: int | None = None, tell: Callable[[int], None] | None = None, *, best_of: int = BEST
) -> Next | None:
    """The best jobs, so many; None where nothing can be crossed to find out. Arguments as `analysis.fit.fit.fit`."""
    told = tell or (lambda count: None)
    wanted = _wanted(found)
    x, covariance = _extended(found, wanted)
    jobs = candidates(found.scenario, found.measured.readings)
    try:
        aim = target(wanted, x, workers, told)
        like = likelihood(_model(found, wanted, jobs, workers, told), x)
    except SimulationError:
        return None
    slopes = Slopes(like).at(x)
    best = _different(_ranked(jobs, like, slopes, covariance, aim))[:best_of]
    fields = _fields(wanted, x, covariance)
    true = rooms(wanted, fields, aim.outcome, workers, told)
    best = [
        replace(one, checked=_checked(_model(found, wanted, (one.candidate,), workers, told), x, fields, true))
        for one in best
    ]
    best.sort(key=lambda one: one.narrows if one.checked is None else one.checked, reverse=True)
    most = largest(wanted.doubt.names, wanted.z(np.array(fields)), true)
    return Next(aim, aim.doubt(covariance), tuple(best), most)


def trials_of(found: Fit) -> int:
    """About how many trials it takes."""
    n = found.posterior.maximum.likelihood.model.unknowns.size
    return 2 * n + (1 + BEST) * FIELDS + BEST * n + 10


def _wanted(found: Fit) -> Unknowns:
    """The unknowns of the fit, with a cone factor and a depth setting even where none was read."""
    held = found.posterior.maximum.likelihood.model.unknowns.held or (NEW,)
    return unknowns(found.scenario, held, True)


def _extended(found: Fit, wanted: Unknowns) -> tuple[Vector, Vector]:
    """The fit's x and C among more unknowns, the new ones as they are believed beforehand."""
    had = found.posterior.maximum.likelihood.model.unknowns
    weights = wanted.weights
    x, covariance = np.zeros(wanted.size), np.diag(1.0 / weights**2)
    at = [*range(had.values), *([had.values] if had.cone else [])]
    at += [wanted.values + wanted.cone + k for k in range(len(had.held))]
    mine, joint = _moments(found)
    x[at], covariance[np.ix_(at, at)] = mine, joint
    return x, covariance


def _moments(found: Fit) -> tuple[Vector, Vector]:
    draws = found.posterior.draws
    if draws is None:
        return found.posterior.x, found.posterior.covariance
    return draws.mean(axis=0), np.atleast_2d(np.cov(draws.T))


def _model(
    found: Fit, wanted: Unknowns, jobs: tuple[Candidate, ...], workers: int | None, tell: Callable[[int], None]
) -> Model:
    """A model of all candidates' readings, in their order."""
    statistics = [s for job in jobs for s in statistics_of(groups_of(job.readings))]
    grounds = found.posterior.maximum.likelihood.model.grounds
    return Model(wanted, tuple(statistics), grounds, workers, tell)


def _parts(jobs: tuple[Candidate, ...]) -> list[slice]:
    """Where the numbers of each candidate stand among all."""
    ends = np.cumsum([0, *(len(statistics_of(groups_of(job.readings))) for job in jobs)])
    return [slice(int(a), int(b)) for a, b in pairwise(ends)]


def _ranked(
    jobs: tuple[Candidate, ...], like: Likelihood, slopes: Vector, covariance: Vector, aim: Target
) -> list[Suggestion]:
    before = aim.doubt(covariance)
    ranked = []
    for job, part in zip(jobs, _parts(jobs), strict=True):
        gain = _gain(slopes[part], like.covariance[part, part], covariance)
        after = covariance - gain @ slopes[part] @ covariance
        narrows = 1.0 - aim.doubt(after) / before if before > 0.0 else 0.0
        ranked.append(Suggestion(job, max(narrows, 0.0)))
    return sorted(ranked, key=lambda one: -one.narrows)


def _gain(slopes: Vector, variance: Vector, covariance: Vector) -> Vector:
    """What a reading's surprise moves the unknowns by, (n, m)."""
    across = covariance @ slopes.T
    return np.asarray(np.linalg.solve(slopes @ across + variance, across.T).T)


def _different(ranked: list[Suggestion]) -> list[Suggestion]:
    """The best of each kind, the best first: three places to dig are no choice."""
    best: dict[tuple[str, str], Suggestion] = {}
    for one in ranked:
        best.setdefault((one.candidate.what, one.candidate.where), one)
    return sorted(best.values(), key=lambda one: -one.narrows)


def _fields(wanted: Unknowns, x: Vector, covariance: Vector) -> list[Vector]:
    """Fields drawn from the posterior."""
    rng = np.random.default_rng(SEED)
    drawn = x + rng.standard_normal((FIELDS, x.size)) @ np.linalg.cholesky(covariance).T
    return list(np.clip(drawn, *wanted.bounds))


def _checked(model: Model, x: Vector, fields: list[Vector], true: Vector) -> float | None:
    """The share of the doubt that a job's readings take away in fields whose room is `true`; None: too few crossed."""
    like = likelihood(model, x)
    read = model.predict_all(fields, like.like)
    able = [k for k, y in enumerate(read) if y is not None and np.isfinite(true[k])]
    if len(able) < FIELDS // 2:
        return None
    return told_apart(np.array([read[k] for k in able]), true[able], like.root)


def told_apart(read: Vector, true: Vector, root: Vector) -> float:
    """By which share readings shrink the error of the room, 0 to 1.

    read (fields, m): what is read in each field but for its error, whose covariance is root rootᵀ (m, m); true
    (fields,): its room. Of every field AGAIN readings are made; the room is then estimated from all *other* fields,
    each weighed by how likely it makes the reading (Bayes' rule over a sample, no slope needed: a room may have its top
    at the fit), against their plain mean. Root mean squares of the errors are compared.
    """
    rng, count = np.random.default_rng(SEED + 1), len(true)
    noise = rng.standard_normal((AGAIN, count, read.shape[1])) @ root.T
    white = np.linalg.solve(root, (read[None, :, None, :] + noise[:, :, None, :] - read).reshape(-1, read.shape[1]).T)
    likely = -0.5 * np.sum(white**2, axis=0).reshape(AGAIN, count, count)
    likely[:, np.arange(count), np.arange(count)] = -np.inf
    weights = np.exp(likely - likely.max(axis=2, keepdims=True))
    estimate = (weights @ true) / weights.sum(axis=2)
    others = (true.sum() - true) / (count - 1)
    left, without = np.mean((estimate - true) ** 2), np.mean((others - true) ** 2)
    return max(1.0 - float(np.sqrt(left / without)), 0.0) if without > 0.0 else 0.0
