"""Step by step over a run: the load on the disc that the pins imply, and the side force. Compiled."""

from __future__ import annotations

from typing import NamedTuple

from sim.arithmetic.compiled import kernel, part
from sim.arithmetic.elementary import sincos


class Carried(NamedTuple):
    """Numbers of the carrier: mass [kg], centre of mass from U1, hub from it, pins ahead [m], gravity [m/s²]."""

    mass: float
    centre_x: float
    centre_z: float
    from_hub_x: float  # of the centre of mass
    from_hub_z: float
    upper_x: float  # front pin of the upper link, from O
    upper_z: float
    length: float  # of the links
    gravity: float
    step: float  # of the run [s]


@part
def _put(m, i, n, along, up, s, c, pins, columns, ahead, behind, out):
    x = m.mass * (c * along + s * up)
    z = m.mass * (c * up - s * along)
    for pin in ahead:
        x -= pins[(i * columns + pin) * 2]
        z -= pins[(i * columns + pin) * 2 + 1]
    for pin in behind:
        x += pins[(i * columns + pin) * 2]
        z += pins[(i * columns + pin) * 2 + 1]
    out[i] = x
    out[n + i] = z


@kernel
def disc_loads(m, pitch, arm, hub_up, pins, columns, ahead, behind, out, rear_x, rear_z):
    """What soil and stones do to disc and boot → out flat (2 × n) [N]: the carrier's mass times its acceleration,
    gravity folded in, less what its pins bring.

    m Carried; pitch, arm [rad]; hub_up: acceleration of the hub, up [m/s²]; pins flat (n × columns × 2); ahead, behind:
    columns of the pins whose second- and whose first-named part is the carrier. Along, and what pitch adds: second
    differences of the angles (those next to them at both ends). rear_x, rear_z (n,): the links' rear pins from the
    front ones [m].
    """
    n = pitch.size
    per_step = 1.0 / (m.step * m.step)
    place, turned = 0.0, 0.0
    place_1, turned_1, place_2, turned_2 = 0.0, 0.0, 0.0, 0.0
    s_1, c_1 = 0.0, 1.0
    for i in range(n + 1):
        # two steps behind the one that is read: i − 1 is the middle of the difference
        s, c = s_1, c_1
        if i < n:
            s, c = sincos(pitch[i])
            sin_arm, cos_arm = sincos(arm[i])
            rear_x[i], rear_z[i] = -m.length * cos_arm, m.length * sin_arm
            x, z = m.upper_x + rear_x[i] + m.centre_x, m.upper_z + rear_z[i] + m.centre_z
            place, turned = c * x - s * z, s * m.from_hub_x + c * m.from_hub_z
        along = (place - 2.0 * place_1 + place_2) * per_step
        up = (turned - 2.0 * turned_1 + turned_2) * per_step
        at = i - 1
        if 0 < at < n - 1:
            _put(m, at, n, along, up + hub_up[at] + m.gravity, s_1, c_1, pins, columns, ahead, behind, out)
            if at == 1:
                s_0, c_0 = sincos(pitch[0])
                _put(m, 0, n, along, up + hub_up[0] + m.gravity, s_0, c_0, pins, columns, ahead, behind, out)
            if at == n - 2:
                last = n - 1
                _put(m, last, n, along, up + hub_up[last] + m.gravity, s, c, pins, columns, ahead, behind, out)
        elif n < 3 and at >= 0:
            _put(m, at, n, 0.0, hub_up[at] + m.gravity, s_1, c_1, pins, columns, ahead, behind, out)
        place_2, turned_2, place_1, turned_1, s_1, c_1 = place_1, turned_1, place, turned, s, c


@kernel
def carrier_moments(
    pins, columns, gauge, lug, bell, press, disc, disc_y, wheel_y, link_y, press_y, force, at_x, at_z, drag_x, drag_z,
    cuts, gauge_y, press_arm_y, out, arms,
):  # fmt: skip
    """Couples about x and z on the carrier through the lower link's rear pin, weights on a slope left out → out flat
    (2 × n), and those of the pivots of gauge arm and press arm → arms flat (4 × n) [N m].

    gauge, lug, bell, press: columns of pins; disc flat (2 × n) [N]; *_y: places beside the plane of disc, gauge wheel,
    depth linkage, press wheel, pivots of gauge arm and press arm [m]; force, at_x, at_z: side force and where; drag_x,
    drag_z: couple of the drag where the disc `cuts` (> 0).

    A force (Fx, Fz) at y turns with (y Fz, −y Fx), a side force F at (x, z) with (−z F, x F). The wheel's load less its
    arm's inertia is −(pivot + lug), in the wheel's plane; so what the carrier gets of the gauge arm is −(pivot) at the
    wheel's plane and −lug·(wheel − linkage): its pivot's couple included.
    """
    n = force.size
    for i in range(n):
        row = i * columns * 2
        gauge_x, gauge_z = pins[row + 2 * gauge], pins[row + 2 * gauge + 1]
        lug_x, lug_z = pins[row + 2 * lug], pins[row + 2 * lug + 1]
        press_x, press_z = pins[row + 2 * press], pins[row + 2 * press + 1]
        bell_x, bell_z = pins[row + 2 * bell], pins[row + 2 * bell + 1]
        arms[i] = (wheel_y - gauge_y) * gauge_z + (wheel_y - link_y) * lug_z
        arms[n + i] = -(wheel_y - gauge_y) * gauge_x - (wheel_y - link_y) * lug_x
        arms[2 * n + i] = (press_y - press_arm_y) * press_z
        arms[3 * n + i] = -(press_y - press_arm_y) * press_x
        cut = 1.0 if cuts[i] > 0.0 else 0.0
        out[i] = (
            disc_y * disc[n + i] - at_z[i] * force[i] + cut * drag_x - link_y * bell_z
            - gauge_y * gauge_z - arms[i] - press_arm_y * press_z - arms[2 * n + i]
        )  # fmt: skip
        out[n + i] = (
            -disc_y * disc[i] + at_x[i] * force[i] + cut * drag_z + link_y * bell_x
            + gauge_y * gauge_x - arms[n + i] + press_arm_y * press_x - arms[3 * n + i]
        )  # fmt: skip
