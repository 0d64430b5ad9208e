"""What many trials gave, in numbers."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from .trial import Setting, Trial


def told(trials: Sequence[Trial]) -> str:
    """Coverage, ranks, picks and the check of the fit, as a table."""
    names = trials[0].names
    z, at, sd, rank = (np.array([getattr(t, name) for t in trials]) for name in ("z", "at", "sd", "rank"))
    inside = np.abs(rank - 0.5) <= 0.475
    lines = [f"{len(trials)} trials", "", f"{'value':18s} held of 100   sd left   ranks in tenths   bias/sd"]
    for k, name in enumerate(names):
        counts = np.histogram(rank[:, k], bins=10, range=(0.0, 1.0))[0]
        bias = np.mean((at[:, k] - z[:, k]) / sd[:, k])
        row = f"{name:18s} {100 * inside[:, k].mean():8.0f}   {np.mean(sd[:, k]):10.2f}   "
        lines.append(row + " ".join(f"{c:3d}" for c in counts) + f"   {bias:+.2f}")
    lines += ["", *_pick_lines(trials), "", *_check_lines(trials)]
    return "\n".join(lines)


def _pick_lines(trials: Sequence[Trial]) -> list[str]:
    able = [t for t in trials if t.known.there]
    lines = [f"{len(able)} fields have a setting that meets every limit"]
    for what in ("before", "after", "sure"):
        settings: list[Setting] = [getattr(t, what) for t in able]
        picked = [(t.known.kmh, s) for t, s in zip(able, settings, strict=True) if s.there]
        if not picked:
            lines.append(f"pick {what}: none")
            continue
        broken = sum(not s.holds for _, s in picked)
        loss = [known - s.kmh for known, s in picked if s.holds]
        off = [abs(known - s.kmh) for known, s in picked]
        middle = f"{np.median(loss):.2g}" if loss else "–"
        lines.append(
            f"pick {what}: {len(picked)} made, {broken} break a limit; of those that hold, median loss {middle} km/h; "
            f"mean distance from the best speed {np.mean(off):.2f} km/h"
        )
    promised = [(t.sure.chance, t.sure.holds) for t in trials if t.sure.chance is not None]
    if promised:
        chance, held = (float(np.mean(values)) for values in zip(*promised, strict=True))
        lines.append(f"picks by chance: {len(promised)} made, {chance:.0%} promised on average, {held:.0%} hold")
    lines.append(f"no pick by chance, and none in the true field either: {sum(_neither(t) for t in trials)}")
    return lines


def _neither(trial: Trial) -> bool:
    return not trial.sure.there and not trial.known.there


def _check_lines(trials: Sequence[Trial]) -> list[str]:
    p = np.array([t.p for t in trials])
    worst = np.array([abs(t.worst) for t in trials])
    seconds = np.array([t.seconds for t in trials])
    drawn = [t.effective for t in trials if not t.normal]
    few = f", fewest effective draws {min(drawn):.0f}" if drawn else ""
    return [
        f"fit check: p < 0.01 in {np.sum(p < 0.01)}, < 0.05 in {np.sum(p < 0.05)}, median {np.median(p):.2f}; "
        f"worst residual over 3 in {np.sum(worst > 3.0)}",
        f"normal in {sum(t.normal for t in trials)}, drawn in {len(drawn)}{few}",
        f"a fit took {np.median(seconds):.1f} s (median), {seconds.max():.1f} s at most",
    ]
