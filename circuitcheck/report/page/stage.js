// A stage: one row of controls moves all pictures of a run together, from moment to moment, or through every gt.

// The shortest time between two changes, in ms: more than three a second could harm people.
const SHORTEST = 340;

function duration(gt) {
  return gt % 2 ? gt + "gt" : gt / 2 + "t";
}

function stageOf(section) {
  const known = JSON.parse(document.getElementById("levels-" + section.getAttribute("data-scene")).textContent);
  const bar = section.querySelector(".bar");
  const controls = section.querySelector(".controls");
  const choice = controls.querySelector("select");
  const lists = all(controls, ".moments");
  const status = controls.querySelector(".status");
  const slider = bar.querySelector(".time");
  const figures = all(section, ".run");
  const mine = answers.filter(function (answer) {
    return section.contains(answer.element);
  });
  const ownButtons = mine.filter(function (answer) {
    return !answer.element.closest(".run");
  });
  const steps = all(section, "[data-step]");
  const ways = all(controls, '.ways input');
  let step = 0;
  // The gt that is shown; the list of moments says which is the last one up to it at which something changed.
  let gt = 0;

  function list() {
    return lists[choice.selectedIndex].querySelector("select");
  }

  function building() {
    return ways.some(function (way) { return way.checked && way.value === "build"; });
  }

  function count() {
    return building() ? steps.length : list().length;
  }

  function index() {
    return building() ? step : list().selectedIndex;
  }

  function run() {
    return known.runs[choice.selectedIndex];
  }

  function after(moment) {
    return { levels: levelsAfter(run(), moment), stand: run().stands ? run().stands[moment] : 0 };
  }

  function moment() {
    if (building()) {
      const start = after(0);
      return { now: { levels: start.levels, stand: 0, step: step }, before: { levels: start.levels, stand: 0, step: step - 1 }, start: start };
    }
    const at = list().selectedIndex;
    return { now: after(at), before: after(gt === run().at[at] ? Math.max(at - 1, 0) : at), start: after(0) };
  }

  mine.forEach(function (answer) {
    if (answer.element.classList.contains("levels")) {
      const kind = answer.element.closest(".graph") ? graphOf : answer.element.closest(".build") ? buildOf : sheetOf;
      kind(known, answer, moment);
    }
  });

  function name() {
    const asking = Boolean(asker && asker.on());
    section.classList.toggle("asking", asking);
    lists.forEach(function (holder) {
      const now = holder.querySelector("select").selectedIndex;
      all(holder, "option").forEach(function (option, place) {
        option.textContent = option.getAttribute(covering || (asking && place > now) ? "data-asked" : "data-told");
      });
    });
    if (building()) {
      const said = "step " + (step + 1) + " of " + steps.length;
      status.textContent = "Shown is " + said + ": layer " + steps[step].getAttribute("data-layer") + ".";
      bar.querySelector(".now").textContent = step + 1 + " / " + steps.length;
      slider.setAttribute("aria-valuetext", said);
      all(section, ".sheet .when, .build .when").forEach(function (span) {
        span.textContent = ", " + said;
      });
      return;
    }
    const words = " at " + (gt || list().selectedIndex ? duration(gt) : "the start") + " of “" + choice.value + "”";
    all(section, ".sheet .when, .graph .when, .build .when").forEach(function (span) {
      span.textContent = words;
    });
    status.textContent = "Shown" + words + ".";
    bar.querySelector(".now").textContent = duration(gt);
    slider.setAttribute("aria-valuetext", duration(gt));
  }

  // The account of the moment, out of the run in words.
  function tell() {
    const panel = controls.querySelector(".happens");
    if (!panel || building()) {
      return;
    }
    const at = list().selectedIndex;
    const rows = at && gt === run().at[at] && all(figures[choice.selectedIndex], ".told")[at - 1];
    panel.replaceChildren(...(rows ? [rows.cloneNode(true)] : []));
  }

  // Where a gt is drawn in the picture of a run: between two knots time runs evenly.
  function across(knots) {
    let place = 1;
    while (place < knots.length - 1 && knots[place][0] <= gt) {
      place += 1;
    }
    const one = knots[place - 1];
    const other = knots[place];
    return one[1] + (other[1] - one[1]) * (Math.min(gt, other[0]) - one[0]) / Math.max(other[0] - one[0], 1);
  }

  function point() {
    figures.forEach(function (figure, place) {
      figure.classList.toggle("waits", building() || place !== choice.selectedIndex);
    });
    const figure = figures[choice.selectedIndex];
    if (!figure || building()) {
      return;
    }
    const x = across(run().knots);
    figure.querySelector(".cursor").setAttribute("transform", "translate(" + x + ")");
    const cover = figure.querySelector(".to-come");
    const end = run().knots[run().knots.length - 1][1];
    cover.setAttribute("x", String(x + 3));
    cover.setAttribute("width", String(Math.max(end - x + 13, 0)));
    const frame = figure.querySelector(".picture");
    const names = frame.querySelector(".names");
    const left = names ? names.getBoundingClientRect().width : 0;
    if (x < frame.scrollLeft + left || x > frame.scrollLeft + frame.clientWidth - 24) {
      frame.scrollLeft = x - left - 24;
    }
  }

  // What is of building only, or of runs only.
  function divide() {
    const built = building();
    section.classList.toggle("is-built", built);
    lists.forEach(function (holder, place) {
      holder.hidden = built || place !== choice.selectedIndex;
    });
    all(controls, ".choosing, .happening, .asks").forEach(function (part) { part.hidden = built; });
    all(controls, ".building").forEach(function (part) { part.hidden = !built; });
    all(section, ".sheet").forEach(function (figure) {
      figure.classList.toggle("waits", built && figure !== steps[step]);
    });
    all(section, ".graph").forEach(function (figure) { figure.classList.toggle("waits", built); });
  }

  function display() {
    const at = index();
    if (asker) {
      asker.close();
      asker.write(run());
    }
    divide();
    // A button that is disabled loses the keyboard's focus, so these only say that there is nothing further.
    const first = at === 0 && (gt === 0 || building());
    const last = at === count() - 1;
    [[".first", first], [".earlier", first], [".later", last], [".last", last], [".play", count() === 1]].forEach(function (pair) {
      bar.querySelector(pair[0]).setAttribute("aria-disabled", String(pair[1]));
    });
    slider.max = String(building() ? steps.length - 1 : run().until || 0);
    slider.value = String(building() ? step : gt);
    tell();
    point();
    // Another moment is another question: what was revealed of the last one is covered again.
    ownButtons.forEach(function (answer) { answer.revealed = false; });
    mine.forEach(show);
    name();
  }

  function choose() {
    gt = run().at[list().selectedIndex];
    display();
  }

  // Of what is chosen while a key or the slider is held, only as many are shown as playing would show.
  let shownAt = 0;
  let held = false;
  let waiting = 0;
  function chosen(act) {
    pause();
    const rest = held ? shownAt + SHORTEST - performance.now() : 0;
    clearTimeout(waiting);
    waiting = 0;
    if (rest <= 0) {
      shownAt = performance.now();
      act();
    } else {
      waiting = setTimeout(function () {
        shownAt = performance.now();
        act();
      }, rest);
    }
  }

  function slid() {
    if (building()) {
      go(Number(slider.value));
      return;
    }
    gt = Number(slider.value);
    const at = run().at;
    let last = 0;
    while (last + 1 < at.length && at[last + 1] <= gt) {
      last += 1;
    }
    list().selectedIndex = last;
    display();
  }

  function go(to) {
    if (to < 0 || to >= count()) {
      return;
    }
    if (building()) {
      step = to;
      display();
    } else {
      list().selectedIndex = to;
      choose();
    }
  }

  // One further: where events are asked about first, only once the question is answered.
  function further() {
    const to = index() + 1;
    if (!building() && to < count() && asker && asker.ask(run(), run().at[to])) {
      pause();
      return;
    }
    go(to);
  }

  const asker = predictingIn(controls, function () {
    bar.querySelector(".later").focus();
    go(index() + 1);
  });
  if (asker) {
    asker.changed(display);
  }

  // Playing: it begins with the next moment at which something happens, and ends with the last.
  const button = bar.querySelector(".play");
  const speed = bar.querySelector(".speed");
  let timer = 0;
  function pause() {
    clearTimeout(timer);
    timer = 0;
    button.textContent = "Play";
    status.removeAttribute("aria-live");
  }

  function play() {
    const at = index();
    const playing = timer;
    if (at === count() - 1) {
      go(Math.min(building() ? 0 : 1, at));
    } else {
      further();
    }
    if (index() === count() - 1 || timer !== playing) {
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
    // Two stages that play at once would change twice as often.
    stages.forEach(function (stage) { stage.pause(); });
    button.textContent = "Pause";
    status.setAttribute("aria-live", "off");
    // The wait before the first change keeps to the measure for whoever presses again and again.
    timer = setTimeout(play, SHORTEST);
  });
  [
    [".first", function () { return 0; }],
    [".earlier", function () {
      const at = index();
      return !building() && gt > run().at[at] ? at : at - 1;
    }],
    [".last", function () { return count() - 1; }],
  ].forEach(function (pair) {
    bar.querySelector(pair[0]).addEventListener("click", function () {
      pause();
      go(pair[1]());
    });
  });
  bar.querySelector(".later").addEventListener("click", function () {
    pause();
    further();
  });
  [bar, controls].forEach(function (part) {
    part.addEventListener("keydown", function (event) {
      held = event.repeat;
      if (held && event.key === "Enter" && event.target.tagName === "BUTTON") {
        event.preventDefault();
      }
    });
    part.addEventListener("keyup", function () { held = false; });
  });
  slider.addEventListener("pointerdown", function () { held = true; });
  slider.addEventListener("pointerup", function () { held = false; });
  slider.addEventListener("input", function () { chosen(slid); });
  document.addEventListener("visibilitychange", pause);
  ways.forEach(function (way) {
    way.addEventListener("change", function () { chosen(display); });
  });
  choice.addEventListener("change", function () { chosen(choose); });
  lists.forEach(function (holder) {
    const select = holder.querySelector("select");
    select.selectedIndex = 0;
    select.addEventListener("change", function () { chosen(choose); });
  });
  bar.hidden = false;
  controls.hidden = false;
  choose();
  return { name: name, pause: pause };
}
