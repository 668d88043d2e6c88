// The light in a layer, as a table that everybody can read: the level at each place, by day, at night, of lamps alone.

import { get, make } from "./making.js";
import { asked, inTurn } from "./stream.js";

const FULL = 15;
const PAUSE = 250;

export function light(layer) {
  let found = null;

  function isShown() {
    return !get("light").hidden;
  }

  // The light takes longer than what else changes: it is asked for a few times a second at most.
  const bring = inTurn(function () {
    return asked("light/" + (layer() + 1)).then(function (answer) {
      found = answer;
      paint();
    }).catch(function () {
      found = null;
    });
  }, PAUSE);

  function paint() {
    if (!found || found.stopped) {
      get("light-table").replaceChildren(make("caption", found ? found.stopped : ""));
      return;
    }
    const kind = get("light-kind").value;
    const rows = found[kind];
    const lit = found.lit.length ? "lit: " + found.lit.slice(0, 12).join(", ") : "nothing is lit";
    const words = "Light " + kind + " in layer " + found.layer + " at " + found.time + "; " + lit + ". A dash: no light passes.";
    const head = make("tr");
    head.append(make("td"));
    rows[0].forEach(function (_, column) { head.append(make("th", String(column + 1), { scope: "col" })); });
    const body = rows.map(function (row, number) {
      const line = make("tr");
      line.append(make("th", String(number + 1), { scope: "row" }));
      row.forEach(function (each) {
        const cell = make("td", each === null ? "–" : String(each));
        cell.style.setProperty("--part", (each || 0) / FULL * 100 + "%");
        line.append(cell);
      });
      return line;
    });
    get("light-table").replaceChildren.apply(get("light-table"), [make("caption", words), head].concat(body));
  }

  function show(isWanted) {
    get("light").hidden = !isWanted;
    get("show-light").setAttribute("aria-pressed", String(isWanted));
    if (isWanted) {
      bring();
    }
  }

  function update(told) {
    if (isShown() && (!found || told.light !== found.number || found.revision !== told.revision)) {
      bring();
    }
  }

  function toggle() {
    show(!isShown());
  }

  get("show-light").addEventListener("click", toggle);
  get("light-kind").addEventListener("change", paint);
  return { toggle: toggle, show: show, update: update, again: function () { if (isShown()) { bring(); } } };
}
