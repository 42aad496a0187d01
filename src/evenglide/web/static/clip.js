// A launch read from a clip by stepping frames: two pegs give the scale along the lane, the release gives the time.

import { placeAlong } from "./scale.js";

const by = (/** @type {string} */ id) => /** @type {any} */ (document.getElementById(id));
const video = by("clip"), marks = by("marks"), points = {};
let released = null, cross = { x: 320, y: 180 };

by("file").addEventListener("change", () => {
  const file = by("file").files[0];
  if (!file) return;
  video.src = URL.createObjectURL(file);
  by("name").value = file.name;
});
video.addEventListener("loadedmetadata", () => {
  marks.width = video.videoWidth || 640;
  marks.height = video.videoHeight || 360;
  told();
});
video.addEventListener("seeked", told);

/** @param {number} frames */
function step(frames) {
  video.pause();
  video.currentTime = Math.max(0, video.currentTime + frames / rate());
}
by("back").addEventListener("click", () => step(-1));
by("on").addEventListener("click", () => step(1));
by("beep").addEventListener("click", () => { released = video.currentTime; told(); });

marks.addEventListener("click", (/** @type {MouseEvent} */ event) => {
  const box = marks.getBoundingClientRect();
  mark({ x: (event.clientX - box.left) * marks.width / box.width, y: (event.clientY - box.top) * marks.height / box.height });
});
marks.addEventListener("keydown", (/** @type {KeyboardEvent} */ event) => {
  const moves = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] }[event.key];
  if (moves) {
    const far = event.shiftKey ? 20 : 1;
    cross = { x: cross.x + moves[0] * far, y: cross.y + moves[1] * far };
    event.preventDefault();
    draw();
  } else if (event.key === "Enter") {
    event.preventDefault();
    mark(cross);
  }
});
for (const id of ["near", "far", "rate", "launch"]) by(id).addEventListener("input", told);

/** @param {{x: number, y: number}} point */
function mark(point) {
  const chosen = /** @type {HTMLInputElement} */ (document.querySelector("[name=mark]:checked"));
  points[chosen.value] = { ...point, at: video.currentTime };
  cross = point;
  const next = { near: "far", far: "nose" }[chosen.value];
  if (next) /** @type {HTMLInputElement} */ (document.querySelector(`[name=mark][value=${next}]`)).checked = true;
  draw();
  told();
}

function draw() {
  const pen = marks.getContext("2d");
  pen.clearRect(0, 0, marks.width, marks.height);
  pen.lineWidth = 2;
  for (const [name, { x, y }] of Object.entries({ ...points, cross })) {
    pen.strokeStyle = name === "cross" ? "#ffffff" : "#f2c14e";
    pen.beginPath();
    pen.moveTo(x - 9, y); pen.lineTo(x + 9, y); pen.moveTo(x, y - 9); pen.lineTo(x, y + 9);
    pen.stroke();
  }
}

function rate() {
  const value = Number(String(by("rate").value).replace(",", "."));
  return value > 0 ? value : 30;
}

function told() {
  const since = released === null ? null : video.currentTime - released;
  by("now").textContent = since === null ? `${video.currentTime.toFixed(3)} s into the clip` : `${since.toFixed(3)} s after the release`;
  const number = (/** @type {string} */ id) => by(id).value.trim() === "" ? NaN : Number(by(id).value.replace(",", "."));
  const after = Number(by("launch").selectedOptions[0]?.dataset.after || NaN);
  const found = placeAlong({ points, near: number("near"), far: number("far"), rate: rate(), released, after });
  by("result").textContent = found.words;
  by("text").value = found.ready ? found.place.toFixed(3) : "";
  by("uncertainty").value = found.ready ? found.uncertainty.toFixed(4) : "";
  by("keep").disabled = !found.ready;
}
