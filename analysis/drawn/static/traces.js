// Traces of a crossing over the distance: the depth error and its parts, loads. `drawn` and `scales` hold what stands.
const Traces = (() => {
  const { PARTS, number } = Ride, round = Charts.round;
  const scales = {}, drawn = {};
  const patterns = (prefix) => `<defs>${PARTS.map(([name, , colour, mark]) => `<pattern id="${prefix}-${name}" width="6" height="6" patternUnits="userSpaceOnUse"><rect width="6" height="6" fill="${colour}"/>${mark}</pattern>`).join("")}</defs>`;

  function put(id, f, s, content, label) {
    f.svg.innerHTML = content + Charts.cursor(f);
    f.svg.setAttribute("aria-label", label);
    scales[id] = s;
    drawn[id] = f;
  }

  function ground(id, ride, height) {
    const f = Charts.frame(id, height), d = ride.data, g = d.ground;
    const first = Math.round((d.from_m - g.from_m) / g.step_m), n = Math.round((d.to_m - d.from_m) / g.step_m) + 1;
    const x = (k) => d.from_m + k * g.step_m, soilAt = (k) => g.soil[first + k] / 10, top = (k) => soilAt(k) + Math.max(g.stone[first + k], 0) / 10;
    let low = Infinity, high = -Infinity;
    for (let k = 0; k < n; k++) { low = Math.min(low, soilAt(k)); high = Math.max(high, top(k)); }
    const room = Math.max(high - low, 40);
    const s = Charts.scale(f, d.from_m, d.to_m, low - 0.15 * room, high + 0.1 * room);
    const content = Charts.axes(f, s, 3) + `<path d="${Charts.area(s, x, () => s.y0, soilAt, n)}" fill="#d6d0c4"/><path d="${Charts.area(s, x, soilAt, top, n)}" fill="#000" stroke="#000" stroke-width="0.8"/>`;
    put(id, f, s, content, `Ground from ${d.from_m} to ${d.to_m} m, ${number(low, 0)} to ${number(high, 0)} mm`);
  }

  // the parts piled up from sample `first` to `last`, with the error as a line; before: the error of another crossing
  function error(id, ride, height, first, last, name, before) {
    const f = Charts.frame(id, height), count = last - first + 1, place = (k) => ride.at(first + k), tolerance = ride.data.tolerance_mm;
    const layers = pile(ride, first, count), total = layers.total;
    let worst = 0;
    for (let k = 0; k < count; k++) if (Math.abs(total[k]) > Math.abs(total[worst])) worst = k;
    const room = 1.5 * tolerance;
    let low = Math.min(-room, ...layers.bottom), high = Math.max(room, ...layers.top);
    if (before) for (let k = 0; k < count; k++) { const e = before.error(first + k); low = Math.min(low, e); high = Math.max(high, e); }
    const s = Charts.scale(f, ride.at(first), ride.at(last), 1.04 * low, 1.04 * high);
    let content = patterns(id) + Charts.axes(f, s, 6);
    for (const layer of layers.parts) {
      if (ride.held(layer.name)) content += `<path d="${Charts.area(s, place, (k) => layer.low[k], (k) => layer.high[k], count)}" fill="url(#${id}-${layer.name})"/>`;
    }
    if (before) content += `<path d="${Charts.line(s, place, (k) => before.error(first + k), count)}" fill="none" stroke="#fff" stroke-width="4"/><path class="before" d="${Charts.line(s, place, (k) => before.error(first + k), count)}" fill="none" stroke="#a3447c" stroke-width="2" stroke-dasharray="7 3"/>`;
    content += `<path d="${Charts.line(s, place, (k) => total[k], count)}" fill="none" stroke="#000" stroke-width="1.3"/>`;
    for (const edge of [tolerance, -tolerance]) content += `<path d="M${f.left} ${round(s.y(edge))}H${f.right}" stroke="#444" stroke-dasharray="6 4"/>`;
    const way = total[worst] > 0 ? "too deep" : "too shallow";
    put(id, f, s, content, `${name}; largest ${number(Math.abs(total[worst]), 1)} mm ${way} at ${number(place(worst), 1)} m; tolerance ${tolerance} mm`);
  }

  // layers of the parts: what is positive piled up from zero, the rest down
  function pile(ride, first, count) {
    const total = new Float64Array(count), top = new Float64Array(count), bottom = new Float64Array(count);
    const parts = PARTS.map(([name]) => {
      const low = new Float64Array(count), high = new Float64Array(count);
      for (let k = 0; k < count; k++) {
        const part = ride.value(name, first + k);
        total[k] += part;
        if (part >= 0) { low[k] = top[k]; high[k] = top[k] += part; } else { high[k] = bottom[k]; low[k] = bottom[k] += part; }
      }
      return { name, low, high };
    });
    return { total, top, bottom, parts };
  }

  // names: [channel, colour, filled]; dashed: a level [kN] or 0; marks: a channel whose zeros are marked on top, or ""
  function load(id, ride, height, names, label, dashed, marks, before) {
    const f = Charts.frame(id, height), n = ride.n;
    let high = dashed || 0.1;
    for (const one of before ? [ride, before] : [ride]) for (const [name] of names) for (let k = 0; k < n; k++) high = Math.max(high, one.value(name, k) / 1e3);
    const s = Charts.scale(f, ride.data.from_m, ride.data.to_m, 0, 1.12 * high);
    let content = Charts.axes(f, s, 4);
    for (const [name, colour, filled] of names) {
      if (before && !filled) content += `<path class="before" d="${Charts.line(s, ride.at, (k) => before.value(name, k) / 1e3, n)}" fill="none" stroke="${colour}" stroke-width="1.2" stroke-dasharray="7 3" opacity="0.75"/>`;
      content += filled ? `<path d="${Charts.area(s, ride.at, () => 0, (k) => ride.value(name, k) / 1e3, n)}" fill="${colour}"/>` : `<path d="${Charts.line(s, ride.at, (k) => ride.value(name, k) / 1e3, n)}" fill="none" stroke="${colour}" stroke-width="1.4"/>`;
    }
    if (dashed) content += `<path d="M${f.left} ${round(s.y(dashed))}H${f.right}" stroke="#000" stroke-dasharray="2 3"/>`;
    if (marks) {
      for (let k = 0; k < n; k++) {
        if (ride.value(marks, k) > 0) continue;
        const from = k;
        while (k + 1 < n && ride.value(marks, k + 1) <= 0) k++;
        content += `<rect x="${round(s.x(ride.at(from)) - 1)}" y="${f.top}" width="${round(s.x(ride.at(k)) - s.x(ride.at(from)) + 2)}" height="6"/>`;
      }
    }
    put(id, f, s, content, `${label}, up to ${number(high, 1)} kN`);
  }

  function legend(list) {
    list.innerHTML = PARTS.map(([name, words, , ]) => `<li><svg viewBox="0 0 24 14" aria-hidden="true">${patterns("key-" + name)}<rect width="24" height="14" fill="url(#key-${name}-${name})"/></svg><span>${words}</span><b id="part-${name}"></b></li>`).join("");
  }

  function partsAt(ride, k) {
    for (const [name] of PARTS) document.getElementById(`part-${name}`).textContent = `${Ride.signed(ride.value(name, k), 1)} mm`;
  }

  // the line that marks a place on every trace
  function mark(x) {
    for (const [id, s] of Object.entries(scales)) {
      const f = drawn[id], at = round(s.x(x));
      f.svg.querySelector(".cursor").setAttribute("d", `M${at} ${f.top}V${f.bottom}`);
    }
  }

  // the distance [m] under the pointer on a trace
  function under(id, event) {
    const s = scales[id], f = drawn[id], box = f.svg.getBoundingClientRect(), x = (event.clientX - box.left) * f.width / box.width;
    return s.x0 + (x - f.left) / (f.right - f.left) * (s.x1 - s.x0);
  }

  // on a narrow screen the traces are wider than it: keep the place in view
  function follow(box, id, x) {
    const f = drawn[id];
    if (Charts.once(`room ${box.id}`, () => box.scrollWidth <= box.clientWidth + 1)) return;
    const at = scales[id].x(x) * box.scrollWidth / f.width;
    if (at < box.scrollLeft + 30 || at > box.scrollLeft + box.clientWidth - 30) box.scrollLeft = at - 0.5 * box.clientWidth;
  }
  return { ground, error, load, legend, partsAt, mark, under, follow, drawn, scales };
})();
