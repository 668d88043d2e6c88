// The layers, each drawn by the bench when it is first looked at; or the signal graph of a circuit in text. Of layers
// that are not looked at nothing is changed until they are.

import { get, make, svgOf } from "./making.js";

const FULL = 15;

export function layers(plan) {
  const latest = {};
  const changed = new Set();
  const frames = [];
  const parts = {};
  let layer = 0;

  function open() {
    const count = Math.max(plan.layers, 1);
    get("pictures").replaceChildren();
    for (let number = 0; number < count; number += 1) {
      const name = plan.layers ? "Layer " + (number + 1) : "The signal graph";
      const element = make("div", "", { class: "picture", tabindex: "0", role: "group", "aria-label": name });
      frames.push({ element: element, places: null, letters: [], isAsked: false });
      get("pictures").append(element);
    }
    if (plan.graph) {
      frames[0].element.append(svgOf(plan.graph));
      get("pictures").querySelectorAll("[data-part]").forEach(function (group) {
        parts[group.getAttribute("data-part")] = group;
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
    fetch("layer/" + (number + 1)).then(function (answer) { return answer.json(); }).then(function (found) {
      if (!found.svg || found.revision !== plan.revision) {
        return;
      }
      frame.element.replaceChildren(svgOf(found.svg));
      frame.letters = found.letters;
      frame.places = {};
      frame.element.querySelectorAll("[data-at]").forEach(function (group) {
        frame.places[group.getAttribute("data-at")] = placeOf(group);
      });
      catchUp(frame);
      meanings();
    }).catch(function () {
      frame.isAsked = false;
    });
  }

  function placeOf(group) {
    const rect = group.querySelector("rect");
    const title = group.querySelector("title");
    return {
      group: group,
      frame: rect,
      title: title,
      where: title ? title.textContent.split(": ")[0] : "",
      bar: group.querySelector(".bar"),
      letter: group.querySelector(".letter"),
      number: group.querySelector(".level"),
      bottom: Number(rect.getAttribute("y")) + Number(rect.getAttribute("height")),
      side: Number(rect.getAttribute("height")),
      shown: null,
    };
  }

  function catchUp(frame) {
    Object.keys(frame.places || {}).forEach(function (at) {
      put(frame.places[at], latest[at]);
      frame.places[at].group.classList.toggle("changed", changed.has(at));
    });
  }

  function put(place, shown) {
    if (!shown || place.shown === shown) {
      return;
    }
    place.shown = shown;
    const level = shown[0];
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

  function placeAt(at) {
    const frame = frames[Number(at.slice(0, at.indexOf(","))) - 1];
    return frame && frame.places && !frame.element.hidden ? frame.places[at] : null;
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
      frame.element.hidden = place !== number && number !== frames.length;
      if (!frame.element.hidden) {
        bring(place);
        catchUp(frame);
      }
    });
    get("letters").hidden = number < 0;
    meanings();
  }

  function update(told, isNew) {
    if (isNew) {
      changed.forEach(function (at) {
        const place = placeAt(at);
        if (place) {
          place.group.classList.remove("changed");
        }
      });
      changed.clear();
    }
    Object.keys(told.places).forEach(function (at) {
      latest[at] = told.places[at];
      const place = placeAt(at);
      if (isNew) {
        changed.add(at);
      }
      if (place) {
        put(place, latest[at]);
        place.group.classList.toggle("changed", isNew);
      }
    });
    Object.keys(told.parts).forEach(function (name) {
      if (parts[name]) {
        parts[name].classList.toggle("on", told.parts[name] > 0);
        parts[name].setAttribute("aria-label", name + " level " + told.parts[name]);
      }
    });
  }

  // The numbers of the layers in which something changed at this moment.
  function changedLayers() {
    return new Set(Array.from(changed, function (at) { return Number(at.slice(0, at.indexOf(","))); }));
  }

  function hear(places) {
    get("pictures").querySelectorAll(".heard").forEach(function (group) { group.classList.remove("heard"); });
    places.forEach(function (at) {
      const group = get("pictures").querySelector('[data-at="' + at + '"]');
      if (group) {
        group.classList.add("heard");
      }
    });
  }

  open();
  return {
    show: show,
    update: update,
    changedLayers: changedLayers,
    hear: hear,
    level: function (at) { return latest[at] ? latest[at][0] : null; },
  };
}
