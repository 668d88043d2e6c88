// The page of `circuitcheck report`: covers and reveals answers, and shows a drawing as powered at a chosen moment.
// All text stands in the page already; this only shows it, hides it, and writes numbers.
"use strict";
(function () {
  const FULL = 15;
  // The shortest time between two changes, in ms: more than three a second could harm people.
  const SHORTEST = 340;
  const scenes = [];
  let covering = false;

  function all(root, selector) {
    return Array.from(root.querySelectorAll(selector));
  }

  // Answers: each has a button, and is covered while answers are and its button has not been pressed.

  const answers = all(document, ".answer").map(function (element) {
    const button = document.querySelector('[aria-controls="' + element.id + '"]');
    const answer = { element: element, button: button, row: button.closest(".reveal"), revealed: false, sheet: null };
    button.addEventListener("click", function () {
      answer.revealed = !answer.revealed;
      show(answer);
    });
    return answer;
  });

  function show(answer) {
    const covered = covering && !answer.revealed;
    answer.row.hidden = !covering;
    answer.row.lastElementChild.hidden = !covered;
    answer.button.setAttribute("aria-expanded", String(!covered));
    if (answer.sheet) {
      answer.sheet(covered);
    } else {
      answer.element.hidden = covered;
    }
  }

  function cover(on) {
    covering = on;
    all(document, ".cover").forEach(function (button) {
      button.setAttribute("aria-pressed", String(on));
    });
    answers.forEach(function (answer) {
      answer.revealed = false;
      show(answer);
    });
    scenes.forEach(function (scene) {
      scene.name();
    });
  }

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

  function sceneOf(section) {
    const known = JSON.parse(document.getElementById("levels-" + section.getAttribute("data-scene")).textContent);
    const controls = section.querySelector(".controls");
    const choice = controls.querySelector("select");
    const moments = all(controls, ".moments");
    const status = controls.querySelector(".status");
    const mine = answers.filter(function (answer) {
      return section.contains(answer.element);
    });

    function list() {
      return moments[choice.selectedIndex].querySelector("select");
    }

    function after(run, moment) {
      return { levels: levelsAfter(run, moment), stand: run.stands ? run.stands[moment] : 0 };
    }

    function levels() {
      const run = known.runs[choice.selectedIndex];
      const at = list().selectedIndex;
      return { now: after(run, at), before: after(run, Math.max(at - 1, 0)), start: after(run, 0) };
    }

    mine.filter(function (answer) {
      return answer.element.classList.contains("levels");
    }).forEach(function (answer) {
      const places = placesOf(answer.element);
      answer.sheet = function (covered) {
        const both = levels();
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
    });

    function name() {
      moments.forEach(function (holder) {
        all(holder, "option").forEach(function (option) {
          option.textContent = option.getAttribute(covering ? "data-asked" : "data-told");
        });
      });
      const chosen = list().selectedOptions[0].textContent.split(":")[0];
      const words = " at " + chosen + " of “" + choice.value + "”";
      all(section, ".when").forEach(function (span) {
        span.textContent = words;
      });
      status.textContent = "Shown" + words + ".";
    }

    // Another moment is another question: what was revealed of the last one is covered again.
    function choose() {
      const at = list().selectedIndex;
      moments.forEach(function (holder, place) {
        holder.hidden = place !== choice.selectedIndex;
      });
      all(section, ".told").forEach(function (rows) {
        rows.hidden = rows.getAttribute("data-run") !== String(choice.selectedIndex)
          || rows.getAttribute("data-moment") !== String(at);
      });
      // A button that is disabled loses the keyboard's focus, so these only say that there is nothing further.
      [[".first", at === 0], [".earlier", at === 0], [".later", at === list().length - 1],
        [".last", at === list().length - 1], [".play", list().length === 1]].forEach(function (pair) {
        controls.querySelector(pair[0]).setAttribute("aria-disabled", String(pair[1]));
      });
      mine.forEach(function (answer) {
        answer.revealed = false;
        show(answer);
      });
      name();
    }

    // Of another choice while a key is held down, only as many are shown as playing would show.
    let shownAt = 0;
    let held = false;
    let waiting = 0;
    function chosen() {
      pause();
      const rest = held ? shownAt + SHORTEST - performance.now() : 0;
      if (rest <= 0) {
        shownAt = performance.now();
        choose();
      } else if (!waiting) {
        waiting = setTimeout(function () {
          waiting = 0;
          shownAt = performance.now();
          choose();
        }, rest);
      }
    }

    function go(to) {
      if (to >= 0 && to < list().length && to !== list().selectedIndex) {
        list().selectedIndex = to;
        choose();
      }
    }

    // Playing: it begins with the next moment at which something happens, and ends with the last.
    const button = controls.querySelector(".play");
    const speed = controls.querySelector(".speed");
    let timer = 0;
    function pause() {
      clearTimeout(timer);
      timer = 0;
      button.textContent = "Play";
      status.removeAttribute("aria-live");
    }

    function play() {
      const at = list().selectedIndex;
      go(at === list().length - 1 ? 1 : at + 1);
      if (list().selectedIndex === list().length - 1) {
        pause();
        return;
      }
      timer = setTimeout(play, Math.max(Number(speed.value), SHORTEST));
    }

    button.addEventListener("click", function () {
      if (timer) {
        pause();
        return;
      }
      // Two drawings that play at once would change twice as often.
      scenes.forEach(function (scene) { scene.pause(); });
      button.textContent = "Pause";
      status.setAttribute("aria-live", "off");
      // The wait before the first change keeps to the measure for whoever presses again and again.
      timer = setTimeout(play, SHORTEST);
    });
    [
      [".first", function () { return 0; }],
      [".earlier", function () { return list().selectedIndex - 1; }],
      [".later", function () { return list().selectedIndex + 1; }],
      [".last", function () { return list().length - 1; }],
    ].forEach(function (pair) {
      controls.querySelector(pair[0]).addEventListener("click", function () {
        pause();
        go(pair[1]());
      });
    });
    controls.addEventListener("keydown", function (event) {
      held = event.repeat;
      if (held && event.key === "Enter" && event.target.tagName === "BUTTON") {
        event.preventDefault();
      }
    });
    controls.addEventListener("keyup", function () { held = false; });
    document.addEventListener("visibilitychange", pause);
    choice.addEventListener("change", chosen);
    moments.forEach(function (holder) {
      const select = holder.querySelector("select");
      select.selectedIndex = 0;
      select.addEventListener("change", chosen);
    });
    controls.hidden = false;
    choose();
    return { name: name, pause: pause };
  }

  answers.forEach(function (answer) {
    if (answer.element.classList.contains("levels")) {
      still(answer);
    }
  });
  all(document, "[data-scene]").forEach(function (section) {
    if (section.querySelector(".controls")) {
      scenes.push(sceneOf(section));
    }
  });
  all(document, ".switch").forEach(function (row) {
    row.hidden = false;
  });
  all(document, ".cover").forEach(function (button) {
    button.addEventListener("click", function () { cover(!covering); });
  });
  cover(document.documentElement.getAttribute("data-covered") === "yes");
})();
