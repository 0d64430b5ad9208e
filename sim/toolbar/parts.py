"""Into how many steps the toolbar's march is cut between two nodes of its path, from its own fastest rate."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from sim.errors import StepError
from sim.rates import Complex, of_matrix
from sim.toolbar.ride import matrix
from sim.unit import Toolbar

NODE_STEP = 1.6e-3  # largest step of the toolbar's march [s]
LASTING = 2.2  # largest h|λ| of its steps; RK4 is stable up to 2.785
MOST = 256  # steps between two nodes: more are refused

Values = NDArray[np.float64]


def bar_rates(pressed: Values, stiffness: Values, damping: Values, shares: Values) -> Complex:
    """Rates of a rigid bar on wheels [1/s]; arguments as `sim.toolbar.ride.matrix`."""
    return of_matrix(matrix(pressed, stiffness, damping, shares))


def pressed_by(bar: Toolbar) -> Values:
    """By how much the front and the rear axle are pressed in per heave [1] and per pitch [m], (2, 2)."""
    return np.array([[1.0, 1.0], [bar.axle_front, -bar.axle_rear]])


def shares_of(bar: Toolbar) -> Values:
    """1 over mass [1/kg] and moment of inertia in pitch [1/(kg m²)]."""
    return np.array([1.0 / bar.mass, 1.0 / bar.inertia])


def toolbar_rates(bar: Toolbar) -> Complex:
    """Rates of heave and pitch on two axles [1/s]."""
    both = np.ones(2)
    return bar_rates(pressed_by(bar), bar.stiffness * both, bar.damping * both, shares_of(bar))


def parts_per_node(rates: Complex, node_step: float) -> int:
    """Steps of the toolbar's march between two nodes, `node_step` [s] apart. Raises StepError."""
    parts = math.ceil(node_step * max(1.0 / NODE_STEP, float(np.abs(rates).max()) / LASTING) - 1e-9)
    if parts > MOST:
        raise StepError(
            "unit.toolbar.damping_kNs_per_m, stiffness_kN_per_m: too stiff for the toolbar's mass and inertia to be "
            f"followed in time; given: {parts} of its steps would be needed in half a step of a row; allowed: {MOST}; "
            "try: values nearer to the defaults"
        )
    return max(1, parts)
