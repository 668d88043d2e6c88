// The search for a layout: what is asked of it, and what it has come to. The bench has it made by a process of its own.

import { differs, get, listed, make, svgOf } from "./making.js";
import { asked, inTurn } from "./stream.js";

const CORNERS = ["south-east", "south-west", "north-west", "north-east"];

// `ask` asks the bench to do something.
export function search(ask) {
  let number = 0;
  let state = null;
  let layer = 0;
  let corner = 0;
  let way = "";

  const bring = inTurn(function () {
    return asked("search").then(function (found) {
      state = found;
      number = found.number;
      show();
    }).catch(function () {});
  }, 200);

  function show() {
    get("search-begin").disabled = state.goes_on;
    get("search-stop").hidden = !state.goes_on;
    get("search-told").textContent = state.told;
    get("search-shown").hidden = !state.picture;
    get("search-heading").textContent = state.heading;
    listed(get("search-left"), state.left);
    get("search-lines").textContent = state.lines.join("\n");
    if (get("search-write").hidden && state.file) {
      get("search-file").value = state.file;
      get("search-written").textContent = "";
    }
    get("search-write").hidden = !state.file;
    if (state.picture) {
      layer = Math.min(layer, state.layers);
      views();
      look();
    }
  }

  function views() {
    if (differs(get("search-views"), [state.layers, layer])) {
      const all = [];
      for (let each = 0; each <= state.layers; each += 1) {
        const made = make("button", each ? "Layer " + each : "In three dimensions",
          { type: "button", "aria-current": String(each === layer) });
        made.addEventListener("click", function () {
          layer = each;
          views();
          look();
        });
        all.push(made);
      }
      get("search-views").replaceChildren.apply(get("search-views"), all);
    }
    get("search-turning").hidden = layer > 0;
  }

  function address() {
    const words = new URLSearchParams({ corner: CORNERS[corner], apart: get("search-apart").value || "0", letters: "1" });
    return layer ? "search/layer/" + layer : "search/build?" + words;
  }

  const look = inTurn(function () {
    const mine = state.picture + " " + address();
    if (mine === way) {
      return Promise.resolve();
    }
    return asked(address()).then(function (found) {
      if (found.stopped) {
        get("search-picture").replaceChildren(make("p", found.stopped));
      } else if (found.picture === state.picture) {
        way = mine;
        picture(found);
      }
    }).catch(function () {});
  }, 0);

  function picture(found) {
    const made = svgOf(found.svg);
    made.setAttribute("aria-label", layer ? "Layer " + layer + " of the layout" : "The layout from the " + CORNERS[corner]);
    get("search-picture").replaceChildren(made);
    get("search-letters").replaceChildren.apply(get("search-letters"), (found.letters || []).map(function (each) {
      const row = make("li");
      row.append(make("b", each[0]), make("span", " " + each[1]));
      return row;
    }));
  }

  function turn(by) {
    corner = (corner + by + CORNERS.length) % CORNERS.length;
    get("search-corner").textContent = "from the " + CORNERS[corner];
    look();
  }

  function whole(id) {
    return Math.max(0, Math.round(Number(get(id).value)) || 0);
  }

  get("search").addEventListener("submit", function (event) {
    event.preventDefault();
    ask({
      do: "search",
      seconds: whole("search-seconds"),
      layers: whole("search-layers"),
      box: get("search-box").value.trim(),
      seed: whole("search-seed"),
      fewest_things: get("search-fewest").checked,
    });
  });
  get("search-stop").addEventListener("click", function () { ask({ do: "stop search" }); });
  get("search-write").addEventListener("submit", function (event) {
    event.preventDefault();
    get("search-written").textContent = "";
    ask({ do: "write", name: get("search-file").value.trim() }).then(function (answer) {
      get("search-written").textContent = answer.written ? "written to " + answer.written : "";
    });
  });
  get("search-turn-left").addEventListener("click", function () { turn(1); });
  get("search-turn-right").addEventListener("click", function () { turn(-1); });
  get("search-apart").addEventListener("change", look);

  function open(plan) {
    get("laying-heading").textContent = plan.layers ? "A smaller drawing" : "A layout";
    get("search-begin").textContent = plan.layers ? "Make the drawing smaller" : "Lay it out";
  }

  function update(told) {
    if (told.search !== number) {
      bring();
    }
  }

  return { open: open, update: update };
}
