// The outline editor: a plan whose corners are drawn by hand or keys, and a list of its sides to type into.

import css from "../modules.css";
import { attribute, button, dressPage, make, makeSvg, recall, remember, tell, Told, writeField } from "../dom";
import { inchText, readLength, shown } from "../lengths";
import type { Mounted } from "../mounting";
import type { Point } from "../pattern";
import {
  addCorner, angleAt, drawn, dropCorner, fromOrigin, lengthOf, moveCorner, moveSide, setAngle, setLength, side, snapCorner, snapped,
  startOf, toJobFile, withSide, wrongWith, type Plan, type Side,
} from "./plan";

interface OutlineData {
  readonly name: string;
  readonly sides: readonly Side[];
  readonly inches: boolean;
}

const MARGIN_PX = 58;
const NEAR_PX = 7;
const MOST_KEPT = 200;
const INCH = 25.4;

/** What a person had drawn, when the page puts a new editor in the place of this one. */
interface Kept {
  readonly base: Plan;
  readonly plan: Plan;
  readonly past: Plan[];
  readonly future: Plan[];
  readonly step: number;
}

/** What a hand or the keys have hold of. */
type Chosen = { readonly kind: "corner" | "side"; readonly i: number };

export function mount(element: HTMLElement, data: unknown): Mounted {
  return new OutlineEditor(element, data as OutlineData);
}

class OutlineEditor implements Mounted {
  private readonly frame = make("div", { class: "m-frame outline-frame" });
  private readonly svg = makeSvg("svg", { class: "outline-plan", role: "group" });
  private readonly grid = makeSvg("g", { class: "outline-grid" });
  private readonly guides = makeSvg("g", { class: "outline-guides" });
  private readonly body = makeSvg("path", { class: "outline-body" });
  private readonly bent = makeSvg("path", { class: "outline-line" });
  private readonly sides = makeSvg("g");
  private readonly words = makeSvg("g", { class: "outline-words" });
  private readonly corners = makeSvg("g");
  private readonly list = make("ol", { class: "outline-list" });
  private readonly told = new Told();
  private readonly wrong = make("p", { class: "outline-wrong", role: "alert" });
  private readonly undoButton: HTMLButtonElement;
  private readonly redoButton: HTMLButtonElement;
  private readonly stopping = new AbortController();
  private readonly watch: ResizeObserver;
  private plan: Plan;
  /** The outline as the page has it. */
  private base: Plan;
  private past: Plan[] = [];
  private future: Plan[] = [];
  private chosen: Chosen = { kind: "corner", i: 0 };
  private step: number;
  private inches: boolean;
  private look = { x: 0, y: 0, mm: 1 };

  constructor(
    private readonly element: HTMLElement,
    data: OutlineData,
  ) {
    dressPage(css);
    this.inches = data.inches;
    this.plan = this.base = data.sides;
    this.step = this.inches ? INCH / 4 : 5;
    this.resume(recall<Kept>(element));
    this.undoButton = button("Undo", () => this.undo(), { disabled: true });
    this.redoButton = button("Redo", () => this.redo(), { disabled: true });
    attribute(this.svg, { "aria-label": `Plan of ${data.name}, seen from above; the sitter is at the bottom edge` });
    this.svg.append(this.grid, this.body, this.guides, this.bent, this.sides, this.words, this.corners);
    const legend = make("p", { class: "outline-legend" }, "Seen from above, you at the bottom edge. A whole line is seen, a broken one is not. Sides go round from the front to the right, the back and the left; angle and radius are those of the corner at a side’s end.");
    const plan = make("div", { class: "outline-left" }, this.svg, this.told.element, this.wrong, this.tools(), legend, this.keysHelp());
    this.frame.append(plan, this.list);
    element.append(this.frame);
    this.watch = new ResizeObserver(() => this.fit());
    this.watch.observe(this.svg);
    this.listen();
    this.rows();
    this.fit();
  }

