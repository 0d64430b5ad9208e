"""The time step of a march, from the fastest rate of the model that is marched.

Usually the error follows the travel in one step, and that is what is held: `usual_step`. Where a law is stiffer than
such steps can follow, the step is shorter: every law gives its own rates beside its equations (`sim.rates`), and the
shortest step that one of them asks for is taken.

All rows of a window must have the step that each would have alone, so it depends on unit, soil, stones and READ of the
settings, never on pressure, precharge or ground. Where a law's rate hangs on load or pressure it is taken at the
references of `sim.stiff_laws`; beyond them the energy balance of every crossing keeps watch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np

from sim.errors import StepError
from sim.rates import Rates
from sim.stiff_laws import LAWS, Case, Law, with_value
from sim.stone_blow import SHARE
from sim.toolbar.parts import parts_per_node, toolbar_rates
from sim.unit import Rock, Settings, Soil, Unit

STEP_LENGTH = 8.3e-3  # travel in one step: keeps depth within 0.02 mm and pins within 0.3 % [m]
LONGEST_STEP = 4e-3  # [s]

# h|λ| of a step h. With two evaluations a step is stable up to 2.34 (decay) and 1.17 (swing), with four (in contact) up
# to 2.785 and 2.83. A decay should be well inside, so that it has died out in a few steps (at 2.0 a step leaves 0.55 of
# it); a swing should be followed, not only kept from growing: a blow on a stop is half of one, and has five steps then
# (cut ones at both ends). What is held only while the state grows out of it (a clipped load) may be passed in a step or
# two: at six nothing of it was seen in the results (tests/benchmarks/step_sweep.py), without any bound 0.3 % of a load.
LASTING, SWING, PASSING = 2.0, 0.6, 6.0
WORTH_TELLING = 1.1  # times as long a crossing takes, from which on it is told of
READ = ("speed", "oil", "press_notch", "toolbar")  # settings that the step may depend on
MOST_SHORTER = 64.0  # a step shorter than the usual one by more is refused: a window would take hours


@dataclass(frozen=True)
class Step:
    """The time step of a march."""

    seconds: float
    shorter: float = 1.0  # how many times shorter than usual: so many times longer a crossing takes
    keys: tuple[str, ...] = ()  # of the scenario file, which ask for it

    @property
    def note(self) -> str:
        """What to tell of it; "" where the step is the usual one, or so near it that a crossing hardly takes longer."""
        if not self.keys or self.shorter < WORTH_TELLING:
            return ""
        return (
            f"{' and '.join(self.keys)}: stiffer than the usual time step can follow; the steps are shorter, and a "
            f"crossing takes {self.shorter:.2g} times as long"
        )


def travel_in(step: float, speed: float) -> float:
    """Travel in one step [s] at a speed [m/s], [m]: the very same at every speed whose usual step holds the travel, so
    that rows at several speeds can go in one march.
    """
    return STEP_LENGTH if math.isclose(speed * step, STEP_LENGTH, rel_tol=1e-12) else speed * step


def usual_step(speed: float) -> float:
    """Time step [s] at a speed [m/s] where no law asks for a shorter one."""
    return min(LONGEST_STEP, STEP_LENGTH / speed)


def choose_step(unit: Unit, soil: Soil, rock: Rock, settings: Settings) -> Step:
    """The time step of a march; of the settings only those READ count.

    Raises StepError, which names the keys, where the step would be more than MOST_SHORTER times shorter than usual, or
    the toolbar's own march cannot follow.
    """
    return _chosen(unit, soil, rock, Settings(**{name: getattr(settings, name) for name in READ}))


@lru_cache(maxsize=512)
def _chosen(unit: Unit, soil: Soil, rock: Rock, settings: Settings) -> Step:
    case = Case(unit, soil, rock, settings)
    usual = usual_step(settings.speed)
    longest, law = min(((_longest(law.rates(case)), law) for law in LAWS), key=lambda pair: pair[0])
    if settings.toolbar == "carried":
        parts_per_node(toolbar_rates(unit.toolbar), 0.5 * min(longest, usual))
    if longest >= usual:
        return Step(usual)
    shorter, keys = usual / longest, _asking(law, case)
    if shorter > MOST_SHORTER:
        raise StepError(
            f"{' with '.join(keys)}: too stiff to be followed in time; given: steps {shorter:.3g} times shorter than "
            f"usual would be needed; allowed: {MOST_SHORTER:.0f} times; try: a value nearer to the default"
        )
    return Step(longest, shorter, keys)


def _longest(rates: Rates) -> float:
    """Longest step [s] by one law."""
    most = max(
        np.abs(rates.lasting).max(initial=0.0) / LASTING,
        np.abs(rates.lasting.imag).max(initial=0.0) / SWING,
        np.abs(rates.passing).max(initial=0.0) / PASSING,
        rates.struck / SHARE,
    )
    return math.inf if most == 0.0 else float(1.0 / most)


def _asking(law: Law, case: Case) -> tuple[str, ...]:
    """The one or two keys of a law whose defaults, each alone, would let the step grow most (by a fifth at least)."""
    now = _longest(law.rates(case))
    gain = {key: _longest(law.rates(with_value(case, key))) / now for key in law.keys}
    found = sorted((key for key in law.keys if gain[key] >= 1.2), key=lambda key: -gain[key])
    return tuple(found[:2]) or law.keys[:1]
