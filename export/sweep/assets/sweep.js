"use strict";
// Draws the variants of a sweep. A row is [index, verdict, numbers ..., words,
// folder]; verdict is 0 pass, 1 fail, 2 error.
(() => {
  const data = JSON.parse(document.getElementById("data").textContent);
  const { columns, rows, checks } = data;
  const FIRST = 2, WORDS = FIRST + columns.length, FOLDER = WORDS + 1;
  const least = columns.length; // a column of its own: smallest margin over the wanted one
  const margins = columns.map((c, i) => [c, i]).filter(([c]) => c.wanted);
  const all = margins.length ? [...columns, { name: "smallest order margin over wanted", wanted: 1 }] : columns;
  const NS = "http://www.w3.org/2000/svg";
  const $ = (s) => document.querySelector(s);
  const label = (c) => c.name + (c.unit ? ", " + c.unit : "");
  const text = (v) => v === null || v === undefined ? "undetermined" : String(v).replace("-", "−");

  function value(row, i) {
    if (i !== least) return typeof row[FIRST + i] === "number" ? row[FIRST + i] : null;
    let s = null;
    for (const [c, k] of margins) {
      const v = row[FIRST + k];
      if (v === null) return null;
      if (typeof v === "number" && (s === null || v / c.wanted < s)) s = v / c.wanted;
    }
    return s;
  }

  function el(name, attrs, parent) {
    const e = document.createElementNS(NS, name);
    for (const k in attrs) e.setAttribute(k, attrs[k]);
    if (parent) parent.append(e);
    return e;
  }

  // ticks are round numbers within a range.
  function ticks(lo, hi, most) {
    const raw = (hi - lo) / most, p = 10 ** Math.floor(Math.log10(raw));
    const step = [1, 2, 5, 10].map((k) => k * p).find((s) => s >= raw * 0.999);
    const out = [];
    for (let i = Math.ceil(lo / step - 1e-9); i * step <= hi + 1e-9 * step; i++) out.push(+(i * step).toPrecision(10));
    return out;
  }

  function range(list) {
    let lo = Infinity, hi = -Infinity;
    for (const v of list) { lo = Math.min(lo, v); hi = Math.max(hi, v); }
    if (!(lo <= hi)) return null;
    const pad = (hi - lo || Math.abs(hi) || 1) * 0.04;
    return [lo - pad, hi + pad];
  }

  // draw makes a scatter plot; it returns the plot's points.
  function draw(parent, xi, yi, list, w, h, small) {
    parent.replaceChildren();
    const points = [];
    for (const r of list) {
      const x = value(r, xi), y = value(r, yi);
      if (x !== null && y !== null) points.push({ x, y, r });
    }
    const svg = el("svg", { viewBox: `0 0 ${w} ${h}`, role: "img", "aria-label": `${label(all[yi])} against ${label(all[xi])}, ${points.length} variants` }, parent);
    const xr = range(points.map((p) => p.x));
    let ys = points.map((p) => p.y);
    if (all[yi].wanted) ys = [...ys, all[yi].wanted];
    const yr = range(ys);
    if (!xr || !points.length) {
      el("text", { x: w / 2, y: h / 2, "text-anchor": "middle" }, svg).textContent = "no such variants";
      return { points: [], svg };
    }
    const L = small ? 44 : 70, R = 14, T = 14, B = small ? 40 : 56;
    const px = (x) => L + (x - xr[0]) / (xr[1] - xr[0]) * (w - L - R);
    const py = (y) => h - B - (y - yr[0]) / (yr[1] - yr[0]) * (h - T - B);
    for (const t of ticks(xr[0], xr[1], small || w < 500 ? 4 : 8)) {
      el("path", { class: "grid", d: `M${px(t)} ${T}V${h - B}` }, svg);
      el("text", { x: px(t), y: h - B + 18, "text-anchor": "middle" }, svg).textContent = text(t);
    }
    for (const t of ticks(yr[0], yr[1], small || w < 500 ? 4 : 8)) {
      el("path", { class: "grid", d: `M${L} ${py(t)}H${w - R}` }, svg);
      el("text", { x: L - 8, y: py(t) + 5, "text-anchor": "end" }, svg).textContent = text(t);
    }
    el("path", { class: "axis", d: `M${L} ${T}V${h - B}H${w - R}` }, svg);
    if (all[yi].wanted) el("path", { class: "wanted", d: `M${L} ${py(all[yi].wanted)}H${w - R}` }, svg);
    if (all[xi].wanted) el("path", { class: "wanted", d: `M${px(all[xi].wanted)} ${T}V${h - B}` }, svg);
    const s = small ? 2 : 3.4;
    for (const kind of [1, 0]) {
      for (const p of points) {
        if (p.r[1] !== kind) continue;
        p.px = px(p.x); p.py = py(p.y);
        if (kind === 0) el("circle", { class: "dot", cx: p.px.toFixed(1), cy: p.py.toFixed(1), r: s }, svg);
        else el("path", { class: "cross", d: `M${(p.px - s).toFixed(1)} ${(p.py - s).toFixed(1)}l${2 * s} ${2 * s}m0 ${-2 * s}l${-2 * s} ${2 * s}` }, svg);
      }
    }
    el("text", { class: "name", x: (L + w - R) / 2, y: h - 8, "text-anchor": "middle" }, svg).textContent = label(all[xi]);
    if (!small) el("text", { class: "name", x: 16, y: (T + h - B) / 2, "text-anchor": "middle", transform: `rotate(-90 16 ${(T + h - B) / 2})` }, svg).textContent = label(all[yi]);
    return { points, svg };
  }

  const xs = $(".plot .x"), ys = $(".plot .y"), why = $(".plot .why");
  const narrow = matchMedia("(max-width: 40rem)"); // as in sweep.css
  let now = { points: [], svg: null }, chosen = null;

  function shown() {
    const show = new Set([...document.querySelectorAll("[data-show]")].filter((e) => e.checked).map((e) => +e.dataset.show));
    return rows.filter((r) => r[1] < 2 && show.has(r[1]) && (!why.value || r[1] === 1 && r[WORDS].split("; ").includes(why.value)));
  }

  function redraw() {
    const [w, h] = narrow.matches ? [440, 420] : [760, 520];
    now = draw($(".large"), +xs.value, +ys.value, shown(), w, h, false);
    if (now.svg) now.svg.addEventListener("pointerdown", (e) => {
      const box = now.svg.getBoundingClientRect(), k = w / box.width;
      const x = (e.clientX - box.left) * k, y = (e.clientY - box.top) * k;
      let best = null, near = 20 * 20 * k * k;
      for (const p of now.points) {
        const d = (p.px - x) ** 2 + (p.py - y) ** 2;
        if (d < near) { near = d; best = p; }
      }
      if (best) choose(best.r);
    });
    ring();
  }

  function ring() {
    if (!now.svg) return;
    now.svg.querySelector(".chosen")?.remove();
    const p = now.points.find((p) => p.r === chosen);
    if (p) el("circle", { class: "chosen", cx: p.px, cy: p.py, r: 8 }, now.svg);
  }

  function choose(r) {
    chosen = r;
    const side = $(".variant");
    side.replaceChildren();
    const make = (tag, words, parent, cls) => {
      const e = document.createElement(tag);
      if (words) e.textContent = words;
      if (cls) e.className = cls;
      (parent || side).append(e);
      return e;
    };
    make("h3", "Variant " + r[0]);
    const state = [["pass", "✓ passes"], ["fail", "✕ fails: " + r[WORDS]], ["fail", "✕ could not be computed: " + r[WORDS]]][r[1]];
    make("p", state[1], side, "state " + state[0]).style.whiteSpace = "normal";
    if (r[FOLDER]) { const a = make("a", "Files of this variant", make("p")); a.href = r[FOLDER] + "/"; }
    const body = make("tbody", "", make("table"));
    let swept = null;
    columns.forEach((c, i) => {
      if (c.swept !== swept) {
        swept = c.swept;
        const th = make("th", swept ? "dimensions" : "measures", make("tr", "", body, "group"));
        th.colSpan = 2;
      }
      const tr = make("tr", "", body);
      make("td", label(c) + (c.wanted ? " (at least " + c.wanted + ")" : ""), tr);
      make("td", text(r[FIRST + i]), tr);
    });
    history.replaceState(null, "", "#v" + r[0]);
    ring();
  }

  all.forEach((c, i) => {
    for (const s of [xs, ys]) { const o = document.createElement("option"); o.value = i; o.textContent = label(c); s.append(o); }
  });
  for (const c of checks || []) { const o = document.createElement("option"); o.textContent = c; why.append(o); }
  xs.value = 0;
  ys.value = margins.length ? least : columns.length - 1;
  for (const e of document.querySelectorAll(".plot select, .plot input")) e.addEventListener("change", redraw);
  narrow.addEventListener("change", redraw);
  $(".plot").hidden = false;
  redraw();

  if (margins.length) {
    const box = $(".multiples");
    const drawn = rows.filter((r) => r[1] < 2);
    columns.forEach((c, i) => {
      if (!c.swept) return;
      const b = document.createElement("button");
      b.type = "button";
      b.title = "Show large";
      box.append(b);
      draw(b, i, least, drawn, 300, 220, true);
      b.addEventListener("click", () => { xs.value = i; ys.value = least; redraw(); $("#plots").scrollIntoView(); });
    });
    $(".small").hidden = false;
  }

  const find = (index) => rows.find((r) => r[0] === +index);
  document.addEventListener("click", (e) => {
    const a = e.target.closest("[data-variant]");
    if (!a) return;
    e.preventDefault();
    const r = find(a.dataset.variant);
    if (r) { choose(r); $("#plots").scrollIntoView(); }
  });
  document.addEventListener("keydown", (e) => {
    if (!chosen || /SELECT|INPUT/.test(e.target.tagName) || e.ctrlKey || e.altKey || e.metaKey) return;
    const step = { ArrowRight: 1, ArrowLeft: -1 }[e.key];
    const list = step && shown();
    if (!list || !list.length) return;
    const at = list.indexOf(chosen);
    choose(list[(at + step + list.length) % list.length]);
    e.preventDefault();
  });
  const start = /^#v(\d+)$/.exec(location.hash);
  if (start && find(start[1])) choose(find(start[1]));
})();