  fresh(data: unknown): void {
    const next = data as OutlineData;
    this.inches = next.inches;
    if (samePlan(next.sides, this.base)) return; // what was drawn since stays
    this.base = next.sides;
    if (samePlan(next.sides, fromOrigin(this.plan))) return;
    this.past = [...this.past, this.plan].slice(-MOST_KEPT);
    this.future = [];
    this.plan = next.sides;
    this.rows();
    this.fit();
  }

  private resume(kept: Kept | null): void {
    if (!kept) return;
    this.step = kept.step;
    this.past = kept.past;
    if (!samePlan(kept.base, this.base)) return;
    this.plan = kept.plan;
    this.future = kept.future;
    if (!samePlan(fromOrigin(this.plan), this.base)) writeField(this.element, toJobFile(this.plan, this.unit()));
  }

  stop(): void {
    const kept: Kept = { base: this.base, plan: this.plan, past: this.past, future: this.future, step: this.step };
    remember(this.element, kept);
    this.stopping.abort();
    this.watch.disconnect();
    this.frame.remove();
  }

  // -- changes ---------------------------------------------------------------------------------

  /** Take a changed plan, keep the old one for undo, and tell the page. */
  private take(plan: Plan, said?: string, from: Plan = this.plan): void {
    if (plan === from) {
      this.plan = plan;
      this.draw();
      return;
    }
    this.past = [...this.past, from].slice(-MOST_KEPT);
    this.future = [];
    this.settle(plan, said);
  }

  private settle(plan: Plan, said?: string): void {
    const many = plan.length !== this.plan.length || this.list.childElementCount !== plan.length;
    this.plan = plan;
    if (this.chosen.i >= plan.length) this.chosen = { ...this.chosen, i: plan.length - 1 };
    if (many) this.rows();
    this.fit();
    if (said) this.told.say(said);
    const keys = toJobFile(plan, this.unit());
    writeField(this.element, keys);
    tell(this.element, "outline-changed", { ...keys, sound: wrongWith(plan, (mm) => this.print(mm)) === null });
  }

  private unit(): "in" | "mm" | "cm" | "m" {
    const named = this.element.dataset["unit"];
    if (named === "mm" || named === "cm" || named === "m" || named === "in") return named;
    return this.inches ? "in" : "mm";
  }

  private undo(): void {
    const last = this.past.pop();
    if (!last) return;
    this.future.push(this.plan);
    this.settle(last, "Undone.");
  }

  private redo(): void {
    const next = this.future.pop();
    if (!next) return;
    this.past.push(this.plan);
    this.settle(next, "Done again.");
  }

  // -- words -----------------------------------------------------------------------------------

  private print(mm: number): string {
    return shown(mm, this.inches);
  }

  /** A length for a field: in the job's unit, without it. */
  private typed(mm: number): string {
    return this.inches ? inchText(mm, 16) : String(Math.round(mm * 10) / 10 + 0);
  }

  private cornerName(i: number): string {
    return `Corner between ${side(this.plan, i).name} and ${side(this.plan, i + 1).name}`;
  }

  private cornerSaid(i: number): string {
    const s = side(this.plan, i);
    const round = s.corner > 0 ? `, radius ${this.print(s.corner)}` : "";
    const [x, y] = fromOrigin(this.plan)[i]?.to ?? [0, 0];
    return `${this.cornerName(i)}: ${this.print(x)} right, ${this.print(y)} back, ${angle(angleAt(this.plan, i))}${round}.`;
  }

  private sideSaid(i: number): string {
    const s = side(this.plan, i);
    const bow = s.rise ? `, ${s.rise > 0 ? "stands out" : "is hollow by"} ${this.print(Math.abs(s.rise))}` : "";
    return `${capital(s.name)}: ${this.print(lengthOf(this.plan, i))}${bow}, ${s.seen ? "seen" : "not seen"}.`;
  }

  // -- the plan --------------------------------------------------------------------------------

