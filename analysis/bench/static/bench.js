// The bench put together: sliders, measures, playing, opening, saving.
const App = (() => {
  const DATA = JSON.parse(document.getElementById("data").textContent);
  const { number, signed, together, escape } = Ride;
  const get = (id) => document.getElementById(id);
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");
  const SLIDERS = [
    ["pressure", "settings.oil_pressure_bar", "Oil pressure", "bar", 10, 100, 1], ["speed", "settings.speed_kmh", "Speed", "km/h", 3, 20, 0.5],
    ["depth", "settings.set_depth_mm", "Set depth", "mm", 15, 80, 1], ["precharge", "settings.precharge_bar", "Precharge", "bar", 5, 80, 1],
  ];
  const state = { k: 0, timer: 0, now: null, ride: null, before: null, beforeRide: null, why: 0, told: 0, first: true };
  const plain = (v) => number(v, 2).replace(/\.?0+$/, "");

  // what stands on the bench: the scene's own value, else the file's as the last crossing told it
  function setting(name) {
    const key = SLIDERS.find(([one]) => one === name)[1];
    return Desk.scene.changes[key] ?? (state.now ? state.now.setting[name] : 0);
  }

  // --- sliders -----------------------------------------------------------------------------------------------------

  function makeSliders() {
    get("sliders").innerHTML = SLIDERS.map(([name, , words, , low, high, step]) => `<div class="slider"><label for="${name}">${words}</label><input id="${name}" type="range" min="${low}" max="${high}" step="${step}"><output id="${name}-out" for="${name}"></output></div>`).join("");
    for (const [name, key] of SLIDERS) {
      let dragging = false;
      get(name).addEventListener("input", (event) => { const value = Number(event.target.value); Desk.change((scene) => { scene.changes[key] = value; }, !dragging); dragging = true; });
      get(name).addEventListener("change", () => { dragging = false; });
    }
    get("redone").addEventListener("change", (event) => { const value = event.target.checked ? "redone" : "unchanged"; Desk.change((scene) => { scene.changes["settings.setting"] = value; }); });
  }

  function showSliders() {
    for (const [name, , , unit, low, high] of SLIDERS) {
      const value = setting(name), input = get(name);
      input.min = Math.min(low, value);
      input.max = Math.max(high, value);
      input.value = value;
      get(`${name}-out`).textContent = `${plain(value)}\u00a0${unit}`;
      input.setAttribute("aria-valuetext", `${plain(value)} ${unit}`);
    }
    if (!state.now) return;
    const s = state.now.setting, made = (Desk.scene.changes["settings.setting"] ?? s.setting) === "redone";
    get("redone").checked = made;
    get("redone-words").textContent = made ? "" : together(`Left as it was set at ${plain(s.reference_pressure)} bar and ${plain(s.reference_speed)} km/h.`);
  }

  // --- what came of it ---------------------------------------------------------------------------------------------

  function show(found, scene) {
    const place = state.ride ? state.ride.at(state.k) : null;
    state.now = found;
    state.ride = Ride.of(found, () => 0);
    document.body.classList.remove("stale");
    get("said").hidden = true;
    get("title").textContent = found.title;
    document.title = `${found.title}: the bench`;
    get("place").max = state.ride.n - 1;
    state.k = place === null || state.first ? state.ride.worst() : state.ride.nearest(place);
    state.first = false;
    drawAll();
    verdict();
    measures();
    showSliders();
    Things.rough(found);
    Fields.changed(scene);
  }

  // while something is dragged, traces out of sight wait for its end
  const inSight = new Set(["chart-load", "chart-pin"]);
  const shownNow = (id) => !Strip.dragging || inSight.has(id) || !Traces.drawn[id];
  const watch = new IntersectionObserver((seen) => { for (const one of seen) { if (one.isIntersecting) inSight.add(one.target.id); else inSight.delete(one.target.id); } });

  function drawAll() {
    const { ride, now, beforeRide } = state;
    Strip.draw(ride);
    Traces.error("chart-error", ride, 200, 0, ride.n - 1, "Depth error and its parts", beforeRide);
    if (shownNow("chart-load")) Traces.load("chart-load", ride, 110, [["gauge_load", "#0072B2", false]], "Load on the gauge wheel", now.set_load / 1e3, "gauge_load", beforeRide);
    if (shownNow("chart-pin")) Traces.load("chart-pin", ride, 110, [["rock_force", "#000", true], ["pin_worst", "#a3447c", false]], "Load on the most loaded pin", 0, "", beforeRide);
    drawPlace();
  }

  // markup put into an element, where it is another than there is: to put the same in again costs as much
  const written = new Map();
  function put(id, markup) {
    if (written.get(id) === markup) return;
    written.set(id, markup);
    get(id).innerHTML = markup;
  }

  function verdict() {
    const d = state.now, s = d.setting;
    const said = d.ok ? "<b>meets every limit</b>" : `<b class="no">fails</b>: ${escape(d.fails[0] || "")}${d.fails.length > 1 ? ` and ${d.fails.length - 1} more` : ""}`;
    put("verdict", together(`${plain(s.pressure)} bar (${s.downforce} kgf a row) at ${plain(s.speed)} km/h ${said}${d.ok && d.nearest ? `; nearest: ${escape(d.nearest)}` : ""}. On this ground alone: for a paddock, rowbench window tries several.`));
    put("warnings", d.warnings.map((text) => `<li>${escape(text[0].toUpperCase() + text.slice(1))}.</li>`).join(""));
  }

  function measures() {
    const old = state.before ? new Map(state.before.measures.map((one) => [one.name, one])) : null;
    const told = (one) => `${number(one.value, one.decimals)}\u00a0${one.unit}`;
    get("measures").tBodies[0].innerHTML = state.now.measures.map((one) => {
      const was = old && old.get(one.name);
      let change = "–";
      if (was) {
        const by = one.value - was.value, worth = Math.abs(by) >= one.worth;
        const way = !one.better || !worth ? "" : by * one.better > 0 ? " better" : " worse";
        change = Math.abs(by) < 0.5 * 10 ** -one.decimals ? "same" : `${signed(by, one.decimals)}${way}`;
      }
      return `<tr><th scope="row">${escape(one.words)}</th><td>${told(one)}</td><td class="b">${was ? told(was) : "–"}</td><td class="b">${change}</td></tr>`;
    }).join("");
    const b = Desk.before, s = state.before && state.before.setting;
    get("before-words").textContent = !b ? "" : s ? together(`; before: ${plain(s.pressure)} bar, ${plain(s.speed)} km/h, ${plain(s.depth)} mm, precharge ${plain(s.precharge)} bar, on the same ground`) : "; “before” could not be crossed on this ground";
    document.querySelector("main").classList.toggle("with-before", Boolean(b));
    for (const id of ["swap", "forget"]) get(id).hidden = !b;
  }

  // --- one place ---------------------------------------------------------------------------------------------------

  function drawPlace() {
    const { ride, now, k } = state;
    if (!ride) return;
    Unit.draw(get("unit"), ride, now.crank, k, window.innerWidth > 800 ? 0.9 : 0.1);
    Traces.partsAt(ride, k);
    Traces.mark(ride.at(k));
    Strip.mark(ride.at(k));
    Traces.follow(get("traces"), "chart-error", ride.at(k));
    get("place").value = Math.round(k);
    get("place-out").textContent = `${number(ride.at(k), 1)} m`;
    const load = ride.value("gauge_load", k), wheel = load > 0 ? `gauge wheel ${number(Math.round(load / 10) * 10, 0)} N` : "gauge wheel off the ground";
    const words = `At ${number(ride.at(k), 1)} m, to scale: ${ride.out(k) ? Ride.off(ride, k) : `slot ${number(ride.depth(k), 0)} mm deep, ${Ride.off(ride, k)}${Ride.off(ride, k) === "as set" ? "" : Ride.mostly(ride, k)}`}; ${wheel}; oil ${number(ride.value("oil_pressure", k), 0)} bar.`;
    get("place-words").textContent = together(words);
    get("place").setAttribute("aria-valuetext", words);
    if (!state.timer) askWhy();
  }

  // the whole explanation of the place once it rests
  function askWhy() {
    clearTimeout(state.why);
    state.why = setTimeout(async () => {
      const at = state.ride.at(state.k), scene = Desk.scene;
      try {
        const [status, found] = await Desk.ask("place", { scene, at });
        if (status === 200 && scene === Desk.scene && Math.abs(at - state.ride.at(state.k)) < 1e-6) get("why").textContent = together(found.sentence);
      } catch (error) { /* told by the desk */ }
    }, 180);
  }

  function move(k) {
    state.k = Math.min(Math.max(k, 0), state.ride.n - 1);
    drawPlace();
  }
  function stop() {
    cancelAnimationFrame(state.timer);
    state.timer = 0;
    get("play").setAttribute("aria-pressed", "false");
    get("play").textContent = "Play";
  }
  function play() {
    if (state.timer) { stop(); askWhy(); return; }
    if (calm.matches) { move(state.k + 0.5 / state.ride.step >= state.ride.n - 1 ? 0 : Math.round(state.k + 0.5 / state.ride.step)); return; }
    get("play").setAttribute("aria-pressed", "true");
    get("play").textContent = "Stop";
    if (state.k >= state.ride.n - 1) state.k = 0;
    let last = performance.now();
    const frame = (now) => {
      state.k += (now - last) / 1e3 * state.now.setting.speed / 3.6 / Number(get("pace").value) / state.ride.step;
      last = now;
      if (state.k >= state.ride.n - 1) { stop(); move(state.ride.n - 1); return; }
      drawPlace();
      state.timer = requestAnimationFrame(frame);
    };
    state.timer = requestAnimationFrame(frame);
  }

  // --- what is told ------------------------------------------------------------------------------------------------

  function fault(faults) {
    document.body.classList.add("stale");
    get("said").hidden = false;
    get("said").textContent = `Not crossed, the picture is the one before: ${faults.join(" · ")}`;
  }
  const hear = (text) => { get("heard").textContent = text; };

  function lost(how) {
    stop();
    document.body.classList.add("stale");
    get("said").hidden = false;
    get("said").textContent = how === "other" ? "Another bench answers here now. Open the address that it printed: what is on this page can be taken up there." : "The bench does not answer: it was closed, or its terminal was. Start it there again (rowbench bench) and open the address that it prints; what is on this page can be taken up there.";
    if (Desk.gone) return;
    Desk.gone = true;
    const again = setInterval(async () => {
      try {
        const [status] = await Desk.ask("files", {});
        if (status !== 200) return;
        clearInterval(again);
        Desk.change(() => {});
        Desk.pump();
      } catch (error) { /* still gone */ }
    }, 2000);
  }

  // --- opening, saving, closing ------------------------------------------------------------------------------------

  const shown = (dialog) => new Promise((settle) => {
    dialog.returnValue = "no";
    dialog.addEventListener("close", () => settle(dialog.returnValue === "yes"), { once: true });
    dialog.showModal();
  });

  async function open() {
    const [, found] = await Desk.ask("files", {});
    const option = (name, words) => `<option value="${escape(name)}">${escape(words)}</option>`;
    get("which").innerHTML = `<optgroup label="this folder">${found.own.map((name) => option(name, name)).join("") || "<option disabled>no .toml file</option>"}</optgroup><optgroup label="library">${found.library.map((one) => option(one.name, `${one.name}: ${one.title}`)).join("")}</optgroup>`;
    if (await shown(get("opener")) && get("which").value) await take(get("which").value);
  }

  async function take(name) {
    const [status, found] = await Desk.ask("open", { file: name });
    if (status !== 200) { fault(found.faults); return; }
    state.first = true;
    Desk.replace(found.scene);
    hear(found.told.length ? `${name}: ${found.told.join("; ")}.` : `${name} lies on the bench.`);
    Keys.load();
  }

  async function save() {
    get("title-in").value = state.now ? state.now.title : "";
    get("name").value = get("name").value || `${Desk.scene.file.replace(/^.*[\\/]/, "").replace(/\.toml$/, "")}-bench`;
    if (!await shown(get("saver"))) return;
    const title = get("title-in").value.trim();
    if (title && state.now && title !== state.now.title) Desk.change((scene) => { scene.changes.title = title; });
    await write({ scene: Desk.scene, name: get("name").value, page: get("with-page").checked, over: false });
  }

  async function write(question) {
    hear(question.page ? "The report is being made…" : "");
    const [status, found] = await Desk.ask("save", question);
    if (status === 409) {
      get("asker-words").textContent = `There is ${found.exists.join(" and ")} already. Replace what is there?`;
      if (await shown(get("asker"))) await write({ ...question, over: true });
      else hear("Nothing was written.");
    } else if (status === 200) {
      hear(`Saved ${found.written.join(" and ")} in ${found.folder}. The same on the command line: rowbench run ${/\s/.test(found.written[0]) ? `"${found.written[0]}"` : found.written[0]}`);
    } else hear(`Nothing was written: ${found.faults.join(" · ")}`);
  }

  async function close() {
    await Desk.ask("close", {});
    stop();
    get("said").hidden = false;
    get("said").textContent = "The bench is closed. This page can be closed too.";
    document.body.classList.add("stale");
    for (const control of document.querySelectorAll("button, input, select")) control.disabled = true;
  }

  // what hangs on the scene alone and not on its crossing: once a picture at most
  function tellScene() {
    state.told = 0;
    get("undo").disabled = !Desk.canUndo;
    showSliders();
    Things.draw(Desk.scene);
    Keys.changed(Desk.scene);
  }

  // --- beginning ---------------------------------------------------------------------------------------------------

  async function begin() {
    makeSliders();
    Traces.legend(get("parts"));
    for (const id of inSight) watch.observe(get(id));
    Unit.slotLegend(get("slot-key"));
    Strip.begin(DATA.kinds, (x) => { stop(); move(state.ride.nearest(x)); }, () => Things.draw(Desk.scene), () => { tellScene(); drawAll(); });
    Things.begin(DATA.kinds, () => (state.ride ? state.ride.at(state.k) : 20));
    Keys.begin();
    Desk.listen("scene", (scene) => {
      if (state.ride && !Strip.dragging) Strip.place(scene);  // dragged, a handle keeps on the ground that is drawn
      if (!state.told && !Strip.dragging) state.told = requestAnimationFrame(tellScene);
    });
    Desk.listen("crossing", show);
    Desk.listen("before", (found) => {
      state.before = found;
      state.beforeRide = found ? Ride.of(found, () => 0) : null;
      if (state.beforeRide && state.beforeRide.n !== state.ride.n) state.beforeRide = null;
      if (state.ride) drawAll();
      measures();
    });
    Desk.listen("fault", fault);
    Desk.listen("gone", lost);
    const on = (id, how) => get(id).addEventListener("click", how);
    on("undo", Desk.undo); on("open", open); on("save", save); on("close", close); on("play", play);
    on("back", () => { stop(); move(Math.round(state.k) - Math.round(0.5 / state.ride.step)); });
    on("on", () => { stop(); move(Math.round(state.k) + Math.round(0.5 / state.ride.step)); });
    on("worst", () => { stop(); move(state.ride.worst()); });
    on("keep", Desk.keepBefore); on("swap", Desk.backToBefore); on("forget", Desk.forget);
    get("place").addEventListener("input", (event) => { stop(); move(Number(event.target.value)); });
    for (const id of ["chart-error", "chart-load", "chart-pin"]) get(id).addEventListener("click", (event) => { if (state.ride) { stop(); move(state.ride.nearest(Traces.under(id, event))); } });
    document.addEventListener("keydown", (event) => {
      if ((event.ctrlKey || event.metaKey) && event.key === "z" && !/^(text|search|number)$/.test(event.target.type || "")) { event.preventDefault(); Desk.undo(); }
    });
    let width = window.innerWidth;
    window.addEventListener("resize", () => { if (window.innerWidth !== width && state.ride) { width = window.innerWidth; drawAll(); } });
    window.addEventListener("beforeprint", () => { Charts.paper.width = 680; if (state.ride) drawAll(); });
    window.addEventListener("afterprint", () => { Charts.paper.width = 0; if (state.ride) drawAll(); });
    const own = Desk.kept(sessionStorage);
    if (own) { await Desk.takeUp(own); hear("As this page was before it was loaded again."); Keys.load(); return; }
    const last = Desk.kept(localStorage);  // what lies on the bench now is kept in its place at once
    await take(DATA.file);
    offer(last);
  }

  // what another page left on a bench of this address
  function offer(last) {
    if (!last || !last.scene || JSON.stringify(last.scene) === JSON.stringify(Desk.scene)) return;
    const button = document.createElement("button");
    button.type = "button";
    button.textContent = `Take up what was on the bench ${new Date(last.at).toLocaleString()}`;
    button.addEventListener("click", async () => { button.remove(); state.first = true; Desk.replace(last.scene); Keys.load(); });
    get("undo").before(button);
  }

  return { begin, setting, state, move, plain };
})();
window.rowbench = { desk: Desk, app: App, fields: Fields, strip: Strip };
App.begin();
