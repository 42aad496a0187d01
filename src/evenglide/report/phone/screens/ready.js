// The next launch, in letters that are read at arm's length.

import { countDown } from "../beep.js";
import { button, element } from "../element.js";
import { counted, duration } from "../words.js";

const LONG = 20;
const ABOUT = {
  "practice": "Not read, and no part of the comparison.",
  "wear check": "The same coats once more on their first surface: this shows what wore off.",
  "return to bare": "The coats are off: this shows that they are.",
};

export function readyScreen(app) {
  const { day } = app, next = day.next, surface = app.surface(next.surface), here = app.leftHere();
  const timed = surface?.mark === "timed mark" && surface.after_s && next.kind !== "practice";
  const left = app.left();
  const stood = [...day.facts].reverse().find((fact) => fact.body.kind === "set_up" && !fact.withdrawn)?.body.set_up;
  const kind = next.kind === "launch" ? "Launch" : next.kind[0].toUpperCase() + next.kind.slice(1);
  const launched = (more = {}) => app.record({ kind: "launched", launch: next.number, ...more });
  const actions = timed
    ? [button("3 – 2 – 1 – beep", () => beepScreen(app, surface.after_s, launched), "main"), button("Launched without beep", () => launched())]
    : [button("Launched", () => launched(), "main")];
  return {
    where: `${next.surface} · round ${next.block} of ${app.rounds().length}`,
    content: [
      element("p", { class: "before" }, `${kind} ${next.number}`),
      element("h1", { class: next.item.length > LONG ? "" : "huge" }, next.item),
      next.tag && element("p", { class: "tag" }, next.tag),
      element("p", { class: "lane" }, next.direction),
      stood !== next.set_up && element("p", {}, `The rig has to stand on ${next.surface}${day.setUps.has(next.set_up) ? " again" : ""}.`),
      ABOUT[next.kind] && element("p", {}, ABOUT[next.kind]),
      element("p", { class: "soft" },
        `${counted(here.length, "launch", "launches")} left on this set-up.${left === null ? "" : left > 0 ? ` The window leaves ${duration(left * 60)}.` : " The window is over."}`),
      day.onTheTape.length > 0 && element("p", { class: "soft" }, `${counted(day.onTheTape.length, "peg")} to read.`),
    ],
    actions: [...actions,
      element("div", { class: "pair" },
        button("Wait", () => app.ask("locked")),
        day.onTheTape.length ? button("Read now", () => app.ask("read")) : button("Not as planned", () => app.ask("short")),
        button("Stop", () => app.ask("stop"), "stop"))],
  };
}

/** Count down and let the launch run; the second beep says where to plant the peg. */
function beepScreen(app, afterS, launched) {
  const clock = element("h1", { class: "huge", "aria-live": "off" }, "3");
  const says = element("p", { class: "before" }, "Release on the long beep");
  const stop = countDown(afterS, {
    tick: (left) => { clock.textContent = left < 10 && left % 1 ? left.toFixed(1) : String(Math.ceil(left)); },
    released: () => { says.textContent = "Gliding: look at the nose when it beeps"; },
    over: (error) => { app.beepError = error; launched({ beep_error_s: Math.round(error * 1000) / 1000 }); },
  });
  app.leave();
  app.leave = stop;
  app.inFront();
  app.keepStill(true);
  app.place.querySelector("main").replaceChildren(says, clock,
    element("p", { class: "soft" }, "Both beeps come from the same clock; the time between them is right to about 0.01 s. Your eye is not: say so with the reading."));
  app.place.querySelector(".actions").replaceChildren(button("Not released, start over", () => app.show()));
}
