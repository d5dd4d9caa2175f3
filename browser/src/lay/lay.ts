// The lay: the cloth at scale with its true pattern, pieces on it; looked about in, pieces moved by hand.

import css from "../modules.css";
import { attribute, button, choice, dressPage, fillScreen, make, makeSvg, recall, remember, tell, Told, writeField } from "../dom";
import { shown } from "../lengths";
import type { Mounted } from "../mounting";
import type { Point } from "../pattern";
import { boxOf, innerPoint } from "../plane";
import { fullName, lengthOf, nearestHeld, Neighbours, outlineAt, stepsOf, wrongSaid, type LaidPiece, type LayData, type Wrong } from "./placing";

const MARGIN_PX = 40;
const LETTER_PX = 13;
const REACH_PX = 14;
const INCH = 25.4;
const UNDER = "under layer";

/** What a running search tells: shown beside the lay, without drawing it anew. */
interface Progress {
  readonly progress: { readonly uses?: string; readonly least?: string; readonly saved?: string | null; readonly said?: string };
}

/** What a person had done, when the page puts a new lay in the place of this one. */
interface Kept {
  readonly first: LayData;
  readonly lay: LayData;
  readonly pinned: ReadonlySet<string>;
  readonly undone: readonly { piece: string; at: Point }[];
  readonly active: string | null;
  readonly moves: boolean;
}

interface Held {
  readonly piece: LaidPiece;
  readonly from: Point;
  readonly grip: Point;
  readonly neighbours: Neighbours;
}

let made = 0;

export function mount(element: HTMLElement, data: unknown): Mounted {
  return new LayViewer(element, data as LayData);
}

class LayViewer implements Mounted {
  private readonly id = `lay-${++made}`;
  private readonly frame = make("div", { class: "m-frame lay-frame" });
  private readonly facts = make("p", { class: "lay-facts" });
  private readonly tools = make("div", { class: "m-tools" });
  private readonly told = new Told();
  private readonly svg = makeSvg("svg", { class: "lay-cloth", role: "group" });
  private readonly ground = makeSvg("g");
  private readonly pieces = makeSvg("g");
  private readonly over = makeSvg("g", { class: "lay-over" });
  private readonly rule = makeSvg("g", { class: "lay-rule" });
  private readonly shapes = new Map<string, SVGGElement>();
  private readonly stopping = new AbortController();
  private readonly watch: ResizeObserver;
  private readonly hands = choice("What dragging does", [{ words: "Look about", value: false }, { words: "Move pieces", value: true }], (moves) => this.setMoves(moves));
  private readonly pinButton: HTMLButtonElement;
  private readonly backButton: HTMLButtonElement;
  private lay: LayData;
  private first: LayData;
  private upright = false;
  /** The part of the drawing that is shown: centre in drawing millimetres, and millimetres a pixel. */
  private look = { x: 0, y: 0, mm: 1 };
  private whole = 1;
  /** The scale at which names were last written. */
  private lettered = 0;
  private active: string | null = null;
  private moves = false;
  private held: Held | null = null;
  private keyed: Held | null = null;
  private readonly pinned = new Set<string>();
  private readonly undone: { piece: string; at: Point }[] = [];

  constructor(
    private readonly element: HTMLElement,
    data: LayData,
  ) {
    dressPage(css);
    this.lay = this.first = data;
    this.pinButton = button("Pin it", () => this.togglePin(), { disabled: true, "aria-pressed": "false" });
    this.backButton = button("Take back", () => this.takeBack(), { disabled: true });
    this.svg.append(this.ground, this.pieces, this.over, this.rule);
    this.buildTools();
    this.frame.append(this.facts, this.svg, this.told.element, this.tools, this.keysHelp());
    element.append(this.frame);
    this.watch = new ResizeObserver(() => this.resized());
    this.watch.observe(this.svg);
    this.listen();
    this.resume(recall<Kept>(element));
    this.redraw();
  }

  private resume(kept: Kept | null): void {
    if (!kept) return;
    this.active = kept.active;
    if (kept.moves) this.hands.set(true);
    this.setMoves(kept.moves);
    if (!sameLay(kept.first, this.first)) return;
    this.lay = kept.lay;
    for (const id of kept.pinned) this.pinned.add(id);
    this.undone.push(...kept.undone);
    this.backButton.disabled = !this.undone.length;
    if (this.undone.length || this.pinned.size) this.writeChanged();
  }

  fresh(data: unknown): void {
    if (isProgress(data)) {
      this.showFacts({ ...this.lay.facts, ...data.progress }, data.progress.said);
      return;
    }
    const next = data as LayData;
    if (sameLay(next, this.first)) return; // pieces that were moved stay where the hand put them
    this.lay = this.first = next;
    this.pinned.clear();
    this.undone.length = 0;
    this.backButton.disabled = true;
    this.redraw();
  }

