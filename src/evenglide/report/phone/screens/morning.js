// Before the first launch of an outing: what the day holds, the cautions once, what is missing.

import { button, element, field, typed } from "../element.js";
import { keepTyped } from "../typing.js";
import { counted, duration, listed } from "../words.js";
import { notAsPlanned } from "./short.js";

export function morningScreen(app) {
  const { plan, day } = app, number = day.next.outing, outing = plan.outings[number - 1];
  const today = plan.launches.filter((one) => one.outing === number);
  const rounds = new Set(today.map((one) => one.block)), coats = new Set(today.map((one) => one.preparation));
  const surfaces = [...new Set(today.map((one) => one.surface))];
  const form = element("form", { class: "form", onsubmit: (event) => { event.preventDefault(); begin(); } },
    field("Place", { name: "place" }),
    field("Who is here", { name: "people" }, "names or initials, commas between"),
    field("Sky and wind", { name: "weather" }, "say: thin cloud, breeze from the sea"),
    element("button", { type: "submit", hidden: true }, "Begin"));
  keepTyped(app, form, `morning ${number}`);
  const begin = () => app.record({
    kind: "session", outing: number, place: typed(form, "place"), weather: typed(form, "weather"),
    people: typed(form, "people").split(",").map((one) => one.trim()).filter(Boolean),
  });
  const minutes = today.reduce((sum, one) => sum + (app.surface(one.surface)?.minutes_per_launch ?? 0), 0);
  return {
    where: `Outing ${number}`,
    content: [
      element("h1", {}, "Today"),
      element("ul", { class: "plain-list" },
        element("li", {}, `${counted(rounds.size, "round")}, ${counted(coats.size, "preparation")}, ${counted(today.length, "launch", "launches")}`),
        element("li", {}, `On ${listed(surfaces)}`),
        minutes > 0 && element("li", {}, `Launching alone takes about ${duration(minutes * 60)}`),
        outing && element("li", {}, `The plan says ${outing.day}, ${outing.from} to ${outing.to}`),
        outing?.low_water && element("li", {}, `Low water ${outing.low_water}, as typed`)),
      element("details", { class: "cautions", open: true },
        element("summary", {}, "Before anybody launches"),
        element("ul", {}, plan.cautions.map((one) => element("li", {}, one)))),
      !app.promise.kept && element("p", { class: "soft" },
        "This browser does not promise to keep records for good. Save them to a file at the end of the day."),
      form,
    ],
    actions: [notAsPlanned(app, button("Read it, begin", begin, "main"))],
  };
}
