// Sending records to a laptop that answers: in batches, again and again until it says that it has them.

const BATCH = 50, PATIENCE_MS = 8000, SOONEST_MS = 500, LATEST_MS = 4000, SKEW_S = 120, LONGEST_SIDE = 2560;

/**
 * The plan and the token, where a laptop hands them out: the token comes with the address, after its #, which no
 * browser sends along; both are kept, so that the page opens without the laptop.
 * @returns {Promise<{plan: any, token: string}>}
 */
export async function planAndToken() {
  const given = new URLSearchParams(location.hash.slice(1)).get("t");
  if (given) {
    localStorage.setItem("evenglide token", given);
    history.replaceState(null, "", location.pathname);
  }
  const token = localStorage.getItem("evenglide token") ?? "";
  if ("serviceWorker" in navigator) {
    navigator.serviceWorker.register("worker.js").catch(() => {});
    navigator.serviceWorker.ready.then(() => { shell.kept = true; });
  }
  try {
    const answer = await fetch("plan", { headers: { Authorization: `Bearer ${token}` }, signal: AbortSignal.timeout(PATIENCE_MS) });
    if (answer.status === 401) throw new Refused("This phone is not paired, or no longer. Scan the code on the laptop again; what was recorded stays here.");
    if (!answer.ok) throw new Error(`the laptop said ${answer.status}`);
    const plan = { ...(await answer.json()), address: "." };
    localStorage.setItem("evenglide plan", JSON.stringify(plan));
    return { plan, token };
  } catch (error) {
    const kept = localStorage.getItem("evenglide plan");
    if (kept) return { plan: JSON.parse(kept), token };
    throw error instanceof Refused ? error : new Error("The laptop does not answer, and this phone has no plan yet.");
  }
}

class Refused extends Error {}

/** Whether the browser keeps the page itself: it does not over plain http, nor past a warning of the certificate. */
export const shell = { kept: false };

/**
 * Hand a photo to the laptop, made smaller first; what it is called there. It is not kept on the phone.
 * @param {any} app @param {Blob} file @returns {Promise<string>}
 */
export async function sendPhoto(app, file) {
  const answer = await fetch(`${app.plan.address}/photos`, {
    method: "POST",
    headers: { "Content-Type": "image/jpeg", Authorization: `Bearer ${app.token ?? ""}` },
    body: await smaller(file),
    signal: AbortSignal.timeout(4 * PATIENCE_MS),
  });
  if (!answer.ok) throw new Error(`the laptop said ${answer.status}`);
  return (await answer.json()).photo;
}

/** A photo at most so many pixels long, upright; the file itself where the browser cannot. @param {Blob} file */
async function smaller(file) {
  try {
    const picture = await createImageBitmap(file, { imageOrientation: "from-image" });
    const scale = Math.min(1, LONGEST_SIDE / Math.max(picture.width, picture.height));
    const canvas = document.createElement("canvas");
    [canvas.width, canvas.height] = [picture.width, picture.height].map((side) => Math.max(1, Math.round(side * scale)));
    canvas.getContext("2d")?.drawImage(picture, 0, 0, canvas.width, canvas.height);
    return await new Promise((resolve) => canvas.toBlob((made) => resolve(made ?? file), "image/jpeg", 0.85));
  } catch {
    return file;
  }
}

/** @param {any} app */
export function startSending(app) {
  const { address } = app.plan;
  if (!address) return;
  let pause = SOONEST_MS, waiting = 0;
  const again = (/** @type {number} */ after) => {
    clearTimeout(waiting);
    waiting = setTimeout(turn, after);
  };
  const turn = async () => {
    try {
      const left = await alone(app, () => sendOnce(app));
      pause = SOONEST_MS;
      if (left === null) again(SOONEST_MS);
      else again(left ? 0 : LATEST_MS);
    } catch {
      pause = Math.min(LATEST_MS, pause * 2);
      again(pause * (0.75 + Math.random() / 2));
    }
  };
  addEventListener("online", () => again(0));
  document.addEventListener("visibilitychange", () => { if (!document.hidden) again(0); });
  app.records.channel?.addEventListener("message", (/** @type {MessageEvent} */ event) => { if (event.data === "saved") again(0); });
  app.sendSoon = () => again(0);
  turn();
}

/** One sender for all tabs, where the browser can; two senders do no harm. Null: another tab is sending. */
async function alone(app, work) {
  if (!navigator.locks) return work();
  return navigator.locks.request(`evenglide ${app.plan.study}`, { ifAvailable: true }, (lock) => lock ? work() : null);
}

const REASONS = {
  "disk-full": "has no room left on its disk",
  "disk-trouble": "has trouble with its disk",
  "log-in-use": "has another program writing into the log",
  "log-not-writable": "may not write into the study's folder",
};

/** Why the laptop cannot store what was sent, in words. @param {Response} answer */
async function whyNot(answer) {
  const told = await answer.json().catch(() => null);
  const problem = Array.isArray(told?.problems) ? told.problems[0] : null;
  const why = Object.hasOwn(REASONS, problem?.code) ? REASONS[problem.code]
    : problem?.found ? `cannot store them (${problem.found})` : "cannot store them";
  return `The laptop ${why}. What was recorded stays here and is sent again and again.`;
}

/** @returns {Promise<boolean>} Whether more waits to be sent. */
async function sendOnce(app) {
  const waiting = (await app.records.all()).filter((one) => one.sent === false);
  if (!waiting.length) return false;
  const batch = waiting.slice(0, BATCH);
  const answer = await fetch(`${app.plan.address}/records`, {
    method: "POST",
    headers: { "Content-Type": "application/json", Authorization: `Bearer ${app.token ?? ""}` },
    body: JSON.stringify({
      study: app.plan.study,
      records: batch.map(({ id, device, sequence, device_time, body }) => ({ id, device, sequence, device_time, body })),
    }),
    signal: AbortSignal.timeout(PATIENCE_MS),
  });
  app.unpaired = answer.status === 401;
  app.unkept = answer.status === 409 ? await whyNot(answer) : "";
  app.showSaved();
  if (!answer.ok) throw new Error(`the laptop said ${answer.status}`);
  const { kept, refused, now } = await answer.json();
  await app.records.mark(kept, true);
  for (const { id, why } of refused) await app.records.mark([id], why);
  const skew = Math.abs(Date.parse(now) - Date.now()) / 1000;
  app.skew = skew > SKEW_S ? `The clock of this phone and the laptop's are ${Math.round(skew / 60)} min apart. The order of launches does not rest on clocks.` : "";
  await app.refresh();
  return waiting.length > BATCH;
}
