"use strict";
// What the page carries: poses, curves and meshes, and how to read them between
// the frames that are kept.
const Finger = (() => {
  let data = null;
  let path = []; // travel of the slide from the start to each frame, mm

  function load(d) {
    data = d;
    path = [0];
    for (let i = 1; i < d.s.length; i++) path.push(path[i - 1] + Math.abs(d.s[i] - d.s[i - 1]));
    return d;
  }

  // place finds the frames around a travelled distance: the last one at or before
  // it, so that at a jump the state after it is shown.
  function place(u) {
    const n = data.s.length;
    let lo = 0, hi = n - 1;
    while (lo < hi) {
      const mid = (lo + hi + 1) >> 1;
      if (path[mid] <= u + 1e-9) lo = mid; else hi = mid - 1;
    }
    const next = Math.min(lo + 1, n - 1);
    const step = path[next] - path[lo];
    const f = step > 0 ? Math.min(1, Math.max(0, (u - path[lo]) / step)) : 0;
    return { i: lo, j: next, f };
  }

  function between(list, at) {
    const a = list[at.i], b = list[at.j];
    if (a === null) return null;
    if (b === null) return at.f === 0 ? a : null;
    return a + (b - a) * at.f;
  }

  function pose(body, at) {
    const b = data.bodies[body];
    if (!b.x || !at) return { x: b.rest[0], y: b.rest[1], t: b.rest[2] };
    return { x: between(b.x, at), y: between(b.y, at), t: between(b.t, at) };
  }

  function carry(p, x, y) {
    const c = Math.cos(p.t), s = Math.sin(p.t);
    return { x: p.x + c * x - s * y, y: p.y + s * x + c * y };
  }

  const bytes = (text) => Uint8Array.from(atob(text), (c) => c.charCodeAt(0));

  // mesh unpacks a mesh into points in mm and corners.
  function mesh(m) {
    const raw = new Uint16Array(bytes(m.p).buffer);
    const points = new Float32Array(raw.length);
    for (let i = 0; i < raw.length; i++) points[i] = m.o[i % 3] + m.k * raw[i];
    const f = bytes(m.f).buffer;
    return { points, corners: m.w ? new Uint32Array(f) : new Uint16Array(f) };
  }

  return {
    load, place, between, pose, carry, mesh,
    get data() { return data; },
    get moves() { return data.s.length > 1; },
    get length() { return path[path.length - 1]; },
    travelTo: (frame) => path[frame],
  };
})();
