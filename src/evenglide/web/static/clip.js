// A launch read from a clip by stepping frames: two pegs give the scale along the lane, the release gives the time.

import { placeAlong } from "./scale.js";

const by = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const FAR_AWAY = 1e9, FAST = 20;
const video = by("clip"), marks = by("marks"), where = by("where"), points = {};
let released = null, cross = { x: 320, y: 180 }, frame = 0;

by("file").addEventListener("change", () => {
  const file = by("file").files[0];
  if (!file) return;
  for (const name of Object.keys(points)) delete points[name];
  released = null;
  choose("near");
  video.src = URL.createObjectURL(file);
  by("name").value = file.name;
});
video.addEventListener("loadedmetadata", () => {
  marks.width = video.videoWidth || 640;
  marks.height = video.videoHeight || 360;
  cross = { x: marks.width / 2, y: marks.height / 2 };
  // Some recorders do not write how long a clip is: looking for its end makes the browser find out.
  video.currentTime = Number.isFinite(video.duration) ? middle(0) : FAR_AWAY;
  draw();
});
video.addEventListener("durationchange", () => {
  if (!Number.isFinite(video.duration)) return;
  where.max = String(video.duration);
  if (video.currentTime >= video.duration) video.currentTime = middle(0);
});
video.addEventListener("error", () => { by("now").textContent = "This browser cannot play that clip."; });
video.addEventListener("seeked", () => { if (!watched) met(video.currentTime); });

// The frame that is shown says its own time, where the browser tells it: frames of a phone are not evenly spaced.
const watched = "requestVideoFrameCallback" in video;
/** @param {number} _ @param {{mediaTime: number}} shown */
function look(_, shown) {
  met(shown.mediaTime);
  video.requestVideoFrameCallback(look);
}
if (watched) video.requestVideoFrameCallback(look);

/** @param {number} time */
function met(time) {
  frame = time;
  where.value = String(time);
  told();
}

/** Middle of the frame that is so many on from the one shown: a seek to its edge may show either. @param {number} on */
function middle(on) {
  const last = Number.isFinite(video.duration) ? video.duration - 0.25 / rate() : FAR_AWAY;
  return Math.max(0, Math.min(last, frame + (on + 0.5) / rate()));
}
for (const button of document.querySelectorAll("[data-on]")) {
  button.addEventListener("click", () => { video.currentTime = middle(Number(/** @type {HTMLElement} */ (button).dataset.on)); });
}
where.addEventListener("input", () => { video.currentTime = Number(where.value); });
by("beep").addEventListener("click", () => { released = frame; told(); });

marks.addEventListener("click", (/** @type {MouseEvent} */ event) => {
  const box = marks.getBoundingClientRect();
  mark({ x: (event.clientX - box.left) * marks.width / box.width, y: (event.clientY - box.top) * marks.height / box.height });
});
marks.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (moves) {
    const far = event.shiftKey ? FAST : 1;
    cross = { x: within(cross.x + moves[0] * far, marks.width), y: within(cross.y + moves[1] * far, marks.height) };
    event.preventDefault();
    draw();
  } else if (event.key === "Enter") {
    event.preventDefault();
    mark(cross);
  }
});
for (const id of ["near", "far", "rate", "launch"]) by(id).addEventListener("input", told);

/** @param {number} value @param {number} most */
function within(value, most) {
  return Math.max(0, Math.min(most, value));
}

/** @param {{x: number, y: number}} point */
function mark(point) {
  const chosen = /** @type {HTMLInputElement} */ (document.querySelector("[name=mark]:checked"));
  points[chosen.value] = { ...point, at: frame };
  cross = { ...point };
  const next = { near: "far", far: "nose" }[chosen.value];
  if (next) choose(next);
  draw();
  told();
}

/** @param {string} name */
function choose(name) {
  /** @type {HTMLInputElement} */ (document.querySelector(`[name=mark][value=${name}]`)).checked = true;
}

function draw() {
  const pen = marks.getContext("2d"), size = marks.width / 640;
  pen.clearRect(0, 0, marks.width, marks.height);
  for (const [name, { x, y }] of Object.entries({ ...points, cross })) {
    // Dark under light, so that it is seen on snow and on asphalt.
    for (const [width, colour] of [[4, "#12191d"], [1.5, name === "cross" ? "#ffffff" : "#f2c14e"]]) {
      pen.lineWidth = Number(width) * size;
      pen.strokeStyle = String(colour);
      pen.beginPath();
      for (const [dx, dy] of [[1, 0], [-1, 0], [0, 1], [0, -1]]) {
        pen.moveTo(x + 3 * dx * size, y + 3 * dy * size);
        pen.lineTo(x + 12 * dx * size, y + 12 * dy * size);
      }
      pen.stroke();
    }
  }
  if (points.near && points.far) {
    pen.setLineDash([6 * size, 6 * size]);
    pen.strokeStyle = "#f2c14e";
    pen.lineWidth = size;
    pen.beginPath();
    pen.moveTo(points.near.x, points.near.y);
    pen.lineTo(points.far.x, points.far.y);
    pen.stroke();
    pen.setLineDash([]);
  }
}

/** @param {string} id */
function number(id) {
  const text = by(id).value.trim();
  return text === "" ? NaN : Number(text.replace(",", "."));
}

function rate() {
  return number("rate") > 0 ? number("rate") : 30;
}

function told() {
  by("now").textContent = released === null ? `${frame.toFixed(3)} s into the clip`
    : `${(frame - released).toFixed(3)} s after the release`;
  const after = Number(by("launch").selectedOptions[0]?.dataset.after || NaN);
  const shrunk = marks.width / (marks.getBoundingClientRect().width || marks.width);
  const found = placeAlong({ points, near: number("near"), far: number("far"), rate: rate(), released, after, shrunk, unit: by("reading").dataset.unit });
  by("result").textContent = found.words;
  by("text").value = found.ready ? found.place.toFixed(3) : "";
  by("uncertainty").value = found.ready ? found.uncertainty.toFixed(4) : "";
  by("keep").disabled = !found.ready;
}
