// Making a piece of gear ready: the same steps for every treatment, bare too.

import { alarm } from "../beep.js";
import { button, element, field, typed } from "../element.js";
import { duration, nameOf, withUnit } from "../words.js";

const STEPS = ["scraped", "solvent", "wiped", "treatment on", "waited", "polished or left alike"];

export function prepareScreen(app) {
  const { plan, day } = app, preparation = day.waitingFor[0];
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
  const handsOn = timer(app, `hands-on ${preparation}`, "Hands on it", 0);
  const waiting = timer(app, `waiting ${preparation}`, "Waiting", longest);
  const ready = async () => {
    const grams = Number(typed(form, "grams").replace(",", "."));
    await app.record({
      kind: "prepared", preparation, item: launch.item, block: launch.block, who: typed(form, "who"), batch: typed(form, "batch"),
      ...(typed(form, "grams") && Number.isFinite(grams) ? { grams } : {}),
      ...(handsOn.seconds() ? { hands_on_s: handsOn.seconds() } : {}),
      ...(waiting.seconds() ? { cure_s: waiting.seconds() } : {}),
      ticks: [...form.querySelectorAll("[name=tick]:checked")].map((one) => one.value),
    });
  };
  app.leave = () => { handsOn.stop(); waiting.stop(); };
  return {
    where: `Round ${launch.block} · prepare`,
    content: [
      element("p", { class: "before" }, "Prepare"),
      element("h1", {}, launch.item),
      launch.tag && element("p", { class: "tag" }, launch.tag),
      key(plan, treatment?.name ?? ""),
      element("div", { class: "timers" }, handsOn.shown, waiting.shown),
      form,
      day.waitingFor.length > 1 && element("p", { class: "soft" }, `Then: ${day.waitingFor.slice(1).map((one) => nameOf(plan, one)).join(", ")}`),
    ],
    actions: [button(`${launch.item} is ready`, ready, "main")],
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

/** A timer that survives a reload; an alarm where a time was planned. */
function timer(app, name, label, planned) {
  let began = 0, total = 0, ticking = 0, rung = false;
  const face = element("span", { class: "face" }, "0:00");
  const press = button("Start", () => turn(), "plain");
  const seconds = () => Math.round(total + (began ? (Date.now() - began) / 1000 : 0));
  const draw = () => {
    const now = seconds();
    face.textContent = `${Math.floor(now / 60)}:${String(now % 60).padStart(2, "0")}`;
    press.textContent = began ? "Pause" : now ? "Go on" : "Start";
    press.setAttribute("aria-label", `${press.textContent}: ${label}`);
    if (planned && began && !rung && now >= planned) { rung = true; alarm(); }
  };
  const turn = () => {
    if (began) { total += (Date.now() - began) / 1000; began = 0; } else began = Date.now();
    app.records.setAside(name, { began, total });
    draw();
  };
  app.records.aside(name).then((kept) => { if (kept) ({ began, total } = kept); draw(); }).catch(() => {});
  ticking = setInterval(draw, 1000);
  return {
    seconds,
    stop: () => clearInterval(ticking),
    shown: element("div", { class: "timer" }, element("span", {}, label, planned ? element("span", { class: "soft" }, ` ${withUnit("of", "")}${duration(planned)}`) : null), face, press),
  };
}
