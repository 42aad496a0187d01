// Sending records to a laptop that answers: in batches, again and again until it says that it has them.

const BATCH = 50, PATIENCE_MS = 8000, SOONEST_MS = 500, LATEST_MS = 4000;

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
      if (left) again(0);
      else again(LATEST_MS);
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

/** One sender for all tabs, where the browser can; two senders do no harm. */
async function alone(app, work) {
  if (!navigator.locks) return work();
  return navigator.locks.request(`evenglide ${app.plan.study}`, { ifAvailable: true }, (lock) => lock ? work() : false);
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
  if (!answer.ok) throw new Error(`the laptop said ${answer.status}`);
  const { kept, refused } = await answer.json();
  await app.records.mark(kept, true);
  for (const { id, why } of refused) await app.records.mark([id], why);
  await app.refresh();
  return waiting.length > BATCH;
}
