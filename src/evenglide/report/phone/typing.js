// What is typed or ticked and not yet recorded: kept, so that neither a reload nor a failing save loses it.

/** Name of a field in what is kept; ticks of one name differ by what they tick. @param {any} input */
const keyOf = (input) => input.type === "checkbox" ? `${input.name} ${input.value}` : input.name;

/**
 * Fill a form with what was typed there, and keep what is typed from now on, until the screen records something.
 * @param {any} app @param {HTMLElement} form @param {string} name Of the form, and of what it is about.
 */
export function keepTyped(app, form, name) {
  const fields = /** @type {any[]} */ ([...form.querySelectorAll("[name]")]);
  const kept = app.typed.get(name) ?? {};
  for (const input of fields) {
    if (input.type === "checkbox") input.checked = kept[keyOf(input)] === true;
    else input.value = kept[keyOf(input)] ?? input.value;
  }
  app.forms.push(name);
  form.addEventListener("input", () => app.keep(name, Object.fromEntries(
    fields.map((input) => [keyOf(input), input.type === "checkbox" ? input.checked : input.value]))));
  form.addEventListener("keydown", (event) => {
    // Enter goes on to the next field: a form that is half filled in must not be recorded by it.
    const places = fields.filter((input) => input.type !== "checkbox"), at = places.indexOf(event.target);
    if (event.key !== "Enter" || at < 0 || at === places.length - 1) return;
    event.preventDefault();
    places[at + 1].focus();
  });
}

/**
 * What somebody meant by a number: with a comma or a point, perhaps with its unit behind it.
 * @param {string} text @param {string} unit @returns {number|null}
 */
export function numberIn(text, unit) {
  const bare = text.trim().replace(new RegExp(`\\s*${unit.replace(/[^a-z]/gi, "")}$`), "").replace(",", ".");
  const number = Number(bare);
  return bare && Number.isFinite(number) ? number : null;
}

/**
 * A number as it goes into a record, or a remark that keeps what was typed instead.
 * @param {string} text @param {string} name Of the number in the record. @param {string} unit @param {string} about
 * @returns {{fields: Record<string, number>, remarks: any[]}}
 */
export function numberOrRemark(text, name, unit, about) {
  const number = numberIn(text, unit);
  if (number !== null) return { fields: { [name]: number }, remarks: [] };
  return { fields: {}, remarks: text ? [{ kind: "noted", words: `${about}: ${text}` }] : [] };
}
