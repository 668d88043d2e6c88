// The bench: shows what the engine on this machine says, and asks it for more. It computes nothing of circuits itself.
"use strict";
(function () {
  const SVG = "http://www.w3.org/2000/svg";
  const FULL = 15;
  const ROW = 24;
  const NAMES = 130;
  const WIDE = 4;
  let plan = null;
  let now = null;
  let edges = {};
  let places = {};
  let parts = {};
  let latest = {};
  let letters = [];
  let layer = 0;

  function get(id) {
    return document.getElementById(id);
  }

  function make(tag, words, attributes) {
    const element = document.createElement(tag);
    element.textContent = words || "";
    Object.keys(attributes || {}).forEach(function (name) {
      element.setAttribute(name, attributes[name]);
    });
    return element;
  }

  function draw(tag, attributes, words) {
    const element = document.createElementNS(SVG, tag);
    Object.keys(attributes).forEach(function (name) {
      element.setAttribute(name, attributes[name]);
    });
    element.textContent = words || "";
    return element;
  }

  function listed(list, rows) {
    list.replaceChildren.apply(list, rows.map(function (row) {
      return make("li", row);
    }));
  }

  // Asking.

  function ask(what) {
    return fetch("do", { method: "POST", body: JSON.stringify(what), headers: { "Content-Type": "application/json" } })
      .then(function (answer) { return answer.json(); })
      .then(function (answer) {
        get("stopped").textContent = answer.stopped || "";
        return answer;
      })
      .catch(function () {
        get("stopped").textContent = "The bench does not answer: it has ended, or is being started again.";
        return {};
      });
  }

  function button(words, what, attributes) {
    const made = make("button", words, Object.assign({ type: "button" }, attributes || {}));
    made.addEventListener("click", function () { ask(what()); });
    return made;
  }

  // What is shown once for each reading of the file.

  function svgOf(text) {
    return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
  }

  function show(found) {
    if (!plan) {
      layer = found.first - 1;
    }
    plan = found;
    latest = {};
    get("name").textContent = plan.title || plan.name;
    document.title = plan.name + " – the bench";
    get("mistakes").hidden = !plan.mistakes.length;
    get("mistakes").textContent = plan.mistakes.join("\n");
    listed(get("news"), plan.news);
    pictures();
    inputs();
    get("signals").replaceChildren.apply(get("signals"), plan.signals.map(function (name) {
      return make("option", "", { value: name });
    }));
    get("starts").replaceChildren();
    if (plan.starts.length > 1) {
      plan.starts.forEach(function (words, number) {
        get("starts").append(button("Start with " + words.join(", "), function () {
          return { do: "restart", number: number };
        }));
      });
    } else {
      get("starts").append(button("Start again", function () { return { do: "restart", number: 0 }; }));
    }
  }

  function pictures() {
    const count = Math.max(plan.layers, 1);
    layer = Math.min(layer, count);
    letters = [];
    places = {};
    parts = {};
    get("pictures").replaceChildren();
    for (let number = 0; number < count; number += 1) {
      const name = plan.layers ? "Layer " + (number + 1) : "The signal graph";
      get("pictures").append(make("div", "", { class: "picture", tabindex: "0", role: "group", "aria-label": name }));
    }
    if (plan.graph) {
      get("pictures").firstChild.append(svgOf(plan.graph));
      get("pictures").querySelectorAll("[data-part]").forEach(function (group) {
        parts[group.getAttribute("data-part")] = group;
      });
    } else if (!plan.layers) {
      get("pictures").replaceChildren(make("p", "It is too large to be drawn as a graph."));
    }
    get("layers").replaceChildren();
    for (let number = 0; number < plan.layers; number += 1) {
      get("layers").append(layerButton("Layer " + (number + 1), number));
    }
    if (plan.layers > 1) {
      get("layers").append(layerButton("All layers", plan.layers));
    }
    choose(layer);
  }

  function layerButton(words, number) {
    const made = make("button", words, { type: "button" });
    made.addEventListener("click", function () { choose(number); });
    return made;
  }

  // A layer is drawn when it is first looked at; what has changed by then is known already.
  function bring(number) {
    const revision = plan.revision;
    const frame = get("pictures").children[number];
    if (!plan.layers || frame.hasAttribute("data-brought")) {
      return;
    }
    frame.setAttribute("data-brought", "");
    fetch("layer/" + (number + 1)).then(function (answer) { return answer.json(); }).then(function (found) {
      if (plan.revision !== revision || !found.svg) {
        return;
      }
      frame.replaceChildren(svgOf(found.svg));
      letters[number] = found.letters;
      frame.querySelectorAll("[data-at]").forEach(function (group) {
        const at = group.getAttribute("data-at");
        places[at] = placeOf(group);
        if (latest[at]) {
          put(places[at], latest[at], false);
        }
      });
      meanings();
    });
  }

  function placeOf(group) {
    const frame = group.querySelector("rect");
    const title = group.querySelector("title");
    return {
      group: group,
      frame: frame,
      title: title,
      where: title ? title.textContent.split(": ")[0] : "",
      bar: group.querySelector(".bar"),
      letter: group.querySelector(".letter"),
      number: group.querySelector(".level"),
      bottom: Number(frame.getAttribute("y")) + Number(frame.getAttribute("height")),
      side: Number(frame.getAttribute("height")),
    };
  }

  function choose(number) {
    layer = number;
    const all = layer >= Math.max(plan.layers, 1);
    Array.from(get("pictures").children).forEach(function (frame, place) {
      frame.hidden = place !== layer && !all;
      if (!frame.hidden) {
        bring(place);
      }
    });
    Array.from(get("layers").children).forEach(function (each, place) {
      each.setAttribute("aria-current", String(place === layer));
    });
    meanings();
  }

  function meanings() {
    get("letters").replaceChildren.apply(get("letters"), (letters[layer] || []).map(function (each) {
      const row = make("li");
      row.append(make("b", each[0]), make("span", " " + each[1]));
      return row;
    }));
  }

  function inputs() {
    get("inputs").replaceChildren.apply(get("inputs"), plan.inputs.map(function (input) {
      const row = make("li");
      row.append(make("bdi", input.name), " ", make("span", "", { "data-level-of": input.name }), " ");
      input.verbs.filter(function (verb) {
        return !(verb === "throw" && input.verbs.includes("on"));
      }).forEach(function (verb) {
        if (verb !== "is") {
          const what = function () { return { do: "act", name: input.name, verb: verb }; };
          row.append(button(verb, what, { "aria-label": input.name + " " + verb, "data-input": input.name, "data-verb": verb }), " ");
          return;
        }
        const level = make("input", "", { type: "number", min: "0", max: "15", value: "0", "aria-label": "level of " + input.name });
        row.append(level, " ", button("set", function () {
          return { do: "act", name: input.name, verb: "is", number: Number(level.value) };
        }, { "aria-label": input.name + " set to this level" }));
      });
      return row;
    }));
  }

  // What differs.

  function put(place, shown, changed) {
    const level = shown[0];
    place.group.classList.toggle("changed", changed);
    place.group.classList.toggle("away", shown[5]);
    if (place.letter) {
      place.letter.textContent = shown[1];
    }
    place.frame.setAttribute("fill", shown[3]);
    if (place.bar) {
      const height = place.side * (level || 0) / FULL;
      place.bar.setAttribute("y", String(place.bottom - height));
      place.bar.setAttribute("height", String(height));
      place.number.textContent = level === null ? shown[4] : level ? String(level) : "";
    }
    if (place.title) {
      place.title.textContent = place.where + ": " + shown[2] + (level === null ? "" : ": level " + level);
    }
  }

  // Layers in which something changed at this moment have a dot behind their number.
  function mark(changed) {
    const layers = new Set(changed.map(function (at) { return Number(at.split(",")[0]); }));
    for (let number = 1; number <= plan.layers; number += 1) {
      get("layers").children[number - 1].textContent = "Layer " + number + (layers.has(number) ? " •" : "");
    }
  }

  function update(told) {
    const moved = now !== null && told.at !== now.at;
    now = told;
    get("now").textContent = told.time;
    get("gt").textContent = told.at + "gt";
    get("run").setAttribute("aria-pressed", String(told.speed > 0 || told.waits));
    get("run").textContent = told.speed > 0 || told.waits ? "Stop" : "Run";
    if (moved || told.fresh) {
      get("told").textContent = told.told.length ? told.time + ": " + told.told.join(", ") : told.speed || told.waits ? "" : told.time + ": nothing changes";
      get("pictures").querySelectorAll(".changed").forEach(function (group) { group.classList.remove("changed"); });
    }
    Object.assign(latest, told.places);
    Object.keys(told.places).forEach(function (at) {
      if (places[at]) {
        put(places[at], told.places[at], moved);
      }
    });
    mark(moved ? Object.keys(told.places) : []);
    Object.keys(told.parts).forEach(function (name) {
      if (parts[name]) {
        parts[name].classList.toggle("on", told.parts[name] > 0);
        parts[name].setAttribute("aria-label", name + " level " + told.parts[name]);
      }
    });
    if (told.refused) {
      get("stopped").textContent = told.refused;
    }
    get("queued").textContent = told.queued.length ? "In the next gt: " + told.queued.join(", ") : "";
    get("takeback").hidden = !told.queued.length;
    get("otherwise").hidden = told.at >= told.end;
    order(told.open);
    branches(told.branches);
    verdicts(told.verdicts);
    grow(told);
    levels();
    timing();
  }

  function levels() {
    get("inputs").querySelectorAll("[data-level-of]").forEach(function (span) {
      const mine = edges[span.getAttribute("data-level-of")];
      const level = mine ? mine[mine.length - 1][1] : 0;
      span.textContent = level === 0 ? "off" : level === FULL ? "on" : "at " + level;
    });
  }

  function order(open) {
    const box = get("choice");
    const words = JSON.stringify(open);
    if (box.getAttribute("data-open") === words) {
      return;
    }
    box.setAttribute("data-open", words);
    box.replaceChildren();
    if (open) {
      box.append(make("p", "The next gt depends on an order that is not known (C5). Which comes first?"));
      open.forEach(function (each, number) {
        box.append(button(each, function () { return { do: "choose", number: number }; }));
      });
    }
  }

  function branches(rows) {
    get("branches").replaceChildren.apply(get("branches"), rows.map(function (words, number) {
      const row = make("li");
      row.append(button("Branch " + (number + 1) + ", " + words, function () { return { do: "branch", number: number }; }));
      return row;
    }));
  }

  function verdicts(rows) {
    const words = JSON.stringify(rows);
    if (get("verdicts").getAttribute("data-rows") === words) {
      return;
    }
    get("verdicts").setAttribute("data-rows", words);
    get("verdicts").replaceChildren.apply(get("verdicts"), rows.map(function (each) {
      const row = make("li");
      row.append(make("b", each[0].replace(/_/g, " ")), make("bdi", each[1]));
      return row;
    }));
  }

  // Over time.

  function grow(told) {
    if (told.fresh) {
      edges = {};
    }
    Object.keys(told.edges).forEach(function (name) {
      edges[name] = (edges[name] || []).concat(told.edges[name]);
    });
  }

  function shownSignals() {
    return plan.signals.filter(function (name) {
      return edges[name] && (edges[name].length > 1 || plan.inputs.some(function (input) { return input.name === name; }));
    }).slice(0, 40);
  }

  function timing() {
    const names = shownSignals();
    const shown = Math.max(40, Math.floor((get("timing").parentElement.clientWidth - NAMES - 30) / WIDE));
    const first = Math.max(0, now.at - shown + 10);
    const height = ROW * (names.length + 1);
    const width = NAMES + WIDE * shown;
    const picture = draw("svg", { width: width, height: height, viewBox: "0 0 " + width + " " + height, role: "img" });
    picture.append(draw("title", {}, "Signals from " + first + "gt to " + now.at + "gt"));
    for (let at = Math.ceil(first / 20) * 20; at < first + shown - 5; at += 20) {
      const x = NAMES + (at - first) * WIDE;
      picture.append(draw("line", { x1: x, x2: x, y1: ROW - 6, y2: height, class: "grid" }));
      picture.append(draw("text", { x: x, y: 14, class: "faint" }, at / 2 + "t"));
    }
    names.forEach(function (name, row) {
      const base = ROW * (row + 2) - 5;
      picture.append(draw("text", { x: 2, y: base }, name.length > 18 ? name.slice(0, 17) + "…" : name));
      picture.append(draw("path", { d: line(edges[name], first, base), "data-signal": name }));
    });
    const here = NAMES + (now.at - first) * WIDE;
    picture.append(draw("line", { x1: here, x2: here, y1: 0, y2: height, class: "cursor" }));
    picture.addEventListener("click", function (event) {
      const at = first + Math.round((event.clientX - picture.getBoundingClientRect().left - NAMES) / WIDE);
      if (at >= 0 && at <= now.end) {
        ask({ do: "back", number: at });
      }
    });
    get("timing").replaceChildren(picture);
  }

  function line(points, first, base) {
    let d = "";
    let last = null;
    points.forEach(function (point, place) {
      const end = place + 1 < points.length ? points[place + 1][0] : now.at + 0.5;
      if (end < first) {
        return;
      }
      const y = base - (ROW - 9) * point[1] / FULL;
      const x = NAMES + (Math.max(point[0], first) - first) * WIDE;
      d += (last === null ? "M" + x + " " + y : "L" + x + " " + last + "L" + x + " " + y) + "L" + (NAMES + (end - first) * WIDE) + " " + y;
      last = y;
    });
    return d || "M0 0";
  }

  // Hands.

  function toggle() {
    const runs = now && (now.speed > 0 || now.waits);
    ask({ do: "speed", number: runs ? 0 : Math.max(1, Number(get("speed").value) || 20) });
  }

  const keys = {
    " ": toggle,
    ".": function () { ask({ do: "step", number: 1 }); },
    "t": function () { ask({ do: "step", number: 2 }); },
    ",": function () { ask({ do: "back", number: Math.max(0, now.at - 1) }); },
    "Home": function () { ask({ do: "back", number: 0 }); },
    "End": function () { ask({ do: "back", number: now.end }); },
    "[": function () { choose(Math.max(0, layer - 1)); },
    "]": function () { choose(Math.min(Math.max(plan.layers - 1, 0), layer + 1)); },
    "a": function () { choose(plan.layers); },
  };
  document.addEventListener("keydown", function (event) {
    const typing = event.target.closest("input, select, textarea") || (event.key === " " && event.target.closest("button"));
    if (!typing && !event.ctrlKey && !event.metaKey && !event.altKey && keys[event.key] && now) {
      event.preventDefault();
      keys[event.key]();
    }
  });
  get("start").addEventListener("click", keys.Home);
  get("back").addEventListener("click", keys[","]);
  get("step").addEventListener("click", keys["."]);
  get("tick").addEventListener("click", keys.t);
  get("run").addEventListener("click", toggle);
  get("takeback").addEventListener("click", function () { ask({ do: "take back" }); });
  get("otherwise").addEventListener("click", function () { ask({ do: "otherwise" }); });

  function onSubmit(form, done) {
    get(form).addEventListener("submit", function (event) {
      event.preventDefault();
      done();
    });
  }

  onSubmit("until", function () { ask({ do: "until", words: get("condition").value }); });
  onSubmit("asked", function () { askWhy(get("signal").value); });
  onSubmit("write", function () {
    ask({ do: "check", words: get("title").value }).then(function (answer) {
      get("check").textContent = (answer.lines || []).join("\n");
    });
  });

  function askWhy(name) {
    get("signal").value = name;
    ask({ do: "why", name: name }).then(function (answer) {
      get("why").textContent = (answer.lines || []).join("\n");
    });
  }

  get("pictures").addEventListener("click", function (event) {
    const part = event.target.closest("[data-part]");
    const place = event.target.closest("[data-at]");
    if (part) {
      askWhy(part.getAttribute("data-part"));
    } else if (place && plan.parts[place.getAttribute("data-at")]) {
      askWhy(plan.parts[place.getAttribute("data-at")]);
    }
  });

  // The stream of what changes. A picture is drawn when the screen is ready for one.

  let waiting = [];
  function take(told) {
    waiting.push(told);
    if (waiting.length === 1) {
      requestAnimationFrame(function () {
        const all = waiting;
        waiting = [];
        all.forEach(fresh);
      });
    }
  }

  function fresh(told) {
    if (plan && plan.revision === told.revision) {
      update(told);
      return;
    }
    fetch("plan").then(function (answer) { return answer.json(); }).then(function (found) {
      show(found);
      update(told);
    });
  }

  const news = new EventSource("news");
  news.addEventListener("message", function (event) { take(JSON.parse(event.data)); });
  news.addEventListener("error", function () {
    get("stopped").textContent = "The bench does not answer: it has ended, or is being started again.";
  });
  news.addEventListener("open", function () { get("stopped").textContent = ""; });
})();
