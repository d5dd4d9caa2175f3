// The view of the cushions: turned and slid by hand or keys, told in words as well.

import * as THREE from "three";
import css from "../modules.css";
import { button, calm, choice, dressPage, fillScreen, make, recall, remember, tell, Told, writeField } from "../dom";
import { shown } from "../lengths";
import type { Mounted } from "../mounting";
import { nearestLine, standsOn, type Point } from "../pattern";
import { Body, wardrobe, type Wardrobe } from "./body";
import { clothTexture } from "./cloth";
import type { CushionScene, Patch, Scene } from "./scene";
import { Sliding, topOf } from "./sliding";
import { Stage, type Looking } from "./stage";

const START = { turn: -27, tilt: 30, near: 1 };
const VIEWS = [
  { words: "Front", value: { turn: 0, tilt: 18 } },
  { words: "Corner", value: { turn: START.turn, tilt: START.tilt } },
  { words: "Back", value: { turn: 180, tilt: 18 } },
  { words: "Above", value: { turn: 0, tilt: 88 } },
  { words: "Under", value: { turn: 0, tilt: -60 } },
] as const;

interface Shown {
  readonly words: string;
  readonly cushions: readonly CushionScene[];
  readonly row: boolean;
}

/** A drag of the cloth over one patch: everything needed to follow the hand without asking anyone. */
interface Drag {
  readonly cushion: CushionScene;
  readonly patch: Patch;
  readonly group: string;
  readonly anchor: Point;
  readonly plane: THREE.Plane;
  readonly from: THREE.Vector3;
  readonly axes: readonly [THREE.Vector3, THREE.Vector3];
}

/** What a person had chosen, when the page puts a new view in the place of this one. */
interface Kept {
  readonly words: string | undefined;
  readonly looking: Looking;
  readonly turned: boolean;
  readonly slides: boolean;
  readonly marks: boolean;
  readonly moved: ReadonlyMap<string, Point>;
  readonly focused: boolean;
}

export function mount(element: HTMLElement, data: unknown): Mounted {
  return new View(element, data as Scene);
}

class View implements Mounted {
  private readonly canvas = make("canvas", { class: "view-canvas", tabindex: 0, role: "img" });
  private readonly stage: Stage;
  private readonly told = new Told();
  private readonly frame = make("div", { class: "m-frame view-frame" });
  private readonly drifts = make("ul", { class: "view-drifts", hidden: true });
  private readonly heads = make("div", { class: "view-heads" });
  private readonly foot = make("div", { class: "m-tools" });
  private readonly larger = fillScreen(this.frame);
  private readonly watch: ResizeObserver;
  private readonly stopping = new AbortController();
  private scene: Scene;
  private clothes: Wardrobe;
  private sliding: Sliding;
  private bodies: Body[] = [];
  private shownNow = 0;
  private marks = false;
  private slides = false;
  private lit: string | null = null;
  private turning = 0;
  private waiting: unknown = null;
  /** Whether the canvas had the focus last: it is gone by the time an element is taken away. */
  private hadFocus = false;
  /** Whether a person has turned it yet. */
  private turned = false;

  constructor(
    private readonly element: HTMLElement,
    scene: Scene,
  ) {
    if (!scene.cushions.length) throw new Error("there is no cushion to show");
    dressPage(css);
    this.scene = scene;
    this.stage = new Stage(this.canvas);
    this.clothes = this.wardrobe();
    this.sliding = new Sliding(scene);
    this.frame.append(this.heads, this.canvas, this.told.element, this.foot, this.drifts, this.keysHelp());
    element.append(this.frame);
    this.watch = new ResizeObserver(() => this.fit());
    this.watch.observe(this.canvas);
    this.listen();
    this.takeUp(recall<Kept>(element));
    this.build();
    this.fit();
  }

  private takeUp(kept: Kept | null): void {
    if (!kept) return;
    this.shownNow = Math.max(0, this.options().findIndex((o) => o.words === kept.words));
    this.turned = true;
    this.stage.look(kept.looking);
    this.turned = kept.turned;
    this.marks = kept.marks;
    this.setSlides(kept.slides);
    for (const [group, anchor] of kept.moved) this.sliding.set(group, anchor);
    if (kept.focused && document.activeElement === document.body) this.canvas.focus({ preventScroll: true });
  }

