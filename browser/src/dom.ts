// Small helpers for building a module's own controls.

type Attributes = Readonly<Record<string, string | boolean | number | null | undefined>>;

/** Make an element. Text is always text; nothing is ever read as markup. */
export function make<K extends keyof HTMLElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...inside: (Node | string)[]
): HTMLElementTagNameMap[K] {
  const element = document.createElement(name);
  attribute(element, attributes);
  element.append(...inside);
  return element;
}

const SVG = "http://www.w3.org/2000/svg";

export function makeSvg<K extends keyof SVGElementTagNameMap>(
  name: K,
  attributes: Attributes = {},
  ...inside: (Node | string)[]
): SVGElementTagNameMap[K] {
  const element = document.createElementNS(SVG, name);
  attribute(element, attributes);
  element.append(...inside);
  return element;
}

export function attribute(element: Element, attributes: Attributes): void {
  for (const [key, value] of Object.entries(attributes)) {
    if (value === null || value === undefined || value === false) element.removeAttribute(key);
    else element.setAttribute(key, value === true ? "" : String(value));
  }
}

/** A button that does not send a form. */
export function button(words: string, press: () => void, attributes: Attributes = {}): HTMLButtonElement {
  const made = make("button", { type: "button", class: "m-button", ...attributes }, words);
  made.addEventListener("click", press);
  return made;
}

/** A set of buttons of which one is pressed. */
export function choice<T>(
  label: string,
  options: readonly { readonly words: string; readonly value: T; readonly title?: string }[],
  chosen: (value: T) => void,
): { readonly element: HTMLElement; set(value: T): void } {
  const buttons = options.map((o) => button(o.words, () => pick(o.value), { title: o.title }));
  const mark = (value: T): void =>
    options.forEach((o, i) => buttons[i]?.setAttribute("aria-pressed", String(o.value === value)));
  const pick = (value: T): void => {
    mark(value);
    chosen(value);
  };
  return { element: make("div", { class: "m-choice", role: "group", "aria-label": label }, ...buttons), set: mark };
}

/** Words that are read out when they change, but not while they are changing fast. */
export class Told {
  readonly element = make("p", { class: "m-told", role: "status", "aria-live": "polite" });
  private waiting = 0;

  say(words: string): void {
    window.clearTimeout(this.waiting);
    if (words !== this.element.textContent) this.waiting = window.setTimeout(() => (this.element.textContent = words), 60);
  }
}

let sheet: CSSStyleSheet | null = null;

/** Put the modules' own style on the page: made by script, so that no style stands in a page. */
export function dressPage(css: string): void {
  if (sheet) return;
  sheet = new CSSStyleSheet();
  sheet.replaceSync(css);
  document.adoptedStyleSheets = [...document.adoptedStyleSheets, sheet];
}

/** Say something happened, to the page and to the other modules. */
export function tell(element: Element, name: string, detail: unknown): void {
  element.dispatchEvent(new CustomEvent(name, { bubbles: true, detail }));
}

/** Write a value as JSON into the hidden field that an attribute of the element names. */
export function writeField(element: HTMLElement, value: unknown): void {
  const name = element.dataset["field"];
  const field = name ? document.getElementById(name.replace(/^#/, "")) : null;
  if (field instanceof HTMLInputElement || field instanceof HTMLTextAreaElement) field.value = JSON.stringify(value);
}

export function calm(): boolean {
  return window.matchMedia("(prefers-reduced-motion: reduce)").matches;
}

/** A button that lets a frame fill the whole screen, where the browser can do that. */
export function fillScreen(frame: HTMLElement): HTMLButtonElement[] {
  if (!document.fullscreenEnabled) return [];
  const press = button("Whole screen", () => void (document.fullscreenElement ? document.exitFullscreen() : frame.requestFullscreen()));
  frame.addEventListener("fullscreenchange", () => {
    press.textContent = document.fullscreenElement === frame ? "Back to the page" : "Whole screen";
  });
  return [press];
}

const memory = new Map<string, unknown>();

/** Keep what a person had done in a module, for when the page puts a new element in the place of this one. */
export function remember(element: HTMLElement, what: unknown): void {
  memory.set(`${element.dataset["module"]} ${element.dataset["source"]}`, what);
}

/** Give back what was kept for such an element, once. */
export function recall<T>(element: HTMLElement): T | null {
  const key = `${element.dataset["module"]} ${element.dataset["source"]}`;
  const kept = memory.get(key);
  memory.delete(key);
  return (kept as T | undefined) ?? null;
}