  private fit(): void {
    const w = this.svg.clientWidth;
    const h = this.svg.clientHeight;
    if (!w || !h) return;
    const xs = this.plan.map((s) => s.to[0]);
    const ys = this.plan.map((s) => s.to[1]);
    const bows = Math.max(0, ...this.plan.map((s) => s.rise));
    const [x0, x1, y0, y1] = [Math.min(...xs) - bows, Math.max(...xs) + bows, Math.min(...ys) - bows, Math.max(...ys) + bows];
    const mm = Math.max((x1 - x0) / (w - 2 * MARGIN_PX), (y1 - y0) / (h - 2 * MARGIN_PX), 0.05);
    this.look = { x: (x0 + x1) / 2, y: (y0 + y1) / 2, mm };
    this.draw();
  }

  private draw(): void {
    const { x, y, mm } = this.look;
    const [w, h] = [this.svg.clientWidth, this.svg.clientHeight];
    attribute(this.svg, { viewBox: `${x - (w * mm) / 2} ${-y - (h * mm) / 2} ${w * mm} ${h * mm}` });
    this.svg.style.setProperty("--mm", `${mm}px`);
    const shape = drawn(this.plan);
    attribute(this.body, { d: shape.whole });
    attribute(this.bent, { d: shape.corners });
    this.drawGrid();
    this.drawSides(shape.sides);
    this.drawCorners();
    this.fillRows();
    this.undoButton.disabled = !this.past.length;
    this.redoButton.disabled = !this.future.length;
    const wrong = wrongWith(this.plan, (v) => this.print(v));
    if (this.wrong.textContent !== (wrong ?? "")) this.wrong.textContent = wrong ?? "";
    this.svg.classList.toggle("outline-bad", wrong !== null);
  }

  private drawGrid(): void {
    const { x, y, mm } = this.look;
    const [w, h] = [this.svg.clientWidth * mm, this.svg.clientHeight * mm];
    const steps = this.inches ? [1, 2, 4, 6, 12, 24].map((s) => s * INCH) : [10, 20, 50, 100, 200, 500];
    const step = steps.find((s) => s / mm >= 26) ?? steps[steps.length - 1] ?? 100;
    const [ox, oy] = startOf(this.plan, 0);
    const lines: SVGElement[] = [];
    for (let gx = ox + Math.ceil((x - w / 2 - ox) / step) * step; gx < x + w / 2; gx += step) lines.push(makeSvg("line", { x1: gx, x2: gx, y1: -y - h / 2, y2: -y + h / 2 }));
    for (let gy = oy + Math.ceil((y - h / 2 - oy) / step) * step; gy < y + h / 2; gy += step) lines.push(makeSvg("line", { y1: -gy, y2: -gy, x1: x - w / 2, x2: x + w / 2 }));
    this.grid.replaceChildren(...lines);
  }

  private drawSides(paths: readonly string[]): void {
    const { mm } = this.look;
    const keep = this.sides.children.length === this.plan.length;
    if (!keep) this.sides.replaceChildren(...this.plan.map((_, i) => this.newSide(i)));
    const labels: SVGElement[] = [];
    this.plan.forEach((s, i) => {
      const group = this.sides.children[i];
      if (!group) return;
      attribute(group, { "aria-label": this.sideSaid(i) });
      group.classList.toggle("outline-unseen", !s.seen);
      group.classList.toggle("outline-chosen", this.chosen.kind === "side" && this.chosen.i === i);
      for (const path of group.children) attribute(path, { d: paths[i] });
      labels.push(...this.sideWords(i, mm));
    });
    this.words.replaceChildren(...labels);
  }

  private newSide(i: number): SVGElement {
    return makeSvg(
      "g",
      { class: "outline-side", role: "button", tabindex: 0, "data-side": i },
      makeSvg("path", { class: "outline-grip" }),
      makeSvg("path", { class: "outline-line" }),
    );
  }

