// Words for records, numbers and times.

const SPACE = "\u00a0";

/** A number with its unit, never parted. @param {string|number} value @param {string|null} [unit] */
export function withUnit(value, unit) {
  return unit ? `${value}${SPACE}${unit}` : String(value);
}

/** @param {number} seconds */
export function duration(seconds) {
  const minutes = Math.round(seconds / 60);
  if (minutes < 1) return withUnit(Math.max(0, Math.round(seconds)), "s");
  if (minutes < 60) return withUnit(minutes, "min");
  const hours = Math.floor(minutes / 60), rest = minutes % 60;
  return rest ? `${withUnit(hours, "h")} ${withUnit(rest, "min")}` : withUnit(hours, "h");
}

/** @param {number} count @param {string} one @param {string} [many] */
export function counted(count, one, many = `${one}s`) {
  return withUnit(count, count === 1 ? one : many);
}

/** @param {string[]} words */
export function listed(words) {
  if (words.length < 2) return words.join("");
  return `${words.slice(0, -1).join(", ")} and ${words[words.length - 1]}`;
}

/** What one record says, short enough for the last line. @param {any} body @param {any} plan */
export function told(body, plan) {
  const launch = plan.launches.find((one) => one.number === body.launch);
  const gear = launch ? ` · ${launch.item}` : "";
  switch (body.kind) {
    case "session": return `outing ${body.outing ?? ""} began`;
    case "prepared": return `${nameOf(plan, body.preparation)} ready`;
    case "set_up": return `rig set-up ${body.set_up} stands`;
    case "launched": return `${body.launch}${gear} · launched`;
    case "landed": return `${body.launch}${gear} · ${body.peg ? `peg ${body.peg}` : "at its mark"}`;
    case "read": return `${body.launch}${gear} · ${withUnit(body.text, body.unit)}`;
    case "set_aside": return `${body.launch}${gear} · set aside: ${body.cause}`;
    case "at_least": return `${body.launch}${gear} · at least ${withUnit(body.value ?? "the end of the lane", body.value ? body.unit : null)}`;
    case "stopped": return `${body.launch}${gear} · stopped before the beep`;
    case "peg_lost": return `${body.launch}${gear} · peg lost`;
    case "skipped": return `${counted(body.launches.length, "launch", "launches")} left out`;
    case "elsewhere": return `${launchesIn(body.launches)} recorded elsewhere`;
    case "round_ended": return `round ${body.block} ended`;
    case "guess": return `${body.who || "a guess"}: ${nameOf(plan, body.preparation)} is ${body.treatment}`;
    case "condition": return `${body.name}: ${body.words || withUnit(body.value, body.unit)}`;
    case "incident": return `stop: ${body.words}`;
    case "coat_damaged": return `coat damaged: ${nameOf(plan, body.preparation)}`;
    case "noted": return body.words;
    case "corrected": return body.withdrawn ? "taken back" : `corrected: ${withUnit(body.text ?? body.value ?? "", body.unit)}`;
    default: return body.kind;
  }
}

/** Launches by their numbers: as a range where none is missing between them. @param {number[]} numbers */
export function launchesIn(numbers) {
  const first = numbers[0], last = numbers[numbers.length - 1];
  if (numbers.length === 1) return withUnit("launch", String(first));
  const whole = numbers.every((number, at) => number === first + at);
  return whole && numbers.length ? ["launches", first, "to", last].join(SPACE) : counted(numbers.length, "launch", "launches");
}

/** What stands on a piece of gear, or what it is called. @param {any} plan @param {string} preparation */
export function nameOf(plan, preparation) {
  const launch = plan.launches.find((one) => one.preparation === preparation);
  return launch ? launch.item + (launch.tag ? ` (${launch.tag})` : "") : preparation;
}