  fresh(data: unknown): void {
    if (this.canvas.classList.contains("view-held")) {
      this.waiting = data; // a hand is on it: nothing is taken out from under it
      return;
    }
    const old = this.options()[this.shownNow]?.words;
    const before = this.scene;
    this.scene = data as Scene;
    if (JSON.stringify(before.cloths) === JSON.stringify(this.scene.cloths)) this.clothes = { ...this.clothes, scene: this.scene };
    else {
      this.clothes.textures.forEach((t) => t.dispose());
      this.clothes = this.wardrobe();
    }
    this.sliding = new Sliding(this.scene);
    this.shownNow = Math.max(0, this.options().findIndex((o) => o.words === old));
    this.build();
  }

  stop(): void {
    const kept: Kept = {
      words: this.options()[this.shownNow]?.words,
      looking: this.stage.view,
      turned: this.turned,
      slides: this.slides,
      marks: this.marks,
      moved: this.sliding.all(),
      focused: this.hadFocus,
    };
    remember(this.element, kept);
    this.stopping.abort();
    this.watch.disconnect();
    cancelAnimationFrame(this.turning);
    for (const body of this.bodies) body.dispose();
    this.stage.dispose();
    this.frame.remove();
  }

  private wardrobe(): Wardrobe {
    return wardrobe(this.scene, (look) => clothTexture(look, this.stage.anisotropy));
  }

  // -- what is shown ---------------------------------------------------------------------------

  private options(): Shown[] {
    const rows = this.scene.rows.map((row) => ({
      words: "Side by side",
      row: true,
      cushions: row.cushions.flatMap((m) => this.scene.cushions.find((c) => c.id === m.id && c.number === 1) ?? []),
    }));
    const single = this.scene.cushions.map((c) => ({
      words: c.count > 1 ? `${c.name} ${c.number}` : c.name,
      row: false,
      cushions: [c],
    }));
    return [...rows, ...single];
  }

  private build(): void {
    const options = this.options();
    this.heads.replaceChildren();
    if (options.length > 1) {
      const chosen = choice(
        "Which cushion",
        options.map((o, i) => ({ words: o.words, value: i })),
        (i) => this.show(i),
      );
      chosen.set(this.shownNow);
      this.heads.append(chosen.element);
    }
    this.buildTools();
    this.show(this.shownNow);
  }

  private buildTools(): void {
    this.foot.replaceChildren();
    const thing = this.patternWord();
    if (thing) {
      const hand = choice(
        "What dragging does",
        [
          { words: "Turn it", value: false },
          { words: `Slide the ${thing}`, value: true },
        ],
        (slides) => this.setSlides(slides),
      );
      hand.set(this.slides);
      this.foot.append(hand.element);
    } else {
      this.slides = false;
    }
    const views = make("div", { class: "m-choice", role: "group", "aria-label": "Look from" });
    for (const view of VIEWS) views.append(button(view.words, () => this.turnTo(view.value.turn, view.value.tilt)));
    const near = make("div", { class: "m-choice", role: "group", "aria-label": "How near" });
    near.append(
      button("−", () => this.stage.look({ near: this.stage.view.near / 1.25 }), { "aria-label": "Further away", class: "m-button m-square" }),
      button("+", () => this.stage.look({ near: this.stage.view.near * 1.25 }), { "aria-label": "Nearer", class: "m-button m-square" }),
    );
    this.foot.append(near, views);
    if (thing) {
      const marks = button(`Mark where the ${thing} drifts`, () => {
        this.marks = !this.marks;
        marks.setAttribute("aria-pressed", String(this.marks));
        this.showMarks();
      }, { "aria-pressed": String(this.marks) });
      this.foot.append(marks);
    }
    this.foot.append(...this.larger);
  }

  private patternWord(): string | null {
    const kinds = new Set(this.scene.cushions.flatMap((c) => c.patches.map((p) => this.scene.cloths[p.cloth]?.kind)));
    if (kinds.has("warp_stripe") || kinds.has("weft_stripe")) return "stripe";
    return kinds.has("print") ? "print" : null;
  }

