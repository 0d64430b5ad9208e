// A crossing as it is drawn: numbers along the ground (see analysis/drawn/samples.py), and how numbers are written.
const Ride = (() => {
  const PARTS = [
    ["ground_shape", "ground shape", "#E69F00", ""],
    ["tyre_and_sinkage", "tyre and sinkage", "#0072B2", '<circle cx="3" cy="3" r="1.2" fill="#fff"/>'],
    ["linkage", "linkage", "#009E73", '<path d="M0 0L6 6M6 0L0 6" stroke="#fff"/>'],
    ["toolbar_pitch", "toolbar pitch", "#CC79A7", '<path d="M0 3H6" stroke="#fff" stroke-width="1.4"/>'],
    ["lift_off", "wheel off: air under it, squash gone", "#D55E00", '<path d="M-1 7L7 -1" stroke="#fff" stroke-width="1.4"/>'],
  ];

  const number = (v, digits) => { const t = v.toFixed(digits); return (Number(t) === 0 ? (0).toFixed(digits) : t).replace("-", "−"); };
  const signed = (v, digits) => { const t = number(v, digits); return Number(v.toFixed(digits)) > 0 ? "+" + t : t; };
  // no line ends between a number and its unit
  const together = (text) => text.replace(/(\d) (?=%|(?:mm|m|km|km\/h|bar|kgf|kN|N|ha|metres)(?![\w/]))/g, "$1\u00a0");
  const escape = (text) => String(text).replace(/[&<>"]/g, (c) => `&#${c.charCodeAt(0)};`);

  function unpack(text) {
    const raw = atob(text), view = new DataView(new ArrayBuffer(raw.length)), found = new Int16Array(raw.length / 2);
    for (let k = 0; k < raw.length; k++) view.setUint8(k, raw.charCodeAt(k));
    for (let k = 0; k < found.length; k++) found[k] = view.getInt16(2 * k, true);
    return found;
  }

  // data: samples, ground, unit, from_m, to_m, tolerance_mm, set_depth_mm; row(): which of its crossings is meant now
  function of(data, row) {
    const n = data.samples.n, step = data.samples.step_m, channels = {};
    for (const [name, c] of Object.entries(data.samples.channels)) channels[name] = { quantum: c.quantum, values: c.data ? unpack(c.data) : null };

    // value of a channel at a place between samples
    function value(name, place) {
      const c = channels[name];
      if (!c.values) return 0;
      const k = Math.min(Math.floor(place), n - 1), part = place - k, at = row() * n + k;
      const here = c.values[at];
      return c.quantum * (part > 0 && k + 1 < n ? here + part * (c.values[at + 1] - here) : here);
    }
    const error = (k) => { let sum = 0; for (const [name] of PARTS) sum += value(name, k); return sum; };
    const at = (k) => data.from_m + k * step;
    const depth = (k) => data.set_depth_mm + error(k);

    function soil(x) {
      const g = data.ground, k = Math.min(Math.max((x - g.from_m) / g.step_m, 0), g.soil.length - 1.001), m = Math.floor(k), part = k - m;
      return (g.soil[m] + part * (g.soil[m + 1] - g.soil[m])) * 1e-4;
    }
    function surface(x) {
      const g = data.ground, k = Math.min(Math.max(Math.round((x - g.from_m) / g.step_m), 0), g.soil.length - 1);
      return Math.max(soil(x), (g.soil[k] + g.stone[k]) * 1e-4);
    }
    function worst() {
      let found = 0;
      for (let k = 0; k < n; k++) if (Math.abs(error(k)) > Math.abs(error(found))) found = k;
      return found;
    }
    const held = (name) => Boolean(channels[name].values);
    const nearest = (x) => Math.min(Math.max(Math.round((x - data.from_m) / step), 0), n - 1);
    const out = (k) => depth(k) <= 0;  // the disc is out of the ground
    const kind = (k) => { const e = error(k); return e > data.tolerance_mm ? "deep" : e < -data.tolerance_mm ? "shallow" : "right"; };
    return { data, n, step, value, error, at, depth, soil, surface, worst, held, nearest, out, kind };
  }

  // how far the disc is from its depth, in words
  function off(ride, k) {
    if (ride.out(k)) return `disc out of the ground, ${number(-ride.depth(k), 0)} mm above it`;
    const e = ride.error(k);
    return Math.abs(e) < 0.5 ? "as set" : `${number(Math.abs(e), 0)} mm ${e > 0 ? "too deep" : "too shallow"}`;
  }

  // which part gives most of the error at a place, in words; "" where none does
  function mostly(ride, k) {
    const e = ride.error(k), parts = PARTS.map(([name, words]) => [Math.abs(ride.value(name, k)), Math.sign(ride.value(name, k)), words]);
    const [most, way, words] = parts.filter(([, sign]) => sign === Math.sign(e)).sort((a, b) => b[0] - a[0])[0] || [0, 0, ""];
    return most < 0.5 ? "" : most > 0.8 * Math.abs(e) ? `, by ${words}` : `, most of it by ${words} (${signed(way * most, 0)} mm)`;
  }
  return { PARTS, number, signed, together, escape, of, off, mostly };
})();
