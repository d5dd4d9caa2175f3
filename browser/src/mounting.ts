// Bind modules to the elements that ask for them, and let them go again.

/** A module at work in an element. `fresh` is told of new data for it. */
export interface Mounted {
  fresh?(data: unknown): void;
  /** It writes into the page's own content itself: changes there are no news to it. */
  readonly inPlace?: true;
  stop(): void;
}

export type Mount = (element: HTMLElement, data: unknown) => Mounted;

const KINDS: Record<string, () => Promise<{ mount: Mount }>> = {
  view: () => import("./view/view"),
  lay: () => import("./lay/lay"),
  outline: () => import("./outline/outline"),
  table: () => import("./table/table"),
};

/** What sources answered lately. */
const lately = new Map<string, unknown>();
const MOST_KEPT = 12;

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
    // A page that is swapped for a newer one shows at once what it showed, then what is new.
    const before = lately.get(element.dataset["source"] ?? "");
    const [{ mount }, data] = await Promise.all([load(), before ?? dataOf(element)]);
    const module = mount(element, data);
    if (before !== undefined) void refreshed(element, module, null);
    element.addEventListener("fresh", (event) => void refreshed(element, module, (event as CustomEvent<unknown>).detail));
    element.dataset["state"] = "ready";
    const watch = module.inPlace ? null : watched(element, module);
    return { stop: () => (watch?.disconnect(), module.stop()) };
  } catch (error) {
    // The page's own content stays: it says everything without the module.
    element.dataset["state"] = "plain";
    console.warn(error);
    return null;
  }
}

/** What an element asks for just now: a newer question makes the answer to an older one worth nothing. */
const asking = new WeakMap<HTMLElement, AbortController>();

/** New data for a module: as given, else its source is read again. */
async function refreshed(element: HTMLElement, module: Mounted, given: unknown): Promise<void> {
  asking.get(element)?.abort();
  const asked = new AbortController();
  asking.set(element, asked);
  try {
    const data = given ?? (await dataOf(element, asked.signal));
    if (!asked.signal.aborted) module.fresh?.(data);
  } catch (error) {
    if (!asked.signal.aborted) console.warn(error);
  }
}

/** When the page changes what serves without the module, the module's own data has changed too. */
function watched(element: HTMLElement, module: Mounted): MutationObserver {
  let due = 0;
  const own = (node: Node): boolean => (node instanceof Element ? node : node.parentElement)?.closest(".m-frame") != null;
  const watch = new MutationObserver((changes) => {
    const elsewhere = changes.some((c) => (c.target === element ? ![...c.addedNodes, ...c.removedNodes].every(isFrame) : !own(c.target)));
    if (!elsewhere) return;
    window.clearTimeout(due);
    due = window.setTimeout(() => void refreshed(element, module, null), 40);
  });
  watch.observe(element, { childList: true, subtree: true, characterData: true });
  return watch;
}

function isFrame(node: Node): boolean {
  return node instanceof Element && node.matches(".m-frame");
}

async function dataOf(element: HTMLElement, signal: AbortSignal | null = null): Promise<unknown> {
  const source = element.dataset["source"];
  if (!source) return null;
  const answer = await answerOf(source, signal);
  if (!answer.ok) throw new Error(`${source} answered ${answer.status}`);
  const data: unknown = await answer.json();
  lately.set(source, data);
  for (const oldest of lately.keys()) if (lately.size > MOST_KEPT) lately.delete(oldest);
  return data;
}

/** What a source answers; without the network what it answered before, where the workroom lets it be kept. */
async function answerOf(source: string, signal: AbortSignal | null): Promise<Response> {
  const headers = { Accept: "application/json" };
  try {
    return await fetch(source, { headers, signal });
  } catch (error) {
    const kept = signal?.aborted ? null : await fetch(source, { headers, signal, cache: "force-cache" }).catch(() => null);
    if (kept === null) throw error;
    return kept;
  }
}
