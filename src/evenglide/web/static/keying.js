// Typing a list in: Enter moves on, a sample of rows is asked for twice, differences and values far from the others are
// shown before anything is sent.

const form = /** @type {HTMLFormElement} */ (document.getElementById("keying"));
const second = /** @type {HTMLElement} */ (document.getElementById("second"));
const start = /** @type {HTMLInputElement} */ (document.getElementById("from"));
const far = /** @type {HTMLElement} */ (document.getElementById("far"));
const sample = new Set((form.dataset.sample ?? "").split(",").filter(Boolean));
/** What was typed a second time before the laptop refused something: it is not asked for again. */
const given = new Map(Object.entries(JSON.parse(form.dataset.again ?? "{}")));
/** Values of launches that are recorded, by surface. */
const recorded = new Map(Object.entries(JSON.parse(form.dataset.recorded ?? "{}")));
/** Values that were shown as far from the others: they may be sent then. */
const looked = new Set();

if (given.size) ask([...sample].filter((number) => reading(number)?.value.trim()), { quietly: true });
/** @type {HTMLElement|null} */ (form.querySelector("[aria-invalid=true]"))?.focus();

form.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !(event.target instanceof HTMLInputElement)) return;
  event.preventDefault();
  (following(event.target) ?? form.querySelector("button.main"))?.focus();
});

start.addEventListener("change", () => first()?.focus());

/** @param {HTMLInputElement} field @returns {HTMLElement|null|undefined} */
function following(field) {
  if (field === start || field.id === "reader") return first();
  const again = [...second.querySelectorAll("input")];
  if (again.includes(field)) return again[again.indexOf(field) + 1];
  const rows = [...form.querySelectorAll("tr[data-launch]")];
  return shown(rows[rows.indexOf(/** @type {Element} */ (field.closest("tr"))) + 1]?.querySelector("[name^=reading-]"));
}

/** A field where it can be typed into: rows that are folded away are opened for it. @param {any} field */
function shown(field) {
  field?.closest("details")?.toggleAttribute("open", true);
  return field;
}

/** @returns {HTMLElement|null} */
function first() {
  return shown(reading(start.value.trim()) ?? form.querySelector("[name^=reading-]"));
}

/** @param {string} number @returns {HTMLInputElement|null} */
function reading(number) {
  return form.querySelector(`[name="reading-${CSS.escape(number)}"]`);
}

/** @param {string} number @returns {HTMLInputElement|null} */
function again(number) {
  return second.querySelector(`[name="again-${CSS.escape(number)}"]`);
}

form.addEventListener("submit", (event) => {
  const filled = [...sample].filter((number) => reading(number)?.value.trim());
  const missing = filled.filter((number) => !again(number)?.value.trim());
  const differing = filled.filter((number) => value(again(number)?.value) !== value(reading(number)?.value));
  if (missing.length || differing.length) event.preventDefault();
  if (missing.length) ask(filled);
  else show(differing);
  if (missing.length || differing.length) return;
  const strange = farOnes().filter((one) => !looked.has(one.key));
  tellFar(strange);
  if (strange.length) event.preventDefault();
});

/** Values that were typed and lie far from the others on their surface, by the rule of the phone and of the day's page. */
function farOnes() {
  const times = Number(form.dataset.far), fewest = Number(form.dataset.fewest);
  const typed = [...form.querySelectorAll("tr[data-launch]")].map((row) => {
    const { launch = "", surface = "" } = /** @type {HTMLElement} */ (row).dataset, number = value(reading(launch)?.value);
    const aside = /** @type {HTMLSelectElement} */ (row.querySelector("[name^=cause-]")).value !== "";
    return { launch, surface, number, aside, key: `${launch} ${number}`, middle: 0 };
  }).filter((one) => typeof one.number === "number" && !one.aside);
  return typed.filter((one) => {
    const beside = typed.filter((other) => other !== one && other.surface === one.surface).map((other) => Number(other.number));
    const others = [...(recorded.get(one.surface) ?? []), ...beside].sort((a, b) => a - b), number = Number(one.number);
    one.middle = others[Math.floor(others.length / 2)];
    return others.length >= fewest && (number <= 0 || (one.middle > 0 && (number > times * one.middle || number < one.middle / times)));
  });
}

/** @param {{launch: string, surface: string, number: string|number, key: string, middle: number}[]} strange */
function tellFar(strange) {
  far.hidden = !strange.length;
  if (!strange.length) return;
  const told = document.createElement("div"), title = document.createElement("h2"), list = document.createElement("ul"), do_ = document.createElement("p");
  told.className = "notice";
  told.setAttribute("role", "alert");
  title.textContent = "Far from the others: look once more";
  do_.textContent = "Look at the paper. What it says may be sent: press “Take it in” once more.";
  list.append(...strange.map((one) => {
    looked.add(one.key);
    const line = document.createElement("li"), link = document.createElement("a");
    link.href = `#reading-${one.launch}`;
    link.textContent = `launch ${one.launch}`;
    link.addEventListener("click", (event) => { event.preventDefault(); shown(reading(one.launch))?.focus(); });
    line.append(link, `: ${one.number}; the others on ${one.surface} lie about ${Number(one.middle.toPrecision(3))}`);
    return line;
  }));
  told.append(title, list, do_);
  far.replaceChildren(told);
}

/** @param {string[]} numbers @param {{quietly?: boolean}} how Quietly: without moving there. */
function ask(numbers, { quietly = false } = {}) {
  if (!numbers.length) return;
  const typed = new Map(numbers.map((number) => [number, again(number)?.value ?? given.get(number) ?? ""]));
  second.hidden = false;
  const title = document.createElement("h2");
  title.textContent = "Once more, from the paper";
  second.replaceChildren(title, ...numbers.map((number) => {
    const line = document.createElement("div"), label = document.createElement("label"), field = document.createElement("input");
    label.textContent = `Launch ${number}`;
    label.htmlFor = field.id = field.name = `again-${number}`;
    field.inputMode = "decimal";
    field.autocomplete = "off";
    field.value = typed.get(number) ?? "";
    line.append(label, field);
    return line;
  }));
  if (!quietly) [...second.querySelectorAll("input")].find((field) => !field.value.trim())?.focus();
}

/** @param {string[]} differing */
function show(differing) {
  second.querySelector("[role=alert]")?.remove();
  for (const number of sample) reading(number)?.toggleAttribute("aria-invalid", false);
  if (!differing.length) return;
  const told = document.createElement("div");
  told.setAttribute("role", "alert");
  told.className = "notice";
  const title = document.createElement("h2"), list = document.createElement("ul"), do_ = document.createElement("p");
  title.textContent = "They differ; nothing was sent";
  do_.textContent = "Look at the paper and put right the one that is wrong, above or here.";
  list.append(...differing.map((number) => {
    const line = document.createElement("li");
    line.textContent = `launch ${number}: first ${reading(number)?.value.trim()}, then ${again(number)?.value.trim()}`;
    reading(number)?.setAttribute("aria-invalid", "true");
    return line;
  }));
  told.append(title, list, do_);
  second.append(told);
  shown(reading(differing[0]))?.focus();
}

/** What was meant, however it was written: 5,30 is 5.3. @param {string|undefined} text */
function value(text) {
  const plain = (text ?? "").trim().replace(",", ".");
  return plain !== "" && Number.isFinite(Number(plain)) ? Number(plain) : plain;
}
