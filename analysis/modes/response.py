"""What waves of the ground do to the unit, by its small motions (`sim.linear`).

A wave h(x) = a·e^{ikx} is met at speed v as e^{iωt}, ω = k v, by every contact at its own place, the axles' too:
e^{ikX} for one X ahead of O. A wheel feels the mean over the 0.06 m of its contact, sin(kL/2)/(kL/2), and the slope ik
of it; the disc's arc that of the chord ahead of its lowest point; an axle's wheel the surface itself. That is the
envelope of a wave so flat that the circle reaches every place of it, a k² R < 1; what it bridges beyond is no part of
a small motion.

The drag of seals and fitting has no slope that holds: it comes in as a damper `rub` in line with the piston. As that is
one force at one place, an answer with it follows from those without: piston speed V = V₀/(1 + rub·T), answer
y = y₀ − rub·V·Y, with T and Y what the piston's speed and the answer are to a force of 1 N along the piston.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from sim.laws.wheel_soil import CONTACT_LENGTH
from sim.linear import INPUTS, OUTPUTS, Linear

Values = NDArray[np.float64]
Complex = NDArray[np.complex128]

PISTON = OUTPUTS.index("piston")


def felt(linear: Linear, k: Values) -> Complex:
    """What a surface wave of 1 m brings to each of INPUTS at wave numbers k [rad/m] → (inputs, k)."""
    at = {name: np.exp(1j * k * place) for name, place in linear.places.items()}
    along = np.sinc(k * CONTACT_LENGTH / (2.0 * np.pi))
    depth, radius = linear.settings.set_depth, linear.unit.disc.radius
    chord = math.sqrt(depth * (2.0 * radius - depth))
    ahead = np.exp(0.5j * k * chord) * np.sinc(k * chord / (2.0 * np.pi))
    rate = 1j * k
    brought = {
        "ahead": at["disc"] * ahead, "surface": at["disc"],
        "gauge": at["gauge"] * along, "gauge_slope": rate * at["gauge"] * along,
        "press": at["press"] * along, "press_slope": rate * at["press"] * along,
        "front": at["front"], "front_slope": rate * linear.speed * at["front"],
        "rear": at["rear"], "rear_slope": rate * linear.speed * at["rear"],
    }  # fmt: skip
    return np.stack([brought.get(name, np.zeros(k.size, np.complex128)) for name in INPUTS])


def felt_strength(linear: Linear, k: Values) -> Complex:
    """The same for a wave of strength of 1 Pa: under the disc where it is, under wheels the mean over the contact."""
    along = np.sinc(k * CONTACT_LENGTH / (2.0 * np.pi))
    at = {name: np.exp(1j * k * place) for name, place in linear.places.items()}
    brought = {"strength": at["disc"], "gauge_strength": at["gauge"] * along, "press_strength": at["press"] * along}
    return np.stack([brought.get(name, np.zeros(k.size, np.complex128)) for name in INPUTS])


@dataclass(frozen=True)
class Response:
    """Answers of a unit to what its contacts feel, in its own modes."""

    linear: Linear

    @cached_property
    def _modes(self) -> tuple[Complex, Complex, Complex, Complex]:
        """Rates λ, answers and inputs in them, and the straight part: y = C V (iω − λ)⁻¹ V⁻¹ B u + D u."""
        free, per = self.linear.free, self.linear.per_rub
        om = self.linear.states.index("om")
        pace = free.c[PISTON, om]
        # the last input: 1 N along the piston that pushes against what drag does; drag itself is −rub·speed of it
        b = np.column_stack([free.b, -per.a[:, om] / pace])
        d = np.column_stack([free.d, -per.c[:, om] / pace])
        rates, shapes = np.linalg.eig(free.a)
        return rates, free.c @ shapes, np.linalg.solve(shapes, b.astype(np.complex128)), d.astype(np.complex128)

    def free(self, brought: Complex, omega: Values) -> tuple[Complex, Complex]:
        """Answers without drag (outputs, ω) to what is brought (inputs, ω), and those to a drag of 1 N (outputs, ω)."""
        rates, out, into, straight = self._modes
        swing = 1.0 / (1j * omega[None] - rates[:, None])
        answers = _each(out, swing * _each(into[:, :-1], brought)) + _each(straight[:, :-1], brought)
        return answers, _each(out, swing * into[:, -1:]) + straight[:, -1:]

    def rubbed(self, brought: Complex, omega: Values, rub: float | Values) -> Complex:
        """Answers (outputs, ω) with a damper of `rub` [N s/m] (one, or one for each ω) in line with the piston."""
        answers, drag = self.free(brought, omega)
        return with_rub(answers, drag, rub)


def _each(matrix: Complex, columns: Complex) -> Complex:
    """The matrix times each column; a product so small is done sooner than threads are woken for it."""
    product: Complex = np.einsum("ij,jk->ik", matrix, columns)
    return product


def with_rub(answers: Complex, drag: Complex, rub: float | Values) -> Complex:
    """Answers with a damper in line with the piston from those without and those to a drag of 1 N."""
    speed = answers[PISTON] / (1.0 + rub * drag[PISTON])
    return answers - rub * speed * drag


def gains(response: Response, k: Values, rub: float | Values = 0.0) -> Complex:
    """Answers to a surface wave of 1 m at wave numbers k [rad/m], (outputs, k)."""
    return response.rubbed(felt(response.linear, k), k * response.linear.speed, rub)
