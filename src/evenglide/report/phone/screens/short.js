// Not as planned: what the sealed rule leaves out when time is short, and what is recorded elsewhere.

import { button, element, field, typed } from "../element.js";
import { keepTyped } from "../typing.js";
import { counted, duration, launchesIn, listed } from "../words.js";

const ELSEWHERE = ["paper", "another phone"];

export function shortScreen(app) {
  const parts = [shortOfTime(app), elsewhere(app)];
  return {
    where: "Not as planned",
    content: [
      element("h1", {}, "Not as planned"),
      // A second phone begins here: what it needs comes first.
      ["morning", "prepare"].includes(app.day.state) ? parts.reverse() : parts,
    ],
    actions: [button("Go on as planned", () => app.ask(null), "main")],
  };
}

/** The way here beside what a screen is for. @param {any} app @param {HTMLElement} main */
export function notAsPlanned(app, main) {
  return element("div", { class: "pair wide" }, button("Not as planned", () => app.ask("short")), main);
}

function shortOfTime(app) {
  const offers = offersOf(app), left = app.left();
  return element("section", { class: "more" },
    element("h2", {}, "Short of time: leave something out"),
    element("p", {}, app.plan.when_time_is_short),
    left !== null && element("p", { class: "soft" }, left > 0 ? `The window leaves ${duration(left * 60)}.` : "The window is over."),
    offers.length ? null : element("p", {}, "Nothing is left that could be left out."),
    offers.map(({ words, launches, minutes }) => button(
      `${words}: ${counted(launches.length, "launch", "launches")}${minutes ? `, saves ${duration(minutes * 60)}` : ""}`,
      () => app.record({ kind: "skipped", launches: launches.map((one) => one.number), why: "short of time" }))),
    app.day.next && element("p", { class: "soft" }, "What is left out is written down as left out, and shown in the report."));
}

/** Launches that this phone need not ask for: nothing is left out by it, they are waited for. */
function elsewhere(app) {
  const { plan, day } = app, next = day.next;
  if (!next) return null;
  let how = "";
  const open = plan.launches.filter((one) => day.marks.get(one.number) === "unmade");
  const keep = (launches) => app.record({ kind: "elsewhere", launches: launches.map((one) => one.number), ...(how ? { how } : {}) });
  const chips = ELSEWHERE.map((name) => button(name, () => {
    how = how === name ? "" : name;
    chips.forEach((chip) => chip.setAttribute("aria-pressed", String(chip.textContent === how)));
  }, "peg", { "aria-pressed": "false" }));
  return element("section", { class: "more" },
    element("h2", {}, "Recorded elsewhere"),
    element("fieldset", { class: "chips" }, element("legend", {}, "On paper, or by another phone?"), chips),
    portions(app, open).map(({ words, launches }) =>
      button(`${words} is recorded elsewhere: ${launchesIn(launches.map((one) => one.number))}`, () => keep(launches))),
    goingOn(app, open, keep),
    element("p", { class: "soft" }, "Nothing is left out by it: the answer waits for their records."));
}

/** The set-up and the round, or what is left of them. */
function portions(app, open) {
  const { plan, day: { next } } = app;
  const portion = (/** @type {string} */ name, /** @type {string} */ whole, /** @type {string} */ rest) => {
    const launches = open.filter((one) => one[name] === next[name]);
    return { words: plan.launches.filter((one) => one[name] === next[name]).length > launches.length ? rest : whole, launches };
  };
  const here = portion("set_up", "This rig set-up", "The rest of this rig set-up");
  const round = portion("block", `Round ${next.block}`, `The rest of round ${next.block}`);
  return here.launches.length < round.launches.length ? [here, round] : [round];
}

/** Amid a set-up, after another phone: which launch is the first of this one. */
function goingOn(app, open, keep) {
  const said = element("p", { class: "soft", role: "status" });
  const go = () => {
    const at = open.findIndex((one) => String(one.number) === typed(form, "first"));
    if (at > 0) return keep(open.slice(0, at));
    said.textContent = `That is none of the launches after ${open[0].number}. Nothing was written down.`;
  };
  const form = element("form", { class: "more", onsubmit: (event) => { event.preventDefault(); go(); } },
    field("This phone goes on with launch", { name: "first", inputmode: "numeric" }, "the number on the other phone, or on paper"),
    button("All before it are recorded elsewhere", go), said);
  keepTyped(app, form, "elsewhere");
  return open.length > 1 ? form : null;
}

/** In the order of the sealed rule: fewer launches of each coat, the last surface, whole rounds. */
function offersOf(app) {
  const { plan, day } = app, next = day.next;
  if (!next) return [];
  const open = plan.launches.filter((one) => one.outing === next.outing && day.marks.get(one.number) === "unmade");
  const round = open.filter((one) => one.block === next.block);
  const surfaces = [...new Set(round.map((one) => one.surface))];
  const offers = [];
  const last = lastTurns(round.filter((one) => one.kind === "launch"));
  if (last.length) offers.push({ words: "One launch less of each piece on each set-up left in this round", launches: last });
  const later = surfaces.filter((one) => one !== next.surface);
  if (later.length) {
    const name = later[later.length - 1];
    offers.push({ words: `Leave out ${name} in this round`, launches: round.filter((one) => one.surface === name) });
  }
  const others = open.filter((one) => one.block !== next.block);
  if (others.length) offers.push({ words: `Leave out round ${listed([...new Set(others.map((one) => one.block))])}`, launches: others });
  return offers.map((one) => ({ ...one, minutes: one.launches.reduce((sum, launch) => sum + (app.surface(launch.surface)?.minutes_per_launch ?? 0), 0) }));
}

/** The last launch of every preparation on every set-up where all have more than one left. */
function lastTurns(open) {
  const groups = new Map();
  for (const one of open) {
    if (!groups.has(one.set_up)) groups.set(one.set_up, new Map());
    const coats = groups.get(one.set_up);
    coats.set(one.preparation, [...(coats.get(one.preparation) ?? []), one]);
  }
  return [...groups.values()].flatMap((coats) => {
    const lists = [...coats.values()], fewest = Math.min(...lists.map((list) => list.length));
    return fewest > 1 && lists.every((list) => list.length === fewest) ? lists.map((list) => list[list.length - 1]) : [];
  });
}
