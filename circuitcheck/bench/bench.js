// The bench: shows what the engine on this machine says, and asks it for more. It computes nothing of circuits itself.

import { build } from "./build.js";
import { layers } from "./layers.js";
import { light } from "./light.js";
import { differs, get, listed, make } from "./making.js";
import { search } from "./search.js";
import { asked, listen, lost, TRIES_EVERY } from "./stream.js";
import { timing } from "./timing.js";

const FULL = 15;
const SPOKEN_EVERY = 1000;
let plan = null;
let now = null;
let view = 0;
let pictures = null;
const levelSpans = new Map();
let buttons = [];

// Asking.

function ask(what) {
  return fetch("do", { method: "POST", body: JSON.stringify(what), headers: { "Content-Type": "application/json" } })
    .then(function (answer) { return answer.json(); })
    .then(function (answer) {
      get("stopped").textContent = answer.stopped || "";
      return answer;
    })
    .catch(function () {
      lost();
      return {};
    });
}

function button(words, what, attributes) {
  const made = make("button", words, Object.assign({ type: "button" }, attributes || {}));
  made.addEventListener("click", function () { ask(what()); });
  return made;
}

const signals = timing(function (at) {
  if (at >= 0 && at <= now.end) {
    ask({ do: "back", number: at });
  }
});
const known = { places: new Map(), changed: new Set(), heard: new Set() };
const solid = build(known);
const laying = search(ask);
const lightIn = light(function () { return Math.max(0, Math.min(view, plan.layers - 1)); });

// What is shown once for each reading of the file.

function show(found) {
  if (!plan) {
    view = found.first - 1;
  }
  plan = found;
  get("name").textContent = plan.title || plan.name;
  document.title = plan.name + " – the bench";
  get("mistakes").hidden = !plan.mistakes.length;
  get("mistakes").textContent = plan.mistakes.join("\n");
  listed(get("news"), plan.news);
  known.places.clear();
  known.changed.clear();
  known.heard.clear();
  pictures = layers(plan, known);
  views();
  laying.open(plan);
  inputs();
  get("signals").replaceChildren.apply(get("signals"), plan.signals.map(function (name) {
    return make("option", "", { value: name });
  }));
  const starts = plan.starts.map(function (words, number) {
    return button(plan.starts.length > 1 ? "Start with " + words.join(", ") : "Start again", function () {
      return { do: "restart", number: number };
    });
  });
  get("starts").replaceChildren.apply(get("starts"), starts);
}

// Views: each layer, all of them, and the build in three dimensions, which stands behind them.

function views() {
  buttons = [];
  get("layers").replaceChildren();
  get("layers").hidden = !plan.layers;
  for (let number = 0; number < plan.layers; number += 1) {
    viewButton("Layer " + (number + 1), number);
  }
  if (plan.layers > 1) {
    viewButton("All layers", plan.layers);
  }
  if (plan.layers) {
    viewButton("In three dimensions", inSpace());
    solid.open(plan);
  } else {
    solid.show(false);
    lightIn.show(false);
  }
  get("show-light").hidden = !plan.layers;
  choose(Math.min(view, plan.layers ? inSpace() : 0));
}

function inSpace() {
  return plan.layers + 1;
}

function viewButton(words, number) {
  const made = make("button", words, { type: "button" });
  made.addEventListener("click", function () { choose(number); });
  buttons.push({ element: made, number: number, words: words });
  get("layers").append(made);
}

function choose(number) {
  view = number;
  const isSolid = plan.layers > 0 && number === inSpace();
  pictures.show(isSolid ? -1 : number);
  if (isSolid !== solid.isShown()) {
    solid.show(isSolid);
  }
  buttons.forEach(function (each) { each.element.setAttribute("aria-current", String(each.number === number)); });
  lightIn.again();
}

