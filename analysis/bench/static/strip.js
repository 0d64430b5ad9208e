// The ground over its whole length, the slot in it, and handles on the things that lie on it.
const Strip = (() => {
  const { number } = Ride, round = Charts.round;
  // how a kind is dragged: key of its size and which way it grows, key of its length; from: its place is its beginning
  const GRIPS = {
    hump: { size: ["height_mm", 1], length: "length_m" }, hollow: { size: ["depth_mm", -1], length: "length_m" },
    rut: { size: ["depth_mm", -1], length: "width_m" }, bank: { size: ["height_mm", 1], length: "base_m" },
    drop: { size: ["depth_mm", -1], length: "length_m", from: true }, ramp: { size: ["rise_mm", 1], length: "run_m", from: true },
    edge: { size: ["step_mm", 1], length: "run_m", from: true }, stone: { size: ["top_mm", 1], length: "length_m" },
  };
  let kinds = {}, ride = null, f = null, s = null, grips = [], chosen = null, dragged = null, shown = "";
  let onPlace = () => {}, onChoose = () => {}, onEnd = () => {};
  const svg = () => document.getElementById("strip");
  const snap = (v, step) => Number((Math.round(v / step) * step).toFixed(3));

  // all things on the ground: {list, index, kind, held}
  function things(scene) {
    return [...scene.features.map((held, index) => ({ list: "features", index, kind: held.kind, held })),
      ...scene.stones.map((held, index) => ({ list: "stones", index, kind: "stone", held }))];
  }
  const key = (kind, name) => (kinds[kind] || { keys: [] }).keys.find((one) => one.name === name);
  const clamp = (kind, name, v) => { const k = key(kind, name); return k ? Math.min(Math.max(v, k.low), k.high) : v; };

  function put(thing, name, value, note) {
    Desk.change((scene) => {
      const held = scene[thing.list][thing.index];
      if (!held) return;
      held[name] = clamp(thing.kind, name, value);
      if (thing.kind === "stone") held.top_mm = Math.min(held.top_mm, snap(300 * held.length_m - 0.5, 1));
    }, note);
  }

  function draw(made) {
    ride = made;
    const d = ride.data, g = d.ground, height = 190;
    f = Charts.frame("strip", height);
    const first = Math.round((d.from_m - g.from_m) / g.step_m), n = Math.round((d.to_m - d.from_m) / g.step_m) + 1;
    const every = Math.max(1, Math.floor(n / (1.3 * f.width))), few = Math.floor((n - 1) / every) + 1;  // no finer than pixels
    const x = (k) => d.from_m + k * g.step_m, soilAt = (k) => g.soil[first + k] / 10, top = (k) => soilAt(k) + Math.max(g.stone[first + k], 0) / 10;
    let proud = false;
    for (let k = 0; k < n && !proud; k++) proud = g.stone[first + k] > 0;
    if (!dragged || !s) {
      let low = Infinity, high = -Infinity;
      for (let k = 0; k < n; k++) { low = Math.min(low, soilAt(k)); high = Math.max(high, top(k)); }
      const room = Math.max(high - low, 260);
      s = Charts.scale(f, d.from_m, d.to_m, 0.5 * (low + high) - 0.75 * room, 0.5 * (low + high) + 0.7 * room);
    }
    const all = Array.from({ length: ride.n }, (_, k) => k), X = (v) => round(s.x(v)), Z = (z) => round(s.y(z * 1e3));
    const slot = Unit.stretches(ride, all).map(([kind, held]) => `<path d="${Unit.slotPath(ride, held, X, Z)}" fill="url(#strip-${kind})"/>`).join("");
    svg().querySelector(".base").innerHTML = Unit.slotPatterns("strip") + Charts.axes(f, s, 4)
      + `<path d="${Charts.area(s, (k) => x(every * k), () => s.y0, (k) => soilAt(every * k), few)}" fill="#d6d0c4"/>${slot}<path d="${Charts.line(s, (k) => x(every * k), (k) => soilAt(every * k), few)}" fill="none" stroke="#6b6457" stroke-width="1.5"/>`
      + (proud ? `<path d="${Charts.area(s, x, soilAt, top, n)}" fill="#000" stroke="#000" stroke-width="0.8"/>` : "");
    const times = (s.x(d.from_m + 1) - s.x(d.from_m)) / (s.y(0) - s.y(1000));
    document.getElementById("strip-words").textContent = `Ground, mm, drawn ${number(1 / times, 0)} times as high as it is. In it the slot by its depth, as in the picture above; black: stones.`;
    place(Desk.scene);
  }

  // handles where the things are; made anew only where other things lie there, since one may be under a finger
  function place(scene) {
    if (!s) return;
    const found = things(scene).filter((thing) => GRIPS[thing.kind] && typeof thing.held.at_m === "number");
    const named = JSON.stringify(found.map((one) => [one.list, one.index, one.kind]));
    const box = svg().querySelector(".grips");
    if (named !== shown) {
      shown = named;
      box.innerHTML = found.map((_, n) => `<g class="grip" data-grip="move" data-n="${n}" tabindex="0" role="button"><circle class="hit" r="22"/><circle class="dot" r="8"/></g><g class="grip" data-grip="first" data-n="${n}"><rect class="hit" x="-16" y="-18" width="32" height="36"/><rect class="dot" x="-5" y="-5" width="10" height="10"/></g><g class="grip" data-grip="last" data-n="${n}"><rect class="hit" x="-16" y="-18" width="32" height="36"/><rect class="dot" x="-5" y="-5" width="10" height="10"/></g>`).join("");
    }
    grips = found;
    for (const one of box.children) {
      const thing = found[Number(one.dataset.n)], how = GRIPS[thing.kind], at = thing.held.at_m, length = thing.held[how.length] || 0;
      const begin = how.from ? at : at - 0.5 * length, middle = how.from ? at + length : at;
      const v = { move: middle, first: begin, last: begin + length }[one.dataset.grip];
      const under = one.dataset.grip === "move" ? Math.max(ride.soil(v), ride.surface(v)) : ride.soil(v);
      one.setAttribute("transform", `translate(${round(s.x(v))} ${round(s.y(under * 1e3) + (one.dataset.grip === "move" ? 0 : 16))})`);
      one.style.display = how.from && one.dataset.grip === "last" ? "none" : "";
      one.classList.toggle("chosen", Boolean(chosen) && chosen.list === thing.list && chosen.index === thing.index);
      if (one.dataset.grip === "move") one.setAttribute("aria-label", `${words(thing)}. Arrows move it, with Shift they stretch it, Delete takes it away.`);
    }
  }

  function words(thing) {
    const how = GRIPS[thing.kind], told = [`${thing.kind.replace("_", " ")}`];
    if (typeof thing.held.at_m === "number") told[0] += ` at ${number(thing.held.at_m, 2)} m`;
    if (how) told.push(`${number(thing.held[how.size[0]], 0)} mm ${how.size[0].replace("_mm", "").replace("top", "over the ground")}`, `${number(thing.held[how.length], 2)} m long`);
    return told.join(", ");
  }

  const within = (v) => Math.min(Math.max(v, ride.data.from_m), ride.data.to_m);

  function down(event) {
    const grip = event.target.closest(".grip");
    if (!grip) return;
    event.preventDefault();
    const thing = grips[Number(grip.dataset.n)], how = GRIPS[thing.kind];
    grip.setPointerCapture(event.pointerId);
    Desk.remember();
    dragged = { grip, thing, how, x: event.clientX, y: event.clientY, at: thing.held.at_m, size: thing.held[how.size[0]], length: thing.held[how.length] };
    choose(thing);
  }

  function dragOn(event) {
    if (!dragged) return;
    const box = svg().getBoundingClientRect(), k = f.width / box.width, mm = (s.y1 - s.y0) / (f.bottom - f.top), metre = (s.x1 - s.x0) / (f.right - f.left);
    const dx = (event.clientX - dragged.x) * k * metre, dz = -(event.clientY - dragged.y) * k * mm, { thing, how } = dragged;
    if (dragged.grip.dataset.grip === "move") {
      put(thing, "at_m", snap(within(dragged.at + dx), 0.05), false);
      put(thing, how.size[0], snap(dragged.size + how.size[1] * dz, 1), false);
    } else {
      const way = dragged.grip.dataset.grip === "last" ? 1 : -1, length = Math.max(dragged.length + (how.from ? 1 : 2) * way * dx, 0.05);
      put(thing, how.length, snap(length, 0.05), false);
      if (how.from) put(thing, "at_m", snap(within(dragged.at + dx), 0.05), false);
    }
  }

  function up() {
    if (!dragged) return;
    dragged = null;
    onEnd();
  }

  function pressed(event) {
    const grip = event.target.closest(".grip");
    if (!grip) return;
    const thing = grips[Number(grip.dataset.n)], how = GRIPS[thing.kind];
    const by = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] }[event.key];
    if (event.key === "Delete" || event.key === "Backspace") { event.preventDefault(); remove(thing); return; }
    if (!by) return;
    event.preventDefault();
    choose(thing);
    if (by[1]) put(thing, how.size[0], snap(thing.held[how.size[0]] + 5 * by[1] * how.size[1], 1));
    else if (event.shiftKey) put(thing, how.length, snap(Math.max(thing.held[how.length] + 0.1 * by[0], 0.05), 0.05));
    else put(thing, "at_m", snap(within(thing.held.at_m + 0.1 * by[0]), 0.05));
  }

  function choose(thing) {
    chosen = thing && { list: thing.list, index: thing.index };
    place(Desk.scene);
    onChoose(chosen);
  }
  function remove(thing) {
    chosen = null;
    Desk.change((scene) => { scene[thing.list].splice(thing.index, 1); });
    svg().parentElement.parentElement.focus();
  }

  function mark(x) {
    if (!s) return;
    const at = round(s.x(x));
    const line = svg().querySelector(".cursor");
    line.setAttribute("d", `M${at} ${f.top}V${f.bottom}`);
    line.setAttribute("stroke", "#1a1a1a");
    line.setAttribute("stroke-width", "1.4");
    line.setAttribute("stroke-dasharray", "2 2");
  }

  function begin(known, placed, chose, ended) {
    kinds = known;
    onPlace = placed;
    onChoose = chose;
    onEnd = ended;
    const box = svg();
    box.addEventListener("pointerdown", down);
    box.addEventListener("pointermove", dragOn);
    box.addEventListener("pointerup", up);
    box.addEventListener("pointercancel", up);
    box.addEventListener("keydown", pressed);
    box.addEventListener("click", (event) => {
      if (event.target.closest(".grip") || !s) return;
      const at = box.getBoundingClientRect(), x = (event.clientX - at.left) * f.width / at.width;
      onPlace(s.x0 + (x - f.left) / (f.right - f.left) * (s.x1 - s.x0));
    });
  }
  return { begin, draw, place, mark, things, words, key, put, remove, choose, GRIPS, get chosen() { return chosen; }, get dragging() { return Boolean(dragged); } };
})();
