"""The equations of motion derived by sympy's mechanics module, against the compiled accelerations.

Lagrange's equations with multipliers for nine bodies in eight angles: both main links, the carrier's own turn, rod,
bell crank, turnbuckle, gauge arm and press arm are free, and three loops (main links, rod, turnbuckle) are closed by
constraints on positions. The toolbar's heave and pitch are given functions of time. Nothing of the compiled model's
closed forms enters. Angles are counter-clockwise from the toolbar's x; y of the symbols is the model's z.
"""

from __future__ import annotations

import math
from functools import cache
from typing import Any

import numpy as np
import pytest
import sympy as sp
from crooked import CROOKED, TRUE
from numba import njit
from packed_model import packed
from sympy.physics import mechanics as me

from sim.mechanism.bodies import accelerations, bodies
from sim.mechanism.forces import Forces
from sim.mechanism.kinematics import Bar, State, contact_points
from sim.mechanism.linkage import closures
from sim.rigid.bodies import ARM, BELL, BUCKLE, ROD, assemble
from sim.unit import GRAVITY, Unit

STATES = 200  # per unit
CRANK = math.radians(97.5)
LOADS = ("dx", "dz", "bx", "bz", "gx", "gz", "px", "pz", "cyl", "stop", "couple")  # of sim.mechanism.forces.Forces
GIVEN = ("z", "vz", "az", "p", "vp", "ap")  # the toolbar's motion


class Sketch:
    """Points, bodies and loops of the unit in sympy's words; parameters are symbols, collected in `names`."""

    def __init__(self) -> None:
        self.names: dict[str, sp.Symbol] = {}
        self.t = me.dynamicsymbols._t
        self.q = me.dynamicsymbols("upper lower turn rod bell buckle arm press")
        self.height, self.pitch = me.dynamicsymbols("height pitch")
        self.ground, self.toolbar = me.ReferenceFrame("N"), me.ReferenceFrame("T")
        self.toolbar.orient_axis(self.ground, self.ground.z, self.pitch)
        self.origin = me.Point("O")
        self.origin.set_vel(self.ground, self.of("speed") * self.ground.x + self.height.diff(self.t) * self.ground.y)
        self.bodies: list[me.RigidBody] = []
        self.potential = sp.Integer(0)
        self.forces: list[tuple[Any, Any]] = []

    def of(self, name: str) -> sp.Symbol:
        """The symbol of a parameter."""
        return self.names.setdefault(name, sp.Symbol(name))

    def vector(self, place: sp.Matrix) -> Any:
        return place[0] * self.toolbar.x + place[1] * self.toolbar.y

    def point(self, name: str, place: sp.Matrix) -> me.Point:
        """A moving point at a place (x, z) in toolbar axes, its velocity over the ground included."""
        found = self.origin.locatenew(name, self.vector(place))
        found.set_vel(self.toolbar, self.vector(place).dt(self.toolbar))
        found.v1pt_theory(self.origin, self.ground, self.toolbar)
        return found

    def body(self, name: str, angle: sp.Expr, place: sp.Matrix) -> me.ReferenceFrame:
        """A body with its centre of mass at a place; its weight goes into the potential."""
        frame = me.ReferenceFrame(name)
        frame.orient_axis(self.toolbar, self.toolbar.z, angle)
        centre, mass = self.point(f"{name}_centre", place), self.of(f"{name}_mass")
        turning = (me.inertia(frame, 0, 0, self.of(f"{name}_inertia")), centre)
        self.bodies.append(me.RigidBody(name, centre, frame, mass, turning))
        lifted = self.height + self.vector(place).dot(self.ground.y)
        self.potential += mass * self.of("gravity") * lifted
        return frame

    def push(self, name: str, place: sp.Matrix) -> None:
        """A force with components `name`x and `name`z in toolbar axes at a place."""
        force = sp.Matrix([self.of(f"{name}x"), self.of(f"{name}z")])
        self.forces.append((self.point(f"{name}_at", place), self.vector(force)))


def at(angle: sp.Expr) -> sp.Matrix:
    return sp.Matrix([sp.cos(angle), sp.sin(angle)])


def turned(angle: sp.Expr, x: sp.Expr, z: sp.Expr) -> sp.Matrix:
    return sp.Matrix([x * sp.cos(angle) - z * sp.sin(angle), x * sp.sin(angle) + z * sp.cos(angle)])