  private show(index: number): void {
    this.shownNow = index;
    // What is shown goes once the new is drawn: what the two share, as the way cloth is drawn, need not be made again.
    const gone = this.bodies;
    const option = this.options()[index];
    if (!option) return gone.forEach((body) => body.dispose());
    const row = option.row ? this.scene.rows.find((r) => r.cushions.some((m) => m.id === option.cushions[0]?.id)) : undefined;
    if (row && !this.turned) this.stage.look({ turn: -14, tilt: 38 });
    this.bodies = option.cushions.map((cushion) => {
      const body = new Body(cushion, this.clothes);
      const at = row?.cushions.find((m) => m.id === cushion.id);
      if (at) {
        body.group.position.set(at.x, at.y, 0);
        body.group.rotation.z = (at.turn * Math.PI) / 180;
      }
      body.slide(this.sliding);
      body.showDrift(this.marks);
      body.light(this.lit);
      return body;
    });
    this.stage.show(
      this.bodies.map((b) => b.group),
      option.cushions,
      (c) => (option.row ? c.name : "front"),
    );
    this.stage.afterDrawing(() => gone.forEach((body) => body.dispose()));
    this.listDrifts();
    this.describe();
    this.canvas.dispatchEvent(new Event("shown"));
  }

  private showMarks(): void {
    for (const body of this.bodies) body.showDrift(this.marks);
    this.drifts.hidden = !this.marks;
    this.stage.draw();
  }

  private listDrifts(): void {
    const seams = this.bodies.flatMap((b) => b.cushion.seams.map((s) => ({ cushion: b.cushion, seam: s })));
    const worth = seams.filter(({ seam }) => seam.said && seam.verdict !== "not matched");
    const order = { miss: 0, "say so": 1, good: 2 } as const;
    worth.sort((a, b) => order[a.seam.verdict as keyof typeof order] - order[b.seam.verdict as keyof typeof order]);
    const many = this.bodies.length > 1;
    const lines = new Map<string, string>();
    for (const { cushion, seam } of worth) lines.set(many ? `${cushion.name}: ${seam.said ?? ""}` : capital(seam.said ?? ""), seam.verdict ?? "");
    this.drifts.replaceChildren(
      ...[...lines].map(([said, verdict]) => make("li", { class: `view-drift view-${verdict.replace(" ", "-")}` }, said)),
    );
    if (!lines.size) this.drifts.append(make("li", { class: "view-drift" }, "No seam of this cushion is matched."));
    this.drifts.hidden = !this.marks;
  }

  // -- words -----------------------------------------------------------------------------------

  private describe(): void {
    const option = this.options()[this.shownNow];
    if (!option) return;
    const cloths = [...new Set(option.cushions.flatMap((c) => c.patches.map((p) => this.scene.cloths[p.cloth]?.name ?? "")))];
    const names = option.cushions.map((c) => `${c.name}, ${c.sizes[0]} by ${c.sizes[1]}, ${c.sizes[2]} thick`).join("; ");
    this.canvas.setAttribute("aria-label", `${names}; in ${cloths.filter(Boolean).join(", ")}. Seen ${this.fromWhere()}.`);
    this.sayPlace();
  }

  private fromWhere(): string {
    const { turn, tilt } = this.stage.view;
    const about = ["the front", "the front right", "the right", "the back right", "the back", "the back left", "the left", "the front left"];
    const eighth = ((Math.round(turn / 45) % 8) + 8) % 8;
    if (tilt > 75) return "from above";
    const side = about[eighth] ?? "the front";
    return tilt < -10 ? `from under ${side}` : `from ${side}`;
  }

  /** Which line of the pattern stands on the centre line. */
  private sayPlace(cushion = this.bodies[0]?.cushion): void {
    const words = cushion ? this.placeWords(cushion) : null;
    const from = this.fromWhere();
    this.told.say(words ? capital(words) : `Seen ${from}.`);
  }

  private placeWords(cushion: CushionScene): string | null {
    const top = topOf(cushion);
    const look = top && this.scene.cloths[top.cloth];
    if (!top || !look || !cushion.pin || look.kind === "plain") return null;
    const [across, along] = standsOn(look, this.sliding.placeOf(top), cushion.pin.centre);
    const name = this.bodies.length > 1 ? `${cushion.name}: ` : "";
    if (across !== null && look.across) {
      const near = nearestLine(look.lines, across, look.across);
      if (near) {
        const away = shown(Math.abs(near.off), this.scene.inches);
        if (away.startsWith("0 ")) return `${name}${near.name} stands on the centre line.`;
        return `${name}${near.name} stands ${away} ${near.off > 0 ? "left" : "right"} of the centre line.`;
      }
      const away = shown(Math.min(across, look.across - across), this.scene.inches);
      return away.startsWith("0 ") ? `${name}the motif stands on the centre line.` : `${name}the motif stands ${away} from the centre line.`;
    }
    return along === null ? null : `${name}centre line ${shown(along, this.scene.inches)} into the repeat.`;
  }