  stop(): void {
    const kept: Kept = { first: this.first, lay: this.lay, pinned: this.pinned, undone: this.undone, active: this.active, moves: this.moves };
    remember(this.element, kept);
    this.stopping.abort();
    this.watch.disconnect();
    this.frame.remove();
  }

  // -- drawing ---------------------------------------------------------------------------------

  /** From the cloth to the drawing: along to the right, or upright with the cut end below. */
  private to([u, v]: Point): Point {
    return this.upright ? [u, -v] : [v, u];
  }

  private from([x, y]: Point): Point {
    return this.upright ? [x, -y] : [y, x];
  }

  private path(points: readonly Point[]): string {
    return points.map((p, i) => `${i ? "L" : "M"}${this.to(p).map((n) => n.toFixed(2)).join(" ")}`).join("") + "Z";
  }

  private redraw(): void {
    const { width, length } = this.lay;
    this.upright = this.svg.clientWidth < 620;
    this.svg.classList.toggle("lay-upright", this.upright);
    attribute(this.svg, { "aria-label": `The lay on ${this.lay.look.name}: ${this.lay.pieces.length} pieces on ${shown(length, this.lay.inches)}` });
    const cloth: Point[] = [[0, 0], [width, 0], [width, length], [0, length]];
    const fill = this.clothFill();
    this.ground.replaceChildren(
      ...fill.defs,
      makeSvg("path", { d: this.path(cloth), fill: fill.fill }),
      makeSvg("path", { class: "lay-veil", d: this.path(cloth) + this.lay.pieces.map((p) => this.path(outlineAt(p))).join(""), "fill-rule": "evenodd" }),
      makeSvg("path", { class: "lay-edge", d: this.path(cloth) }),
      ...this.lay.flaws.map((f) => makeSvg("path", { class: "lay-flaw", d: this.path([[f.u0, f.v0], [f.u1, f.v0], [f.u1, f.v1], [f.u0, f.v1]]) })),
    );
    this.shapes.clear();
    this.lettered = 0;
    this.pieces.replaceChildren(...this.inOrder().map((p) => this.shape(p)));
    this.active ??= this.idOf(this.inOrder()[0]);
    this.markActive();
    this.showFacts(this.lay.facts);
    this.resized(true);
  }

  /** The cloth's pattern as a fill in its own lattice, where it stands on the bolt. */
  private clothFill(): { defs: SVGElement[]; fill: string } {
    const { look, pattern_at: at } = this.lay;
    if (look.kind === "plain" || (!look.stripes.length && !look.motif)) return { defs: [], fill: look.ground };
    const id = `${this.id}-cloth`;
    const [o, i, j] = [this.to([at[0], at[1]]), this.to([at[0] + 1, at[1]]), this.to([at[0], at[1] + 1])];
    const frame = [i[0] - o[0], i[1] - o[1], j[0] - o[0], j[1] - o[1], o[0], o[1]];
    const period = look.stripes.reduce((sum, s) => sum + s.width, 0);
    const tile: SVGElement[] = [];
    let [wide, high, shear] = [period, 1000, 0];
    if (look.stripes.length) {
      let run = 0;
      for (const s of look.stripes) {
        const size = look.kind === "warp_stripe" ? { x: run, y: 0, width: s.width + 0.02, height: 1000 } : { x: 0, y: run, width: 1000, height: s.width + 0.02 };
        tile.push(makeSvg("rect", { ...size, fill: s.colour }));
        run += s.width;
      }
      if (look.kind === "weft_stripe") [wide, high] = [1000, period];
    } else if (look.motif) {
      [wide, high] = [look.across ?? 1, look.along ?? 1];
      shear = look.drop / wide;
      tile.push(makeSvg("rect", { width: wide, height: high, fill: look.ground }));
      for (const a of [0, 1]) {
        for (const b of [-1, 0, 1, 2]) {
          // Within the tile the drop is sheared away; the motif itself is not to be.
          const points = look.motif.outline.map(([p, q]) => {
            const x = p + a * wide;
            return `${x.toFixed(2)},${(q + b * high - shear * p).toFixed(2)}`;
          });
          tile.push(makeSvg("polygon", { points: points.join(" "), fill: look.motif.colour }));
        }
      }
    }
    const [a, b, c, d, e, f] = frame as [number, number, number, number, number, number];
    const matrix = `matrix(${a + c * shear} ${b + d * shear} ${c} ${d} ${e} ${f})`;
    const pattern = makeSvg("pattern", { id, width: wide, height: high, patternUnits: "userSpaceOnUse", patternTransform: matrix }, ...tile);
    return { defs: [makeSvg("defs", {}, pattern)], fill: `url(#${id})` };
  }