def draw() -> tuple[Sketch, sp.Matrix]:
    """The unit, and its three loops as six equations."""
    s = Sketch()
    upper, lower, turn, rod, bell, buckle, arm, press = s.q
    of = s.of
    u0, down = sp.Matrix([of("u0x"), of("u0z")]), sp.Matrix([0, -of("d")])
    u1, l1 = u0 - of("l") * at(upper), u0 + down - of("l") * at(lower)

    def carried(name: str) -> sp.Matrix:
        return u1 + turned(turn, of(f"{name}_x"), of(f"{name}_z"))

    crank, pivot, hung, trailed = (
        sp.Matrix([of("crank_x"), of("crank_z")]),
        carried("bell"),
        carried("arm"),
        carried("press"),
    )
    second = pivot + of("bell_2") * at(bell + of("chi"))
    s.body("upper", upper, u0 - of("l") / 2 * at(upper))
    lower_link = s.body("lower", lower, u0 + down - of("l") / 2 * at(lower))
    carrier = s.body("carrier", turn, carried("carrier"))
    s.body("rod", rod, crank + of("rod_l") / 2 * at(rod))
    s.body("bell", bell, pivot + of("bell_centre") * at(bell + of("bell_centre_angle")))
    s.body("buckle", buckle, second + of("buckle_l") / 2 * at(buckle))
    s.body("arm", arm, hung + of("arm_centre") * at(arm))
    trailing = s.body("press", press, trailed - of("press_centre") * at(press))
    s.push("d", carried("hub"))
    s.push("b", carried("boot"))
    s.push("g", hung + of("arm_l") * at(arm))
    s.push("p", trailed - of("press_l") * at(press))
    end = u0 + down - of("cyl_arm") * at(lower)
    along = end - u0 - down - sp.Matrix([of("cyl_x"), of("cyl_z")])
    s.forces.append((s.point("cylinder", end), s.vector(of("cyl") * along / sp.sqrt(along.dot(along)))))
    s.forces.append((lower_link, -of("stop") * s.toolbar.z))
    s.forces += [(trailing, -of("couple") * s.toolbar.z), (carrier, of("couple") * s.toolbar.z)]
    loops = [
        u1 + turned(turn, 0, -of("d")) - l1,
        crank + of("rod_l") * at(rod) - pivot - of("bell_1") * at(bell),
        second + of("buckle_l") * at(buckle) - hung - of("lug") * at(arm),
    ]
    return s, sp.Matrix.vstack(*loops)


@cache
def derived():
    """Functions of (q, q′, toolbar, parameters): mass matrix with constraints and right side; loops' Jacobian."""
    s, loops = draw()
    energy = sum(body.kinetic_energy(s.ground) for body in s.bodies) - s.potential
    method = me.LagrangesMethod(energy, s.q, hol_coneqs=list(loops), forcelist=s.forces, frame=s.ground)
    method.form_lagranges_equations()
    given = sp.symbols(GIVEN)
    rates = sp.symbols([f"{q.func.__name__}_rate" for q in s.q])
    angles = sp.symbols([q.func.__name__ for q in s.q])
    moves = ((s.height, given[:3]), (s.pitch, given[3:]))
    plain = {f.diff(s.t, order) if order else f: g[order] for f, g in moves for order in (2, 1, 0)}
    plain |= {q.diff(s.t): rate for q, rate in zip(s.q, rates, strict=True)}
    plain |= dict(zip(s.q, angles, strict=True))
    names = list(s.names)
    arguments = [angles, rates, given, [s.names[name] for name in names]]
    n = len(s.q)
    system = method.mass_matrix_full[n:, n:].xreplace(plain)
    right = method.forcing_full[n:, :].xreplace(plain)
    solve = sp.lambdify(arguments, [system.tolist(), list(right)], modules="math", cse=True)
    closing = sp.lambdify(arguments, loops.jacobian(s.q).xreplace(plain).tolist(), modules="math", cse=True)
    return solve, closing, names


