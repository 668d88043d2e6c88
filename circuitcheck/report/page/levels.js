// Puts levels, and what has moved, into pictures: layers, and the signal graph.
const FULL = 15;

// Sheets: places that show a level, each with what reaches it.

function placesOf(figure) {
  return all(figure, "[data-at]").filter(function (group) {
    return group.querySelector(".level");
  }).map(function (group) {
    const frame = group.querySelector("rect");
    const title = group.querySelector("title");
    const level = title.textContent.match(/: level (\d+)$/);
    return {
      at: group.getAttribute("data-at"),
      group: group,
      frame: frame,
      title: title,
      words: title.textContent.replace(/: level \d+$/, ""),
      start: level ? Number(level[1]) : null,
      bar: group.querySelector(".bar"),
      letter: group.querySelector(".letter"),
      number: group.querySelector(".level"),
      bottom: Number(frame.getAttribute("y")) + Number(frame.getAttribute("height")),
      side: Number(frame.getAttribute("height")),
    };
  });
}

// A level is null where none is shown.
function draw(place, level, changed, covered) {
  place.group.classList.toggle("changed", changed && !covered);
  if (level === null) {
    place.bar.setAttribute("height", "0");
    place.title.textContent = place.words;
    return;
  }
  const height = covered ? 0 : place.side * level / FULL;
  place.bar.setAttribute("y", String(place.bottom - height));
  place.bar.setAttribute("height", String(height));
  place.number.textContent = covered ? "?" : level ? String(level) : "";
  place.title.textContent = covered ? place.words : place.words + ": level " + level;
}

// Places that are not always as drawn: what is seen there, by its number among the kinds (`looks.py`, `at_start`).

function look(known, at, now) {
  const stand = known.stands[now.stand];
  let kind = known.drawn[at];
  if (at in stand.things) {
    kind = stand.things[at];
  } else if (at in known.conditions) {
    const condition = known.conditions[at];
    kind = (now.levels[condition[0]] > 0) === condition[1] ? kind : 0;
  }
  return kind === 0 && at in known.water ? known.waters[now.levels[known.water[at]]] : kind;
}

function put(known, place, kind) {
  const shown = known.kinds[kind];
  place.letter.textContent = shown[0];
  place.words = place.words.split(": ")[0] + ": " + shown[1];
  place.frame.setAttribute("fill", shown[2]);
  place.number.textContent = shown[3];
  place.group.classList.toggle("away", kind !== known.drawn[place.at]);
}

function feedsOf(known, at, now) {
  const places = known.stands ? known.stands[now.stand].places : {};
  const feeds = at in places ? places[at] : known.places[at];
  return feeds || null;
}

function levelsAfter(run, moment) {
  const levels = run.start.slice();
  run.moments.slice(0, moment).forEach(function (step) {
    for (let each = 0; each < step.length; each += 2) {
      levels[step[each]] = step[each + 1];
    }
  });
  return levels;
}

function levelAt(feeds, levels) {
  return feeds && feeds.reduce(function (best, feed) {
    return Math.max(best, levels[feed[0]] - feed[1]);
  }, 0);
}

function still(answer) {
  const places = placesOf(answer.element);
  answer.sheet = function (covered) {
    places.forEach(function (place) {
      draw(place, place.start, false, covered);
    });
  };
}

function sheetOf(known, answer, moment) {
  const places = placesOf(answer.element);
  answer.sheet = function (covered) {
    const both = moment();
    if (both.now.step !== undefined) {
      places.forEach(function (place) {
        if (known.drawn && place.at in known.drawn) {
          put(known, place, known.drawn[place.at]);
        }
        draw(place, null, false, false);
        const lit = known.lit[both.now.step].includes(place.at);
        if (lit) {
          draw(place, FULL, false, false);
        } else {
          place.number.textContent = "";
        }
      });
      return;
    }
    places.forEach(function (place) {
      const now = covered ? both.start : both.now;
      const level = levelAt(feedsOf(known, place.at, now), now.levels);
      let changed = level !== levelAt(feedsOf(known, place.at, both.before), both.before.levels);
      if (known.drawn && place.at in known.drawn) {
        const kind = look(known, place.at, now);
        changed = changed || kind !== look(known, place.at, both.before);
        put(known, place, kind);
      }
      draw(place, level, changed, covered);
    });
  };
}

// The graph: of a row of units, the number says how many are on.
function graphOf(known, answer, moment) {
  const boxes = all(answer.element, "[data-part]").map(function (group) {
    const frame = group.querySelector("rect");
    return {
      group: group,
      bar: group.querySelector(".bar"),
      number: group.querySelector(".level"),
      bottom: Number(frame.getAttribute("y")) + Number(frame.getAttribute("height")),
      side: Number(frame.getAttribute("height")),
      lines: all(answer.element, "[data-from]").filter(function (line) {
        return line.getAttribute("data-from") === group.getAttribute("data-part");
      }),
    };
  });
  const cells = all(answer.element, "[data-of]").map(function (cell) {
    const at = cell.getAttribute("data-of").split(",");
    return { cell: cell, place: Number(at[0]), unit: Number(at[1]) };
  });

  function unitsAt(place, levels) {
    return known.parts[place].map(function (feeds) {
      return levelAt(feeds, levels);
    });
  }

  answer.sheet = function (covered) {
    const both = moment();
    boxes.forEach(function (box, place) {
      const units = unitsAt(place, both.now.levels);
      const on = units.filter(Boolean).length;
      const many = units.length > 1;
      const height = covered ? 0 : box.side * (many ? on / units.length : units[0] / FULL);
      box.bar.setAttribute("y", String(box.bottom - height));
      box.bar.setAttribute("height", String(height));
      box.number.textContent = covered ? "?" : !on ? "" : many ? on + " of " + units.length : String(units[0]);
      box.group.classList.toggle("changed", !covered && String(units) !== String(unitsAt(place, both.before.levels)));
      box.lines.forEach(function (line) { line.classList.toggle("live", !covered && on > 0); });
    });
    cells.forEach(function (each) {
      each.cell.textContent = covered ? "?" : String(unitsAt(each.place, both.now.levels)[each.unit]);
    });
  };
}
