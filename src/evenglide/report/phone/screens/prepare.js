// Making a piece of gear ready: the same steps for every treatment, bare too.

import { button, element, field, typed } from "../element.js";
import { keepTyped, numberOrRemark } from "../typing.js";
import { duration, nameOf } from "../words.js";
import { notAsPlanned } from "./short.js";

const STEPS = ["scraped", "solvent", "wiped", "treatment on", "waited", "polished or left alike"];

export function prepareScreen(app) {
  const { plan, day } = app, preparation = day.waitingFor.includes(app.coat) ? app.coat : day.waitingFor[0];
  const launch = plan.launches.find((one) => one.preparation === preparation);
  const treatment = plan.treatments.find((one) => one.name === plan.key[preparation]);
  const longest = Math.max(0, ...plan.treatments.map((one) => one.waiting_s ?? 0));
  const ticks = element("fieldset", { class: "ticks" },
    element("legend", {}, "Every piece gets the same steps"),
    STEPS.map((step) => element("label", {}, element("input", { type: "checkbox", name: "tick", value: step }), step)));
  const form = element("form", { class: "form", onsubmit: (event) => { event.preventDefault(); ready(); } },
    ticks,
    field("Grams used", { name: "grams", inputmode: "decimal" }, "leave it empty if it was not weighed"),
    field("Batch or tin", { name: "batch" }),
    field("Who prepared it", { name: "who" }),
    element("button", { type: "submit", hidden: true }, "Ready"));
  keepTyped(app, form, `prepare ${preparation}`);
  const { timers } = app, handsOn = `hands-on ${preparation}`, waiting = `waiting ${preparation}`;
  const faces = [timer(app, handsOn, "Hands on it", 0), timer(app, waiting, "Waiting", longest)];
  const ready = async () => {
    for (const name of [handsOn, waiting]) timers.stop(name);
    const grams = numberOrRemark(typed(form, "grams"), "grams", "g", `grams of ${nameOf(plan, preparation)}`);
    const waited = timers.seconds(waiting);
    if (waited && waited < longest) app.toAsk = `${launch.item} waited ${duration(waited)} of ${duration(longest)}. That is what is written down.`;
    await app.record({
      kind: "prepared", preparation, item: launch.item, block: launch.block, who: typed(form, "who"), batch: typed(form, "batch"),
      ...grams.fields,
      ...(timers.seconds(handsOn) ? { hands_on_s: timers.seconds(handsOn) } : {}),
      ...(waited ? { cure_s: waited } : {}),
      ticks: [...form.querySelectorAll("[name=tick]:checked")].map((one) => one.value),
    }, ...grams.remarks);
  };
  const others = day.waitingFor.filter((one) => one !== preparation);
  return {
    where: `Round ${launch.block} · prepare`,
    content: [
      element("p", { class: "before" }, "Prepare"),
      element("h1", {}, launch.item),
      launch.tag && element("p", { class: "tag" }, launch.tag),
      key(plan, treatment?.name ?? ""),
      element("div", { class: "timers" }, faces),
      others.map((one) => button(`Meanwhile: ${nameOf(plan, one)}`, () => { app.coat = one; app.show(); })),
      form,
    ],
    actions: [notAsPlanned(app, button(`${launch.item} is ready`, ready, "main"))],
  };
}

/** Which treatment this is; where treatments are hidden, only after the preparer has asked for it. */
function key(plan, treatment) {
  if (!plan.hidden) return element("p", { class: "treatment" }, treatment);
  const shown = element("p", { class: "treatment", hidden: true }, treatment);
  const ask = button("I prepare the gear: show what goes on", () => {
    shown.hidden = !shown.hidden;
    ask.textContent = shown.hidden ? "I prepare the gear: show what goes on" : "Hide it again";
  }, "plain");
  return element("div", { class: "key" }, ask, shown);
}

/** A timer with its button, drawn every second. */
function timer(app, name, label, planned) {
  const { timers } = app;
  const face = element("span", { class: "face" });
  const press = button("", () => timers.press(name, planned));
  const before = timers.draw;
  timers.draw = () => {
    before();
    const now = timers.seconds(name), says = timers.runs(name) ? "Pause" : now ? "Go on" : "Start";
    face.textContent = `${Math.floor(now / 60)}:${String(now % 60).padStart(2, "0")}`;
    press.textContent = says;
    press.setAttribute("aria-label", `${says}: ${label}`);
  };
  timers.draw();
  return element("div", { class: "timer" },
    element("span", {}, label, planned ? element("span", { class: "soft" }, ` of ${duration(planned)}`) : null), face, press);
}
