// The build in three dimensions. The bench draws it; here what differs is put in, and what is powered is marked.

import { get, make, svgOf } from "./making.js";
import { marks } from "./marks.js";
import { asked, inTurn } from "./stream.js";

const CORNERS = ["south-east", "south-west", "north-west", "north-east"];

// `known` says what is seen at each place, what has changed in the latest gt, and what is heard.
export function build(known) {
  const signs = marks(get("build"), true);
  let plan = null;
  let standing = 0;
  let way = "";
  let corner = 0;
  let things = {};
  let points = new Map();
  let isLost = false;

  function looked() {
    const words = new URLSearchParams({ corner: CORNERS[corner], apart: get("apart").value || "0" });
    ["layer", "row", "column"].forEach(function (each) {
      words.set(each, get("cut-" + each).value || "0");
    });
    words.set("letters", get("solid-letters").checked ? "1" : "0");
    return words;
  }

  function isShown() {
    return !get("build").parentElement.hidden;
  }

  // Asks for the build as it stands now: only for what differs, if it is looked at in the same way as before.
  const bring = inTurn(function () {
    isLost = false;
    const words = looked();
    const mine = plan.revision + "?" + words;
    words.set("since", mine === way ? String(standing) : "0");
    return asked("build?" + words).then(function (found) {
      take(found, mine);
    }).catch(function () {
      isLost = true;
    });
  }, 0);

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
    points = new Map();
    picture.querySelectorAll("[data-at]").forEach(keep);
    get("build").replaceChildren(picture);
    signs.over(points, mark);
  }

  function change(found) {
    found.gone.forEach(function (at) {
      if (things[at]) {
        things[at].remove();
        delete things[at];
        points.delete(at);
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
      const old = things[at];
      const layer = picture.querySelector('[aria-label="layer ' + at.split(",")[0] + '"]');
      layer.insertBefore(put[at], each[1] ? things[each[1]] : null);
      if (old) {
        old.remove();
      }
      keep(put[at]);
    });
    signs.soon();
  }

  // Where the sign of a thing stands: before its middle, or on a side of a cube that things do not stand on.
  function keep(group) {
    const at = group.getAttribute("data-at");
    const middle = group.getAttribute("transform").match(/-?[\d.]+/g).map(Number);
    const side = (group.getAttribute("data-side") || "0 0").split(" ").map(Number);
    things[at] = group;
    points.set(at, [middle[0] + side[0], middle[1] + side[1]]);
  }

  function mark(at) {
    const shown = known.places.get(at);
    const level = shown && shown[0] ? shown[0] : 0;
    const isChanged = known.changed.has(at);
    const isHeard = known.heard.has(at);
    return level || isChanged || isHeard
      ? { words: level || (isChanged && shown && shown[0] === 0) ? String(level) : "", level: level, isChanged: isChanged, isHeard: isHeard }
      : null;
  }

  function update(told) {
    const isOther = way && told.standing && told.standing !== standing;
    if (isShown() && (isLost || isOther)) {
      bring();
    }
  }

  function show(isWanted) {
    get("build").parentElement.hidden = !isWanted;
    get("turning").hidden = !isWanted;
    if (isWanted) {
      signs.soon();
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
  return { open: open, show: show, isShown: isShown, update: update, paint: signs.paint, turn: turn, apart: apart, letters: letters };
}
