// Ticks that the workroom has not answered yet, kept on the telephone.
//
// One entry a piece: the last thing said of it. An entry goes only when the workroom has answered to
// that very entry, so that nothing said while the answer was on its way is lost; sent twice it does
// no harm, for the workroom takes a tick as what a piece is, not as a change.

export type To = "done" | "undone";

export interface Entry {
  readonly piece: string;
  readonly to: To;
  /** When it was said, by this telephone's own clock, ms. */
  readonly at: number;
}

/** What a browser's own store offers. */
export interface Store {
  getItem(key: string): string | null;
  setItem(key: string, value: string): void;
  removeItem(key: string): void;
}

export class Unsent {
  private entries = new Map<string, Entry>();
  /** False where nothing can be kept beyond this page. */
  lasting = true;

  constructor(
    private readonly key: string,
    private readonly store: Store | null,
  ) {
    this.read();
  }

  /** Take over what is kept: another page of this telephone may have said more, or had its answer. */
  read(): void {
    let raw: string | null = null;
    try {
      raw = this.store?.getItem(this.key) ?? null;
    } catch {
      this.lasting = false;
    }
    if (!this.store) this.lasting = false;
    if (this.lasting) this.entries = new Map(entriesOf(raw ?? "[]").map((e) => [e.piece, e]));
  }

  get size(): number {
    return this.entries.size;
  }

  get all(): readonly Entry[] {
    return [...this.entries.values()].sort((a, b) => a.at - b.at);
  }

  of(piece: string): To | null {
    return this.entries.get(piece)?.to ?? null;
  }

  say(piece: string, to: To, at: number): void {
    this.read();
    this.entries.set(piece, { piece, to, at });
    this.write();
  }

  /** The workroom has answered to these: what was said since stays. */
  answered(sent: readonly Entry[]): void {
    this.read();
    for (const entry of sent) {
      const there = this.entries.get(entry.piece);
      if (there && there.at === entry.at && there.to === entry.to) this.entries.delete(entry.piece);
    }
    this.write();
  }

  private write(): void {
    try {
      if (this.entries.size) this.store?.setItem(this.key, JSON.stringify(this.all));
      else this.store?.removeItem(this.key);
    } catch {
      this.lasting = false;
    }
  }
}

function entriesOf(raw: string): Entry[] {
  try {
    const read: unknown = JSON.parse(raw);
    return Array.isArray(read) ? read.filter(isEntry) : [];
  } catch {
    return [];
  }
}

function isEntry(value: unknown): value is Entry {
  if (typeof value !== "object" || value === null) return false;
  const { piece, to, at } = value as Record<string, unknown>;
  return typeof piece === "string" && (to === "done" || to === "undone") && typeof at === "number" && Number.isFinite(at);
}

/** What the workroom is sent: how long ago each was said, for clocks differ. */
export function asSent(entries: readonly Entry[], now: number): { piece: string; to: To; age_s: number }[] {
  return entries.map(({ piece, to, at }) => ({ piece, to, age_s: Math.min(Math.max(now - at, 0) / 1000, 1e8) }));
}

/** The state of a piece as it is to be shown: what was said here, else what the workroom last told. */
export function shownState(piece: string, unsent: Unsent, told: Readonly<Record<string, string>>): string {
  const here = unsent.of(piece);
  if (here === "done") return "done";
  if (here === "undone") return "";
  return told[piece] ?? "";
}
