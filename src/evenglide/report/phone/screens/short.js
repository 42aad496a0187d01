// Too little time: what the sealed rule leaves out, both preparations alike, never half a round.

import { button, element } from "../element.js";
import { counted, duration, listed } from "../words.js";

export function shortScreen(app) {
  const { plan, day } = app, offers = offersOf(app), left = app.left();
  return {
    where: "Short of time",
    content: [
      element("h1", {}, "What may be left out"),
      element("p", {}, plan.when_time_is_short),
      left !== null && element("p", { class: "soft" }, left > 0 ? `The window leaves ${duration(left * 60)}.` : "The window is over."),
      offers.length ? null : element("p", {}, "Nothing is left that could be left out."),
      day.next && element("p", { class: "soft" }, "What is left out is written down as left out, and shown in the report."),
    ],
    actions: [
      ...offers.map(({ words, launches, minutes }) => button(
        `${words}: ${counted(launches.length, "launch", "launches")}${minutes ? `, saves ${duration(minutes * 60)}` : ""}`,
        () => app.record({ kind: "skipped", launches: launches.map((one) => one.number), why: "short of time" }))),
      button("Leave nothing out", () => app.ask(null), "main"),
    ],
  };
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
  if (last.length) offers.push({ words: "One launch less of each piece on each set-up left", launches: last });
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
