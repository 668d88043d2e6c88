// Predicting: a question before each event, made from the run, and what the learner said beside what happened.

// Which way a level went.
function wayOf(before, after) {
  return after > before ? "up" : after < before ? "down" : "same";
}

// Of a stage: `ask(run, at)` shows the question before a gt and says whether there is one that waits; `go` moves on.
function predictingIn(controls, go) {
  const box = controls.querySelector(".ask");
  if (!box) {
    return null;
  }
  const question = controls.querySelector(".question");
  const said = controls.querySelector(".said");
  const score = said.querySelector(".score");
  const guesses = all(question, ".guess");
  const words = {};
  guesses.forEach(function (button) { words[button.getAttribute("data-way")] = button.textContent; });
  // What was said, by run: rows of the gt, the way that was said, and the question.
  const answers = new Map();
  let waiting = null;

  function given(run) {
    if (!answers.has(run)) {
      answers.set(run, []);
    }
    return answers.get(run);
  }

  function write(run) {
    const rows = given(run);
    said.hidden = rows.length === 0;
    let right = 0;
    said.querySelector("tbody").replaceChildren(...rows.map(function (row) {
      const happened = wayOf(row.asked[2], row.asked[3]);
      const so = happened === row.way;
      right += so ? 1 : 0;
      const line = document.createElement("tr");
      [duration(row.asked[0]), row.asked[1], words[row.way], words[happened],
        score.getAttribute(so ? "data-so" : "data-otherwise")].forEach(function (text, place) {
        const cell = document.createElement(place ? "td" : "th");
        if (place === 0) {
          cell.setAttribute("scope", "row");
        }
        const name = document.createElement("bdi");
        name.textContent = text;
        cell.appendChild(name);
        line.appendChild(cell);
      });
      return line;
    }));
    score.textContent = right + " of " + rows.length + " " + score.getAttribute("data-so");
  }

  function close() {
    waiting = null;
    question.hidden = true;
  }

  function ask(run, at) {
    const asked = box.checked && run.questions.find(function (each) { return each[0] === at; });
    if (!asked || given(run).some(function (row) { return row.asked === asked; })) {
      return false;
    }
    waiting = { run: run, asked: asked };
    question.querySelector(".when-asked").textContent = duration(at);
    question.querySelector(".who").textContent = asked[1];
    question.querySelector(".level-now").textContent = String(asked[2]);
    question.hidden = false;
    guesses[0].focus();
    return true;
  }

  guesses.forEach(function (button) {
    button.addEventListener("click", function () {
      const now = waiting;
      close();
      given(now.run).push({ asked: now.asked, way: button.getAttribute("data-way") });
      write(now.run);
      go();
    });
  });
  return {
    ask: ask,
    close: close,
    write: write,
    on: function () { return box.checked; },
    changed: function (act) { box.addEventListener("change", act); },
  };
}
