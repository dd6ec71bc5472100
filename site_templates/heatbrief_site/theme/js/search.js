// Narrows the list of properties by words from their names, places, findings and works.
(function () {
  "use strict";
  var form = document.getElementById("search"), state = document.getElementById("search-state");
  var rows = Array.prototype.slice.call(document.getElementById("properties").children);
  function apply() {
    var wanted = form.elements.words.value.toLowerCase().split(/\s+/), shown = 0;
    rows.forEach(function (row) {
      var text = row.getAttribute("data-search");
      row.hidden = !wanted.every(function (word) { return text.indexOf(word) !== -1; });
      shown += row.hidden ? 0 : 1;
    });
    state.textContent = form.getAttribute("data-state").replace("{shown}", shown).replace("{all}", rows.length);
  }
  form.hidden = false;
  form.addEventListener("input", apply);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  apply();
}());
