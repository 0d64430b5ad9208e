// The unit to scale at a place of a crossing, the ground under it, the slot behind it, forces as arrows.
const Unit = (() => {
  const BARS = [
    ["U0", "U1", "#000", 5], ["L0", "L1", "#000", 5], ["crank_pivot", "crank_pin", "#E69F00", 3.5], ["crank_pin", "rod_rear", "#E69F00", 3.5],
    ["bell_pivot", "rod_rear", "#E69F00", 3.5], ["bell_pivot", "bell_end", "#E69F00", 3.5], ["bell_end", "lug", "#E69F00", 3.5],
    ["actuator_base", "actuator_pin", "#E69F00", 5], ["arm_pivot", "gauge_axle", "#0072B2", 4.5], ["press_pivot", "press_axle", "#0072B2", 4.5],
    ["cylinder_frame", "cylinder_arm", "#D55E00", 8],
  ];
  const PX = 300, KN = 0.05;  // pixels a metre, metres a kilonewton
  const SLOT = { deep: ["too deep", "#0072B2", '<circle cx="4" cy="4" r="1.5" fill="#fff"/>'], right: ["on depth", "#8fcbf0", ""], shallow: ["too shallow", "#E69F00", '<path d="M-1 9L9 -1" stroke="#fff" stroke-width="2"/>'] };
  const round = Charts.round;
  const slotPatterns = (prefix) => `<defs>${Object.entries(SLOT).map(([name, [, colour, mark]]) => `<pattern id="${prefix}-${name}" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="${colour}"/>${mark}</pattern>`).join("")}</defs>`;

  function points(ride, crank, k) {
    const p = Linkage.points(ride.data.unit, crank, ride.value("arm_angle", k), ride.value("press_angle", k), ride.value("pitch", k));
    const x = ride.at(k) - p.disc_hub[0], z = ride.value("toolbar_height", k);
    for (const name of Object.keys(p)) p[name] = [p[name][0] + x, p[name][1] + z];
    return p;
  }

  function slotLegend(list) {
    list.innerHTML = Object.entries(SLOT).map(([name, [words]], n) => `<li><svg viewBox="0 0 24 14" aria-hidden="true">${n ? "" : slotPatterns(list.id)}<rect width="24" height="14" fill="url(#${list.id}-${name})"/></svg><span>slot ${words}</span></li>`).join("");
  }

  // how far below the picture's foot lies [m]: the picture stands on the mean ground around it, so that the unit is seen
  // to rise and fall, and moves along only where the unit would leave it
  function foot(ride, p, left, right, height) {
    const u = ride.data.unit;
    let sum = 0;
    for (let n = 0; n <= 40; n++) sum += ride.soil(left - 1 + (right - left + 2) * n / 40);
    const highest = p.O[1] + u.above + 0.1, lowest = Math.min(p.disc_hub[1] - u.disc_radius, p.gauge_axle[1] - u.gauge_radius, p.press_axle[1] - u.press_radius) - 0.08;
    return Math.min(Math.max(sum / 41 - 0.25, highest - height), lowest);
  }

  // crank: crank angle of the depth setting; wider: ground drawn beyond the unit's own ends [m]
  function draw(svg, ride, crank, k, wider = 0) {
    const u = ride.data.unit, p = points(ride, crank, k), id = svg.id;
    const left = p.press_axle[0] - u.press_radius - 0.12 - wider, right = Math.max(p.O[0], p.actuator_base[0]) + 0.34 + wider;
    const height = u.toolbar_height + u.above + 0.5, low = foot(ride, p, left, right, height), high = low + height;
    const X = (x) => round((x - left) * PX), Z = (z) => round((high - z) * PX);
    svg.setAttribute("viewBox", `0 0 ${X(right)} ${Z(low)}`);
    const parts = [groundPath(ride, X, Z, left, right, low), slotPaths(ride, id, X, Z, k, left)];
    const corners = ["U1", "L1", "arm_pivot", "disc_hub", "press_pivot"].map((name) => `${X(p[name][0])} ${Z(p[name][1])}`);
    parts.push(`<path d="M${X(p.O[0])} ${Z(p.O[1])}L${X(p.U0[0])} ${Z(p.U0[1])}L${X(p.L0[0])} ${Z(p.L0[1])}" stroke="#777" stroke-width="11" fill="none" stroke-linecap="round" stroke-linejoin="round"/>`);
    parts.push(`<path d="M${corners.join("L")}Z" fill="#e8e5de" stroke="#777"/>`);
    for (const [name, radius, colour] of [["disc_hub", u.disc_radius, "#000"], ["gauge_axle", u.gauge_radius, "#0072B2"], ["press_axle", u.press_radius, "#0072B2"]]) {
      parts.push(`<circle cx="${X(p[name][0])}" cy="${Z(p[name][1])}" r="${round(radius * PX)}" fill="none" stroke="${colour}" stroke-width="3"/>`);
    }
    for (const [a, b, colour, width] of BARS) parts.push(`<path d="M${X(p[a][0])} ${Z(p[a][1])}L${X(p[b][0])} ${Z(p[b][1])}" stroke="${colour}" stroke-width="${width}" stroke-linecap="round"/>`);
    parts.push(...forces(ride, p, k, X, Z));
    parts.push(`<path d="M14 ${Z(low) - 14}h${5 * KN * PX}" stroke="#000" stroke-width="4"/><text x="14" y="${Z(low) - 22}" style="font-size:20px;fill:#000">5 kN</text>`);
    svg.innerHTML = parts.join("");
  }

  function groundPath(ride, X, Z, left, right, low) {
    const g = ride.data.ground, first = Math.max(0, Math.floor((left - g.from_m) / g.step_m)), last = Math.min(g.soil.length - 1, Math.ceil((right - g.from_m) / g.step_m));
    const line = [], stones = [];
    for (let k = first; k <= last; k++) {
      const x = X(g.from_m + k * g.step_m), z = g.soil[k] * 1e-4;
      line.push(`${x} ${Z(z)}`);
      if (g.stone[k] > -1000) stones.push(`M${x} ${Z(z - 0.1)}V${Z(z + g.stone[k] * 1e-4)}`);
    }
    const floor = Z(low), ends = [X(g.from_m + first * g.step_m), X(g.from_m + last * g.step_m)];
    return `<path d="M${ends[0]} ${floor}L${line.join("L")}L${ends[1]} ${floor}Z" fill="#d6d0c4"/>` + `<path d="${stones.join("")}" stroke="#555" stroke-width="${round(g.step_m * PX) + 0.6}" fill="none"/><path d="M${line.join("L")}" fill="none" stroke="#6b6457" stroke-width="2"/>`;
  }

  // the slot behind the disc, in stretches that are too deep, on depth or too shallow
  function slotPaths(ride, id, X, Z, k, left) {
    const places = [];
    for (let n = Math.floor(k); n >= 0 && ride.at(n) > left; n--) places.push(n);
    if (k > Math.floor(k)) places.unshift(k);
    return slotPatterns(id) + stretches(ride, places).map(([kind, held]) => `<path d="${slotPath(ride, held, X, Z)}" fill="url(#${id}-${kind})"/>`).join("");
  }

  // places along the ground → [kind, places] for every stretch of one kind; neighbours share the place between them
  function stretches(ride, places) {
    const found = [];
    for (let first = 0; first < places.length - 1; ) {
      const kind = ride.kind(places[first + 1]);
      let last = first + 1;
      while (last + 1 < places.length && ride.kind(places[last + 1]) === kind) last++;
      found.push([kind, places.slice(first, last + 1)]);
      first = last;
    }
    return found;
  }

  function slotPath(ride, places, X, Z) {
    const there = [], back = [];
    for (const n of places) {
      const top = ride.surface(ride.at(n));
      there.push(`${X(ride.at(n))} ${Z(top)}`);
      back.unshift(`${X(ride.at(n))} ${Z(top - Math.max(ride.depth(n), 0) / 1e3)}`);
    }
    return `M${there.join("L")}L${back.join("L")}Z`;
  }

  function forces(ride, p, k, X, Z) {
    const u = ride.data.unit, pitch = ride.value("pitch", k), bottom = [p.disc_hub[0], p.disc_hub[1] - u.disc_radius];
    const pin = (name) => Linkage.turn([ride.value(name + "_x", k), ride.value(name + "_z", k)], pitch);
    return [
      [[p.gauge_axle[0], p.gauge_axle[1] - u.gauge_radius], [0, ride.value("gauge_load", k)], "#0072B2"],
      [[p.press_axle[0], p.press_axle[1] - u.press_radius], [0, ride.value("press_load", k)], "#0072B2"],
      [bottom, [ride.value("disc_draught", k), ride.value("disc_vertical", k)], "#00735a"],
      [bottom, [0, ride.value("rock_force", k)], "#000"],
      [p.U0, pin("upper"), "#a3447c"], [p.L0, pin("lower"), "#a3447c"],
    ].map(([from, force, colour]) => arrow(X(from[0]), Z(from[1]), force[0] * KN * PX / 1e3, -force[1] * KN * PX / 1e3, colour));
  }

  function arrow(x, y, dx, dy, colour) {
    const size = Math.hypot(dx, dy);
    if (size < 3) return "";
    const head = Math.min(11, size), ux = dx / size, uy = dy / size, bx = x + dx - head * ux, by = y + dy - head * uy;
    return `<path d="M${x} ${y}L${round(bx)} ${round(by)}" stroke="${colour}" stroke-width="4"/><path d="M${round(x + dx)} ${round(y + dy)}L${round(bx - 6 * uy)} ${round(by + 6 * ux)}L${round(bx + 6 * uy)} ${round(by - 6 * ux)}Z" fill="${colour}"/>`;
  }
  return { PX, points, draw, slotLegend, slotPatterns, stretches, slotPath };
})();
