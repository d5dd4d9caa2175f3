// Bind modules to the elements that ask for them, and let them go again.

/** A module at work in an element. `fresh` is told of new data for it. */
export interface Mounted {
  fresh?(data: unknown): void;
  stop(): void;
}

export type Mount = (element: HTMLElement, data: unknown) => Mounted;

const KINDS: Record<string, () => Promise<{ mount: Mount }>> = {
  view: () => import("./view/view"),
  lay: () => import("./lay/lay"),
  outline: () => import("./outline/outline"),
};

const mounted = new Map<Element, Promise<Mounted | null>>();

/** Bind every element within `root`, itself included, that asks for a module and has none yet. */
export function mountAll(root: Element | Document): void {
  const wanted = [...root.querySelectorAll<HTMLElement>("[data-module]")];
  if (root instanceof HTMLElement && root.matches("[data-module]")) wanted.unshift(root);
  for (const element of wanted) {
    if (!mounted.has(element)) mounted.set(element, bind(element));
  }
}

/** Let go of every module within `root`, itself included. */
export function unmountWithin(root: Element): void {
  for (const [element, module] of mounted) {
    if (root === element || root.contains(element)) {
      mounted.delete(element);
      void module.then((m) => m?.stop());
    }
  }
}

async function bind(element: HTMLElement): Promise<Mounted | null> {
  const load = KINDS[element.dataset["module"] ?? ""];
  if (!load) return null;
  try {
    const [{ mount }, data] = await Promise.all([load(), dataOf(element)]);
    const module = mount(element, data);
    element.addEventListener("fresh", (event) => void refreshed(element, module, event));
    element.dataset["state"] = "ready";
    return module;
  } catch (error) {
    // The page's own content stays: it says everything without the module.
    element.dataset["state"] = "plain";
    console.warn(error);
    return null;
  }
}

/** A `fresh` event brings new data, or has the source read again. */
async function refreshed(element: HTMLElement, module: Mounted, event: Event): Promise<void> {
  const given = (event as CustomEvent<unknown>).detail;
  try {
    module.fresh?.(given ?? (await dataOf(element)));
  } catch (error) {
    console.warn(error);
  }
}

async function dataOf(element: HTMLElement): Promise<unknown> {
  const source = element.dataset["source"];
  if (!source) return null;
  const answer = await fetch(source, { headers: { Accept: "application/json" } });
  if (!answer.ok) throw new Error(`${source} answered ${answer.status}`);
  return answer.json();
}
