"use strict";
// Nothing here is needed: forms work without it. It takes what is dropped and keeps what is shown up to date.
(function () {
  const drop = document.getElementById("drop");
  if (drop) {
    const field = drop.querySelector("input[type=file]");
    for (const what of ["dragenter", "dragover"]) {
      drop.addEventListener(what, function (event) {
        event.preventDefault();
        drop.classList.add("over");
      });
    }
    for (const what of ["dragleave", "drop"]) drop.addEventListener(what, () => drop.classList.remove("over"));
    drop.addEventListener("drop", function (event) {
      event.preventDefault();
      if (!event.dataTransfer.files.length) return;
      field.files = event.dataTransfer.files;
      field.form.requestSubmit();
    });
    document.addEventListener("paste", function (event) {
      const text = event.clipboardData && event.clipboardData.getData("text/plain");
      if (!text || event.target.closest("input, textarea")) return;
      const pasted = document.getElementById("pasted");
      pasted.closest("details").open = true;
      pasted.value = text;
      pasted.focus();
    });
  }

  for (const picker of document.querySelectorAll("select[data-at-once]")) {
    picker.addEventListener("change", () => picker.form.requestSubmit(picker.form.querySelector("[value=stay]")));
  }

  const sweep = document.getElementById("sweep");
  if (sweep) {
    const fields = Array.from(document.querySelectorAll("input[data-record]"));
    const step = document.getElementById("step");
    const tray = sweep.querySelector(".tray");
    const number = (field) => (field.value.trim() ? Number(field.value.replace(",", ".")) : NaN);
    let held = null; // the field of the record that is dragged, or was tapped
    function put(value) {
      if (!held) return;
      held.value = value;
      const name = held.dataset.record;
      held = null;
      draw();
      Array.from(sweep.querySelectorAll("[draggable]")).find((record) => record.textContent === name).focus();
    }
    function taking(place, value) {
      place.addEventListener("dragover", (event) => held && event.preventDefault());
      place.addEventListener("drop", function (event) {
        event.preventDefault();
        put(value);
      });
    }
    function button(text, act) {
      const made = document.createElement("button");
      made.type = "button";
      made.textContent = text;
      made.addEventListener("click", act);
      return made;
    }
    function record(field) {
      const made = button(field.dataset.record, function () {
        held = held === field ? null : field;
        for (const other of sweep.querySelectorAll("[draggable]")) other.setAttribute("aria-pressed", held && other === made);
      });
      made.draggable = true;
      made.setAttribute("aria-pressed", false);
      made.addEventListener("dragstart", function (event) {
        held = field;
        event.dataTransfer.setData("text/plain", field.dataset.record);
      });
      return made;
    }
    function draw() {
      const apart = number(step) > 0 ? number(step) : 1;
      const said = fields.map(number).filter(Number.isFinite);
      const most = Math.min(200, Math.max(12, Math.ceil(Math.max(0, ...said) / apart) + 2));
      const steps = Array.from({ length: most + 1 }, (_, n) => Number((n * apart).toFixed(6)));
      tray.replaceChildren(...fields.filter((field) => !Number.isFinite(number(field))).map(record));
      const slots = Array.from(new Set([...steps, ...said])).sort((a, b) => a - b);
      sweep.querySelector(".slots").replaceChildren(...slots.map(function (at) {
        const slot = document.createElement("li");
        slot.append(button(String(at), () => put(at)), ...fields.filter((field) => number(field) === at).map(record));
        taking(slot, at);
        return slot;
      }));
    }
    const kind = () => (sweep.hidden = !document.querySelector("[name=kind][value=settings]").checked);
    for (const way of document.querySelectorAll("[name=kind]")) way.addEventListener("change", kind);
    for (const field of [step, ...fields]) field.addEventListener("input", draw);
    taking(tray, "");
    draw();
    kind();
  }

  const back = document.getElementById("back"); // as the browser goes back, so that what was typed is there again
  if (back && history.length > 1) {
    back.addEventListener("click", function (event) {
      event.preventDefault();
      history.back();
    });
  }

  const away = document.getElementById("away"); // nothing is sent into nowhere: a browser would drop what was typed
  if (!away) return;
  document.addEventListener("submit", (event) => away.hidden || event.preventDefault());

  const waiting = document.querySelector("meta[http-equiv=refresh]");
  const parts = Array.from(document.querySelectorAll("[data-live]"));
  const changed = document.getElementById("changed");

  async function renew() {
    const answer = await fetch(location.href, { headers: { accept: "text/html" } });
    if (!answer.ok) return;
    const fresh = new DOMParser().parseFromString(await answer.text(), "text/html");
    for (const part of parts) {
      const other = fresh.querySelector('[data-live="' + part.dataset.live + '"]');
      if (other && !part.contains(document.activeElement) && part.innerHTML !== other.innerHTML) {
        part.innerHTML = other.innerHTML;
      }
    }
  }

  // A line is held only while the page is seen: a browser has few of them, and many tabs may be open.
  let source = null;
  let missed = false;
  function told(event) {
    const place = event.data;
    if (waiting && place.startsWith("done/") && location.pathname.startsWith(place.slice(4))) location.reload();
    if (changed && !waiting && place === changed.dataset.work) changed.hidden = false;
    if (parts.some((part) => place === part.dataset.live || place.startsWith(part.dataset.live + "/"))) renew();
  }
  function listen() {
    if (document.hidden) {
      if (source) source.close();
      source = null;
      missed = true;
      return;
    }
    if (source) return;
    source = new EventSource("/events");
    source.onmessage = told;
    source.onerror = function () {
      missed = true;
      away.hidden = source.readyState !== EventSource.CONNECTING;
    };
    source.onopen = function () {
      away.hidden = true;
      if (missed && parts.length) renew();
      missed = false;
    };
  }
  document.addEventListener("visibilitychange", listen);
  listen();
})();
