// Drawings over the distance: text in, SVG out. All lengths in pixels of the drawing's own width.
const Charts = (() => {
  const LEFT = 42, RIGHT = 6;

  const paper = { width: 0 };  // width while the page is printed, else 0: as wide as there is room

  // how wide boxes are, asked for once: to ask while others are being drawn makes the browser lay the page out each time
  let known = new Map();
  let room = 0;
  new ResizeObserver(() => { if (document.body.clientWidth !== room) { room = document.body.clientWidth; known = new Map(); } }).observe(document.documentElement);
  window.addEventListener("resize", () => { known = new Map(); });
  function once(name, find) {
    if (!known.has(name)) known.set(name, find());
    return known.get(name);
  }

  function frame(id, height) {
    const svg = document.getElementById(id);
    const width = paper.width || Math.max(280, once(id, () => Math.round(svg.parentElement.clientWidth)) || 640);
    svg.setAttribute("viewBox", `0 0 ${width} ${height}`);
    return { svg, width, height, left: LEFT, right: width - RIGHT, top: 8, bottom: height - 20 };
  }

  const round = (v) => Math.round(v * 10) / 10;

  // steps of 1, 2 or 5 × a power of ten, about `count` of them over a span
  function step(span, count) {
    const raw = span / count, power = Math.pow(10, Math.floor(Math.log10(raw)));
    return [1, 2, 5, 10].map((m) => m * power).find((s) => s >= raw * 0.999);
  }

  // scale of a chart: data → pixels; x0..x1 [m], y0..y1
  function scale(f, x0, x1, y0, y1) {
    const kx = (f.right - f.left) / (x1 - x0), ky = (f.bottom - f.top) / (y1 - y0);
    return { x: (v) => f.left + (v - x0) * kx, y: (v) => f.bottom - (Math.min(Math.max(v, y0), y1) - y0) * ky, x0, x1, y0, y1 };
  }

  const minus = (text) => text.replace("-", "−");

  function axes(f, s, rows) {
    const parts = [];
    const dx = step(s.x1 - s.x0, f.width < 480 ? 5 : 9), dy = step(s.y1 - s.y0, rows);
    for (let v = Math.ceil(s.x0 / dx - 1e-9) * dx; v <= s.x1 + 1e-9; v += dx) {
      const x = round(s.x(v)), side = x > f.right - 18 ? "end" : x < f.left + 8 ? "start" : "middle";
      parts.push(`<path d="M${x} ${f.bottom}v4" stroke="#888"/><text x="${x}" y="${f.bottom + 16}" text-anchor="${side}">${+v.toFixed(3)}${v + dx > s.x1 + 1e-9 ? " m" : ""}</text>`);
    }
    for (let v = Math.ceil(s.y0 / dy - 1e-9) * dy; v <= s.y1 + 1e-9; v += dy) {
      const y = round(s.y(v));
      parts.push(`<path d="M${f.left} ${y}H${f.right}" stroke="#e6e2d9"/><text x="${f.left - 5}" y="${y + 4}" text-anchor="end">${minus(String(+v.toFixed(3)))}</text>`);
    }
    return parts.join("");
  }

  function line(s, x, y, n) {
    const parts = new Array(n);
    for (let k = 0; k < n; k++) parts[k] = round(s.x(x(k))) + " " + round(s.y(y(k)));
    return "M" + parts.join("L");
  }

  function area(s, x, low, high, n) {
    const there = new Array(n), back = new Array(n);
    for (let k = 0; k < n; k++) {
      const at = round(s.x(x(k)));
      there[k] = at + " " + round(s.y(high(k)));
      back[n - 1 - k] = at + " " + round(s.y(low(k)));
    }
    return "M" + there.join("L") + "L" + back.join("L") + "Z";
  }

  const cursor = (f) => `<path class="cursor" d="M0 ${f.top}V${f.bottom}" stroke="#1a1a1a" stroke-width="1.2" stroke-dasharray="2 2"/>`;

  return { paper, once, frame, scale, axes, line, area, cursor, round, step };
})();
