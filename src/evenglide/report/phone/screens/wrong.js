// The last entries, and what to do about a wrong one: nothing is rubbed out, a correction is added.

import { button, element } from "../element.js";
import { told, withUnit } from "../words.js";

const SHOWN = 8;

export function wrongScreen(app) {
  const { plan } = app;
  const facts = app.day.facts.filter((fact) => fact.body.kind !== "corrected").slice(-SHOWN).reverse();
  const choose = (fact) => {
    const target = fact.latest, amend = fact.body.kind === "read" ? amendReading(app, fact, target) : "";
    app.place.querySelector("main").replaceChildren(
      element("p", { class: "before" }, "This entry is wrong:"),
      element("h1", { tabindex: -1 }, told(fact.body, plan)), amend,
      button("Take it back: it did not happen", () => app.record({ kind: "corrected", target, launch: fact.body.launch ?? null, withdrawn: true, why: "said on the spot" })));
    app.place.querySelector("h1").focus();
  };
  return {
    where: "Wrong?",
    content: [
      element("h1", {}, "Which entry is wrong?"),
      element("ol", { class: "entries" }, facts.map((fact) => element("li", {},
        button(`${told(fact.body, plan)}${fact.withdrawn ? " (taken back)" : fact.corrections ? " (corrected)" : ""}`, () => choose(fact), "plain", fact.withdrawn ? { disabled: true } : {})))),
    ],
    actions: [button("Nothing is wrong", () => app.ask(null), "main")],
  };
}

function amendReading(app, fact, target) {
  const input = element("input", { id: "right-value", inputmode: "decimal", autocomplete: "off" });
  return element("div", { class: "field" },
    element("label", { for: "right-value" }, `It should say (was ${withUnit(fact.body.text, fact.body.unit)})`), input,
    button("Correct it", () => {
      const text = input.value.trim().replace(",", "."), value = Number(text);
      if (!text) return;
      app.odd = "";
      app.record({ kind: "corrected", target, launch: fact.body.launch, text, unit: fact.body.unit ?? null,
        ...(Number.isFinite(value) ? { value } : { unread: true }), why: "said on the spot" });
    }, "plain"));
}
