// The end of a round: the coats come off, and those who did not know may guess.

import { button, element } from "../element.js";
import { keepTyped } from "../typing.js";
import { nameOf } from "../words.js";

const STEPS = ["stripped", "solvent", "wiped", "looks bare"];

export function coatScreen(app) {
  const { plan, day } = app;
  const block = plan.launches.filter((launch) => day.coats.has(launch.preparation)).map((one) => one.block).pop();
  const coats = [...new Set(plan.launches.filter((one) => one.block === block && day.coats.has(one.preparation)).map((one) => one.preparation))];
  const checked = day.next?.block === block; // launches that show that the coats are off are still to be made
  const ticks = element("fieldset", { class: "ticks" },
    element("legend", {}, "Both alike"),
    STEPS.map((step) => element("label", {}, element("input", { type: "checkbox", name: "tick", value: step }), step)));
  keepTyped(app, ticks, `end of round ${block}`);
  return {
    where: `End of round ${block}`,
    content: [
      element("h1", {}, "Take the coats off"),
      plan.hidden && element("div", { class: "guesses" },
        element("p", {}, "Whoever was not told: which is which? Ask before anything is said."),
        coats.map((coat) => guessOf(app, coat))),
      ticks,
    ],
    actions: [
      button(checked ? "The coats are off" : `Round ${block} is over`, () => app.record({
        kind: "round_ended", block, ticks: [...app.place.querySelectorAll("[name=tick]:checked")].map((one) => one.value),
      }), "main"),
      button("A coat was damaged…", () => app.ask("stop")),
    ],
  };
}

function guessOf(app, coat) {
  const said = app.drafts.filter((one) => one.body.kind === "guess" && one.body.preparation === coat);
  const last = said[said.length - 1]?.body.treatment;
  const choice = (name) => button(name, async () => { await app.save({ kind: "guess", preparation: coat, treatment: name }); app.show(); },
    "peg", { "aria-pressed": String(last === name) });
  return element("fieldset", { class: "chips" }, element("legend", {}, nameOf(app.plan, coat)),
    [...app.plan.treatments.map((one) => one.name), "cannot tell"].map(choice));
}
