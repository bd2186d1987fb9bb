"use strict";
// Moves the cursors of the charts; the curves themselves are part of the page.
const Charts = (() => {
  let charts = [];

  function attach(root) {
    charts = [...root.querySelectorAll("svg.chart")].map((svg) => {
      const [x0, x1, px0, px1] = svg.dataset.x.split(" ").map(Number);
      const [y0, y1, py0, py1] = svg.dataset.y.split(" ").map(Number);
      return {
        svg, key: svg.dataset.key, cursor: svg.querySelector(".cursor"),
        px: (x) => px0 + (x - x0) / (x1 - x0) * (px1 - px0),
        py: (y) => py0 + (y - y0) / (y1 - y0) * (py1 - py0),
        s: (px) => x0 + (px - px0) / (px1 - px0) * (x1 - x0),
      };
    });
    for (const c of charts) c.svg.addEventListener("pointerdown", (e) => follow(c, e));
  }

  // follow moves the player to where the chart is pressed, on the present half.
  function follow(c, e) {
    const box = c.svg.getBoundingClientRect();
    const s = c.s((e.clientX - box.left) / box.width * c.svg.viewBox.baseVal.width);
    const turn = Finger.travelTo(Finger.data.turn);
    const clip = Math.min(Math.max(0, s), turn);
    Player.set(Player.state().back ? 2 * turn - clip : clip);
  }

  function draw(st) {
    const d = Finger.data;
    for (const c of charts) {
      const values = c.key === "force" ? d.force : (d.series.find((q) => q.key === c.key) || {}).v;
      const y = values && st.at ? Finger.between(values, st.at) : null;
      c.cursor.removeAttribute("hidden");
      c.cursor.querySelector("path").setAttribute("transform", `translate(${c.px(st.s)} 0)`);
      const dot = c.cursor.querySelector("circle");
      dot.style.display = y === null ? "none" : "";
      if (y !== null) { dot.setAttribute("cx", c.px(st.s)); dot.setAttribute("cy", c.py(y)); }
    }
  }

  Player.subscribe(draw);
  return { attach };
})();