  /** A side's length outside it, its name inside, turned along it and never upside down. */
  private sideWords(i: number, mm: number): SVGElement[] {
    const [a, b] = [startOf(this.plan, i), side(this.plan, i).to];
    const long = lengthOf(this.plan, i);
    if (long < 1) return [];
    const out: Point = [(b[1] - a[1]) / long, -(b[0] - a[0]) / long];
    const { rise, name } = side(this.plan, i);
    const middle: Point = [(a[0] + b[0]) / 2 + out[0] * rise, (a[1] + b[1]) / 2 + out[1] * rise];
    let turn = (-Math.atan2(b[1] - a[1], b[0] - a[0]) * 180) / Math.PI;
    if (turn > 90.01 || turn <= -90.01) turn += 180;
    const letter = 15 * mm;
    const put = (words: string, off: number, kind: string): SVGElement => {
      const at: Point = [middle[0] + out[0] * off, middle[1] + out[1] * off];
      return makeSvg("text", { class: kind, "font-size": letter, "text-anchor": "middle", transform: `translate(${at[0]} ${-at[1]}) rotate(${turn})`, dy: letter * 0.34 }, words);
    };
    const parts = [put(this.print(long), 24 * mm, "outline-measure")];
    if (long / mm > name.length * 8 + 24) parts.push(put(name, -20 * mm, "outline-name"));
    return parts;
  }

  private drawCorners(): void {
    const { mm } = this.look;
    if (this.corners.children.length !== this.plan.length) {
      this.corners.replaceChildren(
        ...this.plan.map((_, i) =>
          makeSvg("g", { class: "outline-corner", role: "button", tabindex: 0, "data-corner": i }, makeSvg("circle", { class: "outline-touch" }), makeSvg("circle", { class: "outline-dot" })),
        ),
      );
    }
    this.plan.forEach((s, i) => {
      const group = this.corners.children[i];
      if (!group) return;
      attribute(group, { "aria-label": this.cornerSaid(i) });
      group.classList.toggle("outline-chosen", this.chosen.kind === "corner" && this.chosen.i === i);
      const [touch, dot] = group.children;
      if (touch) attribute(touch, { cx: s.to[0], cy: -s.to[1], r: 22 * mm });
      if (dot) attribute(dot, { cx: s.to[0], cy: -s.to[1], r: 7 * mm });
    });
  }

  private showGuides(at: Point, onX: boolean, onY: boolean): void {
    const { x, y, mm } = this.look;
    const [w, h] = [this.svg.clientWidth * mm, this.svg.clientHeight * mm];
    const lines: SVGElement[] = [];
    if (onX) lines.push(makeSvg("line", { x1: at[0], x2: at[0], y1: -y - h / 2, y2: -y + h / 2 }));
    if (onY) lines.push(makeSvg("line", { y1: -at[1], y2: -at[1], x1: x - w / 2, x2: x + w / 2 }));
    this.guides.replaceChildren(...lines);
  }

  // -- the list of sides -----------------------------------------------------------------------

  private rows(): void {
    this.list.replaceChildren(...this.plan.map((_, i) => this.row(i)));
    this.fillRows();
  }

