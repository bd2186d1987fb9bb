"use strict";
// Draws parts in space with WebGL 2: shaded faces and ink along sharp edges.
const Viewer = (() => {
  const gap = 9; // mm between parts at the far end of "apart"
  const vertex = `#version 300 es
  in vec3 pos; in vec3 nor; uniform mat4 view, model; uniform mat3 turn; out vec3 n;
  void main() { n = turn * mat3(model) * nor; gl_Position = view * model * vec4(pos, 1.0); }`;
  const face = `#version 300 es
  precision mediump float; in vec3 n; uniform vec3 colour; out vec4 o;
  void main() { vec3 u = normalize(n); float l = 0.58 + 0.34 * max(0.0, dot(u, vec3(-0.35, 0.56, 0.75))) + 0.12 * u.z;
    o = vec4(mix(colour * l, vec3(l), 0.18), 1.0); }`;
  const line = `#version 300 es
  in vec3 pos; uniform mat4 view, model;
  void main() { gl_Position = view * model * vec4(pos, 1.0); gl_Position.z -= 0.0012 * gl_Position.w; }`;
  const ink = `#version 300 es
  precision mediump float; uniform vec3 colour; out vec4 o; void main() { o = vec4(colour, 1.0); }`;

  let gl = null, canvas = null, figure = null, programs = null, list = [], // what is drawn
    asked = false, near = false;
  const cam = Camera.create();
  const choice = { which: -1, apart: 0 };

  function program(v, f, names) {
    const p = gl.createProgram();
    for (const [type, text] of [[gl.VERTEX_SHADER, v], [gl.FRAGMENT_SHADER, f]]) {
      const s = gl.createShader(type);
      gl.shaderSource(s, text);
      gl.compileShader(s);
      if (!gl.getShaderParameter(s, gl.COMPILE_STATUS)) throw new Error(gl.getShaderInfoLog(s));
      gl.attachShader(p, s);
    }
    gl.bindAttribLocation(p, 0, "pos");
    gl.bindAttribLocation(p, 1, "nor");
    gl.linkProgram(p);
    if (!gl.getProgramParameter(p, gl.LINK_STATUS)) throw new Error(gl.getProgramInfoLog(p));
    const u = {};
    for (const n of names) u[n] = gl.getUniformLocation(p, n);
    return { p, u };
  }

  function buffer(values) {
    const b = gl.createBuffer();
    gl.bindBuffer(gl.ARRAY_BUFFER, b);
    gl.bufferData(gl.ARRAY_BUFFER, values, gl.STATIC_DRAW);
    return b;
  }

  function vertexArray(parts) {
    const array = gl.createVertexArray();
    gl.bindVertexArray(array);
    const buffers = parts.map((values, i) => {
      const b = buffer(values);
      gl.enableVertexAttribArray(i);
      gl.vertexAttribPointer(i, 3, gl.FLOAT, false, 0, 0);
      return b;
    });
    return { array, buffers };
  }

  function load() {
    if (!gl) return;
    for (const x of list) for (const v of [x.faces, x.lines]) if (v) { // of the shapes before
      v.buffers.forEach((b) => gl.deleteBuffer(b));
      gl.deleteVertexArray(v.array);
    }
    list = Solids.build(Finger.data);
    for (const x of list) {
      x.faces = vertexArray([x.pos, x.nor]);
      x.lines = vertexArray([x.edge]);
    }
    frame();
  }

  const shown = (x) => choice.which < 0 || x.body === choice.which;
  const lift = (x) => choice.which < 0 ? choice.apart * gap * x.rank : 0;

  // frame fits the camera to what is shown, at rest.
  function frame() {
    const lo = [Infinity, Infinity, Infinity], hi = lo.map((v) => -v);
    for (const x of list.filter(shown)) {
      const p = choice.which < 0 ? Finger.pose(x.body, null) : { x: 0, y: 0, t: 0 };
      for (let i = 0; i < x.points.length; i += 3) {
        const w = Finger.carry(p, x.points[i], x.points[i + 1]);
        [w.x, w.y, x.points[i + 2] + lift(x)].forEach((v, k) => { lo[k] = Math.min(lo[k], v); hi[k] = Math.max(hi[k], v); });
      }
    }
    if (lo[0] > hi[0]) return;
    cam.centre = lo.map((v, k) => (v + hi[k]) / 2);
    cam.radius = Math.hypot(...lo.map((v, k) => hi[k] - v)) / 2;
    ask();
  }

  // ask draws with the next frame, if the drawing can be seen.
  function ask() {
    if (asked || !gl || !near) return;
    asked = true;
    requestAnimationFrame(draw);
  }

  function rgb(name) {
    const c = document.createElement("canvas").getContext("2d");
    c.fillStyle = getComputedStyle(document.documentElement).getPropertyValue(name).trim();
    return [1, 3, 5].map((i) => parseInt(c.fillStyle.slice(i, i + 2), 16) / 255);
  }

  function draw(_, paper = rgb("--paper")) {
    asked = false;
    if (!canvas.isConnected) return;
    const ratio = Math.min(2, window.devicePixelRatio || 1), w = Math.round(canvas.clientWidth * ratio), h = Math.round(canvas.clientHeight * ratio);
    if (!w || !h) return;
    if (canvas.width !== w || canvas.height !== h) { canvas.width = w; canvas.height = h; }
    const dark = paper[0] < 0.5;
    gl.viewport(0, 0, w, h);
    gl.clearColor(...paper, 1);
    gl.clear(gl.COLOR_BUFFER_BIT | gl.DEPTH_BUFFER_BIT);
    gl.enable(gl.DEPTH_TEST);
    const view = cam.matrix(w, h), r = cam.rotation(), turn = new Float32Array([r[0], r[1], r[2], r[4], r[5], r[6], r[8], r[9], r[10]]);
    const at = Player.state().at;
    for (const kind of ["faces", "lines"]) {
      const { p, u } = programs[kind];
      gl.useProgram(p);
      gl.uniformMatrix4fv(u.view, false, view);
      if (kind === "faces") gl.uniformMatrix3fv(u.turn, false, turn);
      for (const x of list) {
        if (!shown(x)) continue;
        const pose = choice.which < 0 ? Finger.pose(x.body, at) : { x: 0, y: 0, t: 0 };
        gl.uniformMatrix4fv(u.model, false, Camera.rigid(pose, lift(x)));
        gl.uniform3fv(u.colour, kind === "faces" ? x.colour : dark ? [0.06, 0.06, 0.05] : [0.11, 0.11, 0.1]);
        gl.bindVertexArray(x[kind].array);
        if (kind === "faces") gl.drawArrays(gl.TRIANGLES, 0, x.pos.length / 3);
        else gl.drawArrays(gl.LINES, 0, x.edge.length / 3);
      }
    }
  }

  function pointer() {
    let from = null;
    canvas.addEventListener("pointerdown", (e) => { from = [e.clientX, e.clientY]; canvas.setPointerCapture(e.pointerId); });
    canvas.addEventListener("pointermove", (e) => {
      if (!from) return;
      cam.rotate((e.clientX - from[0]) * 0.008, (e.clientY - from[1]) * 0.008);
      from = [e.clientX, e.clientY];
      ask();
    });
    for (const n of ["pointerup", "pointercancel"]) canvas.addEventListener(n, () => { from = null; });
    // The page scrolls until the drawing has been chosen.
    canvas.addEventListener("wheel", (e) => {
      if (document.activeElement !== canvas) return;
      e.preventDefault();
      cam.closer(Math.exp(-e.deltaY * 0.0015));
      ask();
    }, { passive: false });
  }

  const keys = {
    ArrowLeft: () => cam.rotate(-0.1, 0), ArrowRight: () => cam.rotate(0.1, 0),
    ArrowUp: () => cam.rotate(0, -0.1), ArrowDown: () => cam.rotate(0, 0.1),
    "+": () => cam.closer(1.2), "=": () => cam.closer(1.2), "-": () => cam.closer(1 / 1.2),
    e: () => apart(choice.apart > 0.5 ? 0 : 1), Home: () => { cam.home(); frame(); },
  };

  function press(e) {
    const f = keys[e.key];
    if (!f || e.ctrlKey || e.metaKey || e.altKey) return;
    e.preventDefault();
    f();
    ask();
  }

  function apart(v) {
    choice.apart = v;
    figure.querySelector(".apart").value = v;
    frame();
  }

  function start() {
    gl = canvas.getContext("webgl2", { antialias: true, preserveDrawingBuffer: true });
    if (!gl) {
      canvas.hidden = true;
      meet.disconnect();
      figure.querySelector(".nogl").hidden = false;
      return;
    }
    programs = { faces: program(vertex, face, ["view", "model", "turn", "colour"]), lines: program(line, ink, ["view", "model", "colour"]) };
    canvas.addEventListener("webglcontextlost", (e) => e.preventDefault());
    canvas.addEventListener("webglcontextrestored", () => { list = []; start(); load(); }, { once: true });
  }

  // meet starts the drawing when it comes near the window, and not before: the
  // page is to be seen first.
  const meet = new IntersectionObserver((seen) => {
    near = seen[seen.length - 1].isIntersecting;
    if (near && !gl) wake();
    ask();
  }, { rootMargin: "300px" });

  function wake() {
    start();
    if (gl) load();
  }

  function attach(root) {
    figure = root;
    if (!root) return;
    if (canvas && gl) { // drawn into before: a page may not have many contexts
      root.querySelector("canvas").replaceWith(canvas);
    } else {
      canvas = root.querySelector("canvas");
      meet.disconnect();
      meet.observe(canvas);
      pointer();
      canvas.addEventListener("keydown", press);
      new ResizeObserver(ask).observe(canvas);
    }
    const which = root.querySelector(".which");
    which.value = choice.which;
    if (which.selectedIndex < 0) { choice.which = -1; which.value = "-1"; }
    which.addEventListener("change", () => { choice.which = +which.value; frame(); });
    root.querySelector(".apart").value = choice.apart;
    root.querySelector(".apart").addEventListener("input", (e) => apart(+e.target.value));
    root.querySelector(".home").addEventListener("click", () => { cam.home(); apart(0); });
    load();
  }

  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", ask);
  // Paper gets a picture: what is drawn into a canvas is not always printed.
  addEventListener("beforeprint", () => {
    if (canvas && !gl) wake();
    if (!gl) return;
    draw(0, [1, 1, 1]);
    const still = new Image();
    still.className = "still";
    still.alt = canvas.getAttribute("aria-label");
    still.src = canvas.toDataURL();
    canvas.after(still);
    addEventListener("afterprint", () => { still.remove(); ask(); }, { once: true });
  });
  Player.subscribe(ask);
  return { attach, load, cam };
})();