  private keysHelp(): HTMLElement {
    const rows: [string, string][] = [
      ["← → ↑ ↓", "turn it; while sliding, move the cloth by 1 mm (with Shift by 10 mm)"],
      ["+ −", "nearer, further away"],
      ["S", "between turning and sliding"],
      ["Enter", "let the cloth stay where it was slid to"],
      ["Esc", "put it back where it was"],
      ["Home", "as at first"],
    ];
    const list = make("dl", { class: "m-keys" });
    for (const [key, what] of rows) list.append(make("div", {}, make("dt", {}, key), make("dd", {}, what)));
    return make("details", { class: "m-help" }, make("summary", {}, "Keys"), list);
  }

  // -- hands and keys --------------------------------------------------------------------------

  private setSlides(slides: boolean): void {
    this.slides = slides;
    this.canvas.classList.toggle("view-slides", slides);
    if (slides) this.sayPlace();
  }

  private listen(): void {
    const signal = this.stopping.signal;
    const canvas = this.canvas;
    const fingers = new Map<number, { x: number; y: number }>();
    let drag: Drag | null = null;
    let apart = 0;
    canvas.addEventListener("pointerdown", (e) => {
      if (e.button !== 0) return;
      canvas.focus({ preventScroll: true });
      canvas.setPointerCapture(e.pointerId);
      fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
      cancelAnimationFrame(this.turning);
      if (fingers.size === 1 && this.slides) drag = this.takeHold(e);
      if (fingers.size === 2) {
        apart = spread(fingers);
        if (drag) this.putBack(drag);
        drag = null;
      }
      canvas.classList.add("view-held");
    }, { signal });
    canvas.addEventListener("pointermove", (e) => {
      const last = fingers.get(e.pointerId);
      if (!last) return this.hover(e);
      fingers.set(e.pointerId, { x: e.clientX, y: e.clientY });
      if (fingers.size === 2) {
        const now = spread(fingers);
        if (apart > 0) this.stage.look({ near: (this.stage.view.near * now) / apart });
        apart = now;
      } else if (drag) this.follow(drag, e);
      else if (fingers.size === 1) {
        this.turned = true;
        const { turn, tilt } = this.stage.view;
        this.stage.look({ turn: turn - (e.clientX - last.x) * 0.45, tilt: tilt + (e.clientY - last.y) * 0.35 });
      }
    }, { signal });
    const up = (e: PointerEvent): void => {
      fingers.delete(e.pointerId);
      canvas.classList.remove("view-held");
      if (drag && e.type === "pointercancel") this.putBack(drag);
      else if (drag) this.letGo(drag);
      else this.describe();
      drag = null;
      if (this.waiting) this.fresh(this.waiting);
      this.waiting = null;
    };
    canvas.addEventListener("pointerup", up, { signal });
    canvas.addEventListener("pointercancel", up, { signal });
    canvas.addEventListener("pointerleave", () => this.tellLit(null), { signal });
    canvas.addEventListener("wheel", (e) => {
      if (!e.ctrlKey && document.activeElement !== canvas) return; // the page scrolls, unless the view was taken up
      e.preventDefault();
      this.stage.look({ near: this.stage.view.near * Math.exp(-e.deltaY * 0.0012) });
    }, { signal, passive: false });
    canvas.addEventListener("keydown", (e) => this.key(e), { signal });
    document.addEventListener("focusin", (e) => (this.hadFocus = e.target === canvas), { signal });
    document.addEventListener("piece-lit", (e) => {
      if (e.target !== this.element) this.lightPart((e as CustomEvent<{ part: string | null }>).detail.part);
    }, { signal });
    canvas.addEventListener("webglcontextlost", (e) => {
      e.preventDefault();
      this.element.dataset["state"] = "plain";
      this.stop();
    }, { signal });
  }

  private hit(e: PointerEvent): { body: Body; at: THREE.Intersection } | null {
    const box = this.canvas.getBoundingClientRect();
    const caster = new THREE.Raycaster();
    caster.ray.copy(this.stage.ray(e.clientX - box.left, e.clientY - box.top));
    const found = caster.intersectObjects(this.bodies.flatMap((b) => b.solid), false)[0];
    const body = found && this.bodies.find((b) => b.partOf(found.object) !== undefined);
    return found && body ? { body, at: found } : null;
  }