  private row(i: number): HTMLElement {
    const unit = this.inches ? "in" : "mm";
    const field = (kind: string, label: string, set: (text: string) => boolean): HTMLElement => {
      const input = make("input", { type: "text", inputmode: "text", autocomplete: "off", "data-row": kind });
      const fault = make("span", { class: "outline-fault", "aria-live": "polite" });
      input.addEventListener("change", () => {
        const good = set(input.value);
        attribute(input, { "aria-invalid": good ? null : "true" });
        fault.textContent = good ? "" : `"${input.value}" is not ${this.wanted(kind)}.`;
        if (good) this.fillRows();
      });
      input.addEventListener("focus", () => this.choose({ kind: kind === "angle" || kind === "corner" ? "corner" : "side", i }, false));
      return make("label", { class: `outline-field outline-${kind}` }, make("span", {}, label), input, fault);
    };
    const length = (then: (mm: number) => Plan, least: number, said: (mm: number) => string): ((text: string) => boolean) => (text) => {
      const mm = readLength(text, this.unit());
      if (mm === null || mm < least) return false;
      this.take(then(mm), said(mm));
      return true;
    };
    const seen = make("input", { type: "checkbox", "data-row": "seen" });
    seen.addEventListener("change", () => this.take(withSide(this.plan, i, { seen: seen.checked }), this.sideSaid(i)));
    const row = make(
      "li",
      { class: "outline-row" },
      field("name", "Side", (text) => this.rename(i, text)),
      field("length", `Length, ${unit}`, length((mm) => setLength(this.plan, i, mm), 0.5, (mm) => `${side(this.plan, i).name} ${this.print(mm)}.`)),
      field("rise", `Stands out, ${unit}`, length((mm) => withSide(this.plan, i, { rise: mm }), -20000, () => this.sideSaid(i))),
      field("angle", "Angle, °", (text) => this.giveAngle(i, text)),
      field("corner", `Radius, ${unit}`, length((mm) => withSide(this.plan, i, { corner: mm }), 0, () => this.cornerSaid(i))),
      make("label", { class: "outline-field outline-seen" }, seen, make("span", {}, "Seen")),
    );
    return row;
  }

  private wanted(kind: string): string {
    if (kind === "name") return "a name that is free";
    if (kind === "angle") return "an angle from 1 to 359 degrees";
    return `a length such as ${this.inches ? "22 1/2" : "560"}`;
  }

  private rename(i: number, text: string): boolean {
    const name = text.trim();
    if (!name || name.length > 40 || this.plan.some((s, k) => k !== i && s.name === name && !touching(this.plan, i, k))) return false;
    this.take(withSide(this.plan, i, { name }), `${name}.`);
    return true;
  }

  private giveAngle(i: number, text: string): boolean {
    const degrees = Number(text.replace(",", ".").replace("°", "").trim());
    if (!text.trim() || !(degrees >= 1 && degrees <= 359)) return false;
    this.take(setAngle(this.plan, i, degrees), this.cornerSaid(i));
    return true;
  }

  /** Show the plan's figures in the fields; what is being typed stays as it is typed. */
  private fillRows(): void {
    this.plan.forEach((s, i) => {
      const row = this.list.children[i];
      if (!row) return;
      row.classList.toggle("outline-chosen", this.chosen.i === i);
      const values: Record<string, string> = {
        name: s.name,
        length: this.typed(lengthOf(this.plan, i)),
        rise: this.typed(s.rise),
        angle: String(Math.round(angleAt(this.plan, i) * 10) / 10),
        corner: this.typed(s.corner),
      };
      for (const input of row.querySelectorAll<HTMLInputElement>("[data-row]")) {
        const kind = input.dataset["row"] ?? "";
        if (kind === "seen") input.checked = s.seen;
        // What could not be read stays as it was typed until it is mended.
        else if (document.activeElement !== input && !input.hasAttribute("aria-invalid")) input.value = values[kind] ?? "";
      }
    });
  }

  // -- tools, hands, keys ----------------------------------------------------------------------

  private tools(): HTMLElement {
    const steps: [string, number][] = this.inches
      ? [["1 in", INCH], ["1/2 in", INCH / 2], ["1/4 in", INCH / 4], ["1/8 in", INCH / 8], ["1/16 in", INCH / 16]]
      : [["50 mm", 50], ["10 mm", 10], ["5 mm", 5], ["1 mm", 1]];
    const select = make("select", { class: "outline-step" });
    for (const [words, mm] of steps) select.append(make("option", { value: mm, selected: Math.abs(mm - this.step) < 1e-9 }, words));
    select.addEventListener("change", () => (this.step = Number(select.value)));
    return make(
      "div",
      { class: "m-tools" },
      make("label", { class: "outline-snap" }, "Snaps to ", select),
      button("New corner", () => this.newCorner()),
      button("Take corner away", () => this.lessCorner()),
      this.undoButton,
      this.redoButton,
    );
  }

