// What changes often is drawn over a picture, which stays as it is: levels, what has changed, what is heard. Only what is
// in sight is drawn, so that it costs the same however large the picture is.

import { make } from "./making.js";

const FULL = 15;
const BLUE = "#0072b2";
const PLACE = 30;
const BADGE = { wide: 24, high: 14 };

// `frame` is what scrolls a picture. `points` has where each place stands in it, `seen` says what to mark there.
export function marks(frame, isSolid) {
  const canvas = make("canvas", "", { class: "marks", "aria-hidden": "true" });
  const sprites = new Map();
  let points = new Map();
  let seen = function () { return null; };
  let isWanted = false;
  let wide = 0;
  let high = 0;
  let left = 0;
  let top = 0;
  let scale = 1;
  frame.after(canvas);

  // Asking for these has the browser lay the page out: they are asked for where they may be otherwise, not for each picture.
  function measure() {
    wide = frame.clientWidth;
    high = frame.clientHeight;
    left = frame.scrollLeft;
    top = frame.scrollTop;
    scale = window.devicePixelRatio || 1;
    if (canvas.width !== Math.round(wide * scale) || canvas.height !== Math.round(high * scale)) {
      canvas.width = Math.round(wide * scale);
      canvas.height = Math.round(high * scale);
      canvas.style.width = wide + "px";
      canvas.style.height = high + "px";
      sprites.clear();
    }
    canvas.style.left = frame.offsetLeft + frame.clientLeft + "px";
    canvas.style.top = frame.offsetTop + frame.clientTop + "px";
  }

  function paint() {
    if (!wide) {
      return;
    }
    const paper = canvas.getContext("2d");
    paper.setTransform(scale, 0, 0, scale, 0, 0);
    paper.clearRect(0, 0, wide, high);
    points.forEach(function (point, at) {
      const x = point[0] - left;
      const y = point[1] - top;
      if (x > -PLACE && y > -PLACE && x < wide + PLACE && y < high + PLACE) {
        const mark = seen(at);
        if (mark) {
          const sprite = spriteOf(mark, scale);
          paper.drawImage(sprite.image, x - sprite.wide / 2, y - sprite.high / 2, sprite.wide, sprite.high);
        }
      }
    });
  }

  function spriteOf(mark, scale) {
    const key = [mark.words, mark.level, mark.isChanged, mark.isHeard].join();
    if (!sprites.has(key)) {
      sprites.set(key, drawn(mark, scale));
    }
    return sprites.get(key);
  }

  function drawn(mark, scale) {
    const wide = isSolid ? BADGE.wide + 4 : PLACE;
    const high = isSolid ? BADGE.high + 4 : PLACE;
    const image = document.createElement("canvas");
    image.width = wide * scale;
    image.height = high * scale;
    const paper = image.getContext("2d");
    paper.scale(scale, scale);
    if (isSolid) {
      badge(paper, mark);
    } else {
      place(paper, mark);
    }
    return { image: image, wide: wide, high: high };
  }

  function edge(paper, mark, x, y, wide, high) {
    paper.lineWidth = mark.isHeard ? 3 : 1.5;
    paper.lineCap = mark.isHeard ? "round" : "butt";
    paper.setLineDash(mark.isHeard ? [0.5, 5] : [4, 2]);
    paper.strokeRect(x, y, wide, high);
  }

  // A place in a layer: a bar and a number, and what is around it.
  function place(paper, mark) {
    const bar = PLACE * mark.level / FULL;
    paper.fillStyle = BLUE;
    paper.fillRect(1, PLACE - bar, 5, bar);
    paper.fillStyle = "#000";
    paper.font = "bold 9px sans-serif";
    paper.textAlign = "right";
    paper.fillText(mark.words, PLACE - 2, PLACE - 2);
    if (mark.isHeard || mark.isChanged) {
      edge(paper, mark, 1.5, 1.5, PLACE - 3, PLACE - 3);
    }
  }

  // A thing in three dimensions: the same on a small sign before it.
  function badge(paper, mark) {
    const bar = (BADGE.high - 2) * mark.level / FULL;
    paper.fillStyle = "#fff";
    paper.fillRect(2, 2, BADGE.wide, BADGE.high);
    paper.fillStyle = BLUE;
    paper.fillRect(3, BADGE.high + 1 - bar, 4, bar);
    paper.fillStyle = "#000";
    paper.font = "bold 11px sans-serif";
    paper.textAlign = "right";
    paper.fillText(mark.words, BADGE.wide, BADGE.high - 1);
    if (mark.isHeard || mark.isChanged) {
      edge(paper, mark, 2, 2, BADGE.wide, BADGE.high);
    } else {
      paper.strokeRect(2, 2, BADGE.wide, BADGE.high);
    }
  }

  function soon() {
    if (!isWanted) {
      isWanted = true;
      requestAnimationFrame(function () {
        isWanted = false;
        measure();
        paint();
      });
    }
  }

  frame.addEventListener("scroll", soon);
  new ResizeObserver(soon).observe(frame);
  return {
    paint: paint,
    soon: soon,
    over: function (where, what) {
      points = where;
      seen = what;
      soon();
    },
  };
}
