// Makes elements. Whatever a ship file says reaches the page through here: as text, never as markup.

/**
 * @template {keyof HTMLElementTagNameMap} T
 * @param {T} tag
 * @param {Record<string, string | number | boolean>} [attributes] "text" and "class" are what they
 *   say; true sets an empty attribute, false leaves it away
 * @param {(Node | string)[]} children
 * @returns {HTMLElementTagNameMap[T]}
 */
export function make(tag, attributes = {}, ...children) {
  const element = document.createElement(tag);
  for (const [name, value] of Object.entries(attributes)) {
    if (name === "text") element.textContent = String(value);
    else if (name === "class") element.className = String(value);
    else if (value === true) element.setAttribute(name, "");
    else if (value !== false) element.setAttribute(name, String(value));
  }
  element.append(...children);
  return element;
}

/**
 * The element of the page with this id.
 * @param {string} id
 * @returns {HTMLElement}
 */
export function byId(id) {
  const found = document.getElementById(id);
  if (!found) throw new Error(`the page has no #${id}`);
  return found;
}

/**
 * @param {string} id
 * @returns {HTMLButtonElement}
 */
export function buttonById(id) {
  return /** @type {HTMLButtonElement} */ (byId(id));
}

/**
 * Says something in an element, which is touched only when that is new: a page of a thousand rows
 * is painted where it changes.
 * @param {HTMLElement} element
 * @param {string} text
 */
export function say(element, text) {
  if (element.textContent !== text) element.textContent = text;
}

/**
 * @param {Element} element
 * @param {string} name
 * @param {string} value
 */
export function mark(element, name, value) {
  if (element.getAttribute(name) !== value) element.setAttribute(name, value);
}

/**
 * Shows or hides an element.
 * @param {HTMLElement} element
 * @param {boolean} shown
 */
export function show(element, shown) {
  if (element.hidden === shown) element.hidden = !shown;
}
