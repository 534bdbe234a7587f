"use strict";
// Nothing here is needed: forms work without it. It takes dropped files and keeps what is shown up to date.
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

  const waiting = document.querySelector("meta[http-equiv=refresh]");
  const parts = Array.from(document.querySelectorAll("[data-live]"));
  const changed = document.getElementById("changed");
  if (!parts.length && !waiting && !changed) return;

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
    source.onerror = () => (missed = true);
    source.onopen = function () {
      if (missed) renew();
      missed = false;
    };
  }
  document.addEventListener("visibilitychange", listen);
  listen();
})();