  private shape(piece: LaidPiece): SVGGElement {
    const id = this.idOf(piece);
    const group = makeSvg("g", { class: "lay-piece", role: "button", "data-piece": id, tabindex: -1 });
    group.append(makeSvg("path", { class: "lay-cut" }), makeSvg("g", { class: "lay-words" }));
    this.shapes.set(id, group);
    this.put(piece);
    return group;
  }

  /** Draw a piece where it lies. */
  private put(piece: LaidPiece): void {
    const group = this.shapes.get(this.idOf(piece));
    const cut = group?.firstElementChild;
    if (!group || !cut) return;
    attribute(cut, { d: this.path(outlineAt(piece)) });
    const at = Math.max(0, boxOf(outlineAt(piece)).y0);
    const pin = this.pinned.has(this.idOf(piece));
    attribute(group, { "aria-label": `${fullName(piece)}, ${shown(at, this.lay.inches)} from the cut end${pin ? ", pinned" : ""}` });
    group.classList.toggle("lay-pinned", pin);
    group.classList.toggle("lay-under", piece.layer === UNDER);
    this.letter(piece, group);
  }

  /** Write a piece's name on it where there is room at the present scale, else nothing. */
  private letter(piece: LaidPiece, group: SVGGElement): void {
    const words = group.lastElementChild;
    if (!words) return;
    const outline = outlineAt(piece).map((p) => this.to(p));
    const box = boxOf(outline);
    const [wide, high] = [box.x1 - box.x0, box.y1 - box.y0];
    const letter = LETTER_PX * this.look.mm;
    const lines = [piece.cushion, piece.name, piece.layer === UNDER ? UNDER : ""].filter(Boolean);
    const room = (w: number, h: number, n: number): boolean =>
      h > letter * 1.25 * n + letter * 0.4 && w > Math.max(...lines.slice(0, n).map((t) => t.length)) * letter * 0.52 + letter;
    const one = [lines.join(", ")];
    const fits = (w: number, h: number): string[] | null =>
      room(w, h, lines.length) ? lines : h > letter * 1.5 && w > (one[0] ?? "").length * letter * 0.52 + letter ? one : null;
    const level = fits(wide, high);
    const turned = level ? null : fits(high, wide);
    const text = level ?? turned;
    const centre: Point = [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
    const at = innerPointNear(outline, centre);
    words.replaceChildren();
    if (!text) return;
    const turn = turned ? ` rotate(-90)` : "";
    const block = makeSvg("g", { transform: `translate(${at[0].toFixed(1)} ${at[1].toFixed(1)})${turn}` });
    const longest = Math.max(...text.map((t) => t.length)) * letter * 0.52 + letter * 0.9;
    const tall = letter * (1.22 * text.length + 0.35);
    block.append(makeSvg("rect", { class: "lay-label", x: -longest / 2, y: -tall / 2, width: longest, height: tall, rx: letter * 0.25 }));
    text.forEach((line, i) => {
      const y = (i - (text.length - 1) / 2) * letter * 1.22 + letter * 0.34;
      block.append(makeSvg("text", { x: 0, y, "font-size": letter, "text-anchor": "middle", class: i === 0 && text.length > 1 ? "lay-strong" : null }, i < text.length - 1 ? `${line} ` : line)); // the space is for those who hear it
    });
    words.append(block);
  }

  /** The running measure along the selvage, and the words at the cloth's edges. */
  private drawRule(): void {
    const { width, length, inches } = this.lay;
    const { mm } = this.look;
    const steps = (inches ? [1, 3, 6, 12, 36, 72] : [10, 50, 100, 200, 500, 1000, 2000]).map((s) => s * (inches ? INCH : 1));
    const step = steps.find((s) => s / mm > 58) ?? steps[steps.length - 1] ?? 1000;
    const letter = 12 * mm;
    const edge = this.upright ? 0 : width;
    const out = this.upright ? -1 : 1;
    const parts: SVGElement[] = [];
    for (let v = 0; v <= length + 1e-6; v += step / 5) {
      const large = Math.abs(v / step - Math.round(v / step)) < 1e-6;
      const [a, b] = [this.to([edge, v]), this.to([edge + out * (large ? 8 : 4) * mm, v])];
      parts.push(makeSvg("line", { x1: a[0], y1: a[1], x2: b[0], y2: b[1], "stroke-width": mm }));
      if (!large) continue;
      const [x, y] = this.to([edge + out * 11 * mm, v]);
      const unit = Math.round(v / step) === 1 && !this.upright ? (inches ? " in" : " mm") : ""; // said once
      const words = `${inches ? Math.round(v / INCH) : Math.round(v)}${unit}`;
      parts.push(this.upright
        ? makeSvg("text", { x, y: y + letter * 0.35, "font-size": letter, "text-anchor": "end" }, words)
        : makeSvg("text", { x, y: y + letter * 0.8, "font-size": letter, "text-anchor": "middle" }, words));
    }
    parts.push(...this.edgeWords(letter), ...this.fold(letter));
    this.rule.replaceChildren(...parts);
  }

  /** Where the cloth is cut double: the fold on its middle, and how far it goes. */
  private fold(letter: number): SVGElement[] {
    const { folded, width } = this.lay;
    if (!folded) return [];
    const line = (points: readonly Point[], name: string): SVGElement =>
      makeSvg("path", { class: name, d: points.map((p, i) => `${i ? "L" : "M"}${this.to(p).join(" ")}`).join("") });
    const lines: readonly Point[][] = [[[width / 2, 0], [width / 2, folded]], [[0, folded], [width, folded]]];
    const [x, y] = this.to([width / 2, 0]);
    const [dx, dy] = this.upright ? [-0.4 * letter, -0.6 * letter] : [0.6 * letter, -0.4 * letter];
    const words = makeSvg("text", { "font-size": letter, class: "lay-fold-words", transform: `translate(${x + dx} ${y + dy}) rotate(${this.upright ? -90 : 0})` }, "folded here, face to face");
    return [...lines.map((points) => line(points, "lay-fold-ground")), ...lines.map((points) => line(points, "lay-fold")), words];
  }

  /** Which edge of the cloth is which. */
  private edgeWords(letter: number): SVGElement[] {
    const far = this.upright ? -0.6 * letter : 0.55 * letter;
    const [x, y] = this.to([0, 0]);
    const words = (text: string, at: Point, turn: number): SVGElement =>
      makeSvg("text", { "font-size": letter, class: "lay-edge-words", transform: `translate(${at[0]} ${at[1]}) rotate(${turn})` }, text);
    if (this.upright) return [words(`cut end: ${this.lay.inches ? "inches" : "millimetres"} from here`, [x, y + 1.6 * letter], 0)];
    const [ex, ey] = this.to([this.lay.width / 2, 0]);
    return [words(this.lay.selvage, [x, y - far], 0), words("cut end", [ex - far, ey + 1.6 * letter], -90)];
  }

  private showFacts(facts: LayData["facts"], said?: string): void {
    const parts = [`uses ${facts.uses}`, `nothing can use less than ${facts.least}`];
    if (facts.rows) parts.push(`cut by rows ${facts.rows}`);
    if (facts.saved) parts.push(`saves ${facts.saved}`);
    this.facts.replaceChildren(make("b", {}, parts[0] ?? ""), ` · ${parts.slice(1).join(" · ")}${said ? ` · ${said}` : ""}`);
  }

  // -- looking about ---------------------------------------------------------------------------

  private resized(afresh = false): void {
    const w = this.svg.clientWidth;
    if (!w) return;
    if (this.upright !== w < 620 && !afresh) return this.redraw();
    const { width, length } = this.lay;
    // No higher than the cloth needs: a short one would float in the middle of an upright frame.
    const steep = this.upright ? length / width : width / Math.max(length, width);
    const needs = Math.round(Math.max(200, (w - 2 * MARGIN_PX) * steep + 2 * MARGIN_PX));
    this.svg.style.height = "";
    const filling = document.fullscreenElement === this.frame;
    if (!filling && (!this.upright || needs < this.svg.clientHeight)) this.svg.style.height = `${needs}px`;
    const h = this.svg.clientHeight;
    if (w <= 2 * MARGIN_PX || h <= 2 * MARGIN_PX) return; // its styles have not come yet
    const [wide, high] = this.upright ? [width, length] : [length, width];
    this.whole = Math.max(wide / (w - 2 * MARGIN_PX), high / (h - 2 * MARGIN_PX));
    // Upright, a long lay is shown as wide as the screen, from the cut end on.
    const start = this.upright ? wide / (w - 2 * MARGIN_PX) : this.whole;
    if (afresh || !this.look.mm) {
      const [x, y] = this.to([width / 2, length / 2]);
      const cut = this.upright && start < this.whole ? -(h * start) / 2 + MARGIN_PX * start : y;
      this.look = { x, y: cut, mm: start };
    }
    this.aim();
  }

  private aim(): void {
    const { clientWidth: w, clientHeight: h } = this.svg;
    const { x, y, mm } = this.look;
    attribute(this.svg, { viewBox: `${x - (w * mm) / 2} ${y - (h * mm) / 2} ${w * mm} ${h * mm}` });
    this.svg.style.setProperty("--mm", `${mm}px`);
    this.svg.classList.toggle("lay-near", mm < this.whole * 0.98);
    this.drawRule();
    if (mm === this.lettered) return;
    this.lettered = mm;
    for (const piece of this.lay.pieces) {
      const group = this.shapes.get(this.idOf(piece));
      if (group) this.letter(piece, group);
    }
  }

  private zoom(by: number, at?: Point): void {
    const mm = Math.min(this.whole * 1.6, Math.max(0.12, this.look.mm / by));
    const [ax, ay] = at ?? [this.look.x, this.look.y];
    const k = mm / this.look.mm;
    this.look = { x: ax + (this.look.x - ax) * k, y: ay + (this.look.y - ay) * k, mm };
    this.aim();
  }

  /** A point of the screen on the drawing. */
  private drawn(e: { clientX: number; clientY: number }): Point {
    const box = this.svg.getBoundingClientRect();
    return [this.look.x + (e.clientX - box.left - box.width / 2) * this.look.mm, this.look.y + (e.clientY - box.top - box.height / 2) * this.look.mm];
  }

  private bringIntoView(piece: LaidPiece): void {
    const { clientWidth: w, clientHeight: h } = this.svg;
    const box = boxOf(outlineAt(piece).map((p) => this.to(p)));
    const [halfW, halfH] = [(w * this.look.mm) / 2 - 20 * this.look.mm, (h * this.look.mm) / 2 - 20 * this.look.mm];
    const pull = (at: number, lo: number, hi: number, half: number): number =>
      hi - lo > 2 * half ? (lo + hi) / 2 : Math.min(Math.max(at, hi - half), lo + half);
    const [x, y] = [pull(this.look.x, box.x0, box.x1, halfW), pull(this.look.y, box.y0, box.y1, halfH)];
    if (x === this.look.x && y === this.look.y) return;
    this.look = { ...this.look, x, y };
    this.aim();
  }

  // -- pieces ----------------------------------------------------------------------------------

  private idOf(piece: LaidPiece | undefined): string {
    return piece ? `${piece.key}|${piece.part_mm?.[0] ?? ""}` : "";
  }

  private byId(id: string | null): LaidPiece | undefined {
    return this.lay.pieces.find((p) => this.idOf(p) === id);
  }

  private inOrder(): LaidPiece[] {
    const at = (p: LaidPiece): Point => [boxOf(outlineAt(p)).y0, boxOf(outlineAt(p)).x0];
    return [...this.lay.pieces].sort((a, b) => at(a)[0] - at(b)[0] || at(a)[1] - at(b)[1]);
  }

  private choose(id: string, focus: boolean): void {
    this.active = id;
    this.markActive();
    const piece = this.byId(id);
    if (!piece) return;
    if (focus) {
      this.bringIntoView(piece);
      this.shapes.get(id)?.focus({ preventScroll: true });
    }
    this.told.say(this.shapes.get(id)?.getAttribute("aria-label") ?? "");
    this.light(piece.part, id);
    tell(this.element, "piece-lit", { part: piece.part, number: piece.number });
  }

  private markActive(): void {
    for (const [id, group] of this.shapes) {
      attribute(group, { tabindex: id === this.active ? 0 : -1, "aria-pressed": String(this.pinned.has(id)) });
      group.classList.toggle("lay-active", id === this.active);
    }
    const pin = this.active !== null && this.pinned.has(this.active);
    this.pinButton.disabled = !this.active;
    this.pinButton.textContent = pin ? "Unpin it" : "Pin it";
    attribute(this.pinButton, { "aria-pressed": String(pin) });
  }

  private light(part: string | null, id: string | null = null): void {
    for (const piece of this.lay.pieces) {
      const own = this.idOf(piece);
      this.shapes.get(own)?.classList.toggle("lay-lit", id !== null ? own === id : part !== null && piece.part === part);
    }
  }

  private togglePin(): void {
    const piece = this.byId(this.active);
    if (!piece) return;
    const id = this.idOf(piece);
    if (!this.pinned.delete(id)) this.pinned.add(id);
    this.put(piece);
    this.markActive();
    this.told.say(`${fullName(piece)} ${this.pinned.has(id) ? "stays where it is when the rest is laid again." : "may be laid elsewhere again."}`);
    this.sayChanged("piece-pinned", piece, { pinned: this.pinned.has(id) });
  }

  private move(piece: LaidPiece, [u, v]: Point): LaidPiece {
    const moved = { ...piece, u, v };
    this.lay = { ...this.lay, pieces: this.lay.pieces.map((p) => (p === piece ? moved : p)) };
    this.put(moved);
    return moved;
  }

  private sayChanged(event: string, piece: LaidPiece, more: Record<string, unknown>): void {
    this.writeChanged();
    tell(this.element, event, { cloth: this.lay.cloth, ...placeOf(piece), ...more });
  }

  /** Write what was moved and pinned into the page's field. */
  private writeChanged(): void {
    const was = new Map(this.first.pieces.map((p) => [this.idOf(p), p]));
    const moved = this.lay.pieces.filter((p) => {
      const old = was.get(this.idOf(p));
      return old && (Math.abs(old.u - p.u) > 1e-6 || Math.abs(old.v - p.v) > 1e-6);
    });
    writeField(this.element, {
      cloth: this.lay.cloth,
      moved: moved.map(placeOf),
      pinned: this.lay.pieces.filter((p) => this.pinned.has(this.idOf(p))).map(placeOf),
    });
  }

  // -- moving by hand --------------------------------------------------------------------------

  private takeUp(piece: LaidPiece, grip: Point): Held {
    this.shapes.get(this.idOf(piece))?.classList.add("lay-held");
    return { piece, from: [piece.u, piece.v], grip, neighbours: new Neighbours(this.lay, piece) };
  }

  /** Show a held piece at a place, right or wrong, and say what is wrong. */
  private tryAt(held: Held, at: Point): Wrong[] {
    const wrongs = held.neighbours.wrongs(held.piece, at);
    const group = this.shapes.get(this.idOf(held.piece));
    const cut = group?.firstElementChild;
    if (cut) attribute(cut, { d: this.path(outlineAt(held.piece, ...at)) });
    group?.classList.toggle("lay-wrong", wrongs.length > 0);
    group?.lastElementChild?.replaceChildren();
    this.told.say(this.saidOf(held.piece, at, wrongs));
    return wrongs;
  }

  private saidOf(piece: LaidPiece, [, v]: Point, wrongs: readonly Wrong[]): string {
    const print = (mm: number): string => (mm < 1 && !this.lay.inches ? `${mm.toFixed(1)} mm` : shown(mm, this.lay.inches));
    if (!wrongs.length) {
      const end = shown(Math.max(0, boxOf(outlineAt(piece, piece.u, v)).y0), this.lay.inches);
      return `${fullName(piece)}: may lie here, ${end} from the cut end.`;
    }
    return `${fullName(piece)}: ${wrongs.slice(0, 2).map((w) => wrongSaid(w, print)).join("; ")}.`;
  }

  private putDown(held: Held, at: Point): void {
    const wrongs = held.neighbours.wrongs(held.piece, at);
    const group = this.shapes.get(this.idOf(held.piece));
    group?.classList.remove("lay-held");
    const stays = Math.hypot(at[0] - held.from[0], at[1] - held.from[1]) < 1e-6;
    if (stays) {
      group?.classList.remove("lay-wrong");
      this.put(held.piece);
      return;
    }
    this.undone.push({ piece: this.idOf(held.piece), at: held.from });
    this.backButton.disabled = false;
    const piece = this.move(held.piece, at);
    group?.classList.toggle("lay-wrong", wrongs.length > 0);
    this.veilAnew();
    const length = lengthOf(this.lay.pieces);
    this.told.say(wrongs.length ? this.saidOf(piece, at, wrongs) : `${fullName(piece)} put down; the lay now takes ${shown(length, this.lay.inches)}.`);
    this.sayChanged("piece-moved", piece, { sound: wrongs.length === 0, wrong: wrongs, length_mm: length });
  }

  private takeBack(): void {
    const last = this.undone.pop();
    const piece = last && this.byId(last.piece);
    this.backButton.disabled = !this.undone.length;
    if (!last || !piece) return;
    const back = this.move(piece, last.at);
    this.shapes.get(last.piece)?.classList.remove("lay-wrong");
    this.veilAnew();
    this.told.say(`${fullName(back)} is back where it was.`);
    this.sayChanged("piece-moved", back, { sound: true, wrong: [], length_mm: lengthOf(this.lay.pieces) });
  }

  private veilAnew(): void {
    const { width, length } = this.lay;
    const cloth: Point[] = [[0, 0], [width, 0], [width, length], [0, length]];
    const veil = this.ground.querySelector(".lay-veil");
    if (veil) attribute(veil, { d: this.path(cloth) + this.lay.pieces.map((p) => this.path(outlineAt(p))).join("") });
  }

  // -- tools, hands, keys ----------------------------------------------------------------------

  private buildTools(): void {
    this.hands.set(false);
    const scale = make("div", { class: "m-choice", role: "group", "aria-label": "Scale" });
    scale.append(
      button("−", () => this.zoom(1 / 1.4), { "aria-label": "Smaller", class: "m-button m-square" }),
      button("+", () => this.zoom(1.4), { "aria-label": "Larger", class: "m-button m-square" }),
      button("Whole", () => this.showWhole()),
    );
    this.tools.append(this.hands.element, scale, this.pinButton, this.backButton, ...fillScreen(this.frame));
  }

  private setMoves(moves: boolean): void {
    this.moves = moves;
    this.svg.classList.toggle("lay-moves", moves);
  }

  private showWhole(): void {
    const [x, y] = this.to([this.lay.width / 2, this.lay.length / 2]);
    this.look = { x, y, mm: this.whole };
    this.aim();
  }

  private keysHelp(): HTMLElement {
    const rows: [string, string][] = [
      ["← → ↑ ↓", "to the next piece that way"],
      ["Enter", "take a piece up; again to put it down"],
      ["with one up", "arrows move it: to the next place of the match, or by 1 mm (Shift 10 mm) where it is free; Esc puts it back"],
      ["P", "pin it, unpin it"],
      ["+ −  0", "larger, smaller, whole"],
      ["Ctrl Z", "take the last move back"],
    ];
    const list = make("dl", { class: "m-keys" });
    for (const [key, what] of rows) list.append(make("div", {}, make("dt", {}, key), make("dd", {}, what)));
    return make("details", { class: "m-help" }, make("summary", {}, "Keys"), list);
  }

  private listen(): void {
    const signal = this.stopping.signal;
    const svg = this.svg;
    const fingers = new Map<number, Point>();
    let apart = 0;
    let dragged = false;
    let at: Point = [0, 0];
    const pieceAt = (e: Event): LaidPiece | undefined => {
      const group = (e.target as Element | null)?.closest?.("[data-piece]");
      return this.byId(group?.getAttribute("data-piece") ?? null);
    };
    svg.addEventListener("pointerdown", (e) => {
      if (e.button !== 0) return;
      fingers.set(e.pointerId, [e.clientX, e.clientY]);
      dragged = false;
      const piece = pieceAt(e);
      svg.setPointerCapture(e.pointerId);
      if (fingers.size === 2) {
        apart = spread(fingers);
        if (this.held) this.putDown(this.held, this.held.from);
        this.held = null;
      } else if (piece) {
        this.choose(this.idOf(piece), false);
        if (this.moves && !this.pinned.has(this.idOf(piece))) {
          const grip = this.from(this.drawn(e));
          this.held = this.takeUp(piece, [grip[0] - piece.u, grip[1] - piece.v]);
          at = this.held.from;
        } else if (this.moves) this.told.say(`${fullName(piece)} is pinned: unpin it to move it.`);
      }
    }, { signal });
    svg.addEventListener("pointermove", (e) => {
      const last = fingers.get(e.pointerId);
      if (!last) {
        const piece = e.pointerType === "touch" ? undefined : pieceAt(e);
        this.hover(piece);
        return;
      }
      fingers.set(e.pointerId, [e.clientX, e.clientY]);
      dragged ||= Math.hypot(e.clientX - last[0], e.clientY - last[1]) > 1;
      if (fingers.size === 2) {
        const now = spread(fingers);
        if (apart > 0) this.zoom(now / apart, this.drawn(e));
        apart = now;
      } else if (this.held) {
        const hand = this.from(this.drawn(e));
        at = this.held.neighbours.snapped(this.held.piece, [hand[0] - this.held.grip[0], hand[1] - this.held.grip[1]], REACH_PX * this.look.mm);
        this.tryAt(this.held, at);
      } else {
        this.look = { ...this.look, x: this.look.x - (e.clientX - last[0]) * this.look.mm, y: this.look.y - (e.clientY - last[1]) * this.look.mm };
        this.aim();
      }
    }, { signal });
    const up = (e: PointerEvent): void => {
      fingers.delete(e.pointerId);
      if (!this.held) return;
      this.putDown(this.held, e.type === "pointercancel" || !dragged ? this.held.from : at);
      this.held = null;
    };
    svg.addEventListener("pointerup", up, { signal });
    svg.addEventListener("pointercancel", up, { signal });
    svg.addEventListener("pointerleave", () => this.hover(undefined), { signal });
    svg.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && !svg.contains(document.activeElement)) return; // the page scrolls, unless the lay was taken up
      e.preventDefault();
      this.zoom(Math.exp(-e.deltaY * 0.0015), this.drawn(e));
    }, { signal, passive: false });
    svg.addEventListener("focusin", (e) => {
      const piece = pieceAt(e);
      if (piece && this.idOf(piece) !== this.active) this.choose(this.idOf(piece), false);
    }, { signal });
    svg.addEventListener("keydown", (e) => this.key(e), { signal });
    document.addEventListener("piece-lit", (e) => {
      if (e.target !== this.element) this.light((e as CustomEvent<{ part: string | null }>).detail.part);
    }, { signal });
  }

  private hovered: string | null = null;

  private hover(piece: LaidPiece | undefined): void {
    const id = piece ? this.idOf(piece) : null;
    if (id === this.hovered) return;
    this.hovered = id;
    this.light(piece?.part ?? null, id);
    if (piece) this.told.say(this.shapes.get(id ?? "")?.getAttribute("aria-label") ?? "");
    tell(this.element, "piece-lit", { part: piece?.part ?? null, number: piece?.number ?? null });
  }

  private key(e: KeyboardEvent): void {
    const piece = this.byId(this.active);
    const undo = (e.ctrlKey || e.metaKey) && e.key.toLowerCase() === "z";
    if (undo) this.takeBack();
    else if (e.ctrlKey || e.metaKey || e.altKey || !piece) return;
    else if (e.key.startsWith("Arrow")) this.arrow(e, piece);
    else if (e.key === "Enter" || e.key === " ") this.enter(piece);
    else if (e.key === "Escape" && this.keyed) {
      this.putDown(this.keyed, this.keyed.from);
      this.keyed = null;
    } else if (e.key.toLowerCase() === "p") this.togglePin();
    else if (e.key === "+" || e.key === "=") this.zoom(1.25);
    else if (e.key === "-") this.zoom(0.8);
    else if (e.key === "0") this.showWhole();
    else return;
    e.preventDefault();
  }

  private keyedAt: Point = [0, 0];

  private enter(piece: LaidPiece): void {
    if (this.keyed) {
      this.putDown(this.keyed, this.keyedAt);
      this.keyed = null;
    } else if (this.pinned.has(this.idOf(piece))) {
      this.told.say(`${fullName(piece)} is pinned: unpin it to move it.`);
    } else {
      this.keyed = this.takeUp(piece, [0, 0]);
      this.keyedAt = this.keyed.from;
      this.told.say(`${fullName(piece)} is up. Arrows move it, Enter puts it down.`);
    }
  }

  private arrow(e: KeyboardEvent, piece: LaidPiece): void {
    const ways: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
    const way = ways[e.key];
    if (!way) return;
    const [du, dv] = this.from(way);
    if (!this.keyed) return this.neighbour(piece, way);
    const [su, sv] = stepsOf(this.lay, this.keyed.piece);
    const free = e.shiftKey ? 10 : 1;
    const to: Point = [this.keyedAt[0] + du * (su ?? free), this.keyedAt[1] + dv * (sv ?? free)];
    // A step across a dropped repeat also takes the piece up or down: the nearest such place.
    this.keyedAt = su !== null || sv !== null ? nearestHeld(this.lay, this.keyed.piece, to) : to;
    this.tryAt(this.keyed, this.keyedAt);
  }

  /** Go to the nearest piece that way on the drawing. */
  private neighbour(piece: LaidPiece, [wx, wy]: Point): void {
    const middle = (p: LaidPiece): Point => {
      const box = boxOf(outlineAt(p).map((q) => this.to(q)));
      return [(box.x0 + box.x1) / 2, (box.y0 + box.y1) / 2];
    };
    const [x, y] = middle(piece);
    let best: { piece: LaidPiece; far: number } | null = null;
    for (const other of this.lay.pieces) {
      if (other === piece) continue;
      const [ox, oy] = middle(other);
      const on = (ox - x) * wx + (oy - y) * wy;
      const aside = Math.abs((ox - x) * wy) + Math.abs((oy - y) * wx);
      if (on <= 0.5) continue;
      const far = on + 2.2 * aside;
      if (!best || far < best.far) best = { piece: other, far };
    }
    if (best) this.choose(this.idOf(best.piece), true);
  }
}

function placeOf(p: LaidPiece): Record<string, unknown> {
  return { key: p.key, part_mm: p.part_mm, turn_deg: p.turn, u_mm: p.u, v_mm: p.v };
}

/** Tell whether two lays have the same pieces in the same places on the same cloth. */
function sameLay(a: LayData, b: LayData): boolean {
  const sum = (d: LayData): string => JSON.stringify([d.cloth, d.width, d.look, d.pattern_at, d.gap, d.flaws, d.pieces]);
  return sum(a) === sum(b);
}

function isProgress(data: unknown): data is Progress {
  return typeof data === "object" && data !== null && "progress" in data;
}

function spread(fingers: ReadonlyMap<number, Point>): number {
  const [a, b] = [...fingers.values()];
  return a && b ? Math.hypot(a[0] - b[0], a[1] - b[1]) : 0;
}

/** The middle of a piece's box where that lies on the piece, else a point well inside it. */
function innerPointNear(outline: readonly Point[], centre: Point): Point {
  const inner = innerPoint(outline);
  return inner && Math.hypot(inner[0] - centre[0], inner[1] - centre[1]) > 1 && outline.length > 4 ? inner : centre;
}
