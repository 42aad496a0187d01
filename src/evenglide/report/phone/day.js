// A day outside: what comes next, and how each launch stands, from the plan and the records so far.
// The laptop reckons the same in its own language; shared vectors hold both to the same answers.

/**
 * @typedef {{id: string, device: string, sequence: number, device_time: string, body: Record<string, any>}} Draft
 * @typedef {"unmade"|"made"|"landed"|"read"|"at least"|"stopped"|"set aside"|"lost"|"skipped"|"elsewhere"} Mark
 * @typedef {{
 *   launched: boolean, landed: boolean, peg: string, clip: string, text: string|null, value: number|null,
 *   unit: string|null, atLeast: boolean, bound: number|null, stopped: boolean, lost: boolean,
 *   setAside: string|null, corrections: number
 * }} LaunchState
 * @typedef {{
 *   state: string, next: Record<string, any>|null, waitingFor: string[], marks: Map<number, Mark>,
 *   unread: number[], onTheTape: number[], made: number, planned: number, launches: Map<number, LaunchState>,
 *   facts: Fact[], preparations: Map<string, any>, coats: Set<string>, there: any[], setUps: Map<number, any>, sessions: any[]
 * }} Day
 * @typedef {{draft: Draft, body: Record<string, any>, withdrawn: boolean, latest: string, corrections: number}} Fact
 */

/** Pegs that are read in one walk along the tape at most. */
export const MOST_UNREAD = 6;
const BARE = "return to bare";
/** Of these launches nothing is recorded here; the second kind are not asked for. */
const OPEN = ["unmade", "elsewhere"];

const LARGEST = 2 ** 53;
const isText = (/** @type {any} */ value) => typeof value === "string";
const isNumber = (/** @type {any} */ value) => typeof value === "number" && Number.isFinite(value);
const isWhole = (/** @type {any} */ value) => Number.isInteger(value) && Math.abs(value) < LARGEST;
const isLaunch = (/** @type {any} */ value) => isWhole(value) && value >= 1;
const isFlag = (/** @type {any} */ value) => typeof value === "boolean";
const isMapping = (/** @type {any} */ value) => value !== null && typeof value === "object" && !Array.isArray(value);
const listOf = (/** @type {(value: any) => boolean} */ test) => (/** @type {any} */ value) =>
  Array.isArray(value) && value.every(test);
const orNull = (/** @type {(value: any) => boolean} */ test) => (/** @type {any} */ value) => value === null || test(value);

/** What each kind of body must hold ("!" in front) and may hold. A body that does not fit is kept, and not applied. */
const KINDS = {
  prepared: { "!preparation": isText, item: orNull(isText), treatment: orNull(isText), block: orNull(isText),
    grams: orNull(isNumber), batch: isText, who: isText, cure_s: orNull(isNumber), hands_on_s: orNull(isNumber),
    strips: orNull(isWhole), ticks: listOf(isText) },
  set_up: { "!set_up": isWhole, surface: orNull(isText), direction: orNull(isText), level: isText,
    zero_point_m: orNull(isNumber), photo: isText },
  session: { outing: orNull(isWhole), place: isText, weather: isText, people: listOf(isText) },
  round_ended: { "!block": isText, ticks: listOf(isText) },
  skipped: { "!launches": listOf(isLaunch), why: isText },
  elsewhere: { "!launches": listOf(isLaunch), how: isText },
  launched: { "!launch": isLaunch, order: orNull(isNumber), preparation: orNull(isText), set_up: orNull(isWhole),
    peg: isText, beep_error_s: orNull(isNumber) },
  landed: { "!launch": isLaunch, peg: isText, clip: isText },
  read: { "!launch": isLaunch, "!text": isText, value: orNull(isNumber), unit: orNull(isText), reader: isText,
    method: isText, uncertainty: orNull(isNumber), unread: isFlag },
  at_least: { "!launch": isLaunch, value: orNull(isNumber), unit: orNull(isText) },
  stopped: { "!launch": isLaunch },
  set_aside: { "!launch": isLaunch, "!cause": isText, value_seen: orNull(isFlag) },
  peg_lost: { "!launch": isLaunch },
  wear_check: { "!preparation": isText, launch: orNull(isLaunch) },
  return_to_bare: { "!preparation": isText, launch: orNull(isLaunch) },
  noted: { "!words": isText, launch: orNull(isLaunch) },
  incident: { "!words": isText },
  corrected: { "!target": isText, launch: orNull(isLaunch), text: orNull(isText), value: orNull(isNumber),
    unit: orNull(isText), unread: isFlag, withdrawn: isFlag, changes: isMapping, why: isText },
};

