// The stage on which bodies stand: light, ground, camera, and the drawing of a frame when one is due.

import * as THREE from "three";
import type { Point } from "../pattern";
import { CHALK } from "./body";
import type { CushionScene } from "./scene";

const SEEN_DEG = 26;
/** Frames further apart than this are late; further apart than that, nothing was moving. */
const LATE_MS = 30;
const SLOWEST_MS = 1200;
const COARSE = 0.45;

export interface Looking {
  /** Degrees clockwise of the front as seen from above: 0 front, 180 back. */
  readonly turn: number;
  /** Degrees above level. */
  readonly tilt: number;
  /** 1 shows everything. */
  readonly near: number;
}

export class Stage {
  readonly camera = new THREE.PerspectiveCamera(SEEN_DEG, 1, 10, 60000);
  readonly scene = new THREE.Scene();
  readonly renderer: THREE.WebGLRenderer;
  private readonly sun = new THREE.DirectionalLight(0xfff6e6, 2.0);
  private readonly lamp = new THREE.DirectionalLight(0xffffff, 0.85);
  private readonly ground = new THREE.Group();
  private corners: THREE.Vector3[] = [];
  private looking: Looking = { turn: -27, tilt: 30, near: 1 };
  private due = 0;
  private gone = false;
  private readonly ratio = Math.min(window.devicePixelRatio || 1, 2);
  /** Between frames that followed one another, ms, newest last. */
  private readonly lately: number[] = [];
  private last = 0;
  /** The machine is slow: what moves is drawn more coarsely, and finely again once it stands still. */
  private slow = false;
  private settling = 0;
  private readonly after: (() => void)[] = [];

  constructor(readonly canvas: HTMLCanvasElement) {
    this.renderer = new THREE.WebGLRenderer({ canvas, antialias: true, alpha: true, powerPreference: "low-power" });
    this.renderer.setPixelRatio(this.ratio);
    this.camera.up.set(0, 0, 1);
    this.scene.add(new THREE.HemisphereLight(0xffffff, 0xe0d6c2, 1.5), this.sun, this.sun.target, this.ground);
    this.camera.add(this.lamp);
    this.lamp.position.set(-0.3, 0.6, 1);
    this.scene.add(this.camera);
  }

  get anisotropy(): number {
    return this.renderer.capabilities.getMaxAnisotropy();
  }

  /** Put these cushions on the stage; `words` stands on the ground before the front of each. */
  show(groups: readonly THREE.Group[], cushions: readonly CushionScene[], words: (c: CushionScene) => string): void {
    for (const old of this.scene.children.filter((c) => c.userData["body"])) this.scene.remove(old);
    for (const group of groups) {
      group.userData["body"] = true;
      this.scene.add(group);
    }
    const box = new THREE.Box3();
    for (const group of groups) box.expandByObject(group);
    this.lightUp(box);
    this.layGround(groups, cushions, words, box);
    // Room for the shadow, and for the words before the front.
    const room = box.clone().expandByVector(new THREE.Vector3(34, 34, 0));
    this.corners = cornersOf(room);
    this.look(this.looking);
  }

  get view(): Looking {
    return this.looking;
  }

  look(at: Partial<Looking>): void {
    const wanted = { ...this.looking, ...at };
    this.looking = {
      turn: ((((wanted.turn + 180) % 360) + 360) % 360) - 180,
      tilt: Math.min(88, Math.max(-75, wanted.tilt)),
      near: Math.min(6, Math.max(0.7, wanted.near)),
    };
    this.aim();
    this.draw();
  }

  resize(width: number, height: number): void {
    this.renderer.setSize(width, height, false);
    this.camera.aspect = width / height;
    this.camera.updateProjectionMatrix();
    this.aim();
    this.draw();
  }

  /** Draw a frame at the screen's next turn. */
  draw(): void {
    if (this.due || this.gone) return;
    this.due = requestAnimationFrame((now) => {
      this.due = 0;
      this.pace(now);
      this.renderer.render(this.scene, this.camera);
      for (const then of this.after.splice(0)) then();
    });
  }

  /** Do something once the next frame is drawn. */
  afterDrawing(then: () => void): void {
    this.after.push(then);
    this.draw();
  }

