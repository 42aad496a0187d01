// Typing a list in: Enter moves on, a sample of rows is asked for twice, differences are shown before anything is sent.

const form = /** @type {HTMLFormElement} */ (document.getElementById("keying"));
const second = /** @type {HTMLElement} */ (document.getElementById("second"));
const start = /** @type {HTMLInputElement} */ (document.getElementById("from"));
const sample = new Set((form.dataset.sample ?? "").split(",").filter(Boolean));

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
  let row = field.closest("tr")?.nextElementSibling;
  return row?.querySelector("[name^=reading-]");
}

/** @returns {HTMLElement|null} */
function first() {
  return reading(start.value.trim()) ?? form.querySelector("[name^=reading-]");
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
});

/** @param {string[]} numbers */
function ask(numbers) {
  const typed = new Map(numbers.map((number) => [number, again(number)?.value ?? ""]));
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
  [...second.querySelectorAll("input")].find((field) => !field.value.trim())?.focus();
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
  reading(differing[0])?.focus();
}

/** What was meant, however it was written: 5,30 is 5.3. @param {string|undefined} text */
function value(text) {
  const plain = (text ?? "").trim().replace(",", ".");
  return plain !== "" && Number.isFinite(Number(plain)) ? Number(plain) : plain;
}
