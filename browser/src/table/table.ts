// The cutting table on a telephone: goes on without the network, and loses no tick.
//
// Every piece as it is shown comes with the page's data, so that ticking, going on and back need no
// answer. What the workroom has not answered is kept on the telephone and sent again until it is.

import { make } from "../dom";
import type { Mounted } from "../mounting";
import { asSent, shownState, Unsent, type Store, type To } from "./unsent";

interface Reach {
  /** How far from the cut end, mm. */
  readonly reach: number;
  /** Cloth beyond that, in words. */
  readonly left: string;
}

interface Piece extends Reach {
  readonly key: string;
  readonly cloth: string;
  readonly name: string;
  /** As the workroom writes it on a page of its own. */
  readonly html: string;
}

interface Table extends Answer {
  readonly job: string;
  readonly pieces: readonly Piece[];
  /** Cloth before anything was cut, and beyond what was cut wrong, by cloth. */
  readonly gone: Readonly<Record<string, readonly Reach[]>>;
  /** What was planned again, as the workroom writes it. */
  readonly said: string;
}

interface Answer {
  readonly round: number;
  readonly ticks: Readonly<Record<string, string>>;
  /** How much is still to be planned again. */
  readonly planning: number;
  /** Why it was not. */
  readonly trouble: string;
}

const AGAIN_MS = 4000;
/** How often the new plan is asked for while it is being made. */
const LOOK_MS = 800;
/** Two of the same press nearer to one another than this are one: a finger with chalk on it slips. */
const SLIP_MS = 350;
/** Browsers let no more than 64 kB outlive a page. */
const MOST_KEPT_ALIVE = 60_000;
const NO_ANSWER =
  "The workroom does not answer now: say this again when it does. Ticks are kept meanwhile; cut nothing that lies on a flaw.";

export function mount(element: HTMLElement, data: unknown): Mounted {
  const table = new AtTable(element, data as Table);
  return { inPlace: true, fresh: (newer) => table.take(newer as Table), stop: () => table.stop() };
}

class AtTable {
  private at: number;
  private told: Readonly<Record<string, string>>;
  private readonly unsent: Unsent;
  private readonly gone = new AbortController();
  private again = 0;
  private sending = false;
  private pressed = { what: "", at: -SLIP_MS };
  private trouble = "";
  private planning: number;
  private awake: WakeLockSentinel | null = null;

  constructor(
    private readonly element: HTMLElement,
    private table: Table,
  ) {
    this.at = Number(element.dataset["at"] ?? 0);
    this.told = table.ticks;
    this.planning = table.planning;
    this.unsent = new Unsent(`squab.ticks.${table.job}`, storeOf());
    this.listen();
    this.begin();
    void this.send();
    this.askAgain();
    void this.keepAwake();
  }

  /** The workroom opens the table at what it knows to be uncut; what it has not heard of yet is passed over. */
  private begin(): void {
    const asked = new URLSearchParams(window.location.search).has("at");
    const next = this.table.pieces.findIndex((p) => this.state(p) !== "done");
    if (!asked && this.state(this.piece) === "done" && next >= 0) this.go(next);
    else this.show();
  }

  take(newer: Table): void {
    const key = this.piece.key;
    this.table = newer;
    this.told = newer.ticks;
    this.planning = newer.planning;
    const said = this.slot("said");
    if (said) said.innerHTML = newer.said; // the workroom's own page, escaped there
    this.refuse(newer.trouble);
    this.at = Math.max(newer.pieces.findIndex((p) => p.key === key), 0);
    this.element.dataset["round"] = String(newer.round);
    this.draw();
  }

  stop(): void {
    this.gone.abort();
    window.clearTimeout(this.again);
    void this.awake?.release();
  }

  private get piece(): Piece {
    const piece = this.table.pieces[this.at];
    if (!piece) throw new Error(`there is no piece ${this.at}`);
    return piece;
  }

  private get home(): string {
    return this.element.dataset["home"] ?? "";
  }

  private find<T extends HTMLElement>(query: string): T | null {
    return this.element.querySelector<T>(query);
  }

  private slot(name: string): HTMLElement | null {
    return this.find(`[data-slot="${name}"]`);
  }

  private listen(): void {
    const { signal } = this.gone;
    this.element.addEventListener("submit", (event) => this.submitted(event), { signal });
    this.element.addEventListener("click", (event) => this.clicked(event), { signal });
    window.addEventListener("online", () => void this.send(), { signal });
    window.addEventListener("storage", () => (this.unsent.read(), this.show()), { signal });
    document.addEventListener("visibilitychange", () => this.seen(), { signal });
  }

  private seen(): void {
    if (document.visibilityState !== "visible") return;
    void this.keepAwake();
    this.unsent.read();
    void this.send(true);
  }

  private submitted(event: SubmitEvent): void {
    const form = event.target as HTMLFormElement;
    const what = form.dataset["do"];
    if (what === "tick") {
      event.preventDefault();
      if (!this.slipped("tick", event)) this.tick();
    } else if (what === "hand") {
      event.preventDefault();
      this.changeHand();
    }
  }

