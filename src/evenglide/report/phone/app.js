// The field page: what comes next is reckoned from the records after each of them; nothing else is remembered.

import { dayOf } from "./day.js";
import { button, element } from "./element.js";
import { newId, Records } from "./records.js";
import { planAndToken, startSending } from "./sending.js";
import { Timers } from "./timers.js";
import { counted, duration, listed, nameOf, told } from "./words.js";
import { awayScreen, countsOf } from "./screens/away.js";
import { coatScreen } from "./screens/coat.js";
import { landedScreen } from "./screens/landed.js";
import { lockedScreen } from "./screens/locked.js";
import { morningScreen } from "./screens/morning.js";
import { prepareScreen } from "./screens/prepare.js";
import { readScreen } from "./screens/read.js";
import { readyScreen } from "./screens/ready.js";
import { setUpScreen } from "./screens/set_up.js";
import { shortScreen } from "./screens/short.js";
import { stopScreen } from "./screens/stop.js";
import { wrongScreen } from "./screens/wrong.js";

const OF_THE_DAY = {
  "morning": morningScreen, "prepare": prepareScreen, "set up": setUpScreen, "ready": readyScreen,
  "landed": landedScreen, "read": readScreen, "end of coat": coatScreen, "done": awayScreen,
};
const UNPAIRED = "The laptop does not know this phone: scan the code there again. Everything is kept here.";
const ASKED_FOR = {
  away: awayScreen, locked: lockedScreen, read: readScreen, short: shortScreen, stop: stopScreen, wrong: wrongScreen,
};

/** Everything a screen may use. */
export class App {
  /** @param {any} plan @param {HTMLElement} place */
  constructor(plan, place) {
    this.plan = plan;
    this.place = place;
    this.records = new Records(plan.study);
    /** @type {any[]} */
    this.drafts = [];
    this.day = dayOf(plan, []);
    /** @type {keyof typeof ASKED_FOR|null} */
    this.asked = null;
    /** Ids of what this screen may record: made when it is drawn, so that pressing twice records once. @type {string[]} */
    this.formIds = [];
    this.draws = 0;
    this.promise = { works: true, kept: false };
    this.trouble = "";
    this.unreadable = false;
    this.unpaired = false;
    /** Why the laptop did not store what was sent. */
    this.unkept = "";
    this.odd = "";
    /** What the next record is odd for: asked about once it is saved. */
    this.toAsk = "";
    this.skew = "";
    this.token = "";
    /** What the screen that is shown was drawn from. */
    this.shown = "";
    /** Whether the screen that is shown has nothing to press beside what it is for. */
    this.still = false;
    /** What is typed and not yet recorded, by the form it stands in. @type {Map<string, any>} */
    this.typed = new Map();
    this.where = "";
    /** The forms of the screen that is shown. @type {string[]} */
    this.forms = [];
    /** The preparation that is worked on while another one waits. */
    this.coat = "";
    this.timers = new Timers(this);
    /** Ends whatever a screen has running. */
    this.leave = () => {};
    /** Sends without waiting for the next turn, where there is a laptop. */
    this.sendSoon = () => {};
  }

  async start() {
    this.guardAgainstDoubleTaps();
    const light = await this.records.aside("light").catch(() => null);
    document.documentElement.dataset.light = light ?? "day";
    try {
      this.promise = await this.records.test();
    } catch (error) {
      this.promise = { works: false, kept: false };
      this.trouble = `This browser keeps nothing (${error instanceof Error ? error.message : error}). `
        + "Use paper, or open the page from the laptop's address.";
    }
    this.records.channel?.addEventListener("message", () => this.refresh());
    document.addEventListener("visibilitychange", () => { if (!document.hidden) this.refresh(); });
    addEventListener("popstate", () => this.back());
    const asides = await this.records.asides().catch(() => new Map());
    for (const [name, value] of asides) if (name.startsWith("typed ") && value) this.typed.set(name.slice(6), value);
    await this.refresh();
    if (this.typed.has("walk")) this.ask(null);
    this.timers.start();
    startSending(this);
  }

  /** Keep what is being typed in a form; null forgets it. @param {string} name @param {any} value */
  keep(name, value) {
    if (value) this.typed.set(name, value);
    else if (!this.typed.delete(name)) return;
    this.records.setAside(`typed ${name}`, value).catch(() => {});
  }

  /** Something stands in front of the launches: the browser's own way back takes it away, not the page. */
  inFront() {
    if (history.state !== "in front") history.pushState("in front", "");
  }

  back() {
    if (this.still) this.inFront();
    else if (this.asked === "read") this.later();
    else this.ask(null);
  }