  private keysHelp(): HTMLElement {
    const rows: [string, string][] = [
      ["Tab", "to the next side or corner"],
      ["← → ↑ ↓", "move it by the snap; with Shift by ten"],
      ["+ −", "a corner rounder, squarer; a side further out, in"],
      ["N", "a new corner in the middle of the side"],
      ["Delete", "take the corner away"],
      ["S", "the side is seen, is not"],
      ["Ctrl Z, Y", "undo, redo"],
    ];
    const list = make("dl", { class: "m-keys" });
    for (const [key, what] of rows) list.append(make("div", {}, make("dt", {}, key), make("dd", {}, what)));
    return make("details", { class: "m-help" }, make("summary", {}, "Keys"), list);
  }

  private choose(chosen: Chosen, focus: boolean): void {
    this.chosen = chosen;
    this.draw();
    this.told.say(chosen.kind === "corner" ? this.cornerSaid(chosen.i) : this.sideSaid(chosen.i));
    if (focus) this.groupOf(chosen)?.focus({ preventScroll: true });
  }

  private groupOf({ kind, i }: Chosen): SVGElement | undefined {
    return (kind === "corner" ? this.corners : this.sides).children[i] as SVGElement | undefined;
  }

  private newCorner(): void {
    const { i } = this.chosen;
    this.take(addCorner(this.plan, i), `A new corner in the middle of ${side(this.plan, i).name}.`);
    this.choose({ kind: "corner", i }, true);
  }

  private lessCorner(): void {
    const { i } = this.chosen;
    if (this.plan.length <= 3) {
      this.told.say("Three corners are the least.");
      return;
    }
    const said = `${this.cornerName(i)} taken away.`;
    this.take(dropCorner(this.plan, i), said);
    const left = Math.min(i, this.plan.length - 1);
    this.chosen = { kind: "corner", i: left };
    this.draw();
    this.groupOf(this.chosen)?.focus({ preventScroll: true });
  }

  private chosenAt(e: Event): Chosen | null {
    const group = (e.target as Element | null)?.closest?.("[data-corner], [data-side]");
    const corner = group?.getAttribute("data-corner");
    if (corner) return { kind: "corner", i: Number(corner) };
    const own = group?.getAttribute("data-side");
    return own ? { kind: "side", i: Number(own) } : null;
  }

  private at(e: PointerEvent): Point {
    const box = this.svg.getBoundingClientRect();
    return [this.look.x + (e.clientX - box.left - box.width / 2) * this.look.mm, this.look.y - (e.clientY - box.top - box.height / 2) * this.look.mm];
  }

  private listen(): void {
    const signal = this.stopping.signal;
    let hold: { chosen: Chosen; from: Plan; at: Point; id: number } | null = null;
    this.svg.addEventListener("pointerdown", (e) => {
      const chosen = this.chosenAt(e);
      if (!chosen || e.button !== 0 || hold) return;
      e.preventDefault();
      this.choose(chosen, true);
      hold = { chosen, from: this.plan, at: this.at(e), id: e.pointerId };
      this.svg.setPointerCapture(e.pointerId);
    }, { signal });
    this.svg.addEventListener("pointermove", (e) => {
      if (hold?.id === e.pointerId) this.dragTo(hold, this.at(e));
    }, { signal });
    const up = (e: PointerEvent): void => {
      if (!hold || hold.id !== e.pointerId) return;
      const { from } = hold;
      hold = null;
      this.guides.replaceChildren();
      if (e.type === "pointercancel") this.plan = from;
      else if (!samePlan(this.plan, from)) return this.take(this.plan, undefined, from);
      this.draw();
    };
    this.svg.addEventListener("pointerup", up, { signal });
    this.svg.addEventListener("pointercancel", up, { signal });
    this.svg.addEventListener("focusin", (e) => {
      const chosen = this.chosenAt(e);
      if (chosen && (chosen.kind !== this.chosen.kind || chosen.i !== this.chosen.i)) this.choose(chosen, false);
    }, { signal });
    this.svg.addEventListener("keydown", (e) => this.key(e), { signal });
    this.frame.addEventListener("keydown", (e) => {
      const word = e.key.toLowerCase();
      if (!(e.ctrlKey || e.metaKey) || e.target instanceof HTMLInputElement || (word !== "z" && word !== "y")) return;
      e.preventDefault();
      if (word === "y" || e.shiftKey) this.redo();
      else this.undo();
    }, { signal });
  }

