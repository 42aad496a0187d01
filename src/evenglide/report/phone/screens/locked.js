// Waiting: the screen ignores rain, spray and sleeves until somebody holds it.

import { element } from "../element.js";

const HOLD_MS = 800;

export function lockedScreen(app) {
  let held = 0;
  const release = element("button", { type: "button", class: "main tall",
    onpointerdown: () => { held = window.setTimeout(() => app.ask(null), HOLD_MS); },
    onpointerup: () => clearTimeout(held), onpointerleave: () => clearTimeout(held), onpointercancel: () => clearTimeout(held),
    onkeydown: (event) => { if (event.key === "Enter" || event.key === " ") app.ask(null); },
    oncontextmenu: (event) => event.preventDefault() }, "Hold to go on");
  app.leave = () => clearTimeout(held);
  return {
    where: "Locked against water",
    content: [
      element("h1", { class: "huge" }, "Wait"),
      element("p", { class: "before" }, "Lane not clear, gust, boat wash, dog, child: wait."),
      element("p", { class: "soft" }, "Drops and sleeves press nothing here."),
    ],
    actions: [release],
    still: true,
  };
}
