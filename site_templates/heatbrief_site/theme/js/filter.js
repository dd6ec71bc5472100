// Narrows the list of findings. Without scripts the whole list stays visible and the form stays hidden.
(function () {
  "use strict";
  var form = document.getElementById("finding-filter");
  var list = document.getElementById("finding-list");
  if (!form || !list) { return; }
  var cards = Array.prototype.slice.call(list.children);
  var state = document.getElementById("filter-state");
  var nothing = document.getElementById("filter-nothing");
  var words = cards.map(function (card) { return card.textContent.toLowerCase(); });

  function matches(card, index) {
    var chosen = ["urgency", "verdict", "domain", "room"].every(function (name) {
      var field = form.elements[name];
      return !field || field.value === "" || card.getAttribute("data-" + name) === field.value;
    });
    var wanted = form.elements.words.value.toLowerCase().split(/\s+/);
    return chosen && wanted.every(function (word) { return words[index].indexOf(word) !== -1; });
  }

  function apply() {
    var shown = 0;
    cards.forEach(function (card, index) {
      card.hidden = !matches(card, index);
      shown += card.hidden ? 0 : 1;
    });
    nothing.hidden = shown > 0;
    state.textContent = form.getAttribute("data-state").replace("{shown}", shown).replace("{all}", cards.length);
  }

  form.hidden = false;
  form.addEventListener("input", apply);
  form.addEventListener("submit", function (event) { event.preventDefault(); });
  form.addEventListener("reset", function () { window.setTimeout(apply, 0); });
  apply();
}());
