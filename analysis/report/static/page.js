(() => {
  const D = JSON.parse(document.getElementById("data").textContent);
  const N = D.samples.n, STEP = D.samples.step_m, NP = D.pressures.length, NV = D.speeds.length;
  const get = (id) => document.getElementById(id);
  const number = (v, digits) => { const t = v.toFixed(digits); return (Number(t) === 0 ? (0).toFixed(digits) : t).replace("-", "−"); };
  const signed = (v, digits) => { const t = number(v, digits); return Number(v.toFixed(digits)) > 0 ? "+" + t : t; };
  // no line ends between a number and its unit
  const together = (text) => text.replace(/(\d) (?=%|(?:mm|m|km|km\/h|bar|kgf|kN|N|ha|metres)(?![\w/]))/g, "$1\u00a0");
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

  // --- numbers ---------------------------------------------------------------------------------------------------

  function unpack(text) {
    const raw = atob(text), view = new DataView(new ArrayBuffer(raw.length)), found = new Int16Array(raw.length / 2);
    for (let k = 0; k < raw.length; k++) view.setUint8(k, raw.charCodeAt(k));
    for (let k = 0; k < found.length; k++) found[k] = view.getInt16(2 * k, true);
    return found;
  }
  const channels = {};
  for (const [name, c] of Object.entries(D.samples.channels)) channels[name] = { quantum: c.quantum, values: c.data ? unpack(c.data) : null };

  const state = { i: D.chosen[0], j: D.chosen[1], k: 0, timer: 0, last_ms: 0 };
  const index = () => state.j * NP + state.i;
  const cell = () => D.cells[index()];

  // value of a channel at a place between samples
  function value(name, place) {
    const c = channels[name];
    if (!c.values) return 0;
    const k = Math.min(Math.floor(place), N - 1), part = place - k, at = index() * N + k;
    const here = c.values[at];
    return c.quantum * (part > 0 && k + 1 < N ? here + part * (c.values[at + 1] - here) : here);
  }
  const PARTS = [
    ["ground_shape", "ground shape", "#E69F00", ""],
    ["tyre_and_sinkage", "tyre and sinkage", "#0072B2", '<circle cx="3" cy="3" r="1.2" fill="#fff"/>'],
    ["linkage", "linkage", "#009E73", '<path d="M0 0L6 6M6 0L0 6" stroke="#fff"/>'],
    ["toolbar_pitch", "toolbar pitch", "#CC79A7", '<path d="M0 3H6" stroke="#fff" stroke-width="1.4"/>'],
    ["lift_off", "wheel off: air under it, squash gone", "#D55E00", '<path d="M-1 7L7 -1" stroke="#fff" stroke-width="1.4"/>'],
  ];
  const error = (k) => { let sum = 0; for (const [name] of PARTS) sum += value(name, k); return sum; };
  const at = (k) => D.from_m + k * STEP;
  const depth = (k) => D.set_depth_mm + error(k);

  function soil(x) {
    const g = D.ground, k = Math.min(Math.max((x - g.from_m) / g.step_m, 0), g.soil.length - 1.001), n = Math.floor(k), part = k - n;
    return (g.soil[n] + part * (g.soil[n + 1] - g.soil[n])) * 1e-4;
  }
  function surface(x) {
    const g = D.ground, k = Math.min(Math.max(Math.round((x - g.from_m) / g.step_m), 0), g.soil.length - 1);
    return Math.max(soil(x), (g.soil[k] + g.stone[k]) * 1e-4);
  }

  // --- map and sliders -------------------------------------------------------------------------------------------

  const buttons = [];
  function makeMap() {
    const body = document.querySelector("#map tbody");
    for (let i = NP - 1; i >= 0; i--) {
      const row = body.insertRow(), head = document.createElement("th");
      head.scope = "row";
      head.innerHTML = `${number(D.pressures[i], 1).replace(/\.0$/, "")}<span class="vh"> bar</span>`;
      row.append(head);
      for (let j = 0; j < NV; j++) {
        const c = D.cells[j * NP + i], button = document.createElement("button");
        button.type = "button";
        button.style.backgroundColor = c.colour;
        button.innerHTML = `<span style="color:${c.dark ? "#fff" : "#000"}${c.ok ? "" : `;background:${c.colour}`}">${c.map}</span>`;
        const what = c.share === null ? "could not be crossed" : `${c.what}, ${c.ok ? "meets every limit" : "fails a limit"}`;
        button.setAttribute("aria-label", `${D.pressures[i]} bar, ${D.speeds[j]} km/h: ${what}`);
        button.classList.toggle("no", !c.ok);
        button.classList.toggle("pick", i === D.chosen[0] && j === D.chosen[1]);
        button.addEventListener("click", () => choose(i, j));
        button.addEventListener("keydown", (event) => arrows(event, i, j));
        row.insertCell().append(button);
        buttons[j * NP + i] = button;
      }
    }
  }

  function arrows(event, i, j) {
    const by = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }[event.key];
    if (!by) return;
    event.preventDefault();
    const to = [Math.min(Math.max(i + by[0], 0), NP - 1), Math.min(Math.max(j + by[1], 0), NV - 1)];
    choose(...to);
    buttons[to[1] * NP + to[0]].focus();
  }

  function choose(i, j) {
    const begin = performance.now();
    state.i = i;
    state.j = j;
    get("pressure").value = i;
    get("speed").value = j;
    drawAll();
    state.last_ms = performance.now() - begin;
  }

  function words() {
    const c = cell(), p = number(D.pressures[state.i], 1).replace(/\.0$/, ""), v = number(D.speeds[state.j], 1).replace(/\.0$/, "");
    get("pressure-out").textContent = `${p} bar`;
    get("speed-out").textContent = `${v} km/h`;
    get("pressure").setAttribute("aria-valuetext", `${p} bar, ${number(D.downforce[state.i], 0)} kgf a row`);
    get("speed").setAttribute("aria-valuetext", `${v} km/h`);
    const verdict = c.ok ? "<b>meets every limit</b>" : `<b class="no">fails</b>: ${escape(c.fails[0] || "")}${c.fails.length > 1 ? ` and ${c.fails.length - 1} more` : ""}`;
    get("verdict").innerHTML = together(`${p} bar (${number(D.downforce[state.i], 0)} kgf a row) at ${v} km/h ${verdict}.`);
    get("here").textContent = c.problem ? `This setting could not be crossed: ${c.problem}.` : `Here ${c.here_on_depth} of the way is on depth; the gauge wheel is off for ${c.here_off}.`;
    const facts = [...c.facts, ["Mean gauge load", `${c.gauge_load} N`], ["Highest pin load", `${c.pin_peak} kN`], ["Breakouts per km", c.breakouts]];
    get("cell").innerHTML = `<dl class="facts">${facts.map(([name, text]) => `<div><dt>${name}</dt><dd>${text}</dd></div>`).join("")}</dl>` + (c.fails.length > 1 ? `<p class="small">Fails: ${escape(c.fails.join("; "))}.</p>` : "") + c.warnings.map((text) => `<p class="small">Warning: ${escape(text)}.</p>`).join("");
    for (let n = 0; n < buttons.length; n++) {
      const now = n === index();
      buttons[n].classList.toggle("now", now);
      buttons[n].setAttribute("aria-pressed", String(now));
      buttons[n].tabIndex = now ? 0 : -1;
    }
  }
  const escape = (text) => text.replace(/[&<>"]/g, (c) => `&#${c.charCodeAt(0)};`);

  // --- charts ----------------------------------------------------------------------------------------------------

  const patterns = (prefix) => `<defs>${PARTS.map(([name, , colour, mark]) => `<pattern id="${prefix}-${name}" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="${colour}"/>${mark}</pattern>`).join("")}</defs>`;
  const scales = {};
  const drawn = {};

  function put(id, f, s, content, label) {
    f.svg.innerHTML = content + Charts.cursor(f);
    f.svg.setAttribute("aria-label", label);
    scales[id] = s;
    drawn[id] = f;
  }

  function groundChart() {
    const f = Charts.frame("chart-ground", 96), g = D.ground;
    const first = Math.round((D.from_m - g.from_m) / g.step_m), n = Math.round((D.to_m - D.from_m) / g.step_m) + 1;
    const x = (k) => D.from_m + k * g.step_m, soilAt = (k) => g.soil[first + k] / 10, top = (k) => soilAt(k) + Math.max(g.stone[first + k], 0) / 10;
    let low = Infinity, high = -Infinity;
    for (let k = 0; k < n; k++) { low = Math.min(low, soilAt(k)); high = Math.max(high, top(k)); }
    const room = Math.max(high - low, 40);
    const s = Charts.scale(f, D.from_m, D.to_m, low - 0.15 * room, high + 0.1 * room);
    const content = Charts.axes(f, s, 3) + `<path d="${Charts.area(s, x, () => s.y0, soilAt, n)}" fill="#d6d0c4"/><path d="${Charts.area(s, x, soilAt, top, n)}" fill="#000" stroke="#000" stroke-width="0.8"/>`;
    put("chart-ground", f, s, content, `Ground from ${D.from_m} to ${D.to_m} m, ${number(low, 0)} to ${number(high, 0)} mm`);
  }

  // the parts piled up from sample `first` to `last`, with the error as a line
  function errorChart(id, height, first, last, name) {
    const f = Charts.frame(id, height), count = last - first + 1, place = (k) => at(first + k);
    const layers = pile(first, count), total = layers.total;
    let worst = 0;
    for (let k = 0; k < count; k++) if (Math.abs(total[k]) > Math.abs(total[worst])) worst = k;
    const room = 1.5 * D.tolerance_mm;
    const s = Charts.scale(f, at(first), at(last), 1.04 * Math.min(-room, ...layers.bottom), 1.04 * Math.max(room, ...layers.top));
    let content = patterns(id) + Charts.axes(f, s, 6);
    for (const layer of layers.parts) {
      if (channels[layer.name].values) content += `<path d="${Charts.area(s, place, (k) => layer.low[k], (k) => layer.high[k], count)}" fill="url(#${id}-${layer.name})"/>`;
    }
    content += `<path d="${Charts.line(s, place, (k) => total[k], count)}" fill="none" stroke="#000" stroke-width="1.3"/>`;
    for (const edge of [D.tolerance_mm, -D.tolerance_mm]) content += `<path d="M${f.left} ${Charts.round(s.y(edge))}H${f.right}" stroke="#444" stroke-dasharray="6 4"/>`;
    const way = total[worst] > 0 ? "too deep" : "too shallow";
    put(id, f, s, content, `${name}; largest ${number(Math.abs(total[worst]), 1)} mm ${way} at ${number(place(worst), 1)} m; tolerance ${D.tolerance_mm} mm`);
  }

  // layers of the parts: what is positive piled up from zero, the rest down
  function pile(first, count) {
    const total = new Float64Array(count), top = new Float64Array(count), bottom = new Float64Array(count);
    const parts = PARTS.map(([name]) => {
      const low = new Float64Array(count), high = new Float64Array(count);
      for (let k = 0; k < count; k++) {
        const part = value(name, first + k);
        total[k] += part;
        if (part >= 0) { low[k] = top[k]; high[k] = top[k] += part; } else { high[k] = bottom[k]; low[k] = bottom[k] += part; }
      }
      return { name, low, high };
    });
    return { total, top, bottom, parts };
  }

  function closeUp() {
    const half = Math.min(Math.round(3 / STEP), Math.floor((N - 1) / 2));
    const middle = Math.min(Math.max(Math.round(state.k), half), N - 1 - half);
    errorChart("chart-close", 190, middle - half, middle + half, "Depth error and its parts close up");
  }

  function loadChart(id, height, names, label, dashed, marks) {
    const f = Charts.frame(id, height);
    let high = dashed || 0.1;
    for (const [name] of names) for (let k = 0; k < N; k++) high = Math.max(high, value(name, k) / 1e3);
    const s = Charts.scale(f, D.from_m, D.to_m, 0, 1.12 * high);
    let content = Charts.axes(f, s, 4);
    for (const [name, colour, filled] of names) {
      content += filled ? `<path d="${Charts.area(s, at, () => 0, (k) => value(name, k) / 1e3, N)}" fill="${colour}"/>` : `<path d="${Charts.line(s, at, (k) => value(name, k) / 1e3, N)}" fill="none" stroke="${colour}" stroke-width="1.4"/>`;
    }
    if (dashed) content += `<path d="M${f.left} ${Charts.round(s.y(dashed))}H${f.right}" stroke="#000" stroke-dasharray="6 4"/>`;
    if (marks) {
      for (let k = 0; k < N; k++) {
        if (value(marks, k) > 0) continue;
        const from = k;
        while (k + 1 < N && value(marks, k + 1) <= 0) k++;
        content += `<rect x="${Charts.round(s.x(at(from)) - 1)}" y="${f.top}" width="${Charts.round(s.x(at(k)) - s.x(at(from)) + 2)}" height="6"/>`;
      }
    }
    put(id, f, s, content, `${label}, up to ${number(high, 1)} kN`);
  }

  function legend() {
    get("parts").innerHTML = PARTS.map(([name, words, , ]) => `<li><svg viewBox="0 0 24 14" aria-hidden="true">${patterns("key-" + name)}<rect width="24" height="14" fill="url(#key-${name}-${name})"/></svg><span>${words}</span><b id="part-${name}"></b></li>`).join("");
  }

  // --- the unit --------------------------------------------------------------------------------------------------

  const BARS = [
    ["U0", "U1", "#000", 5], ["L0", "L1", "#000", 5], ["crank_pivot", "crank_pin", "#E69F00", 3.5], ["crank_pin", "rod_rear", "#E69F00", 3.5],
    ["bell_pivot", "rod_rear", "#E69F00", 3.5], ["bell_pivot", "bell_end", "#E69F00", 3.5], ["bell_end", "lug", "#E69F00", 3.5],
    ["actuator_base", "actuator_pin", "#E69F00", 5], ["arm_pivot", "gauge_axle", "#0072B2", 4.5], ["press_pivot", "press_axle", "#0072B2", 4.5],
    ["cylinder_frame", "cylinder_arm", "#D55E00", 8],
  ];
  const PX = 300, KN = 0.05;  // pixels a metre, metres a kilonewton

  function unitPoints(k) {
    const u = D.unit, p = Linkage.points(u, cell().crank, value("arm_angle", k), value("press_angle", k), value("pitch", k));
    const x = at(k) - p.disc_hub[0], z = value("toolbar_height", k);
    for (const name of Object.keys(p)) p[name] = [p[name][0] + x, p[name][1] + z];
    return p;
  }

  const SLOT = { deep: ["too deep", "#0072B2", '<circle cx="4" cy="4" r="1.5" fill="#fff"/>'], right: ["on depth", "#8fcbf0", ""], shallow: ["too shallow", "#E69F00", '<path d="M-1 9L9 -1" stroke="#fff" stroke-width="2"/>'] };
  const slotClass = (k) => { const e = error(k); return e > D.tolerance_mm ? "deep" : e < -D.tolerance_mm ? "shallow" : "right"; };
  const slotPatterns = (prefix) => `<defs>${Object.entries(SLOT).map(([name, [, colour, mark]]) => `<pattern id="${prefix}-${name}" width="8" height="8" patternUnits="userSpaceOnUse"><rect width="8" height="8" fill="${colour}"/>${mark}</pattern>`).join("")}</defs>`;

  function slotLegend(list) {
    list.innerHTML = Object.entries(SLOT).map(([name, [words]], n) => `<li><svg viewBox="0 0 24 14" aria-hidden="true">${n ? "" : slotPatterns(list.id)}<rect width="24" height="14" fill="url(#${list.id}-${name})"/></svg><span>slot ${words}</span></li>`).join("");
  }

  function drawUnit(id) {
    const svg = get(id), u = D.unit, k = state.k;
    if (cell().problem) { svg.innerHTML = ""; return; }
    const p = unitPoints(k), left = p.press_axle[0] - u.press_radius - 0.12, right = Math.max(p.O[0], p.actuator_base[0]) + 0.34;
    const low = p.O[1] - D.unit.toolbar_height - 0.22, high = p.O[1] + D.unit.above + 0.14;
    const X = (x) => Charts.round((x - left) * PX), Z = (z) => Charts.round((high - z) * PX);
    svg.setAttribute("viewBox", `0 0 ${X(right)} ${Z(low)}`);
    const parts = [groundPath(X, Z, left, right, low), slotPaths(id, X, Z, k, left)];
    const corners = ["U1", "L1", "arm_pivot", "disc_hub", "press_pivot"].map((name) => `${X(p[name][0])} ${Z(p[name][1])}`);
    parts.push(`<path d="M${X(p.O[0])} ${Z(p.O[1])}L${X(p.U0[0])} ${Z(p.U0[1])}L${X(p.L0[0])} ${Z(p.L0[1])}" stroke="#777" stroke-width="11" fill="none" stroke-linecap="round" stroke-linejoin="round"/>`);
    parts.push(`<path d="M${corners.join("L")}Z" fill="#e8e5de" stroke="#777"/>`);
    for (const [name, radius, colour] of [["disc_hub", u.disc_radius, "#000"], ["gauge_axle", u.gauge_radius, "#0072B2"], ["press_axle", u.press_radius, "#0072B2"]]) {
      parts.push(`<circle cx="${X(p[name][0])}" cy="${Z(p[name][1])}" r="${Charts.round(radius * PX)}" fill="none" stroke="${colour}" stroke-width="3"/>`);
    }
    for (const [a, b, colour, width] of BARS) parts.push(`<path d="M${X(p[a][0])} ${Z(p[a][1])}L${X(p[b][0])} ${Z(p[b][1])}" stroke="${colour}" stroke-width="${width}" stroke-linecap="round"/>`);
    parts.push(...forces(p, k, X, Z));
    parts.push(`<path d="M14 ${Z(low) - 14}h${5 * KN * PX}" stroke="#000" stroke-width="4"/><text x="14" y="${Z(low) - 22}" style="font-size:20px;fill:#000">5 kN</text>`);
    svg.innerHTML = parts.join("");
  }

  function groundPath(X, Z, left, right, low) {
    const g = D.ground, first = Math.max(0, Math.floor((left - g.from_m) / g.step_m)), last = Math.min(g.soil.length - 1, Math.ceil((right - g.from_m) / g.step_m));
    const line = [], stones = [];
    for (let k = first; k <= last; k++) {
      const x = X(g.from_m + k * g.step_m), z = g.soil[k] * 1e-4;
      line.push(`${x} ${Z(z)}`);
      if (g.stone[k] > -1000) stones.push(`M${x} ${Z(z - 0.1)}V${Z(z + g.stone[k] * 1e-4)}`);
    }
    const floor = Z(low), ends = [X(g.from_m + first * g.step_m), X(g.from_m + last * g.step_m)];
    return `<path d="M${ends[0]} ${floor}L${line.join("L")}L${ends[1]} ${floor}Z" fill="#d6d0c4"/>` + `<path d="${stones.join("")}" stroke="#555" stroke-width="${Charts.round(g.step_m * PX) + 0.6}" fill="none"/><path d="M${line.join("L")}" fill="none" stroke="#6b6457" stroke-width="2"/>`;
  }

  // the slot behind the disc, in stretches that are too deep, on depth or too shallow
  function slotPaths(id, X, Z, k, left) {
    const places = [];
    for (let n = Math.floor(k); n >= 0 && at(n) > left; n--) places.push(n);
    if (k > Math.floor(k)) places.unshift(k);
    const parts = [slotPatterns(id)];
    for (let first = 0; first < places.length - 1; ) {
      const kind = slotClass(places[first + 1]);
      let last = first + 1;
      while (last + 1 < places.length && slotClass(places[last + 1]) === kind) last++;
      const there = [], back = [];
      for (const n of places.slice(first, last + 1)) {
        const top = surface(at(n));
        there.push(`${X(at(n))} ${Z(top)}`);
        back.unshift(`${X(at(n))} ${Z(top - Math.max(depth(n), 0) / 1e3)}`);
      }
      parts.push(`<path d="M${there.join("L")}L${back.join("L")}Z" fill="url(#${id}-${kind})"/>`);
      first = last;
    }
    return parts.join("");
  }

  function forces(p, k, X, Z) {
    const u = D.unit, pitch = value("pitch", k), bottom = [p.disc_hub[0], p.disc_hub[1] - u.disc_radius];
    const pin = (name) => Linkage.turn([value(name + "_x", k), value(name + "_z", k)], pitch);
    return [
      [[p.gauge_axle[0], p.gauge_axle[1] - u.gauge_radius], [0, value("gauge_load", k)], "#0072B2"],
      [[p.press_axle[0], p.press_axle[1] - u.press_radius], [0, value("press_load", k)], "#0072B2"],
      [bottom, [value("disc_draught", k), value("disc_vertical", k)], "#00735a"],
      [bottom, [0, value("rock_force", k)], "#000"],
      [p.U0, pin("upper"), "#a3447c"], [p.L0, pin("lower"), "#a3447c"],
    ].map(([from, force, colour]) => arrow(X(from[0]), Z(from[1]), force[0] * KN * PX / 1e3, -force[1] * KN * PX / 1e3, colour));
  }

  function arrow(x, y, dx, dy, colour) {
    const size = Math.hypot(dx, dy);
    if (size < 3) return "";
    const head = Math.min(11, size), ux = dx / size, uy = dy / size, bx = x + dx - head * ux, by = y + dy - head * uy, r = Charts.round;
    return `<path d="M${x} ${y}L${r(bx)} ${r(by)}" stroke="${colour}" stroke-width="4"/><path d="M${r(x + dx)} ${r(y + dy)}L${r(bx - 6 * uy)} ${r(by + 6 * ux)}L${r(bx + 6 * uy)} ${r(by - 6 * ux)}Z" fill="${colour}"/>`;
  }

  // --- one place -------------------------------------------------------------------------------------------------

  function drawPlace() {
    const k = state.k, near = Math.round(k);
    get("place").value = near;
    get("place-out").textContent = `${number(at(k), 1)} m`;
    const e = error(k), load = value("gauge_load", k), wheel = load > 0 ? `gauge wheel ${number(load, 0)} N` : "gauge wheel off the ground";
    const out = depth(k) <= 0, off = Math.abs(e) < 0.05 ? "as set" : `${number(Math.abs(e), 1)} mm ${e > 0 ? "too deep" : "too shallow"}`;
    const way = out ? `disc out of the ground, ${number(-depth(k), 0)} mm above it` : off;
    get("place").setAttribute("aria-valuetext", `${number(at(k), 1)} metres: ${way}, ${wheel}`);
    get("unit-words").textContent = cell().problem ? "This setting could not be crossed." : together(`The unit at ${number(at(k), 1)} m, to scale: ${out ? way : `slot ${number(depth(k), 1)} mm deep, ${way}`}; ${wheel}. Arrows: forces on wheels (blue), of the soil (green) and a stone (black, drawn upright) on the disc, of the toolbar on the links (purple).`);
    const readings = [["Disc below surface", `${number(depth(k), 1)} mm`], ["Depth error", `${signed(e, 1)} mm`], ["Gauge wheel", load > 0 ? `${number(load, 0)} N` : "off"], ["Most loaded pin", `${number(value("pin_worst", near) / 1e3, 1)} kN`], ["Stone on disc", `${number(value("rock_force", near) / 1e3, 1)} kN`], ["Oil pressure", `${number(value("oil_pressure", k), 1)} bar`]];
    get("readings").innerHTML = readings.map(([name, text]) => `<div><dt>${name}</dt><dd>${text}</dd></div>`).join("");
    for (const [name] of PARTS) get(`part-${name}`).textContent = `${signed(value(name, k), 1)} mm`;
    closeUp();
    for (const [id, s] of Object.entries(scales)) {
      const f = drawn[id], x = Charts.round(s.x(at(k)));
      f.svg.querySelector(".cursor").setAttribute("d", `M${x} ${f.top}V${f.bottom}`);
    }
    drawUnit("unit");
    follow();
  }

  // on a narrow screen the traces are wider than it: keep the place in view
  function follow() {
    const box = get("traces"), f = drawn["chart-error"];
    if (box.scrollWidth <= box.clientWidth + 1) return;
    const x = scales["chart-error"].x(at(state.k)) * box.scrollWidth / f.width;
    if (x < box.scrollLeft + 30 || x > box.scrollLeft + box.clientWidth - 30) box.scrollLeft = x - 0.5 * box.clientWidth;
  }

  // the picture on top: the pick where its depth error is largest, whatever is tried below
  function drawWorst() {
    if (cell().problem) { get("worst-words").textContent = `This setting could not be crossed: ${cell().problem}.`; return; }
    drawUnit("worst");
    const e = error(state.k), parts = PARTS.map(([name, words]) => [Math.abs(value(name, state.k)), Math.sign(value(name, state.k)), words]);
    const [most, way, words] = parts.filter(([, sign]) => sign === Math.sign(e)).sort((a, b) => b[0] - a[0])[0] || [0, 0, ""];
    const off = out(state.k) ? `the disc is out of the ground` : `the slot is ${number(Math.abs(e), 0)} mm too ${e > 0 ? "deep" : "shallow"}`;
    const why = most < 0.5 ? "" : most > 0.8 * Math.abs(e) ? `, by ${words}` : `, most of it by ${words} (${signed(way * most, 0)} mm)`;
    const within = Math.abs(e) <= D.tolerance_mm;
    get("worst-words").textContent = together(`The worst of these ${number(D.to_m - D.from_m, 0)} m, at ${number(at(state.k), 1)} m: ${off}${why}${within ? ", which is within the tolerance" : ""}. On these ${number(D.to_m - D.from_m, 0)} m ${cell().here_on_depth} of the way is on depth.`);
  }
  const out = (k) => depth(k) <= 0;

  function drawAll() {
    words();
    groundChart();
    errorChart("chart-error", 230, 0, N - 1, "Depth error and its parts");
    loadChart("chart-load", 120, [["gauge_load", "#0072B2", false]], "Load on the gauge wheel", cell().set_load / 1e3, "gauge_load");
    loadChart("chart-pin", 130, [["rock_force", "#000", true], ["pin_worst", "#a3447c", false]], "Load on the most loaded pin", 0, "");
    drawPlace();
  }

  // --- moving ----------------------------------------------------------------------------------------------------

  function move(k) {
    const begin = performance.now();
    state.k = Math.min(Math.max(k, 0), N - 1);
    drawPlace();
    state.last_ms = performance.now() - begin;
  }

  function stop() {
    cancelAnimationFrame(state.timer);
    state.timer = 0;
    get("play").setAttribute("aria-pressed", "false");
    get("play").textContent = calm.matches ? "On by half a metre" : "Play slowly";
  }

  function play() {
    if (calm.matches) { move(state.k + 0.5 / STEP >= N - 1 ? 0 : Math.round(state.k + 0.5 / STEP)); return; }
    if (state.timer) { stop(); return; }
    get("play").setAttribute("aria-pressed", "true");
    get("play").textContent = "Stop";
    if (state.k >= N - 1) state.k = 0;
    let before = performance.now();
    const frame = (now) => {
      state.k += (now - before) / 1e3 * D.speeds[state.j] / 3.6 / 5 / STEP;  // a fifth of the real speed
      before = now;
      if (state.k >= N - 1) { move(N - 1); stop(); return; }
      drawPlace();
      state.timer = requestAnimationFrame(frame);
    };
    state.timer = requestAnimationFrame(frame);
  }

  function onChart(event) {
    const id = event.currentTarget.id, s = scales[id], f = drawn[id], box = f.svg.getBoundingClientRect();
    const x = (event.clientX - box.left) * f.width / box.width;
    stop();
    move(Math.round((s.x0 + (x - f.left) / (f.right - f.left) * (s.x1 - s.x0) - D.from_m) / STEP));
  }

  function worstPlace() {
    let worst = 0;
    for (let k = 0; k < N; k++) if (Math.abs(error(k)) > Math.abs(error(worst))) worst = k;
    return worst;
  }

  makeMap();
  legend();
  get("place").max = N - 1;
  state.k = worstPlace();
  slotLegend(get("slot-key"));
  slotLegend(get("slot-key-2"));
  drawAll();
  drawWorst();
  stop();
  get("pressure").addEventListener("input", (event) => choose(Number(event.target.value), state.j));
  get("speed").addEventListener("input", (event) => choose(state.i, Number(event.target.value)));
  get("place").addEventListener("input", (event) => { stop(); move(Number(event.target.value)); });
  get("play").addEventListener("click", play);
  for (const id of Object.keys(drawn)) get(id).addEventListener("click", onChart);
  let width = document.body.clientWidth;
  window.addEventListener("resize", () => { if (document.body.clientWidth !== width) { width = document.body.clientWidth; drawAll(); } });
  let closed = [];
  window.addEventListener("beforeprint", () => {
    closed = [...document.querySelectorAll("details:not([open])")];
    for (const d of closed) d.open = true;
    Charts.paper.width = 680;  // of an A4 page
    drawAll();
  });
  window.addEventListener("afterprint", () => {
    for (const d of closed) d.open = false;
    Charts.paper.width = 0;
    drawAll();
  });
  window.rowbench = { state, choose, move, value, error, unitPoints, samples: N };
})();