def parameters(unit: Unit) -> dict[str, float]:
    """Values of the symbols, straight from the unit."""
    k, c, disc, wheel, link, press, cyl = (
        unit.main_links, unit.carrier, unit.disc, unit.gauge_wheel, unit.depth_linkage, unit.press_wheel, unit.cylinder,
    )  # fmt: skip
    u0 = unit.toolbar.upper_pin
    found = {
        "gravity": GRAVITY, "u0x": u0[0], "u0z": u0[1], "d": k.spacing, "l": k.length,
        "crank_x": u0[0] + link.crank_pivot[0] + link.crank * math.cos(CRANK),
        "crank_z": u0[1] + link.crank_pivot[1] + link.crank * math.sin(CRANK),
        "bell_1": link.bell_first, "bell_2": link.bell_second, "chi": link.bell_angle, "rod_l": link.rod,
        "bell_centre": link.bell_centre, "bell_centre_angle": link.bell_centre_angle, "buckle_l": link.turnbuckle,
        "arm_centre": wheel.arm_centre, "arm_l": wheel.arm_length, "lug": wheel.lug,
        "press_centre": press.arm_centre, "press_l": press.arm_length,
        "cyl_arm": cyl.arm, "cyl_x": cyl.frame[0], "cyl_z": cyl.frame[1],
    }  # fmt: skip
    points = {"bell": link.bell_pivot, "arm": wheel.arm_pivot, "press": press.pivot, "carrier": c.centre,
              "hub": disc.hub, "boot": disc.boot}  # fmt: skip
    for name, (x, z) in points.items():
        found |= {f"{name}_x": x, f"{name}_z": z}
    bars = {"upper": (k.mass, k.length), "lower": (k.mass, k.length), "rod": (link.rod_mass, link.rod),
            "buckle": (link.turnbuckle_mass, link.turnbuckle)}  # fmt: skip
    for name, (mass, length) in bars.items():
        found |= {f"{name}_mass": mass, f"{name}_inertia": mass * length**2 / 12.0}
    solids = {"carrier": (c.mass, c.inertia), "bell": (link.bell_mass, link.bell_inertia),
              "arm": (wheel.arm_mass, wheel.arm_inertia), "press": (press.arm_mass, press.arm_inertia)}  # fmt: skip
    for name, (mass, turning) in solids.items():
        found |= {f"{name}_mass": mass, f"{name}_inertia": turning}
    return found


@njit
def compiled(m, bar, y, f):
    """θ̈ and ψ̈ of the compiled equations under given forces."""
    k = closures(m, y.th)
    pt = contact_points(m, bar, y, k)
    acc = accelerations(m, bar, y, k, pt, f, bodies(m, bar, y, k, pt))
    return acc.th, acc.ps


@pytest.mark.parametrize("unit", [TRUE, CROOKED], ids=["true", "crooked"])
def test_accelerations_at_random_states(unit):
    solve, closing, names = derived()
    known, m = parameters(unit), packed(unit, CRANK)
    rng = np.random.default_rng(11)
    seen = []
    for _ in range(STATES):
        th, ps = rng.uniform(-0.48, 0.48), rng.uniform(-0.6, 0.35)
        om, ops = rng.normal(0, 1.5), rng.normal(0, 3.0)
        toolbar = rng.normal(0, 1, 6) * (0.05, 0.3, 5.0, 0.05, 0.3, 5.0)
        forces = dict(zip(LOADS, rng.normal(0, 1, 11) * (*(2000.0,) * 8, 5000.0, 500.0, 100.0), strict=True))
        level = assemble(unit, CRANK, th, ps)[:, 2]
        q = [-th, -th, 0.0, level[ROD], level[BELL], level[BUCKLE], level[ARM], -ps]
        numbers = [{**known, **forces, "speed": 2.7}[name] for name in names]
        # rates of the six other angles follow from the loops
        rows = np.array(closing(q, [0.0] * 8, toolbar, numbers), dtype=float)
        free, tied = [1, 7], [0, 2, 3, 4, 5, 6]
        rates = np.zeros(8)
        rates[free] = -om, -ops
        rates[tied] = np.linalg.solve(rows[:, tied], -rows[:, free] @ rates[free])
        system, right = (np.array(part, dtype=float) for part in solve(q, rates, toolbar, numbers))
        found = np.linalg.solve(system, right)
        z, vz, az, p, vp, ap = toolbar
        ours = compiled(m, Bar(0.0, z, vz, az, p, vp, ap), State(th, om, ps, ops, *(0.0,) * 4), _forces(m, th, forces))
        seen.append((-found[1], ours[0], -found[7], ours[1]))
    th_symbolic, th_compiled, ps_symbolic, ps_compiled = np.array(seen).T
    for symbolic, ours in ((th_symbolic, th_compiled), (ps_symbolic, ps_compiled)):
        assert np.abs(symbolic).max() > 10.0
        assert (np.abs(ours - symbolic) <= 1e-9 * np.maximum(np.abs(symbolic), 1.0)).all()


def _forces(m, th: float, values: dict[str, float]) -> Forces:
    """The compiled model's record of forces with these values; its cylinder's direction by hand."""
    pin = np.array([-m.cyl_arm * math.cos(th), m.cyl_arm * math.sin(th)])
    along = pin - (m.cyl_x, m.cyl_z)
    ux, uz = along / np.hypot(*along)
    known = {**values, "ux": ux, "uz": uz, "sx": pin[0], "sz": pin[1]}
    return Forces(**{name: float(known.get(name, 0.0)) for name in Forces._fields})
