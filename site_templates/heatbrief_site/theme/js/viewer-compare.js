// A slider between the picture and another one: the ordinary picture where it is registered, or a second thermal picture.
(function (hb) {
  "use strict";

  // The style's matrix for a photo drawn at its own size, from a 3 x 3 mapping, row by row, of its pixels to the picture's.
  hb.cssMatrix = function (m, stage, picture) {
    var sx = stage.clientWidth / picture.width, sy = stage.clientHeight / picture.height;
    // Pixel centres are whole numbers in the mapping, and at halves on the screen.
    var rows = [0, 3, 6].map(function (at) { return [m[at], m[at + 1], m[at + 2] - (m[at] + m[at + 1]) / 2]; });
    var c = rows[2], a = rows[0].map(function (one, i) { return sx * (one + c[i] / 2); });
    var b = rows[1].map(function (one, i) { return sy * (one + c[i] / 2); });
    return "matrix3d(" + [a[0], b[0], 0, c[0], a[1], b[1], 0, c[1], 0, 0, 1, 0, a[2], b[2], 0, c[2]].join(",") + ")";
  };

  // Returns { repaint, other }: other() is the second thermal picture under the pointer, or null.
  hb.comparing = function (viewer, stage, picture, paint) {
    var choice = viewer.querySelector("[name=compare]"), slider = document.getElementById("compare-slider");
    var row = document.getElementById("compare-row"), layer = document.createElement("div"), other = null;
    if (!choice) { return { repaint: function () {}, other: function () { return null; } }; }
    layer.className = "compared";
    layer.hidden = true;
    stage.insertBefore(layer, stage.querySelector(".overlay"));

    function slide() {
      layer.style.clipPath = "inset(0 0 0 " + slider.value + "%)";
      layer.style.setProperty("--edge", slider.value + "%");
    }

    function photo(source, matrix) {
      var image = new Image();
      image.alt = "";
      image.src = source;
      image.onload = place;
      function place() {
        image.style.width = image.naturalWidth + "px";
        image.style.transform = hb.cssMatrix(matrix, stage, picture);
      }
      window.addEventListener("resize", place);
      layer.appendChild(image);
    }

    function repaint() {
      if (!other) { return; }
      layer.textContent = "";
      layer.appendChild(document.createElement("canvas"));
      paint(layer.firstChild, other);
    }

    choice.addEventListener("change", function () {
      var option = choice.selectedOptions[0], values = option.getAttribute("data-values");
      other = null;
      layer.textContent = "";
      layer.hidden = row.hidden = option.value === "";
      if (option.value === "photo") { photo(option.getAttribute("data-photo"), JSON.parse(option.getAttribute("data-matrix"))); }
      if (values) {
        hb.load(values, option.getAttribute("data-id"), function (found) {
          if (choice.selectedOptions[0] === option) { other = found.readings ? found : hb.prepare(found); repaint(); }
        });
      }
      slide();
    });
    slider.addEventListener("input", slide);
    return { repaint: repaint, other: function () { return other; } };
  };
}(heatbriefViewer));
