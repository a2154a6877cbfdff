// @ts-check
/** Elements made one by one; text is only ever text. */

const SVG = 'http://www.w3.org/2000/svg';

/** What stands inside an element; nothing is left out. @typedef {Node | string | number | null | undefined | false} Child */
/** Attributes that hold null or false are left out. @typedef {Record<string, string | number | null | undefined | false>} Attributes */

/** An HTML element. @param {string} name @param {Attributes} [attributes] @param {...Child} children */
export const html = (name, attributes, ...children) => filled(document.createElement(name), attributes, children);

/** An SVG element. @param {string} name @param {Attributes} [attributes] @param {...Child} children */
export const svg = (name, attributes, ...children) => filled(document.createElementNS(SVG, name), attributes, children);

/** @template {Element} T @param {T} element @param {Attributes} attributes @param {Child[]} children */
function filled(element, attributes = {}, children) {
  for (const [name, value] of Object.entries(attributes)) {
    if (value !== null && value !== undefined && value !== false) element.setAttribute(name, String(value));
  }
  element.append(...children.filter(present).map((child) => (child instanceof Node ? child : String(child))));
  return element;
}

/** @param {Child} child @returns {child is Node | string | number} */
const present = (child) => child !== null && child !== undefined && child !== false && child !== '';
