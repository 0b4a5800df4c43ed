// Makes elements. Text is always set as text, so that nothing a file is called can become markup.

type Content = Node | string | null | undefined | false;
type Attributes = Record<string, string | number | boolean | ((e: any) => void)>;

/** An element with attributes (a function becomes a listener, true an empty attribute, false none) and content. */
export function el<K extends keyof HTMLElementTagNameMap>(tag: K, attributes: Attributes = {}, ...content: Content[]): HTMLElementTagNameMap[K] {
  const e = document.createElement(tag);
  dress(e, attributes, content);
  return e;
}

/** The same for SVG. */
export function svg(tag: string, attributes: Attributes = {}, ...content: Content[]): SVGElement {
  const e = document.createElementNS("http://www.w3.org/2000/svg", tag);
  dress(e, attributes, content);
  return e;
}

function dress(e: Element, attributes: Attributes, content: Content[]) {
  for (const [key, value] of Object.entries(attributes)) {
    if (typeof value === "function") e.addEventListener(key, value);
    else if (value === true) e.setAttribute(key, "");
    else if (value !== false) e.setAttribute(key, String(value));
  }
  for (const c of content) if (c) e.append(c);
}
