"use strict";
// Brings the page to life. In print everything that is folded away is shown.
const Page = (() => {
  // attach takes over the figures; the one of the parts only when it is new, or
  // else gets its shapes again.
  function attach(solids) {
    Player.attach(document.querySelector("figure.player"));
    Charts.attach(document);
    if (solids) Viewer.attach(document.querySelector("figure.solid"));
    else Viewer.load();
    Player.set(Player.state().u);
  }

  function print() {
    const closed = [...document.querySelectorAll("details:not([open])")];
    for (const d of closed) d.open = true;
    addEventListener("afterprint", () => { for (const d of closed) d.open = false; }, { once: true });
  }

  addEventListener("beforeprint", print);
  Finger.load(JSON.parse(document.getElementById("data").textContent));
  attach(true);
  return { attach };
})();
