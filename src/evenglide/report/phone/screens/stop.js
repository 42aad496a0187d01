// Something went wrong: people first, then what to write down.

import { button, element, field, typed } from "../element.js";
import { keepTyped } from "../typing.js";
import { nameOf } from "../words.js";

export function stopScreen(app) {
  const { plan, day } = app, next = day.next;
  const coats = next ? [...new Set(plan.launches.filter((one) => one.block === next.block).map((one) => one.preparation))] : [];
  const form = element("form", { class: "form", onsubmit: (event) => { event.preventDefault(); keep(); } },
    field("What happened", { name: "words" }),
    element("button", { type: "submit", hidden: true }, "Keep it"));
  keepTyped(app, form, "stop");
  const keep = () => app.record({ kind: "incident", words: typed(form, "words") || "stopped" });
  return {
    where: "Stop",
    content: [
      element("h1", {}, "Stop. Unload the launcher."),
      element("p", {}, "See to people first. Nobody steps in front of a cocked launcher."),
      form,
      coats.length > 0 && element("div", { class: "more" },
        element("h2", {}, "Was a coat damaged?"),
        coats.map((coat) => button(nameOf(plan, coat), () => app.record({ kind: "coat_damaged", preparation: coat, words: typed(form, "words") })))),
    ],
    actions: [button("Write it down and go on", keep, "main"), button("Nothing happened, go on", () => { app.keep("stop", null); app.ask(null); })],
  };
}
