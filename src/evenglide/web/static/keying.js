// Typing a list in: Enter moves on, a sample of rows is asked for twice, differences are shown before anything is sent.

const form = /** @type {HTMLFormElement} */ (document.getElementById("keying"));
const second = /** @type {HTMLElement} */ (document.getElementById("second"));
const sample = new Set((form.dataset.sample ?? "").split(",").filter(Boolean));
let checked = false;

form.addEventListener("keydown", (event) => {
  if (event.key !== "Enter" || !(event.target instanceof HTMLInputElement)) return;
  event.preventDefault();
  const fields = [...form.querySelectorAll("input[name^=reading-], input[name^=again-]")];
  const at = fields.indexOf(event.target);
  const next = /** @type {HTMLElement|undefined} */ (fields[at < 0 ? 0 : at + 1]);
  (next ?? form.querySelector("button.main"))?.focus();
});

document.getElementById("from")?.addEventListener("change", (event) => {
  const number = /** @type {HTMLInputElement} */ (event.target).value;
  /** @type {HTMLElement|null} */ (form.querySelector(`[name="reading-${CSS.escape(number)}"]`))?.focus();
});

form.addEventListener("submit", (event) => {
  if (checked) return;
  event.preventDefault();
  const rows = [...form.querySelectorAll("input[name^=reading-]")].filter((input) => input.value.trim());
  const twice = rows.filter((input) => sample.has(input.name.split("-")[1]));
  if (!twice.length) { send(); return; }
  if (second.hidden) ask(twice);
  else compare(twice);
});

/** @param {HTMLInputElement[]} twice */
function ask(twice) {
  second.hidden = false;
  second.replaceChildren(heading("Once more, from the paper"), ...twice.map((input) => {
    const number = input.name.split("-")[1], label = document.createElement("label"), field = document.createElement("input");
    label.textContent = `Launch ${number}`;
    field.name = `again-${number}`;
    field.id = field.name;
    label.htmlFor = field.id;
    field.inputMode = "decimal";
    const line = document.createElement("div");
    line.append(label, field);
    return line;
  }));
  second.querySelector("input")?.focus();
}

/** @param {HTMLInputElement[]} twice */
function compare(twice) {
  const value = (/** @type {string} */ text) => text.trim().replace(",", ".");
  const differing = twice.filter((input) => {
    const again = /** @type {HTMLInputElement|null} */ (second.querySelector(`[name="again-${input.name.split("-")[1]}"]`));
    return again && value(again.value) !== value(input.value);
  });
  second.querySelector("[role=alert]")?.remove();
  if (!differing.length) { send(); return; }
  const told = document.createElement("p");
  told.setAttribute("role", "alert");
  told.textContent = `They differ: ${differing.map((input) => `launch ${input.name.split("-")[1]} (first ${input.value})`).join(", ")}. Look at the paper and put right the one that is wrong.`;
  second.append(told);
}

function send() {
  checked = true;
  for (const field of second.querySelectorAll("input")) field.disabled = true;
  form.requestSubmit();
}

/** @param {string} words */
function heading(words) {
  const made = document.createElement("h2");
  made.textContent = words;
  return made;
}