  /** Leave the other pegs standing for now. */
  later() {
    this.keep("walk", null);
    this.ask(null);
  }

  /** The second tap of a double tap must not press what the first one brought under the finger. */
  guardAgainstDoubleTaps() {
    let drawn = 0;
    this.place.addEventListener("click", (event) => {
      if (event.detail <= 1) drawn = this.draws;
      else if (drawn !== this.draws) {
        event.stopPropagation();
        event.preventDefault();
      }
    }, { capture: true });
  }

  /** Read the records again and show what they come to. */
  async refresh() {
    if (this.promise.works) {
      try {
        this.drafts = await this.records.all();
        this.timers.take(await this.records.asides());
        this.unreadable = false;
      } catch {
        this.unreadable = true;
      }
    }
    this.day = dayOf(this.plan, this.drafts);
    // A screen is drawn again only if there is something else to show: never under a finger.
    if (this.shown === this.summary()) this.showSaved();
    else this.show();
  }

  /** All that a screen is drawn from. What is said above it may change without drawing it again. */
  summary() {
    const { state, next, waitingFor, unread } = this.day;
    const away = (this.asked ?? state) === "away" || state === "done";
    const refused = away && this.drafts.filter((one) => typeof one.sent === "string").length;
    return JSON.stringify([this.asked, state, next?.number ?? null, waitingFor, unread, refused]);
  }

  /** Keep a record, then go on. @param {any} body @param {string} [id] */
  async save(body, id) {
    try {
      await this.records.save(body, id);
      this.trouble = "";
    } catch (error) {
      this.trouble = `Not saved: ${error instanceof Error ? error.message : error}. Write it on paper.`;
      this.show();
      return false;
    }
    this.drafts = await this.records.all();
    this.day = dayOf(this.plan, this.drafts);
    this.sendSoon();
    return true;
  }

  /** Keep records one after the other and show what comes next. @param {...any} bodies */
  async record(...bodies) {
    const ids = this.formIds;
    while (ids.length < bodies.length) ids.push(newId());
    for (const [at, body] of bodies.entries()) {
      if (!(await this.save(body, ids[at]))) return false;
    }
    for (const name of this.forms) this.keep(name, null);
    [this.odd, this.toAsk] = [this.toAsk, ""];
    if (!this.day.onTheTape.length) this.keep("walk", null);
    this.ask(null);
    return true;
  }

  /** @param {keyof typeof ASKED_FOR|null} asked */
  ask(asked) {
    // A walk along the tape that was begun goes on until every peg is read, or somebody says: later.
    this.asked = asked ?? (this.typed.has("walk") && this.day.state === "ready" ? "read" : null);
    if (asked) this.inFront();
    this.show();
  }

  /** Draw the screen that the day, or a press, asks for. */
  show() {
    this.leave();
    this.leave = () => {};
    this.shown = this.summary();
    this.formIds = [];
    this.forms = [];
    this.timers.draw = () => {};
    this.draws += 1;
    const screen = this.asked ? ASKED_FOR[this.asked] : OF_THE_DAY[this.day.state];
    const drawn = screen(this);
    this.place.replaceChildren(
      this.head(drawn.where),
      element("main", { id: "screen", "data-screen": this.asked ?? this.day.state }, ...drawn.content),
      element("div", { class: "bottom" }, element("div", { class: "actions" }, ...drawn.actions), this.foot()));
    this.keepStill(drawn.still === true);
    const heading = this.place.querySelector("h1");
    if (heading) {
      heading.tabIndex = -1;
      heading.focus({ preventScroll: true });
    }
    scrollTo(0, 0);
  }

  /** Let nothing above and below the screen be pressed, or let it. @param {boolean} still */
  keepStill(still) {
    this.still = still;
    for (const edge of this.place.querySelectorAll("header, footer")) edge.inert = still;
  }

  /** What is saved where. */
  saved() {
    const count = this.drafts.length, sent = this.drafts.filter((one) => one.sent === true).length;
    if (!this.promise.works) return "not saving";
    return this.plan.address ? `here ${count} · laptop ${sent}` : `saved here ✓ ${count}`;
  }

  showSaved() {
    const place = this.place.querySelector(".saved"), foot = this.place.querySelector("footer"), said = this.place.querySelector(".said");
    if (place && place.textContent !== this.saved()) {
      place.textContent = this.saved();
      place.setAttribute("aria-label", `${this.saved()}: show where the records are`);
    }
    for (const count of this.place.querySelectorAll("[data-counts]")) count.textContent = countsOf(this)[count.dataset.counts];
    const head = this.place.querySelector(".where"), saying = this.said();
    if (head) head.textContent = this.placeAndTime(this.where);
    if (said && said.textContent !== saying.textContent) said.replaceWith(saying);
    // Only what is new is drawn anew: a button that is taken away between touch and lift is not pressed.
    const below = this.foot();
    if (foot && foot.textContent !== below.textContent && !foot.contains(document.activeElement)) foot.replaceWith(below);
    this.keepStill(this.still);
  }

