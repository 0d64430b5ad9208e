"""Episodes and breakouts of a run found another way, over whole series by masks: what the machine must agree with."""

from __future__ import annotations

import numpy as np

from analysis.crossing.breakouts import Breakout
from analysis.crossing.episodes import Episode
from analysis.crossing.loads import worst_pin
from analysis.crossing.peaks import peaks
from analysis.crossing.spans import spacing
from sim.unit import ATMOSPHERE

ROUNDING = 1e-9


def stretches(mask):
    """First step and step after the last of every stretch in which `mask` is true."""
    edges = np.flatnonzero(np.diff(np.concatenate(([False], mask, [False])).astype(np.int8)))
    return edges[0::2], edges[1::2]


def bridged(starts, ends, travel, gap):
    """The same stretches with those joined that lie less than `gap` apart."""
    if starts.size == 0:
        return starts, ends
    apart = (starts[1:] - ends[:-1]) * travel >= gap - ROUNDING
    return starts[np.concatenate(([True], apart))], ends[np.concatenate((apart, [True]))]


def episodes(run, tolerance):
    travel, s = spacing(run), run.series
    starts, ends = bridged(*stretches(s["gauge_load"] <= 0.0), travel, 0.05)
    found = []
    for first, last in zip(starts.tolist(), ends.tolist(), strict=True):
        if (last - first) * travel < 0.10 - ROUNDING:
            continue
        here = slice(first, last)
        short = run.settings.set_depth - s["depth"][here]
        found.append(
            Episode(
                start=float(s["distance"][first]),
                length=(last - first) * travel,
                rise=float(short.max()),
                gap=float(-s["lift_off"][here].min()),
                shallow=float(np.count_nonzero(short > tolerance)) * travel,
                cause=_cause(run, first, last, travel),
                first=first,
                last=last,
            )
        )
    return tuple(found)


def _cause(run, first, last, travel):
    s, here = run.series, slice(first, last)
    before = max(0, first - int(0.30 / travel + ROUNDING))
    if (s["rock_force"][before:last] > 0.0).any():
        return "rock"
    if (s["stop_force"][here] != 0.0).any():
        return "at_stop"
    if (s["gas_volume"][here] > run.unit.accumulator.volume).any():
        return "no_cushion"
    return "too_hard" if float(s["spare_load"][here].mean()) <= 0.0 else "thrown"


def breakouts(run, tolerance, arm_angle):
    touching = run.series["rock_force"] > 0.0
    travel = spacing(run)
    after = int(0.30 / travel + ROUNDING)
    starts, ends = bridged(*stretches(touching), travel, 0.30)
    stops = np.minimum(ends + after, touching.size)
    found, i = [], 0
    while i < starts.size:
        first, stop, i = int(starts[i]), int(stops[i]), i + 1
        if not _breaks_out(run, first, stop, arm_angle):
            continue
        back = _back_at_depth(run, first, stop, tolerance)
        while i < starts.size and (back is None or starts[i] < back):
            stop, i = int(stops[i]), i + 1
            back = _back_at_depth(run, first, stop, tolerance)
        found.append(_breakout(run, first, stop, back))
    return tuple(found)


def _breaks_out(run, first, stop, arm_angle):
    depth, arm = run.series["depth"][first:stop], run.series["arm_angle"][first:stop]
    half = 0.5 * run.settings.set_depth
    high = run.unit.main_links.angle_nominal + arm_angle
    return bool((depth[0] >= half and depth.min() < half) or (arm[0] <= high and arm.max() > high))


def _back_at_depth(run, first, stop, tolerance):
    depth = run.series["depth"]
    trough = first + int(depth[first:stop].argmin())
    back = depth[trough:] >= run.settings.set_depth - tolerance
    step = int(back.argmax())
    return trough + step if back[step] else None


def _breakout(run, first, stop, back):
    s, track = run.series, run.track
    last = s["depth"].size if back is None else max(stop, back + 1)
    here = slice(first, last)
    stones = np.maximum(track.stone_top - track.ground, 0.0)
    lift = np.interp(s["distance"][here], track.x, stones)
    pin, pin_peak = worst_pin(run, first, last)
    return Breakout(
        position=float(s["distance"][first]),
        rise=float((run.settings.set_depth - s["depth"][here] + lift).max()),
        regain=None if back is None else (back - first) * spacing(run),
        disc_peak=float(peaks(s["rock_force"][:, None], first, last)[0]),
        pin=pin,
        pin_peak=pin_peak,
        pressure_max=float(s["oil_pressure"][here].max()) - ATMOSPHERE,
        first=first,
        last=last,
    )
