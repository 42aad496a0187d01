// One walk along the tape: any order, each value spoken back, pegs that were lost said so.

import { say } from "../beep.js";
import { button, element } from "../element.js";
import { withUnit } from "../words.js";

const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9", ".", "0", "⌫"];

export function readScreen(app) {
  const { plan, day } = app;
  const open = day.onTheTape.map((number) => plan.launches.find((one) => one.number === number));
  if (!open.length) {
    return { where: "Read the pegs", content: [element("h1", {}, "Every peg is read")], actions: [button("Go on", () => app.ask(null), "main")] };
  }
  const labels = new Map(open.map((one) => [one.number, day.launches.get(one.number)?.peg || `launch ${one.number}`]));
  // What was typed survives that the screen is drawn again, with the peg it was typed for.
  const typing = app.typed.get("reading"), kept = open.some((one) => one.number === typing?.launch) ? typing : null;
  let chosen = kept?.launch ?? open[0].number, text = kept?.text ?? "";
  const unit = plan.unit ?? "m";
  const value = element("output", { class: "value", "aria-live": "off" }, "");
  const before = element("p", { class: "soft right" }, lastRead(app));
  const bar = element("div", { class: "pegs", role: "group", "aria-label": "Which peg" });
  const main = button("Save", () => save(), "main");
  const draw = () => {
    app.keep("reading", text ? { launch: chosen, text } : null);
    value.replaceChildren(element("span", { class: text ? "" : "soft" }, text || "–"), element("span", { class: "unit" }, unit));
    bar.replaceChildren(...open.map((one) => button(labels.get(one.number), () => { chosen = one.number; text = ""; draw(); },
      "peg", { "aria-pressed": String(one.number === chosen) })));
    main.textContent = `Save peg ${labels.get(chosen)}`;
    main.disabled = !text;
  };
  const press = (key) => {
    if (key === "⌫") text = text.slice(0, -1);
    else if (key === "." && text.includes(".")) return;
    else if (text.length < 8) text += key;
    draw();
  };
  const save = async () => {
    if (!text) return;
    const launch = open.find((one) => one.number === chosen), number = Number(text);
    const body = { kind: "read", launch: chosen, text, unit, method: "tape",
      ...(Number.isFinite(number) ? { value: number } : { unread: true }) };
    app.toAsk = oddness(app, launch, number);
    if (!(await app.record(body))) return;
    say(`peg ${labels.get(chosen)}, ${text} ${unit}. ${app.odd && "Look once more."}`);
  };
  const listen = (event) => {
    if (/^[0-9]$/.test(event.key)) press(event.key);
    else if (event.key === "." || event.key === ",") press(".");
    else if (event.key === "Backspace") press("⌫");
    else if (event.key === "Enter" && !(document.activeElement instanceof HTMLButtonElement)) save();
  };
  addEventListener("keydown", listen);
  app.leave = () => removeEventListener("keydown", listen);
  draw();
  app.forms.push("reading");
  if (!app.typed.has("walk")) app.keep("walk", true);
  return {
    where: "Read the pegs",
    content: [element("h1", { class: "quiet" }, "Read the pegs, in any order"), bar, value, before,
      element("div", { class: "pad" }, KEYS.map((key) => button(key, () => press(key), "key", key === "⌫" ? { "aria-label": "delete the last digit" } : {})))],
    actions: [element("div", { class: "pair wide" }, button("Lost", () => app.record({ kind: "peg_lost", launch: chosen })), main),
      day.state === "ready" && button("Read the others later", () => app.later())],
  };
}

function lastRead(app) {
  const last = [...app.drafts].reverse().find((one) => one.body.kind === "read");
  if (!last) return "";
  const peg = app.day.launches.get(last.body.launch)?.peg;
  return `${peg ? `peg ${peg}` : `launch ${last.body.launch}`} was ${withUnit(last.body.text, last.body.unit)}`;
}

/** An odd value is stored and marked, and asked about; it is never refused. */
function oddness(app, launch, value) {
  const surface = app.plan.launches.filter((one) => one.surface === launch.surface && one.number !== launch.number)
    .map((one) => app.day.launches.get(one.number)).filter((one) => one && one.value !== null && one.setAside === null).map((one) => one.value);
  if (surface.length < 4) return "";
  const sorted = [...surface].sort((a, b) => a - b), middle = sorted[Math.floor(sorted.length / 2)];
  if (middle <= 0 || value <= 0) return value <= 0 ? `${value} is saved. Is that what the tape says?` : "";
  return value > 1.6 * middle || value < middle / 1.6
    ? `${withUnit(value, app.plan.unit ?? "m")} is saved, far from the others here (about ${middle}). Look once more; if it is wrong, press “wrong?”.` : "";
}
