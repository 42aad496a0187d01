// Anchoring the rig, or moving it: what changes, what stays, and what is written down about the place.

import { button, element, field, typed } from "../element.js";
import { sendPhoto } from "../sending.js";
import { keepTyped, numberOrRemark } from "../typing.js";
import { counted } from "../words.js";
import { notAsPlanned } from "./short.js";

const WORDS = ["mirror", "sheen", "dull", "rippled", "soft", "hard", "crusted", "wet", "dry"];

export function setUpScreen(app) {
  const { plan, day } = app, next = day.next, surface = app.surface(next.surface);
  const stood = [...day.setUps.keys()].pop();
  const before = stood === undefined ? null : plan.launches.find((one) => one.set_up === stood);
  const here = app.leftHere();
  const words = element("fieldset", { class: "chips" },
    element("legend", {}, "How does the surface look?"),
    WORDS.map((word) => element("label", {}, element("input", { type: "checkbox", name: "look", value: word }), word)));
  const form = element("form", { class: "form", onsubmit: (event) => { event.preventDefault(); stands(); } },
    words,
    field("Other words for the surface", { name: "words" }),
    field("Wind", { name: "wind" }, "say: none, breeze from behind, gusts across"),
    field("Tape at release (m)", { name: "zero", inputmode: "decimal", value: day.setUps.get(stood)?.zero_point_m ?? "" },
      "what it shows at the front edge, if not 0; it is taken off all readings here"),
    field("Level along the lane", { name: "level" }, "say: 0.3 degrees down"),
    field("Photo", { name: "photo" }, "its number, if one was taken"),
    plan.address && photoField(app, () => form.querySelector('[name="photo"]')),
    element("button", { type: "submit", hidden: true }, "The rig stands"));
  keepTyped(app, form, `set up ${next.set_up}`);
  const stands = () => {
    const zero = numberOrRemark(typed(form, "zero"), "zero_point_m", "m", `zero point of rig set-up ${next.set_up}`);
    const ticked = [...form.querySelectorAll("[name=look]:checked")].map((one) => one.value);
    const look = [...ticked, typed(form, "words")].filter(Boolean).join(", ");
    const bodies = [{
      kind: "set_up", set_up: next.set_up, surface: next.surface, direction: next.direction,
      level: typed(form, "level"), photo: typed(form, "photo"),
      ...zero.fields,
    }, ...zero.remarks];
    if (look) bodies.push({ kind: "condition", name: `look of ${next.surface}`, words: look });
    if (typed(form, "wind")) bodies.push({ kind: "condition", name: "wind", words: typed(form, "wind") });
    return app.record(...bodies);
  };
  return {
    where: `Round ${next.block} · ${before ? "move the rig" : "set up"}`,
    content: [
      element("p", { class: "before" }, before ? "Move the rig to" : "Set the rig up on"),
      element("h1", {}, next.surface),
      element("p", { class: "lane" }, next.direction),
      element("ul", { class: "plain-list" },
        before && changes(before, next).map((one) => element("li", {}, one)),
        element("li", {}, `${counted(here.length, "launch", "launches")} here, ${[...new Set(here.map((one) => one.item))].join(" and ")} in turn`),
        surface?.mark === "timed mark" && element("li", {}, `The place is marked ${surface.after_s} s after release`)),
      form,
    ],
    actions: [notAsPlanned(app, button("The rig stands", stands, "main"))],
  };
}

function changes(before, next) {
  const named = [["surface", before.surface, next.surface], ["direction", before.direction, next.direction], ["round", before.block, next.block]];
  const other = named.filter(([, was, is]) => was !== is).map(([name, was, is]) => `${name}: ${was} → ${is}`);
  const same = named.filter(([, was, is]) => was === is).map(([name, was]) => `${name} stays: ${was}`);
  return [...other, ...same, "same launcher, same pull, the tape laid anew from the release"];
}

/** Where there is a laptop, a photo goes there at once; if it cannot, its number is noted instead. */
function photoField(app, number) {
  const said = element("p", { class: "soft", role: "status" });
  const take = async (event) => {
    const file = event.target.files?.[0];
    if (!file) return;
    said.textContent = "The photo is on its way.";
    try {
      number().value = await sendPhoto(app, file);
      number().dispatchEvent(new Event("input", { bubbles: true }));
      said.textContent = "The photo is at the laptop.";
    } catch {
      said.textContent = "The photo did not arrive. Keep it on the phone and note its number above.";
    }
  };
  return element("div", { class: "field" },
    element("label", { for: "field-camera" }, "Take a photo of the rig and its lane"),
    element("input", { id: "field-camera", type: "file", accept: "image/*", capture: "environment", onchange: take }),
    said);
}