function inputs() {
  levelSpans.clear();
  get("inputs").replaceChildren.apply(get("inputs"), plan.inputs.map(function (input) {
    const row = make("li");
    const span = make("span");
    levelSpans.set(input.name, span);
    row.append(make("bdi", input.name), " ", span, " ");
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

function update(told) {
  const moved = now !== null && told.at !== now.at;
  now = told;
  pictures.update(told, take(told, moved));
  solid.update(told);
  lightIn.update(told);
  laying.update(told);
  signals.grow(told);
  if (moved || told.fresh) {
    say(told);
  }
}

// Takes in what is seen at places that differ; where only the level does, it comes alone.
function take(told, moved) {
  const places = Object.keys(told.places);
  const levels = Object.keys(told.levels);
  places.forEach(function (at) { known.places.set(at, told.places[at]); });
  levels.forEach(function (at) { known.places.set(at, [told.levels[at]].concat(known.places.get(at).slice(1))); });
  const found = places.concat(levels);
  if (moved) {
    known.changed = new Set(found);
  }
  return found;
}

// What is drawn once, however much has come since the last picture.
function paint() {
  const runs = now.speed > 0 || now.waits;
  get("now").textContent = now.time;
  get("gt").textContent = now.at + "gt";
  get("run").setAttribute("aria-pressed", String(runs));
  get("run").textContent = runs ? "Stop" : "Run";
  mark();
  if (now.refused && get("stopped").textContent !== now.refused) {
    get("stopped").textContent = now.refused;
  }
  get("queued").textContent = now.queued.length ? "In the next gt: " + now.queued.join(", ") : "";
  get("takeback").hidden = !now.queued.length;
  get("otherwise").hidden = now.at >= now.end;
  order(now.open);
  branches(now.branches);
  verdicts(now.verdicts);
  levels();
  signals.paint(plan, now);
  if (solid.isShown()) {
    solid.paint();
  } else {
    pictures.paint();
  }
}

// Layers in which something changed at this moment have a dot behind their number.
function mark() {
  const changed = new Set(Array.from(known.changed, function (at) { return Number(at.slice(0, at.indexOf(","))); }));
  buttons.forEach(function (each) {
    const words = each.words + (each.number < plan.layers && changed.has(each.number + 1) ? " •" : "");
    if (each.element.textContent !== words) {
      each.element.textContent = words;
    }
  });
}

// What has changed, for everybody; while time runs, no oftener than it can be read or heard.
let unsaid = "";
let saidAt = 0;
let later = 0;
function say(told) {
  unsaid = told.told.length ? told.time + ": " + told.told.join(", ") : unsaid;
  if (!told.speed && !told.waits && !told.told.length) {
    unsaid = told.time + ": nothing changes";
  }
  clearTimeout(later);
  const wait = told.speed || told.waits ? saidAt + SPOKEN_EVERY - Date.now() : 0;
  if (wait > 0) {
    later = setTimeout(speak, wait);
  } else {
    speak();
  }
}

function speak() {
  if (unsaid) {
    saidAt = Date.now();
    get("told").textContent = unsaid;
    unsaid = "";
  }
}

function levels() {
  levelSpans.forEach(function (span, name) {
    const level = signals.level(name);
    const words = level === 0 ? "off" : level === FULL ? "on" : "at " + level;
    if (span.textContent !== words) {
      span.textContent = words;
    }
  });
}

function order(open) {
  const box = get("choice");
  if (!differs(box, open)) {
    return;
  }
  box.replaceChildren();
  if (open) {
    box.append(make("p", "The next gt depends on an order that is not known (C5). Which comes first?"));
    open.forEach(function (each, number) {
      box.append(button(each, function () { return { do: "choose", number: number, turn: now.turn }; }));
    });
  }
}

function branches(rows) {
  if (!differs(get("branches"), rows)) {
    return;
  }
  get("branches").replaceChildren.apply(get("branches"), rows.map(function (words, number) {
    const row = make("li");
    row.append(button("Branch " + (number + 1) + ", " + words, function () {
      return { do: "branch", number: number, turn: now.turn };
    }));
    return row;
  }));
}

function verdicts(rows) {
  if (!differs(get("verdicts"), rows)) {
    return;
  }
  get("verdicts").replaceChildren.apply(get("verdicts"), rows.map(function (each) {
    const row = make("li");
    row.append(make("b", each[0].replace(/_/g, " ")), make("bdi", each[1]));
    return row;
  }));
}

// Hands.

function toggle() {
  const runs = now && (now.speed > 0 || now.waits);
  ask({ do: "speed", number: runs ? 0 : Math.max(1, Number(get("speed").value) || 20) });
}

function chooseNear(by) {
  choose(Math.max(0, Math.min(Math.max(plan.layers - 1, 0), view + by)));
}

function ifSolid(done) {
  return function () {
    if (solid.isShown()) {
      done();
    }
  };
}

function ifDrawn(done) {
  return function () {
    if (plan.layers) {
      done();
    }
  };
}

const keys = {
  " ": toggle,
  ".": function () { ask({ do: "step", number: 1 }); },
  "t": function () { ask({ do: "step", number: 2 }); },
  ",": function () { ask({ do: "back", number: Math.max(0, now.at - 1) }); },
  "Home": function () { ask({ do: "back", number: 0 }); },
  "End": function () { ask({ do: "back", number: now.end }); },
  "[": function () { chooseNear(-1); },
  "]": function () { chooseNear(1); },
  "a": ifDrawn(function () { choose(plan.layers); }),
  "d": ifDrawn(function () { choose(inSpace()); }),
  "g": ifDrawn(function () { lightIn.toggle(); }),
  "(": ifSolid(function () { solid.turn(1); }),
  ")": ifSolid(function () { solid.turn(-1); }),
  "x": ifSolid(function () { solid.apart(); }),
  "l": ifSolid(function () { solid.letters(); }),
};
document.addEventListener("keydown", function (event) {
  const typing = event.target.closest("input, select, textarea") || (event.key === " " && event.target.closest("button"));
  if (!typing && !event.ctrlKey && !event.metaKey && !event.altKey && keys[event.key] && now && get("keys").checked) {
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
    if (answer.lines) {
      ask({ do: "hears", name: name }).then(hearing);
    } else {
      hearing({});
    }
  });
}

// What a detector hears is marked in the pictures as well.
function hearing(found) {
  const rows = (found.hears || []).map(function (each) { return "hears " + each[1] + (each[0] === "heard" ? "" : ": " + each[0]); });
  if (found.listens && !rows.length) {
    rows.push("hears nothing: what it stands at never changes");
  }
  (found["heard by"] || []).forEach(function (name) { rows.push("heard by " + name); });
  listed(get("hears"), rows);
  known.heard = new Set((found.hears || []).map(function (each) { return each[2]; }));
  solid.paint();
  pictures.paint();
}

function clicked(event) {
  const part = event.target.closest("[data-part]");
  const place = event.target.closest("[data-at]");
  if (part) {
    askWhy(part.getAttribute("data-part"));
  } else if (place && plan.parts[place.getAttribute("data-at")]) {
    askWhy(plan.parts[place.getAttribute("data-at")]);
  }
}

get("pictures").addEventListener("click", clicked);
get("build").addEventListener("click", clicked);

// What is told is drawn when the screen is ready for a picture. What was told of a reading of the file that is not shown
// yet waits until it is.

let waiting = [];
let isBringing = false;
function receive(told) {
  waiting.push(told);
  if (waiting.length === 1 && !isBringing) {
    requestAnimationFrame(drawn);
  }
}

function drawn() {
  const all = waiting;
  waiting = [];
  if (all.every(function (told) { return plan && told.revision === plan.revision; })) {
    all.forEach(update);
    paint();
    return;
  }
  isBringing = true;
  asked("plan").then(function (found) {
    show(found);
    waiting = all.concat(waiting).filter(function (told) { return told.revision === found.revision; });
  }).catch(function () {
    waiting = all.concat(waiting);
    return new Promise(function (resolve) { setTimeout(resolve, TRIES_EVERY); });
  }).finally(function () {
    isBringing = false;
    if (waiting.length) {
      requestAnimationFrame(drawn);
    }
  });
}

listen(receive);
