// Timers that run on whichever screen is shown, over a reload and in every tab, with an alarm where a time was planned.

import { alarm } from "./beep.js";

const PREFIX = "timer ";

/** @typedef {{began: number, total: number, planned: number}} Timer Milliseconds since 1970; seconds; seconds. */

export class Timers {
  /** @param {any} app */
  constructor(app) {
    this.app = app;
    /** @type {Map<string, Timer>} */
    this.all = new Map();
    /** Whose alarm was heard here. @type {Set<string>} */
    this.heard = new Set();
    /** Draws the timers of the screen that is shown. */
    this.draw = () => {};
  }

  start() {
    setInterval(() => this.turn(), 1000);
  }

  /** @param {Map<string, any>} asides Everything that is kept beside the records. */
  take(asides) {
    for (const [name, value] of asides) {
      if (name.startsWith(PREFIX) && value) this.all.set(name.slice(PREFIX.length), value);
    }
    this.draw();
  }

  /** @param {string} name */
  seconds(name) {
    const { began, total } = this.all.get(name) ?? { began: 0, total: 0 };
    return Math.max(0, Math.round(total + (began ? (Date.now() - began) / 1000 : 0)));
  }

  /** @param {string} name */
  runs(name) {
    return (this.all.get(name)?.began ?? 0) > 0;
  }

  /** @param {string} name @param {number} planned */
  press(name, planned) {
    const total = this.seconds(name);
    this.set(name, { began: this.runs(name) ? 0 : Date.now(), total, planned });
  }

  /** @param {string} name */
  stop(name) {
    if (this.runs(name)) this.set(name, { began: 0, total: this.seconds(name), planned: this.all.get(name)?.planned ?? 0 });
  }

  /** @param {string} name @param {Timer} timer */
  set(name, timer) {
    this.all.set(name, timer);
    if (!timer.began) this.heard.delete(name);
    this.app.records.setAside(PREFIX + name, timer).catch(() => {});
    this.turn();
  }

  /** Names of timers that run past what was planned. */
  over() {
    return [...this.all].filter(([name, one]) => one.began && one.planned && this.seconds(name) >= one.planned).map(([name]) => name);
  }

  turn() {
    this.draw();
    this.app.showSaved();
    // Before the page was touched, a browser plays nothing: then the alarm comes with the first touch.
    if (navigator.userActivation?.hasBeenActive === false) return;
    const unheard = this.over().filter((name) => !this.heard.has(name));
    for (const name of unheard) this.heard.add(name);
    if (unheard.length) alarm();
  }
}
