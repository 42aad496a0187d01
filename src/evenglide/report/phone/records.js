// What was recorded, kept by this browser: one transaction for one record, flushed before it counts as saved.
// The origin may be shared with other studies, so everything is kept under the fingerprint of its study.

/** @typedef {import("./day.js").Draft} Draft */

const NAME = "evenglide", VERSION = 1;

/** A new id that sorts by the time it was made (RFC 9562, UUID version 7). @returns {string} */
export function newId(now = Date.now()) {
  const bytes = crypto.getRandomValues(new Uint8Array(16));
  for (let at = 5, rest = now; at >= 0; at -= 1, rest = Math.floor(rest / 256)) bytes[at] = rest % 256;
  bytes[6] = 0x70 | (bytes[6] & 0x0f);
  bytes[8] = 0x80 | (bytes[8] & 0x3f);
  const digits = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
  return [digits.slice(0, 8), digits.slice(8, 12), digits.slice(12, 16), digits.slice(16, 20), digits.slice(20)].join("-");
}

/** The clock of this device with its offset from UTC (RFC 3339). */
export function deviceTime(moment = new Date()) {
  const offset = -moment.getTimezoneOffset();
  const local = new Date(moment.getTime() + offset * 60_000).toISOString().slice(0, -1);
  const part = (/** @type {number} */ value) => String(value).padStart(2, "0");
  return `${local}${offset < 0 ? "-" : "+"}${part(Math.floor(Math.abs(offset) / 60))}:${part(Math.abs(offset) % 60)}`;
}

/** @param {IDBRequest} request @returns {Promise<any>} */
function answered(request) {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** @param {IDBTransaction} transaction @returns {Promise<void>} */
function done(transaction) {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error("the browser gave a record up"));
    transaction.onerror = () => reject(transaction.error);
  });
}

/** @returns {Promise<IDBDatabase>} */
function opened() {
  const request = indexedDB.open(NAME, VERSION);
  request.onupgradeneeded = () => {
    const records = request.result.createObjectStore("records", { keyPath: ["study", "id"] });
    records.createIndex("by study", ["study", "sequence"]);
    request.result.createObjectStore("devices", { keyPath: "study" });
    request.result.createObjectStore("aside", { keyPath: ["study", "name"] });
  };
  return answered(request);
}

/** The records of one study in this browser. */
export class Records {
  /** @param {string} study */
  constructor(study) {
    this.study = study;
    /** @type {IDBDatabase|null} */
    this.database = null;
    this.channel = "BroadcastChannel" in window ? new BroadcastChannel(`evenglide ${study}`) : null;
  }

  /** The database, opened again if the browser has closed it (storage cleared, another version). */
  async open() {
    if (this.database) return this.database;
    const database = await opened();
    database.onclose = () => { this.database = null; };
    database.onversionchange = () => { database.close(); this.database = null; };
    this.database = database;
    return database;
  }

  /** Run in one transaction; once more on a fresh connection if the old one was dead. */
  async within(stores, mode, work, durability = "strict") {
    for (let attempt = 0; ; attempt += 1) {
      const database = await this.open();
      try {
        const transaction = database.transaction(stores, mode, { durability });
        const finished = done(transaction);
        const result = await work(transaction);
        await finished;
        return result;
      } catch (error) {
        const dead = error instanceof DOMException && (error.name === "InvalidStateError" || error.name === "UnknownError");
        if (!dead || attempt > 0) throw error;
        this.database = null;
      }
    }
  }

  /**
   * Keep one record. The same record under the same id adds nothing, so pressing twice is harmless; another
   * one under that id gets an id of its own.
   * @param {Record<string, any>} body @param {string} [id] Made when the form opened.
   */
  async save(body, id = newId()) {
    const kept = await this.within(["records", "devices"], "readwrite", async (transaction) => {
      const records = transaction.objectStore("records"), devices = transaction.objectStore("devices");
      const said = { version: 1, ...body };
      const there = await answered(records.get([this.study, id]));
      if (there && JSON.stringify(there.body) === JSON.stringify(said)) return there;
      const own = (await answered(devices.get(this.study)))
        ?? { study: this.study, device: `phone-${newId().slice(-12)}`, sequence: 0 };
      own.sequence += 1;
      const record = {
        study: this.study, id: there ? newId() : id, device: own.device, sequence: own.sequence,
        device_time: deviceTime(), body: said, sent: false, monotonic: performance.now(),
      };
      devices.put(own);
      records.add(record);
      return record;
    });
    this.channel?.postMessage("saved");
    return kept;
  }

  /** All records of the study, each device's in its own order. @returns {Promise<any[]>} */
  async all() {
    return this.within(["records"], "readonly", (transaction) =>
      answered(transaction.objectStore("records").index("by study").getAll(
        IDBKeyRange.bound([this.study, 0], [this.study, Infinity]))));
  }

  /** Mark records as being at the laptop, or as refused there. @param {string[]} ids @param {boolean|string} sent */
  async mark(ids, sent = true) {
    await this.within(["records"], "readwrite", async (transaction) => {
      const records = transaction.objectStore("records");
      for (const id of ids) {
        const record = await answered(records.get([this.study, id]));
        if (record) records.put({ ...record, sent });
      }
    });
    this.channel?.postMessage("sent");
  }

  /** Something that is no record: a timer, what is being typed, a choice of light. */
  async aside(name) {
    const found = await this.within(["aside"], "readonly", (transaction) =>
      answered(transaction.objectStore("aside").get([this.study, name])));
    return found ? found.value : null;
  }

  async setAside(name, value) {
    await this.within(["aside"], "readwrite", (transaction) =>
      answered(transaction.objectStore("aside").put({ study: this.study, name, value })), "relaxed");
  }

  /** All that is no record. @returns {Promise<Map<string, any>>} */
  async asides() {
    const found = await this.within(["aside"], "readonly", (transaction) =>
      answered(transaction.objectStore("aside").getAll(IDBKeyRange.bound([this.study], [this.study, []]))));
    return new Map(found.map((one) => [one.name, one.value]));
  }

  /** Write something, read it from a fresh connection, take it away: what this browser can promise. */
  async test() {
    const proof = newId();
    await this.setAside("self-test", proof);
    this.database?.close();
    this.database = null;
    const found = await this.aside("self-test");
    if (found !== proof) throw new Error("what was written could not be read back");
    const manager = navigator.storage;
    const kept = manager?.persist ? await manager.persist().catch(() => false) : false;
    return { works: true, kept };
  }
}

/** The records as a file that `evenglide take-in` reads. @param {string} study @param {any[]} records */
export function logText(study, records) {
  const device = records.length ? records[0].device : "";
  const lines = [{ format: "evenglide.phone-log/1", study, device, records: records.length },
    ...records.map(({ id, device: by, sequence, device_time, body }) => ({ id, device: by, sequence, device_time, body }))];
  return lines.map((line) => `${JSON.stringify(line)}\n`).join("");
}
