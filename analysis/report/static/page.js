(() => {
  const D = JSON.parse(document.getElementById("data").textContent);
  const NP = D.pressures.length, NV = D.speeds.length;
  const { number, signed, together, escape } = Ride;
  const get = (id) => document.getElementById(id);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

  const state = { i: D.chosen[0], j: D.chosen[1], k: 0, timer: 0, last_ms: 0 };
  const index = () => state.j * NP + state.i;
  const cell = () => D.cells[index()];
  const ride = Ride.of(D, index), N = ride.n, STEP = ride.step;
  const { value, error, at, depth, out } = ride;

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
  function drawUnit(id) {
    if (cell().problem) get(id).innerHTML = "";
    else Unit.draw(get(id), ride, cell().crank, state.k);
  }

  function closeUp() {
    const half = Math.min(Math.round(3 / STEP), Math.floor((N - 1) / 2));
    const middle = Math.min(Math.max(Math.round(state.k), half), N - 1 - half);
    Traces.error("chart-close", ride, 190, middle - half, middle + half, "Depth error and its parts close up");
  }

  // --- one place -------------------------------------------------------------------------------------------------

  function drawPlace() {
    const k = state.k, near = Math.round(k);
    get("place").value = near;
    get("place-out").textContent = `${number(at(k), 1)} m`;
    const e = error(k), load = value("gauge_load", k), wheel = load > 0 ? `gauge wheel ${number(load, 0)} N` : "gauge wheel off the ground";
    const gone = out(k), off = Math.abs(e) < 0.05 ? "as set" : `${number(Math.abs(e), 1)} mm ${e > 0 ? "too deep" : "too shallow"}`;
    const way = gone ? Ride.off(ride, k) : off;
    get("place").setAttribute("aria-valuetext", `${number(at(k), 1)} metres: ${way}, ${wheel}`);
    get("unit-words").textContent = cell().problem ? "This setting could not be crossed." : together(`The unit at ${number(at(k), 1)} m, to scale: ${gone ? way : `slot ${number(depth(k), 1)} mm deep, ${way}`}; ${wheel}. Arrows: forces on wheels (blue), of the soil (green) and a stone (black, drawn upright) on the disc, of the toolbar on the links (purple).`);
    const readings = [["Disc below surface", `${number(depth(k), 1)} mm`], ["Depth error", `${signed(e, 1)} mm`], ["Gauge wheel", load > 0 ? `${number(load, 0)} N` : "off"], ["Most loaded pin", `${number(value("pin_worst", near) / 1e3, 1)} kN`], ["Stone on disc", `${number(value("rock_force", near) / 1e3, 1)} kN`], ["Oil pressure", `${number(value("oil_pressure", k), 1)} bar`]];
    get("readings").innerHTML = readings.map(([name, text]) => `<div><dt>${name}</dt><dd>${text}</dd></div>`).join("");
    Traces.partsAt(ride, k);
    closeUp();
    Traces.mark(at(k));
    drawUnit("unit");
    Traces.follow(get("traces"), "chart-error", at(k));
  }

  // the picture on top: the pick where its depth error is largest, whatever is tried below
  function drawWorst() {
    if (cell().problem) { get("worst-words").textContent = `This setting could not be crossed: ${cell().problem}.`; return; }
    drawUnit("worst");
    const e = error(state.k);
    const off = out(state.k) ? `the disc is out of the ground` : `the slot is ${number(Math.abs(e), 0)} mm too ${e > 0 ? "deep" : "shallow"}`;
    const within = Math.abs(e) <= D.tolerance_mm;
    get("worst-words").textContent = together(`The worst of these ${number(D.to_m - D.from_m, 0)} m, at ${number(at(state.k), 1)} m: ${off}${Ride.mostly(ride, state.k)}${within ? ", which is within the tolerance" : ""}. On these ${number(D.to_m - D.from_m, 0)} m ${cell().here_on_depth} of the way is on depth.`);
  }

  function drawAll() {
    words();
    Traces.ground("chart-ground", ride, 96);
    Traces.error("chart-error", ride, 230, 0, N - 1, "Depth error and its parts");
    Traces.load("chart-load", ride, 120, [["gauge_load", "#0072B2", false]], "Load on the gauge wheel", cell().set_load / 1e3, "gauge_load");
    Traces.load("chart-pin", ride, 130, [["rock_force", "#000", true], ["pin_worst", "#a3447c", false]], "Load on the most loaded pin", 0, "");
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
    stop();
    move(ride.nearest(Traces.under(event.currentTarget.id, event)));
  }

  makeMap();
  Traces.legend(get("parts"));
  get("place").max = N - 1;
  state.k = ride.worst();
  Unit.slotLegend(get("slot-key"));
  Unit.slotLegend(get("slot-key-2"));
  drawAll();
  drawWorst();
  stop();
  get("pressure").addEventListener("input", (event) => choose(Number(event.target.value), state.j));
  get("speed").addEventListener("input", (event) => choose(state.i, Number(event.target.value)));
  get("place").addEventListener("input", (event) => { stop(); move(Number(event.target.value)); });
  get("play").addEventListener("click", play);
  for (const id of Object.keys(Traces.drawn)) get(id).addEventListener("click", onChart);
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
  window.rowbench = { state, choose, move, value, error, unitPoints: (k) => Unit.points(ride, cell().crank, k), samples: N };
})();
