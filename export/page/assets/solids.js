"use strict";
// Turns meshes into what the viewer draws: triangles with one normal each corner,
// and lines along sharp edges, as in a drawing.
const Solids = (() => {
  const sharp = Math.cos(30 * Math.PI / 180);

  function faceNormals(points, corners) {
    const out = new Float32Array(corners.length);
    for (let t = 0; t < corners.length; t += 3) {
      const [a, b, c] = [corners[t] * 3, corners[t + 1] * 3, corners[t + 2] * 3];
      const ux = points[b] - points[a], uy = points[b + 1] - points[a + 1], uz = points[b + 2] - points[a + 2];
      const vx = points[c] - points[a], vy = points[c + 1] - points[a + 1], vz = points[c + 2] - points[a + 2];
      const x = uy * vz - uz * vy, y = uz * vx - ux * vz, z = ux * vy - uy * vx, l = Math.hypot(x, y, z) || 1;
      out.set([x / l, y / l, z / l], t);
    }
    return out;
  }

  // shape makes the buffers of one closed mesh.
  function shape({ points, corners }) {
    const n = corners.length, count = points.length / 3;
    const flat = faceNormals(points, corners);
    const dot = (a, b) => flat[a] * flat[b] + flat[a + 1] * flat[b + 1] + flat[a + 2] * flat[b + 2];
    const around = Array.from({ length: count }, () => []);
    for (let i = 0; i < n; i++) around[corners[i]].push(i - i % 3);
    const pos = new Float32Array(3 * n), nor = new Float32Array(3 * n);
    for (let i = 0; i < n; i++) {
      const own = i - i % 3, v = corners[i];
      let x = 0, y = 0, z = 0;
      for (const f of around[v]) {
        if (dot(own, f) < sharp) continue;
        x += flat[f]; y += flat[f + 1]; z += flat[f + 2];
      }
      const l = Math.hypot(x, y, z) || 1;
      nor.set([x / l, y / l, z / l], 3 * i);
      pos.set([points[3 * v], points[3 * v + 1], points[3 * v + 2]], 3 * i);
    }
    return { pos, nor, edge: edges(points, corners, dot) };
  }

  function edges(points, corners, dot) {
    const first = new Map(), out = [], count = points.length / 3;
    for (let t = 0; t < corners.length; t += 3) for (let k = 0; k < 3; k++) {
      const a = corners[t + k], b = corners[t + (k + 1) % 3];
      const key = Math.min(a, b) * count + Math.max(a, b), other = first.get(key);
      if (other === undefined) { first.set(key, t); continue; }
      if (dot(t, other) < sharp) for (const v of [a, b]) out.push(points[3 * v], points[3 * v + 1], points[3 * v + 2]);
    }
    return new Float32Array(out);
  }

  // pin is a cylinder along z.
  function pin(p) {
    const sides = 28, points = [0, 0, p.z[0], 0, 0, p.z[1]], corners = [];
    for (let i = 0; i < sides; i++) {
      const a = 2 * Math.PI * i / sides, x = p.r * Math.cos(a), y = p.r * Math.sin(a);
      points.push(x, y, p.z[0], x, y, p.z[1]);
      const j = 2 + 2 * i, k = 2 + 2 * ((i + 1) % sides);
      corners.push(0, k, j, 1, j + 1, k + 1, j, k, k + 1, j, k + 1, j + 1);
    }
    for (let i = 0; i < points.length; i += 3) { points[i] += p.at[0]; points[i + 1] += p.at[1]; }
    return { points: new Float32Array(points), corners: new Uint16Array(corners) };
  }

  function colour(hex) {
    return [1, 3, 5].map((i) => parseInt(hex.slice(i, i + 2), 16) / 255);
  }

  // build lists everything in the assembly, with the height it starts at.
  function build(data) {
    const list = [];
    const add = (body, hex, mesh, isPin) => {
      let lo = Infinity, hi = -Infinity;
      for (let i = 2; i < mesh.points.length; i += 3) { lo = Math.min(lo, mesh.points[i]); hi = Math.max(hi, mesh.points[i]); }
      list.push({ body, pin: isPin, colour: colour(hex), points: mesh.points, ...shape(mesh), lo, hi });
    };
    data.bodies.forEach((b, i) => { if (b.mesh) add(i, b.colour, Finger.mesh(b.mesh), false); });
    for (const p of data.pins) if (data.bodies[p.b].mesh) add(p.b, "#a6a9ad", pin(p), true);
    const order = list.filter((x) => !x.pin).sort((a, b) => a.lo + a.hi - b.lo - b.hi || a.body - b.body);
    order.forEach((x, rank) => { x.rank = rank; });
    for (const x of list) if (x.pin) x.rank = (list.find((o) => !o.pin && o.body === x.body) || { rank: 0 }).rank;
    return list;
  }

  return { build, shape, pin };
})();
