"use strict";
(function () {
  const form = document.getElementById("filters");
  const words = document.getElementById("words");
  const shown = document.getElementById("shown");
  const lines = Array.from(document.querySelectorAll("tbody tr"), function (row) {
    return { row: row, group: row.dataset.group, text: row.textContent.toLowerCase() };
  });

  function filter() {
    const groups = new Set(Array.from(form.querySelectorAll("input:checked"), (box) => box.value));
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let count = 0;
    for (const line of lines) {
      const show = groups.has(line.group) && wanted.every((word) => line.text.includes(word));
      line.row.hidden = !show;
      count += show ? 1 : 0;
    }
    shown.textContent = count + " of " + lines.length + " lines shown";
  }

  form.hidden = false;
  form.addEventListener("input", filter);
  form.addEventListener("submit", (event) => event.preventDefault());
  filter();
})();