  /** Keep up with the hand: where frames come late, draw fewer pixels until the hand rests. */
  private pace(now: number): void {
    const since = now - this.last;
    this.last = now;
    if (since < SLOWEST_MS) this.lately.push(since);
    if (this.lately.length > 6) this.lately.shift();
    if (this.lately.length === 6 && this.lately.reduce((a, b) => a + b) / 6 > LATE_MS) this.slow = true;
    if (!this.slow || since >= SLOWEST_MS) return;
    this.fineness(this.ratio * COARSE);
    window.clearTimeout(this.settling);
    this.settling = window.setTimeout(() => {
      this.last = 0;
      this.fineness(this.ratio);
      this.draw();
    }, 260);
  }

  private fineness(ratio: number): void {
    if (this.renderer.getPixelRatio() !== ratio) this.renderer.setPixelRatio(ratio);
  }

  dispose(): void {
    this.gone = true;
    cancelAnimationFrame(this.due);
    window.clearTimeout(this.settling);
    for (const then of this.after.splice(0)) then();
    this.renderer.dispose();
  }

  /** A ray through a point of the canvas, in its own pixels from the top left. */
  ray(x: number, y: number): THREE.Ray {
    const box = this.canvas.getBoundingClientRect();
    const caster = new THREE.Raycaster();
    caster.setFromCamera(new THREE.Vector2((2 * x) / box.width - 1, 1 - (2 * y) / box.height), this.camera);
    return caster.ray;
  }

  private aim(): void {
    if (!this.corners.length) return;
    const { turn, tilt, near } = this.looking;
    const [a, e] = [(turn * Math.PI) / 180, (tilt * Math.PI) / 180];
    // From the cushion to the eye.
    const eye = new THREE.Vector3(Math.sin(a) * Math.cos(e), -Math.cos(a) * Math.cos(e), Math.sin(e));
    const right = new THREE.Vector3(Math.cos(a), Math.sin(a), 0);
    const up = new THREE.Vector3().crossVectors(eye, right);
    const { target, far } = fitted(this.corners, right, up, eye, this.camera.aspect);
    this.camera.position.copy(target).addScaledVector(eye, far / near);
    this.camera.up.set(0, 0, 1);
    this.camera.lookAt(target);
    this.camera.near = Math.max(5, far / near / 60);
    this.camera.far = far / near + 12000;
    this.camera.updateProjectionMatrix();
    this.ground.visible = tilt > -2;
  }

  private lightUp(box: THREE.Box3): void {
    const middle = box.getCenter(new THREE.Vector3());
    const size = box.getSize(new THREE.Vector3()).length();
    this.sun.target.position.copy(middle);
    this.sun.position.copy(middle).add(new THREE.Vector3(-0.62, -0.5, 0.78).normalize().multiplyScalar(size * 1.6));
  }

  private layGround(
    groups: readonly THREE.Group[],
    cushions: readonly CushionScene[],
    words: (c: CushionScene) => string,
    box: THREE.Box3,
  ): void {
    for (const old of [...this.ground.children]) {
      this.ground.remove(old);
      if (old instanceof THREE.Mesh) {
        (old.geometry as THREE.BufferGeometry).dispose();
        const material = old.material as THREE.MeshBasicMaterial;
        material.map?.dispose();
        material.dispose();
      }
    }
    const low = -2.5; // on its bottom seam: what the bottom is filled out by gives way to the seat
    const size = box.getSize(new THREE.Vector3());
    const wide = Math.max(size.x, size.y);
    cushions.forEach((cushion, i) => {
      const group = groups[i];
      if (!group) return;
      const flat = new THREE.Group();
      flat.position.copy(group.position);
      flat.rotation.copy(group.rotation);
      flat.add(contactShadow(cushion, low + 0.5));
      const letters = groundWords(words(cushion), cushion, low + 0.9, Math.min(64, Math.max(26, wide * 0.04)));
      if (letters) flat.add(letters);
      this.ground.add(flat);
    });
  }
}