  /** Follow the hand; nothing is told to the page before it lets go. */
  private dragTo(hold: { chosen: Chosen; from: Plan; at: Point }, hand: Point): void {
    const { kind, i } = hold.chosen;
    const [dx, dy] = [hand[0] - hold.at[0], hand[1] - hold.at[1]];
    const [ox, oy] = startOf(hold.from, 0);
    if (kind === "corner") {
      const old = side(hold.from, i).to;
      const rel = hold.from.map((s) => ({ ...s, to: [s.to[0] - ox, s.to[1] - oy] as Point }));
      const found = snapCorner(rel, i, [old[0] + dx - ox, old[1] + dy - oy], this.step, Math.max(NEAR_PX * this.look.mm, this.step * 0.5));
      const to: Point = [found.at[0] + ox, found.at[1] + oy];
      this.plan = moveCorner(hold.from, i, to);
      this.showGuides(to, found.onX, found.onY);
      this.told.say(this.cornerSaid(i));
    } else {
      this.plan = moveSide(hold.from, i, [snapped(dx, this.step), snapped(dy, this.step)]);
      this.told.say(this.sideSaid(i));
    }
    this.draw();
  }

  private key(e: KeyboardEvent): void {
    const chosen = this.chosenAt(e);
    if (!chosen || e.ctrlKey || e.metaKey || e.altKey) return;
    const { kind, i } = chosen;
    this.chosen = chosen;
    const ways: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const way = ways[e.key];
    const k = this.step * (e.shiftKey ? 10 : 1);
    const s = side(this.plan, i);
    const grow = e.key === "+" || e.key === "=" ? 1 : e.key === "-" ? -1 : 0;
    if (way && kind === "corner") this.take(moveCorner(this.plan, i, [s.to[0] + way[0] * k, s.to[1] + way[1] * k]));
    else if (way) this.take(moveSide(this.plan, i, [way[0] * k, way[1] * k]));
    else if (grow && kind === "corner") this.take(withSide(this.plan, i, { corner: Math.max(0, s.corner + grow * this.step) }));
    else if (grow) this.take(withSide(this.plan, i, { rise: Math.abs(s.rise + grow * this.step) < 1e-9 ? 0 : s.rise + grow * this.step }));
    else if (e.key.toLowerCase() === "n") this.newCorner();
    else if (e.key === "Delete" || e.key === "Backspace") this.lessCorner();
    else if (e.key.toLowerCase() === "s" && kind === "side") this.take(withSide(this.plan, i, { seen: !s.seen }));
    else return;
    e.preventDefault();
    const now = this.chosen;
    this.told.say(now.kind === "corner" ? this.cornerSaid(now.i) : this.sideSaid(now.i));
  }
}

function samePlan(a: Plan, b: Plan): boolean {
  return a.length === b.length && a.every((s, i) => {
    const t = b[i];
    return t && s.name === t.name && s.seen === t.seen && Math.hypot(s.to[0] - t.to[0], s.to[1] - t.to[1]) < 0.02 && Math.abs(s.rise - t.rise) < 0.02 && Math.abs(s.corner - t.corner) < 0.02;
  });
}

/** Two stretches may share a name where one follows the other. */
function touching(plan: Plan, i: number, k: number): boolean {
  const apart = Math.abs(i - k);
  return apart === 1 || apart === plan.length - 1;
}

function angle(degrees: number): string {
  return Math.abs(degrees - 90) < 0.05 ? "square" : `${Math.round(degrees * 10) / 10}°`;
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}
