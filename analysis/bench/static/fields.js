// The map of pressures × speeds on the ground in view: filled in the background, ended by the next change.
const Fields = (() => {
  const QUIET = 250;  // how long nothing has to change before it is begun [ms]
  const COLOURS = ["#00224E", "#083370", "#35456C", "#4F576C", "#666970", "#7D7C78", "#948E77", "#AEA371", "#C8B866", "#E5CF52", "#FEE838"];
  const { number, escape } = Ride;
  const get = (id) => document.getElementById(id);
  let waiting = 0, running = null, axes = null, cells = new Map(), buttons = new Map(), began = 0, took = 0, ended = true;
  const plain = (v) => number(v, 1).replace(/\.0$/, "");

  function colour(bright) {
    const at = Math.min(Math.max(bright, 0), 1) * 10, k = Math.min(Math.floor(at), 9), part = at - k;
    const mix = (from, to, n) => Math.round(parseInt(from.slice(n, n + 2), 16) * (1 - part) + parseInt(to.slice(n, n + 2), 16) * part);
    return `rgb(${[1, 3, 5].map((n) => mix(COLOURS[k], COLOURS[k + 1], n)).join(" ")})`;
  }

  function later() {
    ended = false;
    began = performance.now();
    clearTimeout(waiting);
    if (running) running.abort();
    running = null;
    for (const button of buttons.values()) button.classList.add("coarse");
    get("map-binds").textContent = "";
    waiting = setTimeout(fill, QUIET);
  }

  async function fill() {
    const own = new AbortController(), scene = Desk.scene;
    running = own;
    cells = new Map();
    try {
      for (let part = 0, parts = 1; part < parts; part++) {
        const [status, found] = await Desk.ask("map", { scene, part }, own.signal);
        if (own.signal.aborted || status !== 200) return;
        parts = found.parts;
        for (const cell of found.cells) cells.set(`${cell.i} ${cell.j}`, cell);
        show(found, part + 1 < parts);
      }
      took = performance.now() - began;
      ended = true;
    } catch (error) { /* ended by the next change, or the bench is closed */ }
  }

  function build(found) {
    const named = JSON.stringify([found.pressures, found.speeds]);
    if (axes && axes.named === named) return;
    axes = { named, pressures: found.pressures, speeds: found.speeds };
    buttons = new Map();
    get("map").tHead.innerHTML = `<tr><td><span class="vh">oil pressure</span><span aria-hidden="true">bar</span></td>${found.speeds.map((v) => `<th scope="col">${plain(v)}<span class="vh"> km/h</span></th>`).join("")}</tr>`;
    get("map").tFoot.innerHTML = `<tr><td></td><td colspan="${found.speeds.length}">speed, km/h</td></tr>`;
    const body = get("map").tBodies[0];
    body.innerHTML = "";
    for (let i = found.pressures.length - 1; i >= 0; i--) {
      const row = body.insertRow();
      row.innerHTML = `<th scope="row">${plain(found.pressures[i])}<span class="vh"> bar</span></th>`;
      for (let j = 0; j < found.speeds.length; j++) {
        const button = document.createElement("button");
        button.type = "button";
        button.addEventListener("click", () => choose(i, j));
        button.addEventListener("keydown", (event) => arrows(event, i, j));
        row.insertCell().append(button);
        buttons.set(`${i} ${j}`, button);
      }
    }
  }

  function show(found, more) {
    build(found);
    get("map-words").textContent = `${found.on_feature ? "Largest depth error, mm" : "Share of the way on depth, %"}, on the ground in view alone; depth set again in every field. Hatched: fails a limit, the word says which.${more ? " Being filled…" : ""}`;
    const met = new Set();
    for (const [at, button] of buttons) {
      const cell = cells.get(at), [i, j] = at.split(" ").map(Number);
      const near = cell || nearest(i, j);
      button.style.backgroundColor = near ? colour(near.bright) : "#fff";
      button.classList.toggle("no", Boolean(near) && !near.ok);
      button.classList.toggle("coarse", !cell);
      const ink = near && near.bright < 0.55 ? "#fff" : "#000", under = near && !near.ok ? `background:${colour(near.bright)}` : "";
      button.innerHTML = cell ? `<span style="color:${ink};${under}">${cell.text}</span><small style="color:${ink}"><span style="${under}">${cell.short || "\u00a0"}</span></small>` : "<span>\u00a0</span><small>\u00a0</small>";
      const what = cell ? `${cell.what || cell.binds}, ${cell.ok ? "meets every limit" : "fails"}; nearest limit: ${cell.binds}` : "being computed";
      button.setAttribute("aria-label", `${plain(axes.pressures[i])} bar, ${plain(axes.speeds[j])} km/h: ${what}`);
      if (cell && cell.short) met.add(cell.short);
    }
    get("map-key").innerHTML = [...met].map((word) => `<li><b>${escape(word)}</b>: ${escape(found.words[word] || "a limit of the file")}</li>`).join("");
    mark();
  }

  // while it is coarse a field looks like the nearest one that is known
  function nearest(i, j) {
    let best = null, least = Infinity;
    for (const cell of cells.values()) {
      const far = Math.abs(cell.i - i) + Math.abs(cell.j - j);
      if (far < least) { least = far; best = cell; }
    }
    return best;
  }

  // the field of the setting on the bench, and what binds there
  function mark() {
    if (!axes) return;
    const p = App.setting("pressure"), v = App.setting("speed");
    const by = (list, value) => list.reduce((best, one, n) => (Math.abs(one - value) < Math.abs(list[best] - value) ? n : best), 0);
    const i = by(axes.pressures, p), j = by(axes.speeds, v), on = Math.abs(axes.pressures[i] - p) < 1e-6 && Math.abs(axes.speeds[j] - v) < 1e-6;
    for (const [at, button] of buttons) {
      const now = on && at === `${i} ${j}`;
      button.classList.toggle("now", now);
      button.setAttribute("aria-pressed", String(now));
      button.tabIndex = at === `${i} ${j}` ? 0 : -1;
    }
    const cell = on ? cells.get(`${i} ${j}`) : null;
    get("map-binds").textContent = cell ? `The setting on the bench (orange frame) ${cell.ok ? "meets every limit; nearest" : "fails; first"}: ${cell.binds}.` : on ? "" : `The setting on the bench, ${plain(p)} bar and ${plain(v)} km/h, lies between fields.`;
  }

  function choose(i, j) {
    Desk.change((scene) => {
      scene.changes["settings.oil_pressure_bar"] = axes.pressures[i];
      scene.changes["settings.speed_kmh"] = axes.speeds[j];
    });
  }
  function arrows(event, i, j) {
    const by = { ArrowUp: [1, 0], ArrowDown: [-1, 0], ArrowRight: [0, 1], ArrowLeft: [0, -1] }[event.key];
    if (!by) return;
    event.preventDefault();
    const to = [Math.min(Math.max(i + by[0], 0), axes.pressures.length - 1), Math.min(Math.max(j + by[1], 0), axes.speeds.length - 1)];
    choose(...to);
    buttons.get(to.join(" ")).focus();
  }
  // pressure and speed alone leave the map as it is: it holds all of them
  let ground = "";
  function changed(scene) {
    const { "settings.oil_pressure_bar": _p, "settings.speed_kmh": _v, ...rest } = scene.changes;
    const now = JSON.stringify([scene.file, rest, scene.features, scene.stones, scene.roughness]);
    if (now === ground) { mark(); return; }
    ground = now;
    later();
  }
  return { changed, mark, get took() { return took; }, get ended() { return ended; }, get cells() { return cells.size; } };
})();
