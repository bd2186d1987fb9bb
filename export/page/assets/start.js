"use strict";
// Brings the page to life.
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

  Finger.load(JSON.parse(document.getElementById("data").textContent));
  attach(true);
  return { attach };
})();
