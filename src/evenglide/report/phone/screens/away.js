// Where the records are, and how they come home.

import { button, element } from "../element.js";
import { logText } from "../records.js";
import { shell } from "../sending.js";
import { counted, withUnit } from "../words.js";

export function awayScreen(app) {
  const { plan, day, drafts } = app, done = day.state === "done";
  const refused = drafts.filter((one) => typeof one.sent === "string");
  const name = `evenglide-${(drafts[0]?.device ?? "phone")}-${drafts.length}.ndjson`;
  const file = () => new File([logText(plan.study, drafts)], name, { type: "application/x-ndjson" });
  const said = element("p", { class: "odd", role: "status" });
  const size = `${counted(drafts.length, "record")}, ${withUnit(Math.ceil(file().size / 1000), "kB")}`;
  const download = () => {
    const link = element("a", { href: URL.createObjectURL(file()), download: name });
    document.body.append(link);
    link.click();
    link.remove();
    said.textContent = `Saved as ${name} (${size}): send it to the laptop.`;
  };
  const canShare = typeof navigator.canShare === "function" && navigator.canShare({ files: [file()] });
  const pasted = element("textarea", { class: "paste", rows: 6, readonly: true, hidden: true, "aria-label": "The records as text" }, logText(plan.study, drafts));
  const light = () => {
    const now = document.documentElement.dataset.light === "night" ? "day" : "night";
    document.documentElement.dataset.light = now;
    app.records.setAside("light", now);
  };
  return {
    where: done ? "Done" : "Away",
    content: [
      element("h1", {}, done ? doneWords([...day.marks.values()]) : "Where the records are"),
      element("dl", { class: "kept" },
        element("dt", {}, "Saved here"), element("dd", { "data-counts": "here" }, countsOf(app).here),
        plan.address && [element("dt", {}, "At the laptop"), element("dd", { "data-counts": "there" }, countsOf(app).there)]),
      refused.length > 0 && element("p", { class: "trouble" }, `The laptop keeps something else under the name of ${counted(refused.length, "record")}. They stay here; save them to a file.`),
      element("p", {}, promiseOf(app)),
      element("p", { class: "soft" }, "The file holds every record with its corrections. Taken in twice, it adds nothing: evenglide take-in ", name, " --study and the study's folder."),
      pasted,
    ],
    actions: [
      said,
      button("Save the records to a file", download, "main"),
      canShare && button("Share the file", () => navigator.share({ files: [file()] }).catch(() => {})),
      button("Show them as text to copy", () => { pasted.hidden = !pasted.hidden; pasted.select(); }),
      element("div", { class: "pair" }, button("Day or night light", light), !done && button("Back to the launches", () => app.ask(null))),
    ],
  };
}

/** @param {string[]} marks */
function doneWords(marks) {
  if (marks.includes("elsewhere")) return "Nothing is left to launch with this phone";
  return marks.includes("skipped") ? "Nothing is left to launch" : "Every launch is made";
}

/** How many records are where, in words. @param {any} app @returns {Record<string, string>} */
export function countsOf({ drafts }) {
  const sent = drafts.filter((one) => one.sent === true).length;
  return { here: counted(drafts.length, "record"), there: `${sent} of ${drafts.length}` };
}

/** What this way of carrying the page can and cannot survive. */
function promiseOf(app) {
  if (!app.promise.works) return "This browser keeps nothing. Use paper, or open the page from the laptop's address.";
  const kept = app.promise.kept ? "The browser promises to keep the records until you clear them." : "The browser may clear them if it runs short of room: save them to a file every evening.";
  if (location.protocol === "file:") return `This page runs from a file. It survives a reload and a restart of the phone, without any signal. ${kept}`;
  if (shell.kept) return `This page goes on without the laptop, and survives a reload once it has loaded here. ${kept}`;
  return `This page goes on in the open tab without the laptop. Do not reload it while the laptop is away: the records stay, the page would not. ${location.protocol === "https:" ? "Passing over the warning of the certificate is not enough: install it. " : ""}${kept}`;
}
