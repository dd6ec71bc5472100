// Starts the viewer once the page has been painted. Without scripts the drawn picture and its tables stay.
(function (hb) {
  "use strict";
  var received = {}, viewer = document.getElementById("viewer"), figure = document.getElementById("figure-picture");

  window.heatbriefPicture = function (picture) { received[picture.id] = picture; };
  window.heatbriefColours = function (maps) { hb.maps = maps; };

  // A script beside the page gives the data: pages on disk may not read files in any other way.
  hb.load = function (source, id, done) {
    var script = document.createElement("script");
    script.src = source;
    script.onload = function () {
      var found = received[id];
      if (found && !found.counts) { hb.unpack(found).then(done); } else { done(found); }
    };
    document.body.appendChild(script);
  };

  function start(picture) {
    var say = JSON.parse(viewer.getAttribute("data-say")), mark = viewer.getAttribute("data-decimal");
    var stage = figure.querySelector(".image"), canvas = document.createElement("canvas"), bar = document.createElement("canvas");
    var field = function (name) { return viewer.querySelector("[name=" + name + "]"); };
    var low = field("low"), high = field("high"), map = field("map"), reading = document.getElementById("reading"), drawn = null;
    hb.prepare(picture);

    function colours() {
      return Uint8Array.from(atob(hb.maps[map.value]), function (one) { return one.charCodeAt(0); });
    }
    function put(value) { return hb.number(value, picture.decimals, mark) + "\u00a0" + picture.unit; }

    function end(value, from, to) {
      return hb.number(value, hb.rangeDigits(picture, from, to), mark) + "\u00a0" + picture.unit;
    }

    function paint() {
      var from = Number(low.value), to = Number(high.value), wrong = !(to > from) || low.value === "" || high.value === "";
      viewer.querySelector(".range-wrong").hidden = !wrong;
      if (wrong) { return; }
      hb.paint(canvas, picture, colours(), from, to);
      hb.paintBar(bar, colours());
      if (picture.scaled) { hb.paintTicks(figure.querySelector(".bar"), from, to, mark); }
      figure.querySelector(".scale-text").textContent =
        picture.scaled ? hb.fill(say.scale, { low: end(from, from, to), high: end(to, from, to) }) : say.scale_unscaled;
      figure.querySelector(".scale").setAttribute("aria-label", figure.querySelector(".scale-text").textContent);
      compared.repaint();
    }

    function setRange(from, to) {
      var digits = Math.max(hb.rangeDigits(picture, from, to), Math.min(1, picture.resolution));
      low.value = from.toFixed(digits);
      high.value = (to > from ? to : from + 1).toFixed(digits);
      low.step = high.step = Math.pow(10, -digits).toFixed(digits);
      paint();
    }

    function moved(x, y) {
      var value = hb.at(picture, x, y), parts = [hb.fill(say.place, { x: x, y: y })];
      if (!isFinite(value)) {
        parts.push(say.masked);
      } else {
        parts.push(put(value));
        var bounds = hb.bounds(picture, x, y, value);
        if (bounds) { parts.push(between(value, bounds)); }
        var other = compared.other(), there = other ? hb.at(other, x, y) : NaN;
        if (isFinite(there)) {
          parts.push(hb.fill(say.other, { value: put(there),
            difference: hb.number(value - there, picture.decimals, mark) + "\u00a0" + picture.difference }));
        }
      }
      var names = picture.regions.filter(function (one) { return hb.holds(one, x, y); }).map(function (one) { return one.name; });
      if (names.length) { parts.push(hb.fill(say.in_region, { names: names.join(", ") })); }
      reading.textContent = parts.join(" · ");
      reading.setAttribute("data-value", isFinite(value) ? value.toFixed(picture.resolution) : "");
    }

    function between(value, bounds) {
      var digits = picture.decimals;
      return hb.fill(say.between, { low: hb.number(value - bounds[0], digits, mark),
        high: hb.number(value + bounds[1], digits, mark) + "\u00a0" + picture.unit });
    }

    canvas.setAttribute("aria-hidden", "true");
    stage.insertBefore(canvas, stage.querySelector("img").nextSibling);
    figure.querySelector(".bar").insertBefore(bar, figure.querySelector(".bar").firstChild);
    stage.tabIndex = 0;
    stage.setAttribute("role", "application");
    stage.setAttribute("aria-label", say.stage);
    stage.setAttribute("aria-describedby", "viewer-keys");
    var show = hb.regionPanel(document.getElementById("drawn"), picture, say, mark);
    var compared = hb.comparing(viewer, stage, picture, function (target, other) {
      hb.paint(target, other, colours(), Number(low.value), Number(high.value));
    });
    var drawing = hb.drawing(stage, picture, { moved: moved, drawn: function (shape) {
      drawn = shape;
      field("fit-drawn").disabled = !shape || shape.shape === "point";
      show(shape);
    } });
    viewer.querySelectorAll("[name=tool]").forEach(function (one) {
      one.addEventListener("change", function () {
        drawing.choose(one.value);
        field("close").hidden = one.value !== "outline";
        viewer.querySelector(".hint").textContent = say["hint_" + one.value];
      });
    });
    drawing.choose(viewer.querySelector("[name=tool]:checked").value);
    viewer.querySelector(".hint").textContent = say.hint_point;
    field("close").addEventListener("click", drawing.finish);
    field("clear").addEventListener("click", drawing.clear);
    [low, high, map].forEach(function (one) { one.addEventListener("input", paint); });
    field("fit").addEventListener("click", function () { setRange(picture.lowest, picture.highest); });
    field("fit-first").addEventListener("click", function () { setRange(picture.low_end, picture.high_end); });
    field("fit-drawn").addEventListener("click", function () {
      var readings = hb.readingsOf(picture, drawn).filter(isFinite);
      if (readings.length) {
        setRange(readings.reduce(function (a, b) { return Math.min(a, b); }), readings.reduce(function (a, b) { return Math.max(a, b); }));
      }
    });
    viewer.hidden = reading.hidden = false;
    setRange(picture.low_end, picture.high_end);
    reading.textContent = say.start;
    viewer.setAttribute("data-ready", "");
  }

  if (viewer && figure) {
    window.addEventListener("load", function () {
      window.requestAnimationFrame(function () {
        window.setTimeout(function () {
          hb.load(viewer.getAttribute("data-colours"), "", function () {
            hb.load(viewer.getAttribute("data-values"), viewer.getAttribute("data-id"), start);
          });
        }, 0);
      });
    });
  }
}(heatbriefViewer));
