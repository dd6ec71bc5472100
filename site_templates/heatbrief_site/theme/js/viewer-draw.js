// Pointer and keyboard on the picture: reading a place and drawing a point, line, box or outline.
(function (hb) {
  "use strict";
  var NEAR = 12;

  // stage: the element with the picture. told: functions moved(x, y) and drawn(shape or null).
  hb.drawing = function (stage, picture, told) {
    var corners = [], cursor = [Math.floor(picture.width / 2), Math.floor(picture.height / 2)], tool = "point", held = null;
    var svg = document.createElementNS("http://www.w3.org/2000/svg", "svg");
    svg.setAttribute("class", "overlay drawn");
    svg.setAttribute("viewBox", "-0.5 -0.5 " + picture.width + " " + picture.height);
    svg.setAttribute("preserveAspectRatio", "none");
    svg.setAttribute("aria-hidden", "true");
    stage.appendChild(svg);

    function place(event) {
      var box = stage.getBoundingClientRect();
      var x = Math.floor((event.clientX - box.left) / box.width * picture.width);
      var y = Math.floor((event.clientY - box.top) / box.height * picture.height);
      return [Math.min(picture.width - 1, Math.max(0, x)), Math.min(picture.height - 1, Math.max(0, y))];
    }

    // What the corners and the moving place give with the chosen tool; null while it is not a shape yet.
    function shapeOf(points) {
      var distinct = points.filter(function (one, i) { return i === 0 || one.join() !== points[i - 1].join(); });
      if (tool === "point") { return points.length ? { shape: "point", points: [points[points.length - 1]] } : null; }
      if (tool === "line") { return distinct.length > 1 ? { shape: "line", points: distinct } : null; }
      if (tool === "box") {
        if (points.length < 2) { return null; }
        var a = points[0], b = points[points.length - 1];
        return { shape: "box", points: [[Math.min(a[0], b[0]), Math.min(a[1], b[1])],
          [Math.max(a[0], b[0]) + 1, Math.max(a[1], b[1]) + 1]] };
      }
      return hb.area(distinct) > 0 ? { shape: "polygon", points: distinct } : null;
    }

    function show(moving, finished) {
      var points = moving ? corners.concat([moving]) : corners, shape = shapeOf(points);
      svg.textContent = "";
      ["under", "over"].forEach(function (layer) {
        if (shape && shape.shape === "box") {
          hb.element(svg, "rect", { x: shape.points[0][0] - 0.5, y: shape.points[0][1] - 0.5, "class": layer,
            width: shape.points[1][0] - shape.points[0][0], height: shape.points[1][1] - shape.points[0][1] });
        } else if (tool === "point") {
          points.slice(-1).forEach(function (one) {
            hb.element(svg, "rect", { x: one[0] - 1.5, y: one[1] - 1.5, width: 3, height: 3, "class": layer });
          });
        } else if (points.length) {
          hb.element(svg, finished && tool === "outline" ? "polygon" : "polyline", { points: points.join(" "), "class": layer });
        }
        if (!finished && tool !== "point" && stage.matches(":focus-visible")) {
          hb.element(svg, "rect", { x: cursor[0] - 1.5, y: cursor[1] - 1.5, width: 3, height: 3, "class": layer });
        }
      });
      if (finished) { told.drawn(shape); }
    }

    function clear() { corners = []; held = null; show(null, false); told.drawn(null); }

    function finish() {
      show(null, true);
      held = null;
      corners = [];
    }

    // A corner set by a click, a tap or the Enter key.
    function set(point, near) {
      if (tool === "point") { corners = [point]; finish(); return; }
      if (tool === "outline") {
        if (corners.length > 2 && near) { finish(); } else { corners.push(point); show(null, false); }
        return;
      }
      corners.push(point);
      if (corners.length === 2) { finish(); } else { show(null, false); }
    }

    function close(event) {
      if (corners.length < 3) { return false; }
      var box = stage.getBoundingClientRect(), first = corners[0];
      var x = box.left + (first[0] + 0.5) / picture.width * box.width, y = box.top + (first[1] + 0.5) / picture.height * box.height;
      return Math.hypot(event.clientX - x, event.clientY - y) < NEAR;
    }

    stage.addEventListener("pointermove", function (event) {
      cursor = place(event);
      told.moved(cursor[0], cursor[1]);
      if (corners.length && tool !== "point") { show(cursor, false); }
    });
    stage.addEventListener("pointerdown", function (event) {
      if (event.button) { return; }
      cursor = place(event);
      told.moved(cursor[0], cursor[1]);
      if (tool === "point" || tool === "outline") { set(cursor, close(event)); return; }
      stage.setPointerCapture(event.pointerId);
      if (!corners.length) { held = cursor; }
      set(cursor, false);
    });
    stage.addEventListener("pointerup", function (event) {
      var end = place(event), moved = held && Math.hypot(end[0] - held[0], end[1] - held[1]) >= 2;
      held = null;
      if (moved && corners.length === 1) { set(end, false); }
    });
    stage.addEventListener("pointercancel", clear);
    stage.addEventListener("dblclick", function () { if (tool === "outline" && hb.area(corners) > 0) { finish(); } });

    stage.addEventListener("keydown", function (event) {
      var far = event.shiftKey ? 10 : 1;
      var by = { ArrowLeft: [-far, 0], ArrowRight: [far, 0], ArrowUp: [0, -far], ArrowDown: [0, far] }[event.key];
      if (by) {
        cursor = [Math.min(picture.width - 1, Math.max(0, cursor[0] + by[0])),
          Math.min(picture.height - 1, Math.max(0, cursor[1] + by[1]))];
        told.moved(cursor[0], cursor[1]);
        if (tool === "point") { corners = [cursor]; show(null, false); corners = []; } else { show(corners.length ? cursor : null, false); }
      } else if (event.key === "Enter" || event.key === " ") {
        set(cursor.slice(), corners.length > 2 && cursor.join() === corners[corners.length - 1].join());
      } else if (event.key === "Backspace" && corners.length) {
        corners.pop();
        show(null, false);
      } else if (event.key === "Escape") {
        clear();
      } else {
        return;
      }
      event.preventDefault();
    });

    return {
      choose: function (name) {
        tool = name;
        stage.style.touchAction = name === "point" ? "pan-y" : "none";
        clear();
      },
      clear: clear,
      finish: function () { if (tool === "outline" && hb.area(corners) > 0) { finish(); } }
    };
  };

  hb.area = function (points) {
    var twice = points.reduce(function (sum, a, i) {
      var b = points[(i + 1) % points.length];
      return sum + a[0] * b[1] - b[0] * a[1];
    }, 0);
    return Math.abs(twice) / 2;
  };
}(heatbriefViewer));
