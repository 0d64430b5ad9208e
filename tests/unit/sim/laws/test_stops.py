"""A blow on a stop: its rate and its peak against an integrated one, and how much of the peak samples lose."""

from __future__ import annotations

import numpy as np
import pytest
from every import every
from scipy.integrate import solve_ivp

from analysis.crossing.peaks import peaks
from sim.laws.contact import blow_peak, blow_rate, impact_force
from sim.laws.stops import HELD, LOSS, POWER, stop_rates
from sim.stone_blow import SHARE

K, INERTIA, MET = 4e5, 12.0, 6.0


def blow(damping):
    """Couple of a stop [N m] at times counted in one over the rate of the blow, and those times."""
    rate = blow_rate(K, damping, MET, INERTIA)

    def slopes(_, y):
        return y[1], -impact_force(y[0], y[1], K, damping) / INERTIA

    times = np.linspace(0.0, 6.0, 3001)
    y = solve_ivp(slopes, (0.0, 6.0 / rate), (0.0, MET), t_eval=times / rate, rtol=1e-9, atol=1e-12).y
    return times, np.array([impact_force(*at, K, damping) for at in y.T])


@every("damping", [0.0, 0.1, 0.5, 1.0, 2.0, 5.0])
def test_the_peak_of_a_blow(damping):
    times, couple = blow(damping)
    assert couple.max() == pytest.approx(blow_peak(K, damping, MET, INERTIA), rel=0.09)
    assert 0.9 < times[couple.argmax()] < 1.6


@every("damping", [0.0, 0.5, 5.0])
@every("step", [0.4, SHARE, 0.6, 0.8, 1.0])
def test_what_samples_lose_of_it(step, damping):
    """Steps at any phase to the blow, read as peaks of runs are."""
    times, couple = blow(damping)
    lost = 0.0
    for phase in np.linspace(0.0, 1.0, 33):
        at = np.arange(-4.0, 6.0) * step + phase * step
        read = peaks(np.interp(at, times, couple, left=0.0)[:, None] ** 2)[0]
        lost = max(lost, 1.0 - np.sqrt(read) / couple.max())
    bound = LOSS * (step / SHARE) ** POWER
    assert lost <= 1.1 * bound
    if damping == 5.0:
        assert lost >= 0.8 * bound


def test_a_blow_too_small_for_any_pin_is_followed_less_closely():
    rate, peak = blow_rate(K, 0.5, MET, INERTIA), blow_peak(K, 0.5, MET, INERTIA)
    near, far = (stop_rates(K, 0.5, 2.0, MET, INERTIA, lever).struck for lever in (0.01, 10.0))
    assert near == pytest.approx(rate)
    assert LOSS * (rate / far) ** POWER * peak / 10.0 == pytest.approx(HELD)