  private hover(e: PointerEvent): void {
    if (e.pointerType === "touch") return;
    const hit = this.hit(e);
    this.canvas.classList.toggle("view-over", !!hit && this.slides);
    this.tellLit(hit ? (hit.body.partOf(hit.at.object) ?? null) : null, hit?.body.cushion);
  }

  private tellLit(part: string | null, cushion?: CushionScene): void {
    if (part === this.lit) return;
    this.lightPart(part);
    tell(this.element, "piece-lit", { part, number: cushion?.number ?? null });
  }

  private lightPart(part: string | null): void {
    this.lit = part;
    for (const body of this.bodies) body.light(part);
    this.stage.draw();
  }

  private takeHold(e: PointerEvent): Drag | null {
    const hit = this.hit(e);
    const patch = hit?.body.patchOf(hit.at.object);
    if (!hit?.at.face || !patch) return null;
    if (!patch.group || (patch.follows[0] === 0 && patch.follows[1] === 0)) {
      this.told.say(`${patch.name} is not matched to anything: the lay chooses its place.`);
      return null;
    }
    const axes = axesOf(patch, [hit.at.face.a, hit.at.face.b, hit.at.face.c], hit.body.group);
    if (!axes) return null;
    const normal = new THREE.Vector3().crossVectors(axes[0], axes[1]).normalize();
    const plane = new THREE.Plane().setFromNormalAndCoplanarPoint(normal, hit.at.point);
    return { cushion: hit.body.cushion, patch, group: patch.group, anchor: this.sliding.of(patch.group), plane, from: hit.at.point.clone(), axes };
  }

  private follow(drag: Drag, e: PointerEvent): void {
    const box = this.canvas.getBoundingClientRect();
    const ray = this.stage.ray(e.clientX - box.left, e.clientY - box.top);
    if (Math.abs(ray.direction.dot(drag.plane.normal)) < 0.06) return;
    const at = ray.intersectPlane(drag.plane, new THREE.Vector3());
    if (!at) return;
    const by = inAxes(at.sub(drag.from), drag.axes);
    const anchor = this.sliding.drag(drag.patch, drag.anchor, by);
    this.moveGroup(drag.cushion, drag.group, anchor, 1.5);
  }

  /** Put a group where an anchor says, all its pieces on every cushion at once. */
  private moveGroup(cushion: CushionScene, group: string, anchor: Point, snapMm: number): void {
    this.sliding.set(group, this.sliding.snapped(cushion, group, anchor, snapMm).anchor);
    for (const body of this.bodies) body.slide(this.sliding);
    this.stage.draw();
    this.sayPlace(cushion);
  }

  private putBack(drag: { cushion: CushionScene; group: string; anchor: Point }): void {
    this.moveGroup(drag.cushion, drag.group, drag.anchor, 0);
  }

  private letGo(drag: { cushion: CushionScene; group: string; anchor: Point }): void {
    const now = this.sliding.of(drag.group);
    if (Math.hypot(now[0] - drag.anchor[0], now[1] - drag.anchor[1]) < 0.05) return;
    const detail = { pins: this.sliding.pins(drag.group, drag.cushion) };
    writeField(this.element, detail);
    tell(this.element, "pattern-moved", detail);
  }

  private key(e: KeyboardEvent): void {
    if (e.ctrlKey || e.metaKey || e.altKey) return;
    const ways: Record<string, Point> = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    const way = ways[e.key];
    const { turn, tilt, near } = this.stage.view;
    if (way && this.slides) this.slideBy([way[0] * (e.shiftKey ? 10 : 1), way[1] * (e.shiftKey ? 10 : 1)]);
    else if (way) this.stage.look({ turn: turn + way[0] * 7.5, tilt: tilt + way[1] * 5 });
    else if (e.key === "+" || e.key === "=") this.stage.look({ near: near * 1.15 });
    else if (e.key === "-") this.stage.look({ near: near / 1.15 });
    else if (e.key === "Home") this.turnTo(START.turn, START.tilt, 1);
    else if (e.key === "Enter" && this.slid) this.settle();
    else if (e.key === "Escape" && this.slid) this.unslide();
    else if (e.key.toLowerCase() === "s" && this.patternWord()) this.toggleSlides();
    else return;
    e.preventDefault();
    if (way && !this.slides) this.describe();
  }

