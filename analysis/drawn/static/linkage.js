"use strict";
// Where the pins and wheels of the unit lie: circle intersections, as in analysis/present/unit_points.py.
const Linkage = (() => {
  const add = (a, b) => [a[0] + b[0], a[1] + b[1]];
  const less = (a, b) => [a[0] - b[0], a[1] - b[1]];
  const times = (k, a) => [k * a[0], k * a[1]];
  const turn = (a, angle) => {
    const c = Math.cos(angle), s = Math.sin(angle);
    return [c * a[0] - s * a[1], s * a[0] + c * a[1]];
  };

  // point at distance r1 from `first` and r2 from `second`, left of the line from one to the other
  function meet(first, second, r1, r2) {
    const line = less(second, first), distance = Math.hypot(line[0], line[1]);
    const cosine = (r1 * r1 + distance * distance - r2 * r2) / (2 * r1 * distance);
    const sine = Math.sqrt(Math.max(0, 1 - cosine * cosine)), k = r1 / distance;
    return add(first, [k * (cosine * line[0] - sine * line[1]), k * (cosine * line[1] + sine * line[0])]);
  }

  // all points (x, z) [m] from the toolbar's O, turned by its pitch
  function points(u, crankAngle, arm, press, pitch) {
    const rearward = [-Math.cos(arm), Math.sin(arm)], p = { O: [0, 0] };
    p.U0 = u.upper_pin;
    p.L0 = less(p.U0, [0, u.spacing]);
    p.U1 = add(p.U0, times(u.length, rearward));
    p.L1 = less(p.U1, [0, u.spacing]);
    p.crank_pivot = add(p.U0, u.crank_pivot);
    p.bell_pivot = add(p.U1, u.bell_pivot);
    const crank = [Math.cos(crankAngle), Math.sin(crankAngle)];
    p.crank_pin = add(p.crank_pivot, times(u.crank, crank));
    p.actuator_base = add(p.U0, u.actuator_base);
    p.actuator_pin = add(p.crank_pivot, times(u.actuator_arm, crank));
    p.rod_rear = meet(p.bell_pivot, p.crank_pin, u.bell_first, u.rod);
    const firstArm = times(1 / u.bell_first, less(p.rod_rear, p.bell_pivot));
    p.bell_end = add(p.bell_pivot, times(u.bell_second, turn(firstArm, u.bell_angle)));
    p.arm_pivot = add(p.U1, u.arm_pivot);
    p.lug = meet(p.arm_pivot, p.bell_end, u.lug, u.turnbuckle);
    p.gauge_axle = add(p.arm_pivot, times(u.arm_length / u.lug, less(p.lug, p.arm_pivot)));
    p.disc_hub = add(p.U1, u.disc_hub);
    p.press_pivot = add(p.U1, u.press_pivot);
    p.press_axle = add(p.press_pivot, times(u.press_length, [-Math.cos(press), Math.sin(press)]));
    p.cylinder_frame = add(p.L0, u.cylinder_frame);
    p.cylinder_arm = add(p.L0, times(u.cylinder_arm, rearward));
    for (const name of Object.keys(p)) p[name] = turn(p[name], pitch);
    return p;
  }
  return { points, turn };
})();