  /** Where the screen is, and how long there is; the screen of a launch says it in its own words. @param {string} where */
  placeAndTime(where) {
    this.where = where;
    const left = this.left();
    if (left === null || (!this.asked && this.day.state === "ready")) return where;
    return `${where} · ${left > 0 ? `${duration(left * 60)} left` : "the window is over"}`;
  }

  /** @param {string} where */
  head(where) {
    const { planned } = this.day, elsewhere = [...this.day.marks.values()].filter((mark) => mark === "elsewhere").length;
    const behind = this.day.made + elsewhere, how = elsewhere ? "made, left out or recorded elsewhere" : "made or left out";
    return element("header", {},
      element("div", { class: "line" },
        element("span", { class: "where" }, this.placeAndTime(where)),
        button(this.saved(), () => this.ask(this.asked === "away" ? null : "away"), "saved", { "aria-label": `${this.saved()}: show where the records are` })),
      element("progress", { value: behind, max: planned || 1, "aria-label": `${behind} of ${counted(planned, "launch", "launches")} ${how}` }),
      this.said());
  }

  /** What is wrong, what is odd, and what has waited long enough. */
  said() {
    const unreadable = this.unreadable && "The records cannot be read just now. Nothing is lost; try to load the page again.";
    const waited = this.timers.over().filter((name) => !this.day.preparations.has(name.replace("waiting ", "")))
      .map((name) => nameOf(this.plan, name.replace("waiting ", "")));
    return element("div", { class: "said" },
      [this.trouble, unreadable, this.unpaired && UNPAIRED, this.unkept].map((words) => words && element("p", { class: "trouble", role: "alert" }, words)),
      [this.odd, waited.length > 0 && `${listed(waited)}: the waiting is over.`, this.skew]
        .map((words) => words && element("p", { class: "odd", role: "status" }, words)));
  }

  foot() {
    const last = this.drafts[this.drafts.length - 1];
    return element("footer", {},
      element("span", { class: "soft" }, last ? this.lastTold(last) : "nothing recorded yet"),
      last && button("wrong?", () => this.ask(this.asked === "wrong" ? null : "wrong"), "quiet"));
  }

  /** The last entry in words; of a correction, what it corrects. @param {any} last */
  lastTold({ id, body }) {
    const corrected = body.kind === "corrected" && this.day.facts.find((fact) => fact.latest === id && fact.draft.id !== id);
    if (!corrected) return told(body, this.plan);
    return `${corrected.withdrawn ? "taken back" : "corrected"}: ${told(corrected.body, this.plan)}`;
  }

  /** Minutes that the window of the outing leaves, or null. */
  left() {
    const outing = this.day.next && this.plan.outings[this.day.next.outing - 1];
    if (!outing || !outing.to) return null;
    const now = new Date(), today = new Date(now.getTime() - now.getTimezoneOffset() * 60_000).toISOString().slice(0, 10);
    if (outing.day !== today) return null;
    const [hours, minutes] = outing.to.split(":").map(Number);
    return hours * 60 + minutes - now.getHours() * 60 - now.getMinutes();
  }

  /** What is still to be launched where the rig stands. */
  leftHere() {
    const next = this.day.next;
    return next ? this.plan.launches.filter((one) => one.set_up === next.set_up && this.day.marks.get(one.number) === "unmade") : [];
  }

  /** @param {string} name */
  surface(name) {
    return this.plan.surfaces.find((one) => one.name === name);
  }

  /** Rounds in the order of the plan. */
  rounds() {
    return [...new Set(this.plan.launches.map((one) => one.block))];
  }
}

async function begin() {
  const place = document.getElementById("page"), inside = document.getElementById("plan");
  if (!place) return;
  try {
    const { plan, token } = inside?.textContent ? { plan: JSON.parse(inside.textContent), token: "" } : await planAndToken();
    const app = new App(plan, place);
    app.token = token;
    Object.assign(window, { evenglide: app });
    await app.start();
  } catch (error) {
    place.replaceChildren(element("main", { id: "screen", "data-screen": "no plan" },
      element("h1", {}, "No plan here yet"),
      element("p", {}, error instanceof Error ? error.message : String(error))));
  }
}

begin();
