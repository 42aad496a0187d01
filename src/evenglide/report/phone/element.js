// Building elements: text is always text, never markup.

/**
 * @param {string} tag
 * @param {Record<string, any>} [attributes] `on...` are listeners; false and null leave an attribute out.
 * @param {...any} children Text or elements; null and false are left out.
 * @returns {any}
 */
export function element(tag, attributes = {}, ...children) {
  const made = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (value === false || value === null || value === undefined) continue;
    if (name.startsWith("on")) made.addEventListener(name.slice(2), value);
    else if (value === true) made.setAttribute(name, "");
    else made.setAttribute(name, String(value));
  }
  for (const child of children.flat(Infinity)) {
    if (child !== null && child !== undefined && child !== false) made.append(child);
  }
  return made;
}

/** A button. @param {string} label @param {() => any} press @param {string} [look] */
export function button(label, press, look = "plain", more = {}) {
  return element("button", { type: "button", class: look, onclick: press, ...more }, label);
}

/** A labelled field. @param {string} label @param {Record<string, any>} attributes */
export function field(label, attributes, help = "") {
  const id = `field-${label.toLowerCase().replace(/[^a-z0-9]+/g, "-")}`;
  return element("div", { class: "field" },
    element("label", { for: id }, label),
    help && element("p", { class: "soft", id: `${id}-help` }, help),
    element("input", { id, autocomplete: "off", "aria-describedby": help ? `${id}-help` : null, ...attributes }));
}

/** What stands in a field, trimmed. @param {ParentNode} form @param {string} name */
export function typed(form, name) {
  const input = /** @type {HTMLInputElement|null} */ (form.querySelector(`[name="${name}"]`));
  return input ? input.value.trim() : "";
}
