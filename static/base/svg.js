// @ts-check
// Elements of SVG, made without markup so that the content policy has nothing to stop.

const NAMESPACE = "http://www.w3.org/2000/svg";

/**
 * An element with its attributes; numbers are written to a tenth, which is finer than a pixel.
 * @param {string} tag
 * @param {Record<string, string | number>} [attributes]
 * @param {(Node | string)[]} [children]
 * @returns {SVGElement}
 */
export function svg(tag, attributes = {}, children = []) {
  const element = document.createElementNS(NAMESPACE, tag);
  for (const [name, value] of Object.entries(attributes)) {
    element.setAttribute(name, typeof value === "number" ? String(Math.round(value * 10) / 10) : value);
  }
  element.append(...children);
  return element;
}

/**
 * One of the page's shapes, centred on a point.
 * @param {string} id
 * @param {number} x
 * @param {number} y
 * @param {number} size
 * @returns {SVGElement}
 */
export function shape(id, x, y, size) {
  return svg("use", { href: `#${id}`, x: x - size / 2, y: y - size / 2, width: size, height: size });
}