  private clicked(event: MouseEvent): void {
    const link = (event.target as Element).closest<HTMLAnchorElement>("a[data-do]");
    const what = link?.dataset["do"];
    if (!link || !what) return;
    event.preventDefault();
    if (what === "wrong" || what === "flaw") void this.ask(link.href);
    else if (!this.slipped(what, event)) this.go(this.at + (what === "on" ? 1 : -1));
  }

  /** Whether a press is the one before it once more. It counts when it was made, not when a busy telephone hears of it. */
  private slipped(what: string, { timeStamp }: Event): boolean {
    const before = this.pressed;
    this.pressed = { what, at: timeStamp };
    return what === before.what && timeStamp - before.at < SLIP_MS;
  }

  /** What goes wrong is said on a page of its own: one does not leave for it without an answer. */
  private async ask(address: string): Promise<void> {
    try {
      if ((await fetch(address)).ok) return window.location.assign(address);
    } catch {
      // told below
    }
    this.refuse(NO_ANSWER);
  }

  private refuse(words: string): void {
    this.write("trouble", words);
    const place = this.slot("trouble");
    if (place) place.hidden = !words;
  }

  private tick(): void {
    const to: To = this.state(this.piece) === "done" ? "undone" : "done";
    this.unsent.say(this.piece.key, to, Date.now());
    this.show();
    void this.send();
  }

  private go(at: number): void {
    if (at < 0 || at >= this.table.pieces.length) return;
    this.at = at;
    this.draw();
    window.scrollTo({ top: 0 });
  }

  private state(piece: Piece): string {
    return shownState(piece.key, this.unsent, this.told);
  }

  /** Show another piece, then what is ticked. */
  private draw(): void {
    const place = this.slot("piece");
    if (place) place.innerHTML = this.piece.html; // the workroom's own page, escaped there
    history.replaceState(null, "", `${this.home}?at=${this.at}`);
    document.title = `${this.piece.name}: ${this.at + 1} of ${this.table.pieces.length}`;
    this.show();
  }

  private show(): void {
    const state = this.state(this.piece);
    const last = this.table.pieces.length - 1;
    const done = this.table.pieces.filter((p) => this.state(p) === "done").length;
    this.element.classList.remove("is-done", "is-spoiled", "is-uncut");
    this.element.classList.add(state === "done" ? "is-done" : state === "spoiled" ? "is-spoiled" : "is-uncut");
    this.write("done", String(done));
    this.write("left", this.left());
    this.write("stamp", state === "done" ? "cut" : state === "spoiled" ? "cut wrong" : "");
    this.write("tick", state === "done" ? "Untick" : "Tick: cut");
    this.write("unsent", this.words());
    const planning = this.slot("planning");
    if (planning) planning.hidden = !this.planning;
    this.element.dataset["planning"] = String(this.planning);
    const all = this.slot("all");
    if (all) all.hidden = done <= last;
    this.step("on", Math.min(this.at + 1, last), this.at === last);
    this.step("back", Math.max(this.at - 1, 0), this.at === 0);
    this.link("wrong");
    this.link("flaw");
    for (const field of this.element.querySelectorAll<HTMLInputElement>('input[name="at"]')) field.value = String(this.at);
    this.field('[data-do="tick"] input[name="piece"]', this.piece.key);
    this.field('[data-do="tick"] input[name="to"]', state === "done" ? "undone" : "done");
    this.field('[data-slot="photo-note"]', this.piece.name);
  }

  private write(slot: string, words: string): void {
    const place = this.slot(slot);
    if (place && place.textContent !== words) {
      if (slot === "left") place.replaceChildren(...fractions(words));
      else place.textContent = words;
    }
  }

  private field(query: string, value: string): void {
    const field = this.find<HTMLInputElement>(query);
    if (field) field.value = value;
  }

  private step(what: string, at: number, end: boolean): void {
    const link = this.find<HTMLAnchorElement>(`a[data-do="${what}"]`);
    if (!link) return;
    link.href = `${this.home}?at=${at}`;
    if (end) link.setAttribute("aria-disabled", "true");
    else link.removeAttribute("aria-disabled");
  }

  private link(what: string): void {
    const link = this.find<HTMLAnchorElement>(`a[data-do="${what}"]`);
    if (link) link.href = `${this.home}/${what}?at=${this.at}`;
  }

  /** Cloth beyond all that has been cut of this one, well or wrong. */
  private left(): string {
    const { cloth } = this.piece;
    const done = this.table.pieces.filter((p) => p.cloth === cloth && this.state(p) === "done");
    const reaches: readonly Reach[] = [...(this.table.gone[cloth] ?? []), ...done];
    return reaches.reduce((far, r) => (r.reach > far.reach ? r : far), reaches[0] ?? { reach: 0, left: "" }).left;
  }

  private words(): string {
    const count = this.unsent.size;
    if (!count || (this.sending && !this.trouble)) return this.trouble;
    const ticks = count === 1 ? "1 tick is" : `${count} ticks are`;
    const kept = this.unsent.lasting
      ? "kept on this telephone and sent as soon as the workroom answers"
      : "kept only while this page stays open: this telephone keeps nothing";
    return `${ticks} not sent yet: ${kept}.${this.trouble ? ` ${this.trouble}` : ""}`;
  }

