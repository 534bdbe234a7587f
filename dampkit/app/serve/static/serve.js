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
  if (!parts.length && !waiting) return;

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

  const source = new EventSource("/events");
  source.onmessage = function (event) {
    const place = event.data;
    if (waiting && location.pathname.startsWith("/" + place)) return location.reload();
    if (parts.some((part) => place === part.dataset.live || place.startsWith(part.dataset.live + "/"))) renew();
  };
  let cut = false;
  source.onerror = () => (cut = true);
  source.onopen = function () {
    if (cut) renew();
    cut = false;
  };
})();
