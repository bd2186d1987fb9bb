"use strict";
// A camera that turns about a point, and the few matrices it takes. Matrices are
// 16 numbers, column by column.
const Camera = (() => {
  function multiply(a, b) {
    const m = new Float32Array(16);
    for (let c = 0; c < 4; c++) for (let r = 0; r < 4; r++) {
      let v = 0;
      for (let k = 0; k < 4; k++) v += a[4 * k + r] * b[4 * c + k];
      m[4 * c + r] = v;
    }
    return m;
  }

  // rigid is a pose in the motion plane, lifted by z.
  function rigid(p, z) {
    const c = Math.cos(p.t), s = Math.sin(p.t);
    return new Float32Array([c, s, 0, 0, -s, c, 0, 0, 0, 0, 1, 0, p.x, p.y, z, 1]);
  }

  function create() {
    const cam = { turn: 0, tilt: 0, zoom: 1, centre: [0, 0, 0], radius: 100 };

    cam.home = () => { cam.turn = -0.62; cam.tilt = 0.38; cam.zoom = 1; };

    // rotation: first about the upright y axis, then about the screen's x axis.
    cam.rotation = () => {
      const c = Math.cos(cam.turn), s = Math.sin(cam.turn), d = Math.cos(cam.tilt), e = Math.sin(cam.tilt);
      return new Float32Array([c, e * s, -d * s, 0, 0, d, e, 0, s, -e * c, d * c, 0, 0, 0, 0, 1]);
    };

    // matrix carries points in mm to the screen, in parallel projection: sizes
    // stay comparable.
    cam.matrix = (width, height) => {
      const k = cam.zoom / (cam.radius * 1.06), w = Math.min(1, height / width), h = Math.min(1, width / height);
      const scale = new Float32Array([k * w, 0, 0, 0, 0, k * h, 0, 0, 0, 0, -0.4 / cam.radius, 0, 0, 0, 0, 1]);
      const [x, y, z] = cam.centre;
      const move = new Float32Array([1, 0, 0, 0, 0, 1, 0, 0, 0, 0, 1, 0, -x, -y, -z, 1]);
      return multiply(multiply(scale, cam.rotation()), move);
    };

    cam.rotate = (dx, dy) => {
      cam.turn += dx;
      cam.tilt = Math.max(-Math.PI / 2, Math.min(Math.PI / 2, cam.tilt + dy));
    };
    cam.closer = (f) => { cam.zoom = Math.max(0.3, Math.min(30, cam.zoom * f)); };
    cam.home();
    return cam;
  }

  return { create, multiply, rigid };
})();
