// A profile along a line and a count of readings in an area, as small drawings with a text alternative.
(function (hb) {
  "use strict";
  var SVG = "http://www.w3.org/2000/svg", WIDE = 420, HIGH = 180, LEFT = 52, RIGHT = 10, TOP = 12, BOTTOM = 36;

  function element(parent, name, attributes, text) {
    var made = document.createElementNS(SVG, name);
    Object.keys(attributes).forEach(function (key) { made.setAttribute(key, attributes[key]); });
    if (text !== undefined) { made.textContent = text; }
    parent.appendChild(made);
    return made;
  }
  hb.element = element;

  function frame(words, xs, ys, mark) {
    var svg = document.createElementNS(SVG, "svg");
    svg.setAttribute("viewBox", "0 0 " + WIDE + " " + HIGH);
    svg.setAttribute("role", "img");
    svg.setAttribute("aria-label", words.alt);
    var x = function (value) { return LEFT + (WIDE - LEFT - RIGHT) * (value - xs[0]) / (xs[1] - xs[0]); };
    var y = function (value) { return HIGH - BOTTOM - (HIGH - TOP - BOTTOM) * (value - ys[0]) / (ys[1] - ys[0]); };
    var down = hb.ticks(ys[0], ys[1], 4), across = hb.ticks(xs[0], xs[1], 6);
    down.list.forEach(function (tick) {
      element(svg, "line", { x1: LEFT, x2: WIDE - RIGHT, y1: y(tick[1]), y2: y(tick[1]), "class": "grid" });
      element(svg, "text", { x: LEFT - 6, y: y(tick[1]) + 4, "text-anchor": "end" }, hb.number(tick[1], down.decimals, mark));
    });
    across.list.forEach(function (tick) {
      element(svg, "text", { x: x(tick[1]), y: HIGH - BOTTOM + 15, "text-anchor": "middle" }, hb.number(tick[1], across.decimals, mark));
    });
    element(svg, "line", { x1: LEFT, x2: WIDE - RIGHT, y1: HIGH - BOTTOM, y2: HIGH - BOTTOM, "class": "axis" });
    element(svg, "text", { x: (LEFT + WIDE - RIGHT) / 2, y: HIGH - 4, "text-anchor": "middle" }, words.across);
    return { svg: svg, x: x, y: y };
  }

  function widened(low, high) {
    return high - low > 1e-9 ? [low, high] : [low - 0.5, high + 0.5];
  }

  hb.profile = function (readings, words, mark) {
    var good = readings.filter(isFinite);
    var ends = widened(Math.min.apply(null, good), Math.max.apply(null, good));
    var drawn = frame(words, [0, Math.max(1, readings.length - 1)], ends, mark), path = "", pen = "M";
    readings.forEach(function (value, i) {
      if (!isFinite(value)) { pen = "M"; return; }
      path += pen + drawn.x(i).toFixed(1) + " " + drawn.y(value).toFixed(1);
      pen = "L";
    });
    element(drawn.svg, "path", { d: path, "class": "trace" });
    return drawn.svg;
  };

  hb.spread = function (readings, words, mark) {
    var low = Infinity, high = -Infinity;
    readings.forEach(function (value) { low = Math.min(low, value); high = Math.max(high, value); });
    var ends = widened(low, high), bars = Math.max(4, Math.min(24, Math.ceil(Math.sqrt(readings.length))));
    var counts = new Array(bars).fill(0), width = (ends[1] - ends[0]) / bars;
    readings.forEach(function (value) { counts[Math.min(bars - 1, Math.floor((value - ends[0]) / width))] += 1; });
    var drawn = frame(words, ends, [0, Math.max.apply(null, counts)], mark);
    counts.forEach(function (count, i) {
      var left = drawn.x(ends[0] + i * width), right = drawn.x(ends[0] + (i + 1) * width), top = drawn.y(count);
      element(drawn.svg, "rect", { x: left + 0.5, y: top, width: Math.max(1, right - left - 1), height: HIGH - BOTTOM - top, "class": "bar" });
    });
    return drawn.svg;
  };
}(heatbriefViewer));
