"use strict";
// The stroke player: one slider over the travel out and back. It owns the
// position; whoever draws it subscribes.
const Player = (() => {
  const subscribers = [];
  let u = 0, root = null, playing = 0, last = 0;
  const calm = window.matchMedia("(prefers-reduced-motion: reduce)");

  const q = (sel) => root.querySelector(sel);

  function subscribe(f) { subscribers.push(f); }

  function state() {
    const d = Finger.data;
    const at = Finger.moves ? Finger.place(u) : null;
    const back = at !== null && (at.i > d.turn || (at.i === d.turn && at.f > 0));
    return { u, at, back, s: at ? Finger.between(d.s, at) : 0 };
  }

  function set(value) {
    u = Math.min(Math.max(0, value), Finger.length);
    if (root) q(".time").value = u;
    const st = state();
    for (const f of subscribers) f(st);
  }

  function text(v, digits, unit) {
    if (v === null) return "none";
    return v.toFixed(digits).replace(/^-(?=[0.]*$)/, "").replace("-", "−") + " " + unit;
  }

  // Decimals that tell small values of a quantity apart, as many all along.
  const decimals = new Map();
  function digits(values) {
    if (!decimals.has(values)) {
      const most = values.reduce((m, v) => Math.max(m, Math.abs(v || 0)), 0);
      decimals.set(values, most >= 10 || most === 0 ? 1 : most >= 1 ? 2 : 3);
    }
    return decimals.get(values);
  }

  function draw(st) {
    if (!root) return;
    for (const g of root.querySelectorAll(".side [data-body]")) {
      const b = +g.dataset.body, p = Finger.pose(b, st.at);
      if (g.classList.contains("name")) {
        const [x, y] = g.dataset.at.split(" ").map(Number), w = Finger.carry(p, x, y);
        const line = g.querySelector("line"), dot = g.querySelector("circle");
        line.setAttribute("x2", w.x); line.setAttribute("y2", -w.y);
        dot.setAttribute("cx", w.x); dot.setAttribute("cy", -w.y);
      } else {
        g.setAttribute("transform", `translate(${p.x} ${p.y}) rotate(${p.t * 180 / Math.PI})`);
      }
    }
    drawOpening(st);
    readout(st);
  }

  function drawOpening(st) {
    const d = Finger.data, series = d.series.find((c) => c.key === "opening");
    const v = series && st.at ? Finger.between(series.v, st.at) : null;
    const line = q(".open"), label = q(".opening");
    if (v === null || d.pads.length < 2) { line.setAttribute("d", ""); label.textContent = ""; return; }
    const middle = d.pads.map((pad) => {
      const p = Finger.pose(pad.b, st.at);
      return Finger.carry(p, (pad.from[0] + pad.to[0]) / 2, (pad.from[1] + pad.to[1]) / 2);
    });
    const [a, b] = middle, x = (a.x + b.x) / 2, u = 2 * q(".side").dataset.unit;
    line.setAttribute("d", `M${x} ${a.y}L${x} ${b.y}M${x - u} ${a.y}h${2 * u}M${x - u} ${b.y}h${2 * u}`);
    label.setAttribute("x", x - u);
    label.setAttribute("y", -(a.y + b.y) / 2);
    label.textContent = text(v, 1, "mm");
  }

  function readout(st) {
    const d = Finger.data;
    q(".where").textContent = `s = ${text(st.s, 2, "mm")}, ${st.back ? "back" : "out"}`;
    q(".time").setAttribute("aria-valuetext", q(".where").textContent);
    const list = [["slide force", d.force, "N"]];
    for (const c of d.series) list.push([c.name, c.v, c.unit]);
    const body = q(".readout tbody"), rows = Math.ceil(list.length / 2);
    if (body.rows.length !== rows) {
      body.textContent = "";
      for (let i = 0; i < rows; i++) {
        const r = body.insertRow();
        for (let k = 0; k < 4; k++) r.insertCell().className = k % 2 ? "n" : "";
      }
    }
    list.forEach(([name, values, unit], i) => {
      const v = st.at ? Finger.between(values, st.at) : null;
      const r = body.rows[i % rows], k = i < rows ? 0 : 2;
      r.cells[k].textContent = name;
      r.cells[k + 1].textContent = text(v, Math.max(digits(values), unit === "mm" ? 2 : 1), unit);
    });
    let now = 0;
    for (const e of d.events) if (Finger.travelTo(e.f) <= st.u + 1e-6) now = e.n;
    for (const r of root.querySelectorAll("[data-row]")) r.classList.toggle("now", +r.dataset.row === now);
  }

  function event(step) {
    const at = Finger.data.events.map((e) => Finger.travelTo(e.f));
    const next = step > 0 ? at.find((x) => x > u + 1e-6) : at.filter((x) => x < u - 1e-6).pop();
    set(next === undefined ? (step > 0 ? Finger.length : 0) : next);
  }

  function stop() {
    if (!playing) return;
    cancelAnimationFrame(playing);
    clearTimeout(playing);
    playing = 0;
    show();
  }

  function show() {
    const b = q(".play");
    b.setAttribute("aria-pressed", playing ? "true" : "false");
    b.querySelector("span").textContent = playing ? "❙❙" : "▷";
    b.querySelector(".word").textContent = playing ? "Pause" : "Play";
  }

  // tick runs in the time that the slide takes; with reduced motion it goes from
  // event to event instead.
  function tick(now) {
    set(u + Math.min(0.1, (now - last) / 1000) * Finger.data.speed);
    last = now;
    if (u >= Finger.length) { stop(); return; }
    playing = requestAnimationFrame(tick);
  }

  function hop() {
    event(1);
    if (u >= Finger.length) { stop(); return; }
    playing = setTimeout(hop, 1500);
  }

  function toggle() {
    if (playing) { stop(); return; }
    if (u >= Finger.length) set(0);
    if (calm.matches) { playing = 1; hop(); } else { last = performance.now(); playing = requestAnimationFrame(tick); }
    show();
  }

  function flags() {
    const box = q(".flags");
    box.textContent = "";
    const apart = 17 / (box.clientWidth || 700); // two digits
    let edge = -1;
    for (const e of Finger.data.events) {
      const f = Finger.travelTo(e.f) / Finger.length, m = document.createElement("span");
      m.style.left = `calc(var(--thumb) / 2 + (100% - var(--thumb)) * ${f})`;
      if (f > edge + apart) { // leave out numbers that would run into each other
        const b = document.createElement("b");
        b.textContent = e.n;
        m.append(b);
        edge = f;
      }
      box.append(m);
    }
  }

  function layers() {
    const on = [...root.querySelectorAll(".layers input:checked")].map((c) => c.dataset.z.split(" ").map(Number));
    for (const g of root.querySelectorAll(".side [data-z]")) {
      const [a, b] = g.dataset.z.split(" ").map(Number);
      g.style.display = on.some(([lo, hi]) => a < hi - 1e-6 && b > lo + 1e-6) ? "" : "none";
    }
  }

  function view() {
    const svg = q(".side");
    svg.setAttribute("viewBox", svg.dataset[q(".views input:checked").value]);
  }

  function keys(e) {
    if (e.key === " " && !e.target.closest("button, input[type=checkbox], input[type=radio], summary, select, textarea, input[type=number]")) {
      e.preventDefault();
      toggle();
    }
  }

  // attach takes over a figure, keeping the position.
  function attach(figure) {
    if (playing) { cancelAnimationFrame(playing); clearTimeout(playing); playing = 0; }
    root = figure;
    if (!root) return;
    const time = q(".time");
    time.max = Finger.length;
    time.step = Finger.length / 800 || 1;
    time.addEventListener("input", () => { stop(); set(+time.value); });
    q(".play").addEventListener("click", toggle);
    q(".prev").addEventListener("click", () => { stop(); event(-1); });
    q(".next").addEventListener("click", () => { stop(); event(1); });
    root.addEventListener("keydown", keys);
    root.addEventListener("click", (e) => {
      const n = e.target.closest("[data-event]");
      if (!n) return;
      stop();
      set(Finger.travelTo(Finger.data.events.find((x) => x.n === +n.dataset.event).f));
    });
    for (const c of root.querySelectorAll(".layers input")) c.addEventListener("change", layers);
    for (const c of root.querySelectorAll(".views input")) c.addEventListener("change", view);
    flags();
    layers();
    set(u);
  }

  subscribe(draw);
  return { attach, subscribe, set, state, text };
})();