/** What a table holds under a name; nothing where it is no text, or a name that every object has. */
function ownOf(table, name) {
  return isText(name) && Object.hasOwn(table, name) ? table[name] : undefined;
}

/** Whether a body is one of a kind that is applied here. @param {Record<string, any>} body */
export function fits(body) {
  const fields = /** @type {Record<string, (value: any) => boolean>|undefined} */ (ownOf(KINDS, body.kind));
  if (!fields || ("version" in body && body.version !== 1)) return false;
  return Object.entries(fields).every(([name, test]) => {
    const bare = name.replace("!", "");
    return Object.hasOwn(body, bare) ? test(body[bare]) : bare === name;
  });
}

/** Number of the launch that a body speaks of, or null. @param {Record<string, any>} body */
export function launchOf(body) {
  return isLaunch(body.launch) ? body.launch : null;
}

/** Records in the order of replay: by device and sequence, devices merged by launch numbers. @param {Draft[]} drafts */
export function replayOrder(drafts) {
  const streams = new Map();
  for (const draft of drafts) {
    if (!streams.has(draft.device)) streams.set(draft.device, []);
    streams.get(draft.device).push(draft);
  }
  const keyed = [];
  for (const [device, stream] of streams) {
    stream.sort((a, b) => a.sequence - b.sequence || compare(a.id, b.id));
    let furthest = 0;
    stream.forEach((draft, place) => {
      furthest = Math.max(furthest, launchOf(draft.body) ?? 0);
      keyed.push({ furthest, device, place, draft });
    });
  }
  keyed.sort((a, b) => a.furthest - b.furthest || compare(a.device, b.device) || a.place - b.place);
  return keyed.map((one) => one.draft);
}

/** By code points, as the laptop does; not by anybody's alphabet. @param {string} a @param {string} b */
function compare(a, b) {
  const left = Array.from(a), right = Array.from(b);
  for (let at = 0; at < Math.min(left.length, right.length); at += 1) {
    const gap = /** @type {number} */ (left[at].codePointAt(0)) - /** @type {number} */ (right[at].codePointAt(0));
    if (gap) return gap;
  }
  return left.length - right.length;
}

/** Every record with its corrections applied. @param {Draft[]} history In the order of replay. @returns {Fact[]} */
export function factsOf(history) {
  const corrections = new Map();
  for (const draft of history) {
    if (draft.body.kind !== "corrected" || !fits(draft.body)) continue;
    if (!corrections.has(draft.body.target)) corrections.set(draft.body.target, []);
    corrections.get(draft.body.target).push(draft);
  }
  return history.map((draft) => {
    if (draft.body.kind === "corrected" && fits(draft.body)) {
      return { draft, body: draft.body, withdrawn: false, latest: draft.id, corrections: 0 };
    }
    let body = draft.body, withdrawn = false, latest = draft.id, count = 0;
    for (const correction of corrections.get(draft.id) ?? []) {
      const chain = replacements(correction, corrections);
      const last = chain[chain.length - 1];
      count += chain.length;
      latest = last.id;
      const amended = amend(body, last.body);
      if (amended) {
        body = amended;
        withdrawn = last.body.withdrawn === true;
      }
    }
    return { draft, body, withdrawn, latest, corrections: count };
  });
}

/** A correction and what replaced it, and so on; a circle is followed once. */
function replacements(correction, corrections) {
  const met = new Set(), chain = [];
  let current = correction;
  while (current && !met.has(current.id)) {
    met.add(current.id);
    chain.push(current);
    const following = corrections.get(current.id);
    current = following ? following[following.length - 1] : undefined;
  }
  return chain;
}

