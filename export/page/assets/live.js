"use strict";
// Listens to the preview server: shows states as they come, moves dimensions.
const Live = (() => {
  const strip = document.querySelector(".strip");
  // Above the finger, not beside it, the list would hide it.
  if (matchMedia("(max-width: 40rem)").matches) strip.querySelector("details").open = false;
  const rows = new Map(); // dimension -> its fields
  let newest = 0;         // change that is known of
  let shown = 0;          // change that is shown

  const status = (text, cls) => {
    const p = strip.querySelector(".status");
    p.textContent = text;
    p.className = "status " + cls;
  };

  async function post(path, body) {
    const r = await fetch(path, { method: "POST", headers: { "Content-Type": "application/json" }, body: JSON.stringify(body) });
    if (!r.ok) throw new Error((await r.text()).trim());
  }

  // send says in the page what went wrong, beside the dimension.
  async function send(path, name, value) {
    const note = rows.get(name).note;
    try {
      await post(path, { name, value });
      note.textContent = "";
    } catch (e) {
      note.textContent = e.message;
    }
  }

  function field(name) {
    const box = document.createElement("div");
    box.className = "dim-row";
    box.innerHTML = `<label><span class="dim-name"></span> <small></small></label>
      <div class="fields"><input type="range"><input type="number"><span class="unit"></span></div>
      <div class="acts" hidden><button type="button" class="write">Write to file</button> <button type="button" class="undo">Undo</button> <small class="was"></small></div>
      <p class="dim-error" role="alert"></p>`;
    const [range, number] = box.querySelectorAll("input");
    const row = { box, range, number, note: box.querySelector(".dim-error"), acts: box.querySelector(".acts"), last: null };
    box.querySelector(".dim-name").textContent = name;
    range.setAttribute("aria-label", name + ", slider");
    number.setAttribute("aria-label", name);
    range.addEventListener("input", () => { number.value = +range.value; move(name, +range.value); });
    number.addEventListener("input", () => { if (number.value !== "" && number.validity.valid) { range.value = number.value; move(name, +number.value); } });
    box.querySelector(".write").addEventListener("click", () => send("/write", name, 0));
    box.querySelector(".undo").addEventListener("click", () => send("/undo", name, 0));
    strip.querySelector(".dims").append(box);
    rows.set(name, row);
    return row;
  }

  // move sends the newest value only: while one is on its way, others wait.
  async function move(name, value) {
    const row = rows.get(name);
    row.want = value;
    if (row.busy) return;
    row.busy = true;
    while (row.want !== undefined) {
      const v = row.want;
      row.want = undefined;
      await send("/set", name, v);
    }
    row.busy = false;
  }

  function step(d) {
    const rough = (d.high - d.low) / 200, unit = Math.pow(10, Math.floor(Math.log10(rough)));
    return +(unit * [1, 2, 5, 10].find((k) => unit * k >= rough)).toPrecision(3);
  }

  function dims(list) {
    const names = new Set(list.map((d) => d.name));
    for (const [name, row] of rows) if (!names.has(name)) { row.box.remove(); rows.delete(name); }
    for (const d of list) {
      const row = rows.get(d.name) || field(d.name);
      row.box.querySelector("label small").textContent = d.note;
      row.box.querySelector(".unit").textContent = d.unit === "1" ? "" : d.unit;
      const s = step(d);
      Object.assign(row.range, { min: d.low, max: d.high, step: s });
      Object.assign(row.number, { min: d.low, max: d.high, step: "any" });
      const held = row.busy || document.activeElement === row.number;
      if (!held) { row.range.value = d.value; row.number.value = d.value; }
      row.acts.hidden = !d.moved;
      row.box.classList.toggle("moved", d.moved);
      row.box.querySelector(".was").textContent = d.moved ? `in the file: ${d.file}` : "";
    }
  }

  function errors(list) {
    const box = strip.querySelector(".errors"), ul = box.querySelector("ul");
    box.hidden = !list || !list.length;
    ul.textContent = "";
    for (const e of list || []) {
      const li = document.createElement("li"), at = document.createElement("b"), text = document.createElement("span");
      at.textContent = e.line ? `${e.file}:${e.line}:${e.col} ` : `${e.file} `;
      text.textContent = (e.path ? e.path + ": " : "") + e.msg;
      li.append(at, text);
      if (e.text) {
        const pre = document.createElement("pre");
        pre.textContent = e.text + "\n" + " ".repeat(Math.max(0, e.col - 1)) + "^";
        li.append(pre);
      }
      ul.append(li);
    }
  }

  // replace changes sections and keeps what the reader has chosen in them.
  function replace(sections) {
    const keep = (sel) => [...document.querySelectorAll(sel)];
    const unchecked = new Set(keep(".layers input:not(:checked)").map((c) => c.parentElement.textContent.trim()));
    const view = document.querySelector(".views input:checked");
    const open = new Map(keep("main details").map((d) => [key(d), d.open]));
    const focus = document.activeElement && document.activeElement.closest("main") ? document.activeElement.className : "";
    const top = document.scrollingElement.scrollTop;
    for (const s of sections) document.getElementById(s.id).innerHTML = s.html;
    for (const c of keep(".layers input")) if (unchecked.has(c.parentElement.textContent.trim())) c.checked = false;
    if (view) for (const v of keep(".views input")) v.checked = v.value === view.value;
    for (const d of keep("main details")) if (open.has(key(d))) d.open = open.get(key(d));
    document.scrollingElement.scrollTop = top;
    return () => {
      if (!focus) return;
      const again = document.querySelector("main ." + focus.trim().split(/\s+/).join("."));
      if (again) again.focus({ preventScroll: true });
    };
  }

  // key names a folding part by its section and its place in it.
  function key(d) {
    const s = d.closest("section");
    return s.id + [...s.querySelectorAll("details")].indexOf(d);
  }

  // keepMeshes hands solids on while new ones are still to come.
  function keepMeshes(data) {
    const old = new Map(Finger.data.bodies.map((b) => [b.name, b.mesh]));
    for (const b of data.bodies) if (!b.mesh && old.get(b.name)) b.mesh = old.get(b.name);
  }

  function receive(st) {
    if (st.number < newest) return; // of an older change
    newest = st.number;
    if (st.stage === "busy") { status("Computing …", "busy"); return; }
    if (st.dims) dims(st.dims);
    if (st.stage === "error") {
      errors(st.errors);
      status("Last good state", "bad");
      document.body.classList.add("held");
      return;
    }
    errors([]);
    document.body.classList.remove("held");
    document.body.classList.toggle("partial", st.stage === "quick");
    if (st.stage === "quick") keepMeshes(st.data);
    const refocus = replace(st.sections);
    Finger.load(st.data);
    Page.attach(st.sections.some((s) => s.id === "solids"));
    refocus();
    shown = st.number;
    document.body.dataset.shown = st.number + " " + st.stage;
    status(st.stage === "quick" ? `Stroke after ${st.ms} ms; solids and checks follow` : `Up to date after ${st.ms} ms`, st.stage);
  }

  function listen() {
    const source = new EventSource("/events");
    source.onmessage = (e) => receive(JSON.parse(e.data));
    source.onerror = () => status("No connection to the preview; trying again", "bad");
    source.onopen = () => { newest = 0; status("Connected", "full"); };
  }

  listen();
  return { receive, get shown() { return shown; } };
})();
