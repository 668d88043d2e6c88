// The build in three dimensions. The bench draws it; here what differs is put in, and what is powered is marked.

import { draw, get, make, svgOf } from "./making.js";

const CORNERS = ["south-east", "south-west", "north-west", "north-east"];

// `level` says the level at a place, or null.
export function build(level) {
  let plan = null;
  let standing = 0;
  let way = "";
  let corner = 0;
  let things = {};
  let heard = [];
  let marked = [];
  let isBusy = false;
  let isBehind = false;

  function asked() {
    const words = new URLSearchParams({ corner: CORNERS[corner], apart: get("apart").value || "0" });
    ["layer", "row", "column"].forEach(function (each) {
      words.set(each, get("cut-" + each).value || "0");
    });
    words.set("letters", get("solid-letters").checked ? "1" : "0");
    return words;
  }

  function isShown() {
    return !get("build").hidden;
  }

  // Asks for the build as it stands now: only for what differs, if it is looked at in the same way as before.
  function bring() {
    if (isBusy) {
      isBehind = true;
      return;
    }
    isBusy = true;
    isBehind = false;
    const words = asked();
    const mine = plan.revision + "?" + words;
    words.set("since", mine === way ? String(standing) : "0");
    fetch("build?" + words).then(function (answer) { return answer.json(); }).then(function (found) {
      take(found, mine);
    }).catch(function () {
      way = "";
    }).finally(function () {
      isBusy = false;
      if (isBehind) {
        bring();
      }
    });
  }

  function take(found, mine) {
    if (found.stopped) {
      way = "";
      get("build").replaceChildren(make("p", found.stopped));
      return;
    }
    if (found.revision !== plan.revision) {
      way = "";
      return;
    }
    if (found.put) {
      change(found);
    } else {
      whole(found);
    }
    way = mine;
    standing = found.standing;
  }

  function whole(found) {
    const picture = svgOf(found.svg);
    picture.setAttribute("aria-label", "The build from the " + CORNERS[corner]);
    things = {};
    picture.querySelectorAll("[data-at]").forEach(known);
    get("build").replaceChildren(picture);
    hear(heard);
  }

  function change(found) {
    found.gone.forEach(function (at) {
      if (things[at]) {
        things[at].group.remove();
        delete things[at];
      }
    });
    if (!found.put.length) {
      return;
    }
    const picture = get("build").querySelector("svg");
    const put = {};
    Array.from(svgOf(found.svg).children).forEach(function (each) {
      if (each.hasAttribute("data-at")) {
        put[each.getAttribute("data-at")] = each;
      } else if (each.id && !picture.getElementById(each.id)) {
        picture.querySelector("defs").append(each);
      }
    });
    found.put.forEach(function (each) {
      const at = each[0];
      const old = things[at] && things[at].group;
      const layer = picture.querySelector('[aria-label="layer ' + at.split(",")[0] + '"]');
      layer.insertBefore(put[at], each[1] ? things[each[1]].group : null);
      if (old) {
        old.remove();
      }
      known(put[at]);
      things[at].group.classList.add("changed");
      marked.push(at);
    });
  }

  function known(group) {
    const at = group.getAttribute("data-at");
    things[at] = { group: group, number: null, level: 0 };
    power(at);
  }

  // What is powered has thick lines, and its level beside it.
  function power(at) {
    const thing = things[at];
    const now = level(at) || 0;
    if (!thing || thing.level === now) {
      return;
    }
    thing.level = now;
    thing.group.classList.toggle("on", now > 0);
    if (!thing.number) {
      const side = (thing.group.getAttribute("data-side") || "0 0").split(" ").map(Number);
      const below = thing.group.querySelector("text") && !thing.group.hasAttribute("data-side") ? 15 : 4;
      thing.number = draw("text", { class: "level", x: side[0], y: side[1] + below });
      thing.group.append(thing.number);
    }
    thing.number.textContent = now ? String(now) : "";
  }

  function update(told, places, isNew) {
    if (isNew) {
      marked.forEach(function (at) {
        if (things[at]) {
          things[at].group.classList.remove("changed");
        }
      });
      marked = [];
    }
    if (!isShown()) {
      return;
    }
    places.forEach(function (at) {
      power(at);
      if (isNew && things[at]) {
        things[at].group.classList.add("changed");
        marked.push(at);
      }
    });
    if (told.standing && told.standing !== standing && way) {
      bring();
    }
  }

  function hear(places) {
    heard.forEach(function (at) {
      if (things[at]) {
        things[at].group.classList.remove("heard");
      }
    });
    heard = places;
    heard.forEach(function (at) {
      if (things[at]) {
        things[at].group.classList.add("heard");
      }
    });
  }

  function show(isWanted) {
    get("build").hidden = !isWanted;
    get("turning").hidden = !isWanted;
    if (isWanted) {
      Object.keys(things).forEach(power);
      bring();
    }
  }

  function open(found) {
    plan = found;
    way = "";
    ["layer", "row", "column"].forEach(function (each, place) {
      get("cut-" + each).max = plan.size[place];
    });
    if (isShown()) {
      bring();
    }
  }

  function turn(by) {
    corner = (corner + by + CORNERS.length) % CORNERS.length;
    get("corner").textContent = "from the " + CORNERS[corner];
    bring();
  }

  function apart() {
    const field = get("apart");
    field.value = Number(field.value) ? 0 : 3;
    bring();
  }

  function letters() {
    get("solid-letters").checked = !get("solid-letters").checked;
    bring();
  }

  get("turn-left").addEventListener("click", function () { turn(1); });
  get("turn-right").addEventListener("click", function () { turn(-1); });
  get("turning").addEventListener("change", bring);
  return { open: open, show: show, isShown: isShown, update: update, hear: hear, turn: turn, apart: apart, letters: letters };
}
