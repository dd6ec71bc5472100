// Readings to colours on a canvas, and the scale beside it.
(function (hb) {
  "use strict";
  var GREYS = [128, 176];

  // colours: bytes red, green, blue from low to high. Pixels without a reading get grey hatching.
  hb.paint = function (canvas, picture, colours, low, high) {
    canvas.width = picture.width;
    canvas.height = picture.height;
    var context = canvas.getContext("2d"), image = context.createImageData(picture.width, picture.height);
    var levels = colours.length / 3 - 1, span = high - low;
    for (var i = 0; i < picture.readings.length; i += 1) {
      var value = picture.readings[i], at = 4 * i;
      if (isFinite(value)) {
        var level = 3 * Math.round(Math.min(1, Math.max(0, (value - low) / span)) * levels);
        image.data[at] = colours[level];
        image.data[at + 1] = colours[level + 1];
        image.data[at + 2] = colours[level + 2];
      } else {
        var x = i % picture.width, y = (i - x) / picture.width;
        image.data[at] = image.data[at + 1] = image.data[at + 2] = GREYS[(x + y) % 4 < 2 ? 1 : 0];
      }
      image.data[at + 3] = 255;
    }
    context.putImageData(image, 0, 0);
  };

  hb.paintBar = function (canvas, colours) {
    var levels = colours.length / 3;
    canvas.width = 1;
    canvas.height = levels;
    var context = canvas.getContext("2d"), image = context.createImageData(1, levels);
    for (var i = 0; i < levels; i += 1) {
      var at = 4 * (levels - 1 - i);
      image.data[at] = colours[3 * i];
      image.data[at + 1] = colours[3 * i + 1];
      image.data[at + 2] = colours[3 * i + 2];
      image.data[at + 3] = 255;
    }
    context.putImageData(image, 0, 0);
  };

  // Round numbers between the ends, as [place from 0 to 1, value].
  hb.ticks = function (low, high, most) {
    var rough = (high - low) / most, power = Math.pow(10, Math.floor(Math.log10(rough)));
    var step = [1, 2, 5, 10].map(function (one) { return one * power; }).find(function (one) { return one >= rough * 0.999; });
    var found = [];
    for (var n = Math.ceil(low / step - 1e-9); n * step <= high + 1e-9 * step; n += 1) {
      found.push([(n * step - low) / (high - low), n * step]);
    }
    return { step: step, decimals: Math.max(0, -Math.floor(Math.log10(step) + 1e-9)), list: found };
  };

  hb.paintTicks = function (bar, low, high, mark) {
    bar.querySelectorAll(".tick").forEach(function (one) { one.remove(); });
    var ticks = hb.ticks(low, high, 7);
    ticks.list.forEach(function (tick) {
      var label = document.createElement("span");
      label.className = "tick";
      label.style.bottom = (100 * tick[0]).toFixed(2) + "%";
      label.textContent = hb.number(tick[1], ticks.decimals, mark);
      bar.appendChild(label);
    });
  };
}(heatbriefViewer));
