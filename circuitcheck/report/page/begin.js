// Begins: pictures that stand still, stages, and the switch that covers all answers.
answers.forEach(function (answer) {
  if (answer.element.classList.contains("levels") && answer.element.closest(".sheet")) {
    still(answer);
  }
});
all(document, "[data-scene]").forEach(function (section) {
  if (section.querySelector(".bar")) {
    stages.push(stageOf(section));
  }
});
all(document, ".switch").forEach(function (row) {
  row.hidden = false;
});
all(document, ".cover").forEach(function (button) {
  button.addEventListener("click", function () { cover(!covering); });
});
cover(document.documentElement.getAttribute("data-covered") === "yes");
