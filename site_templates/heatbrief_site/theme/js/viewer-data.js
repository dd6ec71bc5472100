// Readings of a picture: unpacked 16-bit counts, display values, bounds, and the pixels inside a drawn shape.
var heatbriefViewer = {};
(function (hb) {
  "use strict";

  // Promises a picture with its counts. They come as a PNG of 16-bit grey in one piece, with one filter for all rows.
  hb.unpack = function (picture) {
    var file = Uint8Array.from(atob(picture.values), function (one) { return one.charCodeAt(0); });
    var packed = new Blob([file.subarray(41, 41 + new DataView(file.buffer).getUint32(33))]);
    var lines = new Response(packed.stream().pipeThrough(new DecompressionStream("deflate"))).arrayBuffer();
    return lines.then(function (buffer) {
      picture.counts = hb.unfilter(new Uint8Array(buffer), picture.width, picture.height);
      return picture;
    });
  };

  // Counts from rows of bytes, high ones first, each row behind its filter: 0 none, 1 less the pixel before, 2 less the row above.
  hb.unfilter = function (lines, width, height) {
    var counts = new Uint16Array(width * height), long = 2 * width + 1;
    for (var y = 0; y < height; y += 1) {
      var kind = lines[y * long], at = y * long + 1;
      for (var i = at + (kind === 1 ? 2 : 0); kind && (kind === 1 || y) && i < at + 2 * width; i += 1) {
        lines[i] += lines[i - (kind === 1 ? 2 : long)];
      }
      for (var x = 0; x < width; x += 1) { counts[y * width + x] = (lines[at + 2 * x] << 8) | lines[at + 2 * x + 1]; }
    }
    return counts;
  };

  // Adds what is computed once: values for display (NaN where nothing was read), decimals, lowest and highest.
  hb.prepare = function (picture) {
    var counts = picture.counts, step = picture.step * picture.factor;
    var zero = picture.low * picture.factor + picture.offset, values = new Float64Array(counts.length);
    picture.lowest = Infinity;
    picture.highest = -Infinity;
    for (var i = 0; i < counts.length; i += 1) {
      values[i] = counts[i] ? zero + step * (counts[i] - 1) : NaN;
      if (counts[i]) {
        picture.lowest = Math.min(picture.lowest, values[i]);
        picture.highest = Math.max(picture.highest, values[i]);
      }
    }
    picture.readings = values;
    picture.resolution = Math.max(0, Math.ceil(-Math.log10(step) - 1e-9));
    picture.decimals = Math.min(picture.resolution, picture.scaled ? hb.digits(picture) : 0);
    return picture;
  };

  // Decimals that the bounds leave: two digits of the narrowest, one decimal where none are stated.
  hb.digits = function (picture) {
    var halves = (picture.bounds || []).map(function (knot) { return (knot[1] + knot[2]) / 2; });
    var half = Math.min.apply(null, halves.filter(function (one) { return one > 0; }));
    return isFinite(half) ? Math.max(0, 1 - Math.floor(Math.log10(half))) : 1;
  };

  // Decimals for the ends of a range, as on the printed scale.
  hb.rangeDigits = function (picture, low, high) {
    return picture.scaled ? Math.min(picture.resolution, high - low >= 20 ? 0 : high - low >= 0.5 ? 1 : 2) : 0;
  };

  hb.at = function (picture, x, y) {
    var inside = x >= 0 && y >= 0 && x < picture.width && y < picture.height;
    return inside ? picture.readings[y * picture.width + x] : NaN;
  };

  // Half-widths [below, above] of one pixel: between those stated for the lowest and the highest single reading.
  hb.bounds = function (picture, x, y, value) {
    var regions = picture.regions.filter(function (one) { return one.bounds.length && hb.holds(one, x, y); });
    var knots = regions.length ? regions[regions.length - 1].bounds : picture.bounds;
    if (!knots.length) { return null; }
    var first = knots[0], last = knots[knots.length - 1];
    if (value <= first[0] || knots.length === 1) { return first.slice(1); }
    if (value >= last[0]) { return last.slice(1); }
    var next = knots.findIndex(function (knot) { return knot[0] >= value; });
    var a = knots[next - 1], b = knots[next], share = (value - a[0]) / (b[0] - a[0]);
    return [a[1] + share * (b[1] - a[1]), a[2] + share * (b[2] - a[2])];
  };

  // The same rule as the analysis: a pixel belongs to a shape by its centre.
  hb.holds = function (shape, x, y) {
    var p = shape.points;
    if (shape.shape === "box") {
      var xs = [p[0][0], p[1][0]], ys = [p[0][1], p[1][1]];
      return x >= Math.min.apply(null, xs) && x < Math.max.apply(null, xs) &&
        y >= Math.min.apply(null, ys) && y < Math.max.apply(null, ys);
    }
    if (shape.shape !== "polygon") {
      return hb.along(p).some(function (one) { return one[0] === x && one[1] === y; });
    }
    var inside = false;
    p.forEach(function (a, i) {
      var b = p[(i + 1) % p.length];
      if (a[1] !== b[1] && y >= Math.min(a[1], b[1]) && y < Math.max(a[1], b[1]) &&
          x >= a[0] + (y - a[1]) * (b[0] - a[0]) / (b[1] - a[1])) { inside = !inside; }
    });
    return inside;
  };

  // Pixels along a line of points, each once, in order.
  hb.along = function (points) {
    var found = [], last = "";
    points.forEach(function (start, i) {
      var end = points[Math.min(i + 1, points.length - 1)];
      var steps = Math.ceil(2 * Math.max(Math.abs(end[0] - start[0]), Math.abs(end[1] - start[1]))) || 1;
      for (var k = 0; k <= steps; k += 1) {
        var pixel = [Math.round(start[0] + (end[0] - start[0]) * k / steps),
          Math.round(start[1] + (end[1] - start[1]) * k / steps)];
        if (pixel.join() !== last) { found.push(pixel); }
        last = pixel.join();
      }
    });
    return found;
  };

  // Valid readings inside a shape, in the order of the line or of the rows.
  hb.readingsOf = function (picture, shape) {
    if (shape.shape === "line" || shape.shape === "point") {
      return hb.along(shape.points).map(function (one) { return hb.at(picture, one[0], one[1]); });
    }
    var found = [], xs = shape.points.map(function (p) { return p[0]; }), ys = shape.points.map(function (p) { return p[1]; });
    for (var y = Math.floor(Math.min.apply(null, ys)); y <= Math.max.apply(null, ys); y += 1) {
      for (var x = Math.floor(Math.min.apply(null, xs)); x <= Math.max.apply(null, xs); x += 1) {
        if (hb.holds(shape, x, y)) { found.push(hb.at(picture, x, y)); }
      }
    }
    return found.filter(isFinite);
  };

  hb.number = function (value, decimals, mark) {
    var text = value.toFixed(decimals);
    if (Number(text) === 0) { text = text.replace("-", ""); }
    return text.replace("-", "\u2212").replace(".", mark);
  };

  hb.fill = function (sentence, values) {
    return sentence.replace(/\{(\w+)\}/g, function (whole, name) { return name in values ? values[name] : whole; });
  };
}(heatbriefViewer));
