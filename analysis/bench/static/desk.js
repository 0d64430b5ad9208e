// What lies on the bench (the scene), asked about one question after the other: only the newest state is ever asked for.
const Desk = (() => {
  const BACK = 60, KEPT = "rowbench";
  const listeners = { crossing: [], fault: [], scene: [], gone: [], before: [] };
  let scene = null, before = null, wanted = null, beforeWanted = false, busy = false, changedAt = 0, gone = false, keeping = 0;
  const past = [], times = [];
  const copy = (thing) => JSON.parse(JSON.stringify(thing));
  const tell = (what, ...values) => { for (const one of listeners[what]) one(...values); };

  async function ask(word, question, signal) {
    let answer;
    try {
      answer = await fetch(word, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(question), signal });
    } catch (error) {
      if (error.name !== "AbortError") tell("gone", "closed");
      throw error;
    }
    if (answer.status === 403) { tell("gone", "other"); throw new Error("refused"); }
    gone = false;
    return [answer.status, await answer.json()];
  }

  // note: whether Undo comes back to the state before this change; dragging notes only its beginning
  function change(update, note = true) {
    const was = JSON.stringify(scene);
    const made = copy(scene);
    update(made);
    if (JSON.stringify(made) === was) return;
    if (note) remember(was);
    scene = made;
    moved();
  }
  function remember(was = JSON.stringify(scene)) {
    if (past[past.length - 1] === was) return;
    past.push(was);
    if (past.length > BACK) past.shift();
  }
  function undo() {
    if (!past.length) return;
    const file = scene.file;
    scene = JSON.parse(past.pop());
    moved();
    if (scene.file !== file) forget();
  }
  function replace(made) {
    if (scene) remember();
    scene = made;
    forget();
    moved();
  }
  function moved() {
    changedAt = performance.now();
    wanted = scene;
    tell("scene", scene);
    pump();
    clearTimeout(keeping);
    keeping = setTimeout(keep, 300);
  }

  // for this page loaded again, and for a bench that is started anew
  function keep() {
    const held = JSON.stringify({ scene, before, at: Date.now() });
    try { sessionStorage.setItem(KEPT, held); localStorage.setItem(KEPT, held); } catch (error) { /* a browser that keeps nothing */ }
  }
  function kept(store) {
    try { return JSON.parse(store.getItem(KEPT)); } catch (error) { return null; }
  }

  // the present state first, then “before” on the present ground; the next question is on its way while an answer is drawn
  async function pump() {
    if (busy) return;
    busy = true;
    try {
      let flying = null;
      while (wanted || beforeWanted || flying) {
        if (!flying && !wanted) { await former(); continue; }
        const got = await (flying || present());
        flying = wanted ? present() : null;
        take(got);
      }
    } catch (error) {
      wanted = wanted || scene;
      keep();  // whoever answers next may be asked by another page
    } finally {
      busy = false;
    }
  }
  async function present() {
    const sent = wanted, since = changedAt, begun = performance.now();
    wanted = null;
    const [status, answer] = await ask("cross", { scene: sent });
    return { sent, since, begun, status, answer, came: performance.now() };
  }
  function take({ sent, since, begun, status, answer, came }) {
    if (status !== 200) { tell("fault", answer.faults || ["the bench could not answer"]); return; }
    if (before && ground(sent) !== before.ground) beforeWanted = true;
    const drawing = performance.now();
    tell("crossing", answer, sent);
    times.push({ all: performance.now() - since, waited: begun - since, asked: came - begun, server: answer.server_ms, draw: performance.now() - drawing });
    if (times.length > 500) times.shift();
  }
  async function former() {
    beforeWanted = false;
    if (!before) return;
    const asked = on(before.scene, scene);
    const [status, answer] = await ask("cross", { scene: asked });
    if (!before) return;
    before.ground = ground(scene);
    tell("before", status === 200 ? answer : null);
  }

  const LAID = /^(ground|stones)\./;
  const ground = (one) => JSON.stringify([one.features, one.stones, one.roughness, Object.entries(one.changes).filter(([key]) => LAID.test(key)).sort()]);
  // a state of setting and unit on the ground of another
  function on(state, other) {
    const own = Object.entries(state.changes).filter(([key]) => !LAID.test(key)), theirs = Object.entries(other.changes).filter(([key]) => LAID.test(key));
    return { ...other, changes: Object.fromEntries([...own, ...theirs]) };
  }
  window.addEventListener("pagehide", () => { if (scene) keep(); });
  function keepBefore() { before = { scene: copy(scene), ground: "" }; beforeWanted = true; keep(); pump(); }
  function forget() { if (!before) return; before = null; keep(); tell("before", null); }
  function backToBefore() { if (before) { const state = before.scene; change((s) => { s.changes = on(state, s).changes; }); } }

  async function takeUp(held) {
    scene = held.scene;
    before = held.before ? { scene: held.before.scene, ground: "" } : null;
    moved();
  }
  return {
    ask, change, remember, undo, replace, keepBefore, forget, backToBefore, takeUp, kept, times, pump,
    listen: (what, how) => listeners[what].push(how),
    get scene() { return scene; }, get before() { return before; }, get canUndo() { return past.length > 0; },
    get idle() { return !busy && !wanted && !beforeWanted; },
    set gone(value) { gone = value; }, get gone() { return gone; },
  };
})();
