// Covers and reveals answers. Text stands in the page already, or comes with its data; scripts write it as text only.
const stages = [];
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
  stages.forEach(function (stage) {
    stage.name();
  });
}
