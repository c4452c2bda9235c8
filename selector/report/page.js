"use strict";
// The slider: shows one panel at a time, says its summary, and marks its place in the chart of the range.
(function () {
  const input = document.getElementById("place");
  const outcome = document.getElementById("outcome");
  const panels = Array.from(document.querySelectorAll(".panel"));
  document.documentElement.classList.add("js");

  function show() {
    const place = Number(input.value);
    panels.forEach(function (panel, at) {
      panel.hidden = at !== place;
      const mark = document.getElementById("sweep-cursor-" + at);
      if (mark) {
        mark.style.display = at === place ? "inline" : "none";
      }
    });
    const panel = panels[place];
    input.setAttribute("aria-valuetext", panel.dataset.label);
    const copies = Array.from(panel.querySelector(".summary").childNodes, function (node) {
      return node.cloneNode(true);
    });
    outcome.replaceChildren.apply(outcome, copies);
  }

  input.addEventListener("input", show);
  show();
})();