  private toggleSlides(): void {
    this.setSlides(!this.slides);
    this.buildTools();
    this.told.say(this.slides ? "Arrow keys slide the cloth; Enter lets it stay." : "Arrow keys turn the cushion.");
  }

  /** A slide by keys that has not been settled yet. */
  private slid: { cushion: CushionScene; group: string; anchor: Point } | null = null;

  private slideBy(by: Point): void {
    const cushion = this.bodies[0]?.cushion;
    const top = cushion && topOf(cushion);
    if (!cushion || !top?.group) {
      this.told.say("The top panel is not matched to anything: the lay chooses its place.");
      return;
    }
    this.slid ??= { cushion, group: top.group, anchor: this.sliding.of(top.group) };
    this.moveGroup(cushion, top.group, this.sliding.drag(top, this.sliding.of(top.group), by), 0);
  }

  private settle(): void {
    if (this.slid) this.letGo(this.slid);
    this.slid = null;
  }

  private unslide(): void {
    if (this.slid) this.putBack(this.slid);
    this.slid = null;
  }

  private turnTo(turn: number, tilt: number, near = this.stage.view.near): void {
    cancelAnimationFrame(this.turning);
    this.turned = true;
    const from = this.stage.view;
    const round = ((((turn - from.turn + 180) % 360) + 360) % 360) - 180;
    const began = performance.now();
    const whole = calm() ? 0 : 380;
    const step = (): void => {
      const t = whole ? Math.min(1, (performance.now() - began) / whole) : 1;
      const k = t * t * (3 - 2 * t);
      this.stage.look({ turn: from.turn + round * k, tilt: from.tilt + (tilt - from.tilt) * k, near: from.near + (near - from.near) * k });
      if (t < 1) this.turning = requestAnimationFrame(step);
      else this.describe();
    };
    step();
  }

  private fit(): void {
    const { clientWidth, clientHeight } = this.canvas;
    if (clientWidth && clientHeight) this.stage.resize(clientWidth, clientHeight);
  }
}

function capital(words: string): string {
  return words.charAt(0).toUpperCase() + words.slice(1);
}

function spread(fingers: ReadonlyMap<number, { x: number; y: number }>): number {
  const [a, b] = [...fingers.values()];
  return a && b ? Math.hypot(a.x - b.x, a.y - b.y) : 0;
}

/** How the solid moves as a patch's own x and y grow, on one of its triangles. */
function axesOf(patch: Patch, [a, b, c]: readonly [number, number, number], group: THREE.Group): readonly [THREE.Vector3, THREE.Vector3] | null {
  const [la, lb, lc] = [patch.local[a], patch.local[b], patch.local[c]];
  const [sa, sb, sc] = [patch.solid[a], patch.solid[b], patch.solid[c]];
  if (!la || !lb || !lc || !sa || !sb || !sc) return null;
  const [ux, uy, vx, vy] = [lb[0] - la[0], lb[1] - la[1], lc[0] - la[0], lc[1] - la[1]];
  const area = ux * vy - uy * vx;
  if (Math.abs(area) < 1e-9) return null;
  const u = new THREE.Vector3(sb[0] - sa[0], sb[1] - sa[1], sb[2] - sa[2]);
  const v = new THREE.Vector3(sc[0] - sa[0], sc[1] - sa[1], sc[2] - sa[2]);
  const x = u.clone().multiplyScalar(vy / area).addScaledVector(v, -uy / area);
  const y = v.clone().multiplyScalar(ux / area).addScaledVector(u, -vx / area);
  return [x.applyEuler(group.rotation), y.applyEuler(group.rotation)];
}

/** A movement on the solid in a patch's own millimetres, by least squares. */
function inAxes(by: THREE.Vector3, [x, y]: readonly [THREE.Vector3, THREE.Vector3]): Point {
  const [xx, xy, yy] = [x.dot(x), x.dot(y), y.dot(y)];
  const [bx, by_] = [by.dot(x), by.dot(y)];
  const d = xx * yy - xy * xy;
  return Math.abs(d) < 1e-12 ? [0, 0] : [(bx * yy - by_ * xy) / d, (by_ * xx - bx * xy) / d];
}