/** The middle that sees every corner evenly, and how far the eye must stand. */
export function fitted(
  corners: readonly THREE.Vector3[],
  right: THREE.Vector3,
  up: THREE.Vector3,
  eye: THREE.Vector3,
  aspect: number,
): { target: THREE.Vector3; far: number } {
  const high = Math.tan((SEEN_DEG * Math.PI) / 360) * 0.96;
  const wide = high * aspect;
  const target = new THREE.Box3().setFromPoints([...corners]).getCenter(new THREE.Vector3());
  let far = 100;
  // What is near looks larger, so the middle is moved until both sides reach equally far out.
  for (let round = 0; round < 6; round++) {
    const away = corners.map((c) => c.clone().sub(target));
    const reach = (r: THREE.Vector3): number =>
      Math.max(Math.abs(r.dot(right)) / wide, Math.abs(r.dot(up)) / high) + r.dot(eye);
    far = Math.max(100, ...away.map(reach));
    for (const along of [right, up]) {
      const seen = away.map((r) => r.dot(along) / (far - r.dot(eye)));
      target.addScaledVector(along, ((Math.min(...seen) + Math.max(...seen)) / 2) * far);
    }
  }
  const rest = corners.map((c) => c.clone().sub(target));
  far = Math.max(100, ...rest.map((r) => Math.max(Math.abs(r.dot(right)) / wide, Math.abs(r.dot(up)) / high) + r.dot(eye)));
  return { target, far };
}

function cornersOf(box: THREE.Box3): THREE.Vector3[] {
  const { min, max } = box;
  return [min.x, max.x].flatMap((x) => [min.y, max.y].flatMap((y) => [min.z, max.z].map((z) => new THREE.Vector3(x, y, z))));
}

/** The darker ground close to a cushion. */
function contactShadow(cushion: CushionScene, z: number): THREE.Mesh {
  const xs = cushion.outline.map((p) => p[0]);
  const ys = cushion.outline.map((p) => p[1]);
  const reach = 70;
  const [x0, x1, y0, y1] = [Math.min(...xs) - reach, Math.max(...xs) + reach, Math.min(...ys) - reach, Math.max(...ys) + reach];
  const scale = 512 / Math.max(x1 - x0, y1 - y0);
  const canvas = document.createElement("canvas");
  canvas.width = Math.ceil((x1 - x0) * scale);
  canvas.height = Math.ceil((y1 - y0) * scale);
  const pen = canvas.getContext("2d");
  if (pen) {
    pen.setTransform(scale, 0, 0, -scale, -x0 * scale, y1 * scale);
    pen.lineJoin = "round";
    outlinePath(pen, cushion.outline);
    pen.fillStyle = "rgba(38, 35, 31, .14)";
    pen.fill();
    pen.strokeStyle = "rgba(38, 35, 31, .014)";
    for (let k = 1; k <= 24; k++) {
      pen.lineWidth = 2 + k * k * 0.15;
      pen.stroke();
    }
  }
  const texture = new THREE.CanvasTexture(canvas);
  texture.colorSpace = THREE.SRGBColorSpace;
  const mesh = new THREE.Mesh(
    new THREE.PlaneGeometry(x1 - x0, y1 - y0),
    new THREE.MeshBasicMaterial({ map: texture, transparent: true, depthWrite: false }),
  );
  mesh.position.set((x0 + x1) / 2, (y0 + y1) / 2, z);
  return mesh;
}

function outlinePath(pen: CanvasRenderingContext2D, outline: readonly Point[]): void {
  pen.beginPath();
  outline.forEach(([x, y], i) => (i ? pen.lineTo(x, y) : pen.moveTo(x, y)));
  pen.closePath();
}

/** Words chalked on the ground before a cushion's front, so that one knows which way it lies. */
function groundWords(words: string, cushion: CushionScene, z: number, tall: number): THREE.Mesh | null {
  const front = cushion.sides.find((s) => s.name === "front");
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  if (!front || !pen || !words) return null;
  const font = `600 96px ${getComputedStyle(document.body).fontFamily || "sans-serif"}`;
  pen.font = font;
  const wide = Math.ceil(pen.measureText(words).width) + 16;
  [canvas.width, canvas.height] = [wide, 132];
  pen.font = font;
  pen.fillStyle = `#${CHALK.toString(16).padStart(6, "0")}`;
  pen.textBaseline = "middle";
  pen.fillText(words, 8, 66);
  const texture = new THREE.CanvasTexture(canvas);
  texture.colorSpace = THREE.SRGBColorSpace;
  texture.anisotropy = 8;
  const mesh = new THREE.Mesh(
    new THREE.PlaneGeometry((wide / 96) * tall, (132 / 96) * tall),
    new THREE.MeshBasicMaterial({ map: texture, transparent: true, depthWrite: false }),
  );
  const [fx, fy] = front.faces;
  mesh.position.set(front.at[0] + fx * tall * 1.25, front.at[1] + fy * tall * 1.25, z);
  mesh.rotation.z = Math.atan2(fx, -fy);
  mesh.renderOrder = 1;
  return mesh;
}