  // --- what the workroom has not answered ---

  private async send(ask = false): Promise<void> {
    window.clearTimeout(this.again);
    if (this.sending) return;
    const entries = this.unsent.all;
    if (!entries.length && !ask) return;
    this.sending = true;
    try {
      const answer = await this.post(asSent(entries, Date.now()));
      this.unsent.answered(entries);
      this.trouble = "";
      this.told = answer.ticks;
      const ended = this.planning > answer.planning;
      this.planning = answer.planning;
      if (ended || answer.round !== this.table.round) await this.anew();
    } catch (error) {
      this.trouble = error instanceof Refused ? error.message : "";
    }
    this.sending = false;
    this.show();
    this.askAgain();
  }

  /** While something is not answered, or a new plan is being made and seen. */
  private askAgain(): void {
    window.clearTimeout(this.again);
    if (this.gone.signal.aborted) return;
    const looks = this.planning > 0 && document.visibilityState === "visible";
    if (looks || this.unsent.size) this.again = window.setTimeout(() => void this.send(true), looks ? LOOK_MS : AGAIN_MS);
  }

  private async post(ticks: unknown, token = tokenOf(document)): Promise<Answer> {
    const body = JSON.stringify({ ticks });
    const asked = await fetch(`${this.home}/ticks`, {
      method: "POST",
      keepalive: body.length < MOST_KEPT_ALIVE, // a tick goes out though the page is left at once
      headers: { "Content-Type": "application/json", Accept: "application/json", "X-Squab-Token": token },
      body,
    });
    if (asked.ok) return (await asked.json()) as Answer;
    if (asked.status === 403) {
      const newer = await newToken();
      if (newer && newer !== token) return this.post(ticks, newer);
    }
    throw new Refused(asked.status === 409 ? "The workroom does not take them: open the job there." : `It answered ${asked.status}.`);
  }

  /** The rest was planned again, here or on another telephone. */
  private async anew(): Promise<void> {
    const source = this.element.dataset["source"];
    if (!source) return;
    const asked = await fetch(source, { headers: { Accept: "application/json" } });
    if (asked.ok) this.take((await asked.json()) as Table);
  }

  // --- the hand, and the screen ---

  private changeHand(): void {
    const left = !document.body.classList.contains("hand-left");
    document.body.classList.toggle("hand-left", left);
    document.body.classList.toggle("hand-right", !left);
    document.cookie = `squab_hand=${left ? "left" : "right"}; path=/; max-age=157680000; samesite=strict`;
    const press = this.slot("hand");
    if (press instanceof HTMLButtonElement) {
      press.value = left ? "right" : "left";
      press.textContent = `The telephone lies in my ${left ? "right" : "left"} hand`;
    }
  }

  private async keepAwake(): Promise<void> {
    if (this.awake && !this.awake.released) return;
    let words = "Here the screen may sleep: let it stay on in the telephone's own settings. Ticks are kept all the same.";
    try {
      if (navigator.wakeLock && document.visibilityState === "visible") {
        this.awake = await navigator.wakeLock.request("screen");
        words = "The screen stays awake here.";
      }
    } catch {
      // The battery is low, or the browser will not: the screen sleeps, nothing else is lost.
    }
    // Browsers keep a page ready for a time without the network over an enciphered connection only.
    if (!window.isSecureContext) words += " Leave this page open until all is cut: closed, it cannot be opened anew while the network is away.";
    if (!this.gone.signal.aborted) this.write("awake", words);
  }
}

class Refused extends Error {}

function storeOf(): Store | null {
  try {
    return window.localStorage;
  } catch {
    return null;
  }
}

function tokenOf(page: Document): string {
  try {
    const read = JSON.parse(page.body.getAttribute("hx-headers") ?? "{}") as Record<string, string>;
    return read["X-Squab-Token"] ?? "";
  } catch {
    return "";
  }
}

/** A browser that was closed overnight has forgotten its token: a page of the workroom brings a new one. */
async function newToken(): Promise<string> {
  const page = new DOMParser().parseFromString(await (await fetch(window.location.href)).text(), "text/html");
  const token = tokenOf(page);
  if (token) document.body.setAttribute("hx-headers", page.body.getAttribute("hx-headers") ?? "{}");
  for (const field of document.querySelectorAll<HTMLInputElement>('input[name="token"]')) if (token) field.value = token;
  return token;
}

/** Fractions set as fractions, as the workroom's own pages do. */
function fractions(text: string): (Node | string)[] {
  return text
    .replace(/(\d)[ \u00a0\u2009\u202f](?=\d+[⁄/]\d)/g, "$1\u202f")
    .split(/(\d+[⁄/]\d+)/)
    .map((part, at, parts) => {
      if (!/^\d+[⁄/]\d+$/.test(part)) return part;
      const of = parts[at - 1]?.endsWith("\u202f") ? (part.startsWith("1") ? " of one" : " of") : "";
      return make("span", { class: `frac${of}` }, part.replace("/", "⁄"));
    });
}
