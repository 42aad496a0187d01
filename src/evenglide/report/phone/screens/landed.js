// Where a launch came to its mark: judged clean or not before anybody reads the tape.

import { button, element } from "../element.js";

const MOST_PEGS = 12;

export function landedScreen(app) {
  const { plan, day } = app;
  const launch = plan.launches.find((one) => day.marks.get(one.number) === "made");
  const surface = app.surface(launch.surface), timed = surface?.mark === "timed mark";
  const peg = nextPeg(app);
  const say = (body) => app.record({ launch: launch.number, ...body });
  // A distance that was read and taken back was seen all the same.
  const seen = day.facts.some((fact) => fact.body.kind === "read" && fact.body.launch === launch.number);
  const instead = (title, ...content) => {
    app.inFront();
    app.place.querySelector("main").replaceChildren(element("h1", { tabindex: -1 }, title),
      element("div", { class: "more near" }, content));
    app.place.querySelector(".actions").replaceChildren(button("Back", () => app.show()));
    app.place.querySelector("h1").focus();
  };
  const aside = (cause) => say({ kind: "set_aside", cause, value_seen: seen });
  const causes = () => instead("Set aside, because",
    plan.void_reasons.map((cause) => button(cause, () => aside(cause))),
    button("Another cause…", () => instead("What happened?", otherCause(aside))));
  const others = () => instead("Which peg?",
    element("div", { class: "pegs" }, Array.from({ length: MOST_PEGS }, (_, at) => String(at + 1))
      .map((one) => button(one, () => say({ kind: "landed", peg: one }), "peg"))),
    timed && clip(say));
  return {
    where: `Launch ${launch.number} · ${launch.item}`,
    content: [
      element("h1", {}, timed ? "Was it clean?" : "Clean launch?"),
      element("p", { class: "before soft" }, timed ? "And still moving at the beep? Before anyone reads the tape." : "Before anyone reads the tape."),
      timed && element("p", { class: "soft" }, "If it had stopped by then, say so: its place is then no place after a time."),
    ],
    actions: [
      button(`Yes, peg ${peg}`, () => say({ kind: "landed", peg }), "main"),
      button("Set aside…", causes),
      timed && button("It had stopped before the beep", () => app.record({ kind: "landed", launch: launch.number, peg }, { kind: "stopped", launch: launch.number })),
      button("Ran out of lane: at least this far", () => app.record({ kind: "landed", launch: launch.number, peg }, { kind: "at_least", launch: launch.number })),
      button(timed ? "Other peg or clip…" : "Other peg…", others),
    ],
  };
}

/** A cause that nobody stated before; it is kept, and told. */
function otherCause(aside) {
  const input = element("input", { id: "other-cause", type: "text", autocomplete: "off" });
  return element("div", { class: "field" },
    element("label", { for: "other-cause" }, "In a few words"), input,
    element("p", { class: "soft" }, "It is none of the causes stated before launch 1. The report will say so."),
    button("Set it aside", () => aside(input.value.trim() || "another cause"), "main"));
}

/** A film of the launch, to be read later frame by frame. */
function clip(say) {
  const input = element("input", { id: "clip-name", type: "text", autocomplete: "off" });
  return element("div", { class: "field" },
    element("label", { for: "clip-name" }, "Clip that shows it"), input,
    button("Read it from the clip later", () => say({ kind: "landed", clip: input.value.trim() })));
}

/** The lowest numbered peg that does not stand in the ground. */
function nextPeg(app) {
  const standing = new Set(app.day.onTheTape.map((number) => app.day.launches.get(number)?.peg));
  let peg = 1;
  while (standing.has(String(peg))) peg += 1;
  return String(peg);
}
