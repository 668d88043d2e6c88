// The layers, each drawn by the bench when it is first looked at; or the signal graph of a circuit in text. Of layers
// that are not looked at nothing is changed until they are.

import { get, make, svgOf } from "./making.js";
import { marks } from "./marks.js";
import { asked } from "./stream.js";

const SIDE = 30;

// `known` says what is seen at each place, what has changed in the latest gt, and what is heard.
export function layers(plan, known) {
  const frames = [];
  const parts = new Map();
  let layer = 0;

  function open() {
    const count = Math.max(plan.layers, 1);
    get("pictures").replaceChildren();
    for (let number = 0; number < count; number += 1) {
      const name = plan.layers ? "Layer " + (number + 1) : "The signal graph";
      const holder = make("div", "", { class: "holder" });
      const element = make("div", "", { class: "picture", tabindex: "0", role: "group", "aria-label": name });
      holder.append(element);
      get("pictures").append(holder);
      frames.push({ holder: holder, element: element, places: null, letters: [], isAsked: false, marks: marks(element, false) });
    }
    if (plan.graph) {
      frames[0].element.append(svgOf(plan.graph));
      get("pictures").querySelectorAll("[data-part]").forEach(function (group) {
        parts.set(group.getAttribute("data-part"), group);
      });
    } else if (!plan.layers) {
      get("pictures").replaceChildren(make("p", "It is too large to be drawn as a graph."));
    }
  }

  // A layer is drawn when it is first looked at; what has changed by then is known already.
  function bring(number) {
    const frame = frames[number];
    if (!plan.layers || frame.isAsked) {
      return;
    }
    frame.isAsked = true;
    asked("layer/" + (number + 1)).then(function (found) {
      if (!found.svg || found.revision !== plan.revision) {
        return;
      }
      frame.element.replaceChildren(svgOf(found.svg));
      frame.letters = found.letters;
      frame.places = new Map();
      const points = new Map();
      frame.element.querySelectorAll("[data-at]").forEach(function (group) {
        const at = group.getAttribute("data-at");
        const place = placeOf(group);
        frame.places.set(at, place);
        points.set(at, [Number(place.frame.getAttribute("x")) + SIDE / 2, Number(place.frame.getAttribute("y")) + SIDE / 2]);
      });
      frame.marks.over(points, mark);
      catchUp(frame);
      meanings();
    }).catch(function () {
      frame.isAsked = false;
    });
  }

  function placeOf(group) {
    const title = group.querySelector("title");
    return {
      group: group,
      frame: group.querySelector("rect"),
      title: title,
      where: title ? title.textContent.split(": ")[0] : "",
      letter: group.querySelector(".letter"),
      shown: null,
    };
  }

  function mark(at) {
    const shown = known.places.get(at);
    const isChanged = known.changed.has(at);
    const isHeard = known.heard.has(at);
    const level = shown ? shown[0] : null;
    const words = level ? String(level) : shown && level === null ? shown[4] : "";
    return words || isChanged || isHeard ? { words: words, level: level || 0, isChanged: isChanged, isHeard: isHeard } : null;
  }

  function catchUp(frame) {
    if (frame.places) {
      frame.places.forEach(function (place, at) { put(place, known.places.get(at)); });
      frame.marks.soon();
    }
  }

  function put(place, shown) {
    const before = place.shown;
    if (!shown || before === shown) {
      return;
    }
    place.shown = shown;
    if (!before || before[1] !== shown[1] || before[3] !== shown[3] || before[5] !== shown[5]) {
      place.group.classList.toggle("away", shown[5]);
      place.frame.setAttribute("fill", shown[3]);
      if (place.letter) {
        place.letter.textContent = shown[1];
      }
    }
    if (place.title) {
      place.title.textContent = place.where + ": " + shown[2] + (shown[0] === null ? "" : ": level " + shown[0]);
    }
  }

  function meanings() {
    const letters = frames[layer] ? frames[layer].letters : [];
    get("letters").replaceChildren.apply(get("letters"), letters.map(function (each) {
      const row = make("li");
      row.append(make("b", each[0]), make("span", " " + each[1]));
      return row;
    }));
  }

  // `number` is behind the last layer for all of them, and -1 for none.
  function show(number) {
    layer = number;
    frames.forEach(function (frame, place) {
      frame.holder.hidden = place !== number && number !== frames.length;
      if (!frame.holder.hidden) {
        bring(place);
        catchUp(frame);
      }
    });
    get("letters").hidden = number < 0;
    meanings();
  }

  function update(told, places) {
    places.forEach(function (at) {
      const frame = frames[Number(at.slice(0, at.indexOf(","))) - 1];
      const place = frame && frame.places && !frame.holder.hidden ? frame.places.get(at) : null;
      if (place) {
        put(place, known.places.get(at));
      }
    });
    Object.keys(told.parts).forEach(function (name) {
      const part = parts.get(name);
      if (part) {
        part.classList.toggle("on", told.parts[name] > 0);
        part.setAttribute("aria-label", name + " level " + told.parts[name]);
      }
    });
  }

  function paint() {
    frames.forEach(function (frame, place) {
      if (!frame.holder.hidden) {
        bring(place);
      }
      if (!frame.holder.hidden && frame.places) {
        frame.marks.paint();
      }
    });
  }

  open();
  return { show: show, update: update, paint: paint };
}
