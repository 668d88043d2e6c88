// The build in three dimensions at a moment: what has moved stands where it is, and what has power says its level.
const SVG = "http://www.w3.org/2000/svg";

// Whether a number lies in spans such as "0-3 7".
function within(spans, number) {
  return spans.split(" ").some(function (span) {
    const ends = span.split("-").map(Number);
    return ends[0] <= number && number <= ends[ends.length - 1];
  });
}

function solidsOf(view) {
  return all(view, "use[data-place]").map(function (shape) {
    return {
      shape: shape,
      at: shape.getAttribute("data-place"),
      spans: shape.getAttribute("data-in"),
      depth: shape.hasAttribute("data-depth") ? Number(shape.getAttribute("data-depth")) : null,
      titled: Boolean(shape.querySelector("title")),
      // A number stands on a side of a cube, and in the middle of anything else.
      x: Number(shape.getAttribute("x")) + Number((shape.getAttribute("data-side") || "0 0").split(" ")[0]),
      y: Number(shape.getAttribute("y")) + Number((shape.getAttribute("data-side") || "0 0").split(" ")[1]),
    };
  });
}

// Whether a thing is seen, with what pistons have moved, what comes and goes, and water as they are.
function there(known, solid, now) {
  if (now.step !== undefined) {
    const placed = now.step >= 0 && (solid.spans === null || within(solid.spans, known.building + now.step));
    return placed && (solid.depth === null || solid.depth === 8);
  }
  if (solid.spans !== null && !within(solid.spans, now.stand)) {
    return false;
  }
  if (solid.depth !== null) {
    return now.levels[known.water[solid.at]] === solid.depth;
  }
  const stand = known.stands && known.stands[now.stand];
  const condition = known.conditions && !(stand && solid.at in stand.things) && known.conditions[solid.at];
  return !condition || (now.levels[condition[0]] > 0) === condition[1];
}

function buildOf(known, answer, moment) {
  const views = all(answer.element, ".view").map(function (view) {
    const labels = document.createElementNS(SVG, "g");
    labels.setAttribute("class", "numbers");
    view.querySelector("svg").appendChild(labels);
    return { word: view.getAttribute("data-view"), solids: solidsOf(view), labels: labels };
  });

  // Water says how deep it is where it flows; a source, or water that falls, is full.
  function levelOf(solid, now) {
    if (!there(known, solid, now)) {
      return 0;
    }
    if (now.step !== undefined) {
      return known.lit[now.step].includes(solid.at) ? FULL : 0;
    }
    if (solid.depth !== null) {
      return solid.depth < 8 ? solid.depth : 0;
    }
    return levelAt(feedsOf(known, solid.at, now), now.levels);
  }

  // Only the view that is shown is drawn; another one is when it is chosen.
  const ways = all(answer.element.closest(".build"), ".ways input");
  ways.forEach(function (way) {
    way.addEventListener("change", function () { show(answer); });
  });

  answer.sheet = function (covered) {
    const chosen = ways.find(function (way) { return way.checked; }).value;
    const both = moment();
    const now = covered && both.now.step === undefined ? both.start : both.now;
    views.filter(function (view) { return view.word === chosen; }).forEach(function (view) {
      view.labels.replaceChildren();
      view.solids.forEach(function (solid) {
        const seen = there(known, solid, now);
        const level = solid.titled ? levelOf(solid, now) : 0;
        const before = solid.titled && now.step === undefined ? levelOf(solid, both.before) : 0;
        const changed = seen && (!covered || now.step !== undefined) && ((now.step === undefined && level !== before) || !there(known, solid, both.before));
        solid.shape.classList.toggle("gone", !seen);
        solid.shape.classList.toggle("lit", level > 0 && solid.depth === null && !covered);
        solid.shape.classList.toggle("changed", changed);
        if (level && !covered) {
          const label = document.createElementNS(SVG, "text");
          label.setAttribute("x", String(solid.x));
          label.setAttribute("y", String(solid.y + 4));
          label.textContent = String(level);
          view.labels.appendChild(label);
        }
      });
    });
  };
}
