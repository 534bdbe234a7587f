(function () {
  "use strict";
  var box = document.querySelector(".search"), input = document.getElementById("search"), found = document.getElementById("found");
  var sections = Array.prototype.slice.call(document.querySelectorAll("main > section"));
  box.hidden = false;

  function has(text, words) {
    return words.every(function (word) { return text.indexOf(word) >= 0; });
  }

  // A part is shown whole, but of a list of keys only the entries that hold the words.
  function filter(part, words, all) {
    var items = part.querySelectorAll(":scope > ul > li"), shown = 0;
    var whole = all || has(part.textContent.toLowerCase(), words);
    var heading = part.querySelector("h3");
    var titled = all || items.length < 8 || (heading && has(heading.textContent.toLowerCase(), words));
    Array.prototype.forEach.call(items, function (item) {
      item.hidden = !titled && !has(item.textContent.toLowerCase(), words);
      if (!item.hidden) { shown += 1; }
    });
    part.hidden = !whole || (items.length > 0 && shown === 0);
    return !part.hidden;
  }

  function search() {
    var words = input.value.toLowerCase().split(/\s+/).filter(Boolean), count = 0;
    sections.forEach(function (section) {
      var title = section.querySelector("h2").textContent.toLowerCase(), all = !words.length || has(title, words);
      var details = section.querySelector("details"), shown = 0;
      Array.prototype.forEach.call(section.querySelectorAll(".part"), function (part) {
        if (filter(part, words, all)) { shown += 1; }
      });
      section.hidden = shown === 0;
      if (details) { details.open = words.length > 0 && shown > 0; }
      document.querySelector('[data-topic="' + section.id + '"]').hidden = section.hidden;
      count += section.hidden ? 0 : 1;
    });
    Array.prototype.forEach.call(document.querySelectorAll(".contents > div"), function (chapter) {
      chapter.hidden = !chapter.querySelector("li:not([hidden])");
    });
    found.textContent = !words.length ? "" : count ? count + (count === 1 ? " topic" : " topics") : "nothing; try another word";
  }

  // A link into a folded topic opens it.
  function open() {
    var name = decodeURIComponent(location.hash.slice(1)), aim = name && document.getElementById(name);
    var details = aim && (aim.querySelector("details") || aim.closest("details"));
    if (details) { details.open = true; aim.scrollIntoView(); }
  }

  input.addEventListener("input", search);
  window.addEventListener("hashchange", open);
  if (input.value) { search(); }
  open();
}());
