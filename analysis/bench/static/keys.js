// Any number of the file found by a word of its name or meaning, and what was changed so far.
const Keys = (() => {
  const MOST = 12;
  const { escape } = Ride;
  const get = (id) => document.getElementById(id);
  const OWN = ["settings.oil_pressure_bar", "settings.speed_kmh", "settings.set_depth_mm", "settings.precharge_bar", "ground.seed", "ground.length_m", "title", "settings.setting"];
  let keys = [], asked = 0, shown = "", listed = "";
  const short = (v) => String(Number(Number(v).toPrecision(8)));

  async function load() {
    const own = ++asked;
    const [status, found] = await Desk.ask("keys", { scene: Desk.scene });
    if (own !== asked || status !== 200) return;
    keys = found.keys;
    search();
  }

  function search() {
    const words = get("find").value.toLowerCase().split(/\s+/).filter(Boolean);
    const hits = words.length ? keys.filter((key) => words.every((word) => `${key.name} ${key.doc}`.toLowerCase().includes(word))) : [];
    get("found-more").textContent = words.length === 0 ? `${keys.length} values can be moved.` : hits.length === 0 ? "No value has that in its name or meaning." : hits.length > MOST ? `The first ${MOST} of ${hits.length}; one more word shows fewer.` : "";
    const list = hits.slice(0, MOST), named = JSON.stringify(list.map((key) => key.name));
    if (named === shown) { values(list); return; }
    shown = named;
    get("found").innerHTML = list.map((key, n) => `<li><span><code>${escape(key.name)}</code> ${escape(key.doc)}</span><span class="row"><input type="range" data-n="${n}" aria-label="${escape(key.name)}"><input type="number" step="any" data-n="${n}" aria-label="${escape(key.name)}, ${escape(key.unit)}"><span>${escape(key.unit)}</span><span class="small">${short(key.low)} to ${short(key.high)}${key.moves.length ? `; moves ${escape(key.moves.join(" and "))}` : ""}${key.together ? `; as a rule moved with others: ${escape(key.together)}` : ""}</span></span></li>`).join("");
    for (const input of get("found").querySelectorAll("input")) input.addEventListener(input.type === "range" ? "input" : "change", () => typed(list[Number(input.dataset.n)], input));
    values(list);
  }

  // a slider from half to twice the value, within what is allowed
  function values(list) {
    for (const input of get("found").querySelectorAll("input")) {
      const key = list[Number(input.dataset.n)], value = Desk.scene.changes[key.name] ?? key.value;
      if (input.type === "range" && !input.dataset.set) {
        const far = Math.max(Math.abs(key.value), (key.high - key.low) / 1000);
        input.min = Math.max(key.low, key.value - far);
        input.max = Math.min(key.high, key.value + far);
        input.step = key.whole ? 1 : (input.max - input.min) / 200;
        input.dataset.set = "1";
      }
      if (document.activeElement !== input || input.type === "range") input.value = short(value);
    }
  }

  function typed(key, input) {
    const value = key.whole ? Math.round(Number(input.value)) : Number(Number(input.value).toPrecision(6));
    if (input.value === "" || !Number.isFinite(value)) return;
    Desk.change((scene) => { scene.changes[key.name] = value; });
  }

  function changed(scene) {
    const others = Object.entries(scene.changes).filter(([name]) => !OWN.includes(name)), named = JSON.stringify(others);
    if (named === listed) return;
    listed = named;
    get("changed").innerHTML = others.length ? `<h3>Changed from the file</h3><ul>${others.map(([name, value], n) => `<li><span class="row"><code>${escape(name)}</code> = ${escape(value)} <button type="button" data-n="${n}">As in the file</button></span></li>`).join("")}</ul>` : "";
    for (const button of get("changed").querySelectorAll("button")) button.addEventListener("click", () => { Desk.change((s) => { delete s.changes[others[Number(button.dataset.n)][0]]; }); load(); });
    if (shown !== "") search();
  }
  function begin() { get("find").addEventListener("input", search); }
  return { begin, load, changed };
})();
