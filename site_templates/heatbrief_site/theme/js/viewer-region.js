// What was drawn: its readings, a small chart, and the lines that make it a region of the manifest.
(function (hb) {
  "use strict";

  // JSON text is YAML text too, and keeps any name in one line.
  hb.regionLines = function (thermogram, name, shape) {
    var p = shape.points, form = {
      point: function () { return "point: [" + p[0].join(", ") + "]"; },
      line: function () { return "line: " + list(p); },
      polygon: function () { return "outline: " + list(p); },
      box: function () {
        return "box: [" + [p[0][0], p[0][1], p[1][0] - p[0][0], p[1][1] - p[0][1]].join(", ") + "]";
      }
    }[shape.shape]();
    return "regions:\n  - {name: " + quoted(name) + ", thermogram: " + quoted(thermogram) + ", " + form + "}\n";
  };

  function list(points) {
    return "[" + points.map(function (one) { return "[" + one.join(", ") + "]"; }).join(", ") + "]";
  }

  function quoted(text) {
    return JSON.stringify(text.replace(/[\u0000-\u001f\u007f-\u009f\u2028\u2029\ud800-\udfff]/g, " ").trim());
  }

  // panel: the part of the page for drawn shapes. Returns show(shape or null).
  hb.regionPanel = function (panel, picture, say, mark) {
    var name = panel.querySelector("[name=region-name]"), lines = panel.querySelector("[name=region-lines]");
    var summary = panel.querySelector(".drawn-summary"), chart = panel.querySelector(".drawn-chart");
    var copied = panel.querySelector(".copied"), shown = null;

    function write() {
      lines.value = hb.regionLines(picture.id, name.value || say.unnamed, shown);
      copied.textContent = "";
    }

    name.addEventListener("input", function () { if (shown) { write(); } });
    panel.querySelector("[name=copy]").addEventListener("click", function () {
      lines.focus();
      lines.select();
      var done = false;
      try { done = document.execCommand("copy"); } catch (error) { done = false; }
      copied.textContent = done ? say.copied : say.copy_yourself;
    });

    return function (shape) {
      shown = shape;
      panel.hidden = !shape;
      if (!shape) { return; }
      write();
      var all = hb.readingsOf(picture, shape), good = all.filter(isFinite), text = say.drawn_none;
      chart.textContent = "";
      if (good.length) {
        var low = Infinity, high = -Infinity, sum = 0;
        good.forEach(function (one) { low = Math.min(low, one); high = Math.max(high, one); sum += one; });
        var put = function (value) { return hb.number(value, picture.decimals, mark) + "\u00a0" + picture.unit; };
        text = hb.fill(say.drawn, { low: put(low), high: put(high), mean: put(sum / good.length), n: good.length });
        if (shape.shape === "line") {
          chart.appendChild(hb.profile(all, { alt: hb.fill(say.profile_alt, { from: put(all.find(isFinite)),
            to: put(good[good.length - 1]), low: put(low), high: put(high) }), across: say.along }, mark));
        } else if (good.length > 3) {
          chart.appendChild(hb.spread(good, { alt: hb.fill(say.spread_alt, { low: put(low), high: put(high),
            mean: put(sum / good.length) }), across: hb.fill(say.reading, { unit: picture.unit }) }, mark));
        }
      }
      summary.textContent = text;
    };
  };
}(heatbriefViewer));
