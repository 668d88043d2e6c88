// The signals over time. It is drawn from the edges that the engine gave; of these as many are kept as the bench tells.

import { draw, get } from "./making.js";

const FULL = 15;
const ROW = 24;
const NAMES = 130;
const WIDE = 4;
const MOST_EDGES = 4000;
const MOST_ROWS = 40;

export function timing(goTo) {
  // By the names of signals, which may be those that each object has (`constructor`): a map has no others.
  const edges = new Map();
  const rows = new Map();
  let shape = "";
  let first = 0;
  let picture = null;
  let count = 40;
  let again = null;
  new ResizeObserver(function () {
    count = Math.max(40, Math.floor((get("timing").parentElement.clientWidth - NAMES - 30) / WIDE));
    if (again) {
      again();
    }
  }).observe(get("timing").parentElement);

  function grow(told) {
    if (told.fresh) {
      edges.clear();
    }
    Object.keys(told.edges).forEach(function (name) {
      const mine = edges.get(name) || [];
      edges.set(name, mine);
      told.edges[name].forEach(function (edge) { mine.push(edge); });
      if (mine.length > MOST_EDGES) {
        mine.splice(0, mine.length - MOST_EDGES / 2);
      }
    });
  }

  function level(name) {
    const mine = edges.get(name);
    return mine ? mine[mine.length - 1][1] : 0;
  }

  function shown(plan) {
    const inputs = new Set(plan.inputs.map(function (input) { return input.name; }));
    return plan.signals.filter(function (name) {
      return edges.has(name) && (edges.get(name).length > 1 || inputs.has(name));
    }).slice(0, MOST_ROWS);
  }

  function paint(plan, now) {
    again = function () { paint(plan, now); };
    const names = shown(plan);
    const height = ROW * (names.length + 1);
    first = Math.max(0, now.at - count + 10);
    frame(names, NAMES + WIDE * count, height);
    picture.querySelector("title").textContent = "Signals from " + first + "gt to " + now.at + "gt";
    const scale = draw("g", { class: "scale" });
    for (let at = Math.ceil(first / 20) * 20; at < first + count - 5; at += 20) {
      const x = NAMES + (at - first) * WIDE;
      scale.append(draw("line", { x1: x, x2: x, y1: ROW - 6, y2: height, class: "grid" }));
      scale.append(draw("text", { x: x, y: 14, class: "faint" }, at / 2 + "t"));
    }
    const here = NAMES + (now.at - first) * WIDE;
    scale.append(draw("line", { x1: here, x2: here, y1: 0, y2: height, class: "cursor" }));
    picture.querySelector(".scale").replaceWith(scale);
    names.forEach(function (name, row) {
      rows.get(name).setAttribute("d", line(edges.get(name), ROW * (row + 2) - 5, now));
    });
  }

  // The rows are made again only where others are to be shown.
  function frame(names, width, height) {
    const wanted = JSON.stringify([names, width]);
    if (wanted === shape) {
      return;
    }
    shape = wanted;
    rows.clear();
    picture = draw("svg", { width: width, height: height, viewBox: "0 0 " + width + " " + height, role: "img" });
    picture.append(draw("title", {}), draw("g", { class: "scale" }));
    names.forEach(function (name, row) {
      picture.append(draw("text", { x: 2, y: ROW * (row + 2) - 5 }, name.length > 18 ? name.slice(0, 17) + "…" : name));
      rows.set(name, draw("path", { "data-signal": name }));
      picture.append(rows.get(name));
    });
    picture.addEventListener("click", function (event) {
      goTo(first + Math.round((event.clientX - picture.getBoundingClientRect().left - NAMES) / WIDE));
    });
    get("timing").replaceChildren(picture);
  }

  function line(points, base, now) {
    let d = "";
    let last = null;
    for (let place = begin(points); place < points.length; place += 1) {
      const point = points[place];
      const end = place + 1 < points.length ? points[place + 1][0] : now.at + 0.5;
      const y = base - (ROW - 9) * point[1] / FULL;
      const x = NAMES + (Math.max(point[0], first) - first) * WIDE;
      d += (last === null ? "M" + x + " " + y : "L" + x + " " + last + "L" + x + " " + y) + "L" + (NAMES + (end - first) * WIDE) + " " + y;
      last = y;
    }
    return d || "M0 0";
  }

  // The last edge that is not behind the first moment shown.
  function begin(points) {
    let low = 0;
    let high = points.length - 1;
    while (low < high) {
      const middle = (low + high + 1) >> 1;
      if (points[middle][0] <= first) {
        low = middle;
      } else {
        high = middle - 1;
      }
    }
    return low;
  }

  return { grow: grow, level: level, paint: paint };
}