/** Apply one correction; null if the result would be no body of this kind, or of another launch. */
function amend(body, correction) {
  const changes = { ...changesOfFields(body, correction), ...(correction.changes ?? {}) };
  if (Object.keys(changes).length === 0) return body;
  const amended = { ...body, ...changes };
  if ((!fits(amended) && fits(body)) || amended.kind !== body.kind || launchOf(amended) !== launchOf(body)) return null;
  return amended;
}

/** What `text`, `value` and `unit` of a correction mean for a body of this kind. */
function changesOfFields(body, correction) {
  const text = correction.text ?? null, value = correction.value ?? null, unit = correction.unit ?? null;
  const withUnit = unit === null ? {} : { unit };
  if (!fits(body)) return {};
  if (body.kind === "read") {
    if (text === null && value === null) return {};
    return { value, unread: correction.unread === true, ...(text === null ? {} : { text }), ...withUnit };
  }
  if (body.kind === "at_least" && value !== null) return { value, ...withUnit };
  if (text !== null && body.kind === "set_aside") return { cause: text };
  if (text !== null && (body.kind === "noted" || body.kind === "incident")) return { words: text };
  return {};
}

/** @returns {LaunchState} */
function untouched() {
  return { launched: false, landed: false, peg: "", clip: "", text: null, value: null, unit: null, atLeast: false,
    bound: null, stopped: false, lost: false, setAside: null, corrections: 0 };
}

const SAYS = {
  launched: (launch, body) => {
    if (!launch.launched) Object.assign(launch, { launched: true, peg: body.peg || launch.peg });
  },
  landed: (launch, body) => Object.assign(launch, {
    landed: true, peg: body.peg || launch.peg, clip: body.clip || launch.clip,
  }),
  read: (launch, body, corrections) => {
    const value = body.unread === true ? null : body.value ?? null;
    if (launch.text !== null && !(launch.value === null && value !== null)) return;
    Object.assign(launch, { text: body.text, value, unit: body.unit ?? null, corrections });
  },
  at_least: (launch, body) => Object.assign(launch, { atLeast: true, bound: body.value ?? launch.bound }),
  stopped: (launch) => { launch.stopped = true; },
  set_aside: (launch, body) => { launch.setAside ??= body.cause; },
  peg_lost: (launch) => { launch.lost = true; },
};

/** What was said of each launch. @param {Fact[]} facts @returns {Map<number, LaunchState>} */
function launchesOf(facts) {
  const launches = new Map();
  for (const fact of facts) {
    const says = ownOf(SAYS, fact.body.kind), number = launchOf(fact.body);
    if (!says || number === null || !fits(fact.body)) continue;
    if (!launches.has(number)) launches.set(number, untouched());
    if (!fact.withdrawn) says(launches.get(number), fact.body, fact.corrections);
  }
  return launches;
}

/** @param {LaunchState} launch */
function wasMade(launch) {
  return launch.launched || launch.landed || launch.text !== null || launch.atLeast || launch.stopped
    || launch.lost || launch.setAside !== null;
}

/** How one launch stands; what was recorded outweighs that it was to be skipped, or is elsewhere. @returns {Mark} */
function markOf(launch, skipped, elsewhere) {
  if (!launch || !wasMade(launch)) return skipped ? "skipped" : elsewhere ? "elsewhere" : "unmade";
  if (launch.setAside !== null) return "set aside";
  if (launch.stopped) return "stopped";
  if (launch.atLeast) return "at least";
  if (launch.value !== null) return "read";
  if (launch.lost) return "lost";
  return launch.landed || launch.text !== null ? "landed" : "made";
}

/** Whether a launch came to its mark and nobody has said yet where that is. */
function isToRead(launch, mark) {
  return ["landed", "stopped", "at least"].includes(mark) && !launch.lost && launch.bound === null && launch.value === null;
}

