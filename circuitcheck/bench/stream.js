// The connection to the bench: where it is lost, the page says so, tries again, and goes on where the bench stands.

import { get } from "./making.js";

export const TRIES_EVERY = 2000;
const SILENT = 12000;
let news = null;
let take = null;
let heardAt = 0;

// A stream may outlive what was asked for in vain. It is given up then: what comes first on a new one has the page ask
// again for all that it lacks.
export function lost() {
  get("lost").hidden = false;
  if (news) {
    news.close();
  }
}

function found() {
  heardAt = Date.now();
  get("lost").hidden = true;
}

function connect() {
  if (news) {
    news.close();
  }
  heardAt = Date.now();
  news = new EventSource("news");
  news.addEventListener("message", function (event) {
    found();
    take(JSON.parse(event.data));
  });
  news.addEventListener("alive", found);
  news.addEventListener("error", lost);
}

export function asked(address) {
  return fetch(address).catch(function (why) {
    lost();
    throw why;
  }).then(function (answer) { return answer.json(); });
}

// A function that asks for something, once at a time: asked meanwhile, it asks once more when an answer has come and
// after a pause. `ask` gives a promise.
export function inTurn(ask, pause) {
  let isBusy = false;
  let isBehind = false;
  return function again() {
    if (isBusy) {
      isBehind = true;
      return;
    }
    isBusy = true;
    isBehind = false;
    ask().finally(function () {
      setTimeout(function () {
        isBusy = false;
        if (isBehind) {
          again();
        }
      }, pause);
    });
  };
}

// From here on `takes` gets what the bench tells. A bench that is silent for long is taken to be gone as well.
export function listen(takes) {
  take = takes;
  connect();
  setInterval(function () {
    const isSilent = Date.now() - heardAt > SILENT;
    if (isSilent) {
      lost();
    }
    if (isSilent || news.readyState === EventSource.CLOSED) {
      connect();
    }
  }, TRIES_EVERY);
}
