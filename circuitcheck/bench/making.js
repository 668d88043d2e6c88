// Elements of the page, made without markup of anybody's.

const SVG = "http://www.w3.org/2000/svg";

export function get(id) {
  return document.getElementById(id);
}

function dressed(element, attributes, words) {
  Object.keys(attributes || {}).forEach(function (name) {
    element.setAttribute(name, attributes[name]);
  });
  element.textContent = words || "";
  return element;
}

export function make(tag, words, attributes) {
  return dressed(document.createElement(tag), attributes, words);
}

export function draw(tag, attributes, words) {
  return dressed(document.createElementNS(SVG, tag), attributes, words);
}

export function listed(list, rows) {
  list.replaceChildren.apply(list, rows.map(function (row) {
    return make("li", row);
  }));
}

export function svgOf(text) {
  return document.importNode(new DOMParser().parseFromString(text, "image/svg+xml").documentElement, true);
}

// Whether what is kept in an element is otherwise than what it is to show; from here on it is kept.
export function differs(element, kept) {
  const words = JSON.stringify(kept);
  if (element.benchKept === words) {
    return false;
  }
  element.benchKept = words;
  return true;
}