/** Where a day stands. @param {Record<string, any>} plan @param {Draft[]} drafts In any order. @returns {Day} */
export function dayOf(plan, drafts) {
  const facts = factsOf(replayOrder(drafts));
  const said = (kind) => facts.filter((fact) => fact.body.kind === kind && !fact.withdrawn && fits(fact.body))
    .map((fact) => fact.body);
  // What was said first stands, and what was named first comes first.
  const first = (bodies, name) => new Map([...bodies, ...[...bodies].reverse()].map((body) => [body[name], body]));
  const launches = launchesOf(facts);
  const skipped = new Set(said("skipped").flatMap((body) => body.launches));
  const elsewhere = new Set(said("elsewhere").flatMap((body) => body.launches));
  /** @type {Map<number, Mark>} */
  const marks = new Map(plan.launches.map(({ number }) =>
    [number, markOf(launches.get(number), skipped.has(number), elsewhere.has(number))]));
  const left = plan.launches.filter((one) => marks.get(one.number) === "unmade");
  const unread = plan.launches.filter((one) =>
    one.kind !== "practice" && isToRead(launches.get(one.number), marks.get(one.number)));
  // What belongs to launches that are recorded elsewhere is recorded there too: the morning, the coats of their
  // set-ups, that the rig stood, the end of their round.
  const there = plan.launches.filter((one) => elsewhere.has(one.number)), stood = new Set(there.map((one) => one.set_up));
  const preparations = first(said("prepared"), "preparation");
  const known = {
    facts, launches, marks, there, stood, preparations,
    coats: new Set([...preparations.keys(), ...plan.launches.filter((one) => stood.has(one.set_up)).map((one) => one.preparation)]),
    setUps: first(said("set_up"), "set_up"),
    sessions: said("session"),
    ended: new Set(said("round_ended").map((body) => body.block)),
    landing: plan.launches.filter((one) => marks.get(one.number) === "made"),
    next: left[0] ?? null,
    // What only a clip shows is read from the clip, some other time.
    waiting: unread.filter((one) => launches.get(one.number)?.peg || !launches.get(one.number)?.clip),
  };
  const [state, waitingFor] = stateOf(plan, known);
  return {
    ...known, state, waitingFor,
    unread: unread.map((one) => one.number),
    onTheTape: known.waiting.map((one) => one.number),
    made: [...marks.values()].filter((mark) => !OPEN.includes(mark)).length,
    planned: plan.launches.length,
  };
}

/** What is to be done now: the first thing that is missing. @returns {[string, string[]]} */
function stateOf(plan, { landing, next, waiting, ended, setUps, sessions, there, stood, coats }) {
  if (landing.length) return ["landed", []];
  const moves = next === null || waiting.some((one) => one.set_up !== next.set_up);
  if (waiting.length && (moves || waiting.length >= MOST_UNREAD)) return ["read", []];
  // A round before the last one that was begun is over, whether somebody said so or not; what shows that the
  // coats are off is launched after they were taken off.
  const last = plan.launches.filter((one) => coats.has(one.preparation)).pop();
  if (last && !ended.has(last.block) && !there.includes(last)
    && (next === null || next.block !== last.block || next.kind === BARE)) return ["end of coat", []];
  if (next === null) return ["done", []];
  if (!there.some((one) => one.outing === next.outing)
    && !sessions.some((one) => (one.outing ?? null) === null || one.outing === next.outing)) return ["morning", []];
  const here = new Set(plan.launches.filter((one) => one.set_up === next.set_up).map((one) => one.preparation));
  const waitingFor = [...here].filter((one) => !coats.has(one));
  if (waitingFor.length) return ["prepare", waitingFor];
  return setUps.has(next.set_up) || stood.has(next.set_up) ? ["ready", []] : ["set up", []];
}

/** A day as the vectors hold it. @param {Day} day */
export function plainDay(day) {
  const marks = [...day.marks].filter(([, mark]) => mark !== "unmade");
  return {
    state: day.state,
    next: day.next === null ? null : day.next.number,
    waiting_for: day.waitingFor,
    marks: Object.fromEntries(marks.map(([number, mark]) => [String(number), mark])),
    unread: day.unread,
    made: day.made,
    planned: day.planned,
  };
}
