"""The bare mechanism in MuJoCo: hinges in a tree, the loop closed by a stiff equality, forces by a compiled callback.

All steps are made by the engine's own loop in C (`mujoco.rollout`), which records its state and its sensors. The
constraint is as stiff as the step allows: solref = 2 Δt, solimp 0.9999. Forces act as wrenches on the bodies, so that
the force sensors of the joints see them.
"""

from __future__ import annotations

import ctypes
from collections.abc import Callable

import mujoco
import numpy as np
from llvmlite import ir
from mujoco import rollout
from numba import carray, cfunc, njit, types
from numba.extending import intrinsic

from sim.arithmetic.compiled import ARITHMETIC
from sim.hydraulics.cylinder import cylinder_geometry
from sim.unit import GRAVITY

from .bare import Bare, Crossing, Links, gas_force, rest, steps_of, wheel_force

XML = """
<mujoco>
  <option timestep="{step}" integrator="{integrator}" gravity="0 0 -{g}" jacobian="dense"
          tolerance="1e-14" iterations="100">
    <flag contact="disable"/>
  </option>
  <worldbody>
    <body name="upper">
      <joint type="hinge" axis="0 1 0"/>
      <inertial pos="-{half} 0 0" mass="{link}" diaginertia="{inertia} {inertia} {inertia}"/>
      <site name="uf"/>
      <body name="carrier" pos="-{l} 0 0">
        <joint type="hinge" axis="0 1 0"/>
        <inertial pos="{cx} 0 {cz}" mass="{carrier}" diaginertia="5 5 5"/>
        <site name="ur"/>
        <site name="centre" pos="{cx} 0 {cz}"/>
      </body>
    </body>
    <body name="lower" pos="0 0 -{d}">
      <joint type="hinge" axis="0 1 0"/>
      <inertial pos="-{half} 0 0" mass="{link}" diaginertia="{inertia} {inertia} {inertia}"/>
      <site name="lf"/>
    </body>
  </worldbody>
  <equality>
    <connect body1="lower" body2="carrier" anchor="-{l} 0 0" solref="{solref} 1" solimp="0.9999 0.9999 0.001"/>
  </equality>
  <sensor>
    <force site="uf"/> <force site="ur"/> <force site="lf"/> <framelinacc objtype="site" objname="centre"/>
  </sensor>
</mujoco>
"""
UPPER, CARRIER, LOWER = 1, 2, 3  # bodies


@intrinsic
def _pointer(typingctx, address):
    """An address as a pointer."""
    del typingctx

    def code(context, builder, signature, args):
        return builder.inttoptr(args[0], ir.IntType(8).as_pointer())

    return types.voidptr(types.int64), code


@njit(**ARITHMETIC)
def _forces(m, t, th, om, wrench):
    """Wheel and cylinder as wrenches about the centres of mass (bodies, 6): force, then torque."""
    s, c = np.sin(th), np.cos(th)
    x, z = -m.l * c, m.l * s
    fx, fz, _ = wheel_force(m, t, x + m.wheel_x, z + m.wheel_z, z * om, -x * om)
    rx, rz = m.wheel_x - m.carrier_x, m.wheel_z - m.carrier_z
    wrench[CARRIER, 0], wrench[CARRIER, 2], wrench[CARRIER, 4] = fx, fz, rz * fx - rx * fz
    cx, cz, ux, uz, length, _ = cylinder_geometry(m, Links(s, c))
    push = gas_force(m, length)
    px, pz = push * ux, push * uz
    rx, rz = cx - 0.5 * x, cz - 0.5 * z
    wrench[LOWER, 0], wrench[LOWER, 2], wrench[LOWER, 4] = px, pz, rz * px - rx * pz


def _time_address(data) -> int:
    """Where the engine keeps the time: found by a value that nothing else has."""
    data.time = mark = 8.765432187654321e-3
    words = (ctypes.c_double * 60_000).from_address(data._address)
    place = next(i for i in range(60_000) if words[i] == mark)
    data.time = 0.0
    return data._address + 8 * place


class Scene:
    """The engine's model at a step [s] and integrator, and its compiled callback."""

    def __init__(self, step: float, integrator: str):
        m = Bare()
        self.bare, self.step, self.steps, self.start = m, step, steps_of(step), rest(m)
        inertia = m.link_mass * m.l**2 / 12.0
        self.model = mujoco.MjModel.from_xml_string(
            XML.format(
                step=step, integrator=integrator, g=GRAVITY, half=0.5 * m.l, l=m.l, d=m.d, link=m.link_mass,
                inertia=inertia, carrier=m.carrier_mass, cx=m.carrier_x, cz=m.carrier_z, solref=2.0 * step,
            )
        )  # fmt: skip
        self.data = mujoco.MjData(self.model)
        self.callback = self._compiled(m)
        kind = mujoco.mjtState.mjSTATE_FULLPHYSICS
        self.first = np.zeros(mujoco.mj_stateSize(self.model, kind))
        self.first[1:4] = self.start, -self.start, self.start
        self.states = np.empty((1, self.steps, self.first.size))
        self.sensed = np.empty((1, self.steps, self.model.nsensordata))

    def _compiled(self, m: Bare):
        """The callback as a pointer to machine code: it reads and writes the engine's arrays in place."""
        d = self.data
        time, places = _time_address(d), d.qpos.ctypes.data
        rates, wrenches = d.qvel.ctypes.data, d.xfrc_applied.ctypes.data

        @cfunc(types.void(types.voidptr, types.voidptr))
        def passive(_model, _data):
            now, angles = carray(_pointer(time), 1, np.float64), carray(_pointer(places), 3, np.float64)
            _forces(m, now[0], angles[2], carray(_pointer(rates), 3, np.float64)[2],
                    carray(_pointer(wrenches), (4, 6), np.float64))  # fmt: skip

        self.machine_code = passive  # must live as long as the pointer
        return ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_void_p)(passive.address)

    def run(self) -> None:
        """All steps."""
        mujoco.set_mjcb_passive(self.callback)
        rollout.rollout(self.model, self.data, self.first, nstep=self.steps, state=self.states, sensordata=self.sensed)
        mujoco.set_mjcb_passive(None)

    def found(self) -> Crossing:
        """What the engine recorded at the starts of the steps; the lower rear pin from the carrier's balance."""
        states = np.vstack([self.first, self.states[0, :-1]])
        sensed = self.sensed[0]
        upper_front, upper_rear, lower_front = sensed[:, 0:3], sensed[:, 3:6], sensed[:, 6:9]
        wrench = np.zeros((4, 6))
        wheel = np.empty((self.steps, 3))
        for i, state in enumerate(states):
            _forces(self.bare, state[0], state[3], state[6], wrench)
            wheel[i] = wrench[CARRIER, :3]
        links = self.bare.carrier_mass * sensed[:, 9:12] - wheel  # both links on the carrier
        lower_rear = links - upper_rear
        sizes = [np.linalg.norm(force, axis=1) for force in (upper_front, upper_rear, lower_front, lower_rear)]
        return Crossing(states[:, 3].copy(), np.stack(sizes, axis=1))


def prepare(step: float, integrator: str = "Euler") -> tuple[Callable[[], None], Callable[[], Crossing]]:
    """A job that makes all steps, and what it then has found."""
    scene = Scene(step, integrator)
    return scene.run, scene.found
