// The entries, last first, and what to do about a wrong one: nothing is rubbed out, a correction is added.

import { button, element, field, typed } from "../element.js";
import { numberIn, numberOrRemark } from "../typing.js";
import { told, withUnit } from "../words.js";

const SHOWN = 8, WHY = "said on the spot";

/** What was typed by hand in each kind of record, and may be mistyped: its name, its label, the unit of a number. */
const BY_HAND = {
  session: [["place", "Place"], ["weather", "Sky and wind"]],
  prepared: [["grams", "Grams used", "g"], ["batch", "Batch or tin"], ["who", "Who prepared it"]],
  set_up: [["zero_point_m", "Tape at release (m)", "m"], ["level", "Level along the lane"], ["photo", "Photo"]],
  condition: [["words", "In words"]],
  landed: [["peg", "Peg"], ["clip", "Clip"]],
  at_least: [["value", "At least", "m"]],
  set_aside: [["cause", "Cause"]],
  incident: [["words", "What happened"]],
  noted: [["words", "Remark"]],
};

export function wrongScreen(app) {
  const { plan } = app;
  const facts = app.day.facts.filter((fact) => fact.body.kind !== "corrected").reverse();
  const entry = (fact) => element("li", {},
    button(`${told(fact.body, plan)}${fact.withdrawn ? " (taken back)" : fact.corrections ? " (corrected)" : ""}`, () => choose(app, fact)));
  const list = element("ol", { class: "entries" }, facts.slice(0, SHOWN).map(entry));
  const earlier = button("Earlier entries", () => { list.append(...facts.slice(SHOWN).map(entry)); earlier.remove(); });
  return {
    where: "Wrong?",
    content: [element("h1", {}, "Which entry is wrong?"), list, facts.length > SHOWN && earlier],
    actions: [button("Nothing is wrong", () => app.ask(null), "main")],
  };
}

/** One entry: put right what was typed, or take it back, or back again. */
function choose(app, fact) {
  const { body, withdrawn } = fact;
  const correct = (more, ...remarks) => app.record(
    { kind: "corrected", target: fact.latest, launch: body.launch ?? null, ...more, why: WHY }, ...remarks);
  const as = byHand(fact), amending = body.kind === "read" ? amendReading(fact, correct) : amendFields(app, fact, correct);
  const turn = withdrawn ? body.kind !== "read" && ["Put it back: it did happen", { changes: as }]
    : ["Take it back: it did not happen", { withdrawn: true, changes: as }];
  const actions = [amending && button("Correct it", amending.amend, "main"),
    turn && button(turn[0], () => correct(turn[1]), amending ? "plain" : "main"),
    button("Another entry", () => app.show())];
  app.place.querySelector("main").replaceChildren(...[
    element("p", { class: "before" }, withdrawn ? "This entry was taken back:" : "This entry is wrong:"),
    element("h1", { tabindex: -1 }, told(body, app.plan)), amending?.form,
  ].filter(Boolean));
  app.place.querySelector(".actions").replaceChildren(...actions.filter(Boolean));
  app.place.querySelector("h1").focus();
  scrollTo(0, 0);
}

/** What was typed by hand, as it stands now: the last correction alone counts, so each says all of it. */
function byHand({ body }) {
  return Object.fromEntries((BY_HAND[body.kind] ?? []).filter(([name]) => name in body).map(([name]) => [name, body[name]]));
}

function amendFields(app, fact, correct) {
  const named = BY_HAND[fact.body.kind];
  if (!named || fact.withdrawn) return null;
  const form = element("form", { class: "form", onsubmit: (event) => { event.preventDefault(); amend(); } },
    named.map(([name, label, unit]) => field(label, { name, value: fact.body[name] ?? "", inputmode: unit ? "decimal" : null })),
    element("button", { type: "submit", hidden: true }, "Correct it"));
  const amend = () => {
    const changes = byHand(fact), remarks = [];
    for (const [name, label, unit] of named) {
      const text = typed(form, name);
      if (!unit) Object.assign(changes, text || name in changes ? { [name]: text } : {});
      else if (!text) Object.assign(changes, name in changes ? { [name]: null } : {});
      else {
        const meant = numberOrRemark(text, name, unit, `${label}, ${told(fact.body, app.plan)}`);
        Object.assign(changes, meant.fields);
        remarks.push(...meant.remarks);
      }
    }
    if (fact.body.kind === "at_least" && changes.value !== undefined) changes.unit = fact.body.unit ?? app.plan.unit ?? "m";
    return correct({ changes }, ...remarks);
  };
  return { form, amend };
}

function amendReading({ body }, correct) {
  const input = element("input", { id: "right-value", inputmode: "decimal", autocomplete: "off" });
  const amend = () => {
    const value = numberIn(input.value, body.unit ?? ""), text = input.value.trim().replace(",", ".");
    if (text) correct({ text, unit: body.unit ?? null, ...(value === null ? { unread: true } : { value }) });
  };
  const form = element("form", { class: "field", onsubmit: (event) => { event.preventDefault(); amend(); } },
    element("label", { for: "right-value" }, `It should say (was ${withUnit(body.text, body.unit)})`), input);
  return { form, amend };
}
