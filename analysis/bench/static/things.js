// Things on the ground as a list with every number of each; what can be added; roughness.
const Things = (() => {
  const { number, escape } = Ride;
  const get = (id) => document.getElementById(id);
  const FIRST = ["hump", "hollow", "rut", "stone", "drop", "bank"];  // with a button of their own
  const SIZES = { hump: { height_mm: 150, length_m: 3 }, hollow: { depth_mm: 150, length_m: 3 }, rut: { depth_mm: 80, width_m: 0.6 }, stone: { length_m: 0.3, top_mm: 30 }, drop: { depth_mm: 150, length_m: 2 }, bank: { height_mm: 250, base_m: 5 } };
  const NOTE = 4;  // places after the point at most
  let kinds = {}, where = () => 20, shown = "", listed = "";
  const label = (name) => name.replace(/_(mm|m|deg|per_100m|per_ha)$/, "").replaceAll("_", " ");

  function add(kind) {
    const at = Number(where().toFixed(1)), made = kind === "stone" ? {} : { kind };
    for (const key of kinds[kind].keys) {
      if (key.name === "at_m") made.at_m = at;
      else if (key.name === "start_m" && key.needed) made.start_m = at;
      else if (key.name === "end_m" && key.needed) made.end_m = at + 5;
      else if (key.needed) made[key.name] = (SIZES[kind] || {})[key.name] ?? key.example;
    }
    const list = kind === "stone" ? "stones" : "features";
    Desk.change((scene) => { scene[list].push(made); });
    Strip.choose({ list, index: Desk.scene[list].length - 1 });
  }

  function adders() {
    const others = Object.keys(kinds).filter((kind) => !FIRST.includes(kind));
    get("adders").innerHTML = `<span>Add:</span> ${FIRST.map((kind) => `<button type="button" data-kind="${kind}">${kind}</button>`).join("")}<label class="vh" for="others">another thing</label><select id="others"><option value="">another thing…</option>${others.map((kind) => `<option value="${kind}">${kind.replaceAll("_", " ")}</option>`).join("")}</select>`;
    for (const button of get("adders").querySelectorAll("button")) button.addEventListener("click", () => add(button.dataset.kind));
    get("others").addEventListener("change", (event) => { if (event.target.value) add(event.target.value); event.target.value = ""; });
  }

  function field(thing, key, n) {
    const value = thing.held[key.name], id = `thing-${n}-${key.name}`, range = `${key.low} to ${key.high}`;
    return `<label for="${id}" title="${escape(key.doc)}; ${range}">${escape(label(key.name))}${key.unit ? `, ${escape(key.unit)}` : ""}<input id="${id}" type="number" step="any" inputmode="decimal" data-key="${key.name}" value="${value ?? ""}" placeholder="${key.default ?? (key.needed ? "" : "none")}"></label>`;
  }

  // the fields; values alone are put in where the same things lie there, so that a field being typed in stays
  function draw(scene) {
    const found = Strip.things(scene), named = JSON.stringify(found.map((one) => [one.list, one.index, one.kind]));
    if (named !== shown) {
      shown = named;
      get("things").innerHTML = found.map((thing, n) => `<fieldset data-n="${n}"><legend>${escape(thing.kind.replaceAll("_", " "))}</legend>${(kinds[thing.kind] || { keys: [] }).keys.map((key) => field(thing, key, n)).join("")}<button type="button" aria-label="take away: ${escape(Strip.words(thing))}">Take away</button></fieldset>`).join("") || '<p class="small">Nothing is laid on this ground by hand.</p>';
      for (const box of get("things").querySelectorAll("fieldset")) {
        const thing = () => Strip.things(Desk.scene)[Number(box.dataset.n)];
        box.querySelector("button").addEventListener("click", () => Strip.remove(thing()));
        box.addEventListener("focusin", () => { const one = thing(); if (one) Strip.choose(one); });
        for (const input of box.querySelectorAll("input")) input.addEventListener("change", () => typed(thing(), input));
      }
    }
    for (const box of get("things").querySelectorAll("fieldset")) {
      const thing = found[Number(box.dataset.n)], now = Strip.chosen;
      box.classList.toggle("chosen", Boolean(now) && now.list === thing.list && now.index === thing.index);
      for (const input of box.querySelectorAll("input")) if (document.activeElement !== input) input.value = thing.held[input.dataset.key] ?? "";
    }
  }

  function typed(thing, input) {
    const name = input.dataset.key, key = Strip.key(thing.kind, name);
    if (input.value.trim() === "") {
      if (key.needed) { input.value = thing.held[name]; return; }
      Desk.change((scene) => { delete scene[thing.list][thing.index][name]; });
      return;
    }
    const value = Number(input.value);
    if (!Number.isFinite(value)) return;
    Desk.change((scene) => { scene[thing.list][thing.index][name] = Number(value.toFixed(NOTE)); });
  }

  const CLASSES = [["none", "flat between them"], ["A", "class A, a floor"], ["B", "class B, smooth"], ["C", "class C, even field"], ["D", "class D, rough field"], ["E", "class E, very rough"], ["F", "class F"], ["G", "class G"], ["H", "class H"]];

  function rough(crossing) {
    const list = get("rough"), scene = Desk.scene, own = scene.roughness, told = crossing.setting;
    const now = JSON.stringify([own, told.measured, told.roughness]);
    if (now !== listed) roughList(list, own, told);
    listed = now;
    if (document.activeElement !== get("seed")) get("seed").value = told.seed;
    if (document.activeElement !== get("length")) get("length").value = number(crossing.to_m - crossing.from_m, 1).replace(/\.0$/, "");
    get("seed-box").hidden = told.measured;
  }

  function roughList(list, own, told) {
    const asFile = told.measured ? "as measured" : "as in the file";
    list.innerHTML = `<option value="">${asFile}${own === null && told.roughness ? `: ${escape(told.roughness)}` : ""}</option>${told.measured ? "" : CLASSES.map(([value, words]) => `<option value="${value}">${words}</option>`).join("")}`;
    list.value = own ?? "";
  }

  function begin(known, place) {
    kinds = known;
    where = place;
    adders();
    get("rough").addEventListener("change", (event) => { const value = event.target.value; Desk.change((scene) => { scene.roughness = value || null; }); });
    get("seed").addEventListener("change", (event) => { const value = Math.round(Number(event.target.value)); if (event.target.value !== "" && value >= 0) Desk.change((scene) => { scene.changes["ground.seed"] = value; }); });
    get("length").addEventListener("change", (event) => { const value = Number(event.target.value); if (value >= 5 && value <= 120) Desk.change((scene) => { scene.changes["ground.length_m"] = value; }); });
  }
  return { begin, draw, rough };
})();
