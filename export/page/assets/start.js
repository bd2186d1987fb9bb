"use strict";
// Brings the page to life. In print everything that is folded away is shown.
const Page = (() => {
  function attach() {
    Player.attach(document.querySelector("figure.player"));
    Charts.attach(document);
    Viewer.attach(document.querySelector("figure.solid"));
    Player.set(Player.state().u);
  }

  function print() {
    const closed = [...document.querySelectorAll("details:not([open])")];
    for (const d of closed) d.open = true;
    addEventListener("afterprint", () => { for (const d of closed) d.open = false; }, { once: true });
  }

  addEventListener("beforeprint", print);
  Finger.load(JSON.parse(document.getElementById("data").textContent));
  attach();
  return { attach };
})();
