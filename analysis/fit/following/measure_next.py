"""What to measure next: which reading takes most off the doubt about the pick.

Fields are drawn from the posterior; each job's readings are made in them with their errors, and the pick's room
(`analysis.fit.following.target`) is estimated from each (`told_apart`): what that takes off the error counts. The same
is reckoned with all linear about the fit: slopes J of a job's numbers, their covariance V and the posterior's C leave
(C⁻¹ + JᵀV⁻¹J)⁻¹, and of the room gᵀ…g. Where the room has its top near the fit, its slopes say little (soil too soft
and too hard both fail); so the fields decide, and the other figure stands beside it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
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
from analysis.fit.unknowns import STROKE, Unknowns, unknowns
from sim.errors import SimulationError

Vector = NDArray[np.float64]

BEST = 3  # told
FIELDS, AGAIN = 64, 40  # drawn, and readings of each
SEED = 7


@dataclass(frozen=True)
class Suggestion:
    """A job, and the share of the doubt about the pick's room that it takes away."""

    candidate: Candidate
    narrows: float  # over fields (`told_apart`)
    reckoned: float  # with all linear about the fit


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
        model = _model(found, wanted, jobs, workers, told)
        like = likelihood(model, x)
    except SimulationError:
        return None
    slopes = Slopes(like).at(x)
    new = _unread(found, wanted)
    fields = _fields(wanted, x, covariance, new)
    true = rooms(wanted, fields, aim.outcome, workers, told)
    read = model.predict_all(fields, like.like)
    able = np.array([k for k, y in enumerate(read) if y is not None and np.isfinite(true[k])], dtype=np.int64)
    if len(able) < FIELDS // 2:
        return None
    seen, known = np.array([read[k] for k in able]), true[able]
    ranked = []
    for job, part, reckoned in zip(jobs, _parts(jobs), _reckoned(jobs, like, slopes, covariance, aim), strict=True):
        errors = like.covariance[part, part] + _of_setting(slopes[part], wanted, new)
        narrows = told_apart(seen[:, part], known, np.asarray(np.linalg.cholesky(errors), dtype=np.float64))
        ranked.append(Suggestion(job, narrows, reckoned))
    most = largest(wanted.doubt.names, wanted.z(np.array(fields)), true)
    return Next(aim, aim.doubt(covariance), tuple(_different(ranked)[:best_of]), most)


def trials_of(found: Fit) -> int:
    """About how many trials it takes."""
    n = found.posterior.maximum.likelihood.model.unknowns.size
    return 2 * n + 2 * FIELDS + n + 10


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


def _unread(found: Fit, wanted: Unknowns) -> list[int]:
    """Where in x the positions of depth settings stand of which nothing was read."""
    had = found.posterior.maximum.likelihood.model.unknowns.held
    first = wanted.values + wanted.cone
    return [first + k for k, name in enumerate(wanted.held) if name not in had]


def _of_setting(slopes: Vector, wanted: Unknowns, new: list[int]) -> Vector:
    """What a depth setting of which nothing is known adds to the errors of readings, (m, m): anywhere in the range."""
    mine = slopes[:, new] * (wanted.stroke.range / STROKE)
    return np.asarray(mine @ mine.T)


def _reckoned(
    jobs: tuple[Candidate, ...], like: Likelihood, slopes: Vector, covariance: Vector, aim: Target
) -> list[float]:
    """The share of the doubt that each job takes away with all linear about the fit."""
    before, found = aim.doubt(covariance), []
    for part in _parts(jobs):
        gain = _gain(slopes[part], like.covariance[part, part], covariance)
        after = covariance - gain @ slopes[part] @ covariance
        found.append(max(1.0 - aim.doubt(after) / before, 0.0) if before > 0.0 else 0.0)
    return found


def _gain(slopes: Vector, variance: Vector, covariance: Vector) -> Vector:
    """What a reading's surprise moves the unknowns by, (n, m)."""
    across = covariance @ slopes.T
    return np.asarray(np.linalg.solve(slopes @ across + variance, across.T).T)


def _different(ranked: list[Suggestion]) -> list[Suggestion]:
    """The best of each kind, the best first: three places to dig are no choice."""
    best: dict[tuple[str, str], Suggestion] = {}
    for one in sorted(ranked, key=lambda one: -one.narrows):
        best.setdefault((one.candidate.what, one.candidate.where), one)
    return list(best.values())


def _fields(wanted: Unknowns, x: Vector, covariance: Vector, new: list[int]) -> list[Vector]:
    """Fields drawn from the posterior; depth settings of which nothing was read stay where they are in x, for their
    range counts among the errors (`_of_setting`).
    """
    rng = np.random.default_rng(SEED)
    drawn = x + rng.standard_normal((FIELDS, x.size)) @ np.linalg.cholesky(covariance).T
    drawn[:, new] = x[new]
    return list(np.clip(drawn, *wanted.bounds))


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
