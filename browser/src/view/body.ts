// One finished cushion as meshes: its patches of cloth, piping, zip, seams and marks of drift.

import * as THREE from "three";
import { latticeSteps, placed, type ClothLook, type Point } from "../pattern";
import { WEAVE_MM, weaveTexture } from "./cloth";
import type { CushionScene, Patch, Scene, Seam, Tube, Vec3 } from "./scene";
import type { Sliding } from "./sliding";

export const INK = 0x26231f;
export const CHALK = 0x2f6690;
const MARKS = { "say so": 0xc98a12, miss: 0xb3361b, good: 0x5d7f45 } as const;
const ROUND = 10;
const ZIP_MM = 26;

/** What bodies share: the cloths' textures, made once for a page. */
export interface Wardrobe {
  readonly scene: Scene;
  readonly textures: ReadonlyMap<string, THREE.CanvasTexture>;
  readonly weave: THREE.CanvasTexture;
  readonly zip: THREE.CanvasTexture;
}

export function wardrobe(scene: Scene, texture: (look: ClothLook) => THREE.CanvasTexture): Wardrobe {
  const textures = new Map(Object.entries(scene.cloths).map(([id, look]) => [id, texture(look)]));
  return { scene, textures, weave: weaveTexture(), zip: zipTexture() };
}

interface Dressed {
  readonly mesh: THREE.Mesh<THREE.BufferGeometry, THREE.MeshLambertMaterial>;
  readonly part: string;
  readonly patch: Patch | null;
  readonly look: ClothLook;
}

export class Body {
  readonly group = new THREE.Group();
  readonly solid: THREE.Mesh[] = [];
  private readonly dressed: Dressed[] = [];
  private readonly marks = new THREE.Group();
  /** How high the top stands over its seam at the most. */
  private crown = 0;
  private readonly patches = new Map<THREE.Object3D, Patch>();

  constructor(
    readonly cushion: CushionScene,
    private readonly clothes: Wardrobe,
  ) {
    for (const patch of cushion.patches) if (patch.face === "top") for (const [, , z] of patch.solid) this.crown = Math.max(this.crown, z - cushion.thickness);
    for (const patch of cushion.patches) this.addPatch(patch);
    for (const tube of cushion.tubes) this.addTube(tube);
    for (const seam of cushion.seams) this.addSeam(seam);
    this.addZip();
    this.marks.visible = false;
    this.group.add(this.marks);
  }

  /** The patch of cloth that a mesh shows, if it is one. */
  patchOf(mesh: THREE.Object3D): Patch | undefined {
    return this.patches.get(mesh);
  }

  partOf(mesh: THREE.Object3D): string | undefined {
    return this.dressed.find((d) => d.mesh === mesh)?.part;
  }

  /** Put every patch's pattern where the sliding says. */
  slide(sliding: Sliding): void {
    for (const { mesh, patch, look } of this.dressed) {
      if (!patch || !mesh.material.map) continue;
      const place = sliding.placeOf(patch);
      const [i, j] = latticeSteps(look, [place.p - patch.p, place.q - patch.q]);
      mesh.material.map.offset.set(i, j);
    }
  }

  /** Light one part, or none. */
  light(part: string | null): void {
    for (const { mesh, part: own } of this.dressed) {
      mesh.material.emissive.setHex(own === part ? CHALK : 0x000000);
      mesh.material.emissiveIntensity = own === part ? 0.75 : 0;
    }
  }

  showDrift(on: boolean): void {
    this.marks.visible = on;
  }

  dispose(): void {
    this.group.traverse((o) => {
      if (!(o instanceof THREE.Mesh || o instanceof THREE.Line)) return;
      (o.geometry as THREE.BufferGeometry).dispose();
      const material = o.material as THREE.Material & { map?: THREE.Texture | null };
      if (material.map && material.map !== this.clothes.zip) material.map.dispose();
      material.dispose();
    });
  }

  private dress(geometry: THREE.BufferGeometry, clothId: string, part: string, patch: Patch | null): void {
    const look = this.clothes.scene.cloths[clothId];
    if (!look) return;
    const map = this.clothes.textures.get(clothId)?.clone() ?? null;
    const material = new THREE.MeshLambertMaterial({
      map,
      bumpMap: this.clothes.weave,
      bumpScale: 0.9,
      polygonOffset: true,
      polygonOffsetFactor: 1,
      polygonOffsetUnits: 1,
      vertexColors: true,
    });
    const mesh = new THREE.Mesh(geometry, material);
    this.dressed.push({ mesh, part, patch, look });
    if (patch) this.patches.set(mesh, patch);
    this.solid.push(mesh);
    this.group.add(mesh);
  }

  private addPatch(patch: Patch): void {
    const look = this.clothes.scene.cloths[patch.cloth];
    if (!look) return;
    const place = { turn: patch.turn, p: patch.p, q: patch.q };
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.Float32BufferAttribute(patch.solid.flat(), 3));
    geometry.setAttribute("uv", pointsAttribute(patch.local.map((at) => steps(look, place, at))));
    geometry.setAttribute("uv1", pointsAttribute(patch.local.map(([x, y]) => [x / WEAVE_MM, y / WEAVE_MM])));
    geometry.setAttribute("color", new THREE.Float32BufferAttribute(patch.solid.flatMap((at) => this.dimmed(patch, at)), 3));
    const faces = [...patch.faces];
    if (patch.face === "bottom") {
      // Told counter-clockwise as seen from above; a bottom is looked at from below.
      for (let k = 0; k < faces.length; k += 3) [faces[k + 1], faces[k + 2]] = [faces[k + 2] ?? 0, faces[k + 1] ?? 0];
    }
    geometry.setIndex(faces);
    geometry.computeVertexNormals();
    this.dress(geometry, patch.cloth, patch.part, patch);
  }

  /** Cloth is a little darker in the dip beside a seam and towards the ground, lighter where it is filled out. */
  private dimmed(patch: Patch, [, , z]: Vec3): [number, number, number] {
    const high = this.cushion.thickness;
    const t = patch.face === "wall" ? z / high : 0;
    if (patch.face === "wall") {
      const clear = Math.min(1, 4.5 * (1 - t), 0.5 + 1.7 * t);
      const k = 0.78 + 0.22 * clear * (2 - clear);
      return [k, k, k];
    }
    const lift = Math.min(1, Math.abs(patch.face === "top" ? z - high : z) / (this.crown || 1));
    const k = 0.76 + 0.32 * lift * (2 - lift);
    return [k, k, k];
  }

  private addTube(tube: Tube): void {
    const look = this.clothes.scene.cloths[tube.cloth];
    if (!look) return;
    const frames = tubeFrames(tube.path);
    const whole = tube.s[tube.s.length - 1] ?? 0;
    tube.parts.forEach((part, k) => {
      const from = Math.max(0, k ? part.from - tube.s0 : 0);
      const next = tube.parts[k + 1];
      const to = Math.min(whole, next ? next.from - tube.s0 : whole);
      const rings = ringsBetween(tube.s, frames, from, to);
      if (rings.length < 2) return;
      const place = { turn: part.turn, p: part.p, q: part.q };
      const uv = (s: number, w: number): Point => steps(look, place, [tube.s0 + s, tube.middle + w]);
      this.dress(tubeGeometry(rings, tube.radius, 0.55 * tube.radius, uv), tube.cloth, tube.part, null);
    });
  }

  private addSeam(seam: Seam): void {
    if (!seam.piped) {
      const line = new THREE.Line(
        new THREE.BufferGeometry().setAttribute("position", new THREE.Float32BufferAttribute(seam.path.flat(), 3)),
        new THREE.LineBasicMaterial({ color: INK, transparent: true, opacity: 0.55 }),
      );
      this.group.add(line);
    }
    if (seam.verdict && seam.verdict !== "not matched" && seam.off) this.addMark(seam);
  }

  /** A band along a seam, coloured by how far the pattern is off there. */
  private addMark(seam: Seam): void {
    const tube = this.cushion.tubes.find((t) => t.edge === seam.edge);
    const radius = seam.piped && tube ? tube.radius + 0.5 : 2;
    const limit = seam.side === "front" && seam.edge === "top" ? 2 : 3;
    const thicker = seam.verdict === "miss" ? 1.6 : 0.9;
    const frames = tubeFrames(seam.path, false);
    const rings = frames.map((f, i) => ({ ...f, s: i }));
    const geometry = tubeGeometry(rings, radius, seam.piped && tube ? 0.55 * tube.radius : 0.8, (s) => [s, 0], (i) =>
      (seam.off?.[i] ?? 0) > limit ? radius + thicker : radius,
    );
    const colours: number[] = [];
    const own = new THREE.Color();
    for (const off of seam.off ?? []) {
      const colour = off <= limit ? MARKS.good : seam.verdict === "miss" ? MARKS.miss : MARKS["say so"];
      own.setHex(colour);
      for (let k = 0; k <= ROUND; k++) colours.push(own.r, own.g, own.b);
    }
    geometry.setAttribute("color", new THREE.Float32BufferAttribute(colours, 3));
    const material = new THREE.MeshBasicMaterial({ vertexColors: true });
    this.marks.add(new THREE.Mesh(geometry, material));
  }

  private addZip(): void {
    const zip = this.cushion.zip;
    if (!zip || zip.path.length < 2) return;
    const half = ZIP_MM / 2;
    const positions: number[] = [];
    const uvs: number[] = [];
    const faces: number[] = [];
    let run = 0;
    zip.path.forEach((at, i) => {
      const out = zip.out[i] ?? [0, -1, 0];
      const before = zip.path[i - 1];
      if (before) run += Math.hypot(at[0] - before[0], at[1] - before[1], at[2] - before[2]);
      const up = acrossZip(zip.path, i, out);
      for (const side of [-half, half]) {
        positions.push(at[0] + out[0] * 0.5 + up[0] * side, at[1] + out[1] * 0.5 + up[1] * side, at[2] + out[2] * 0.5 + up[2] * side);
        uvs.push(run / 4, side < 0 ? 0 : 1);
      }
      if (i) faces.push(2 * i - 2, 2 * i, 2 * i + 1, 2 * i - 2, 2 * i + 1, 2 * i - 1);
    });
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.Float32BufferAttribute(positions, 3));
    geometry.setAttribute("uv", new THREE.Float32BufferAttribute(uvs, 2));
    geometry.setIndex(faces);
    geometry.computeVertexNormals();
    const material = new THREE.MeshLambertMaterial({ map: this.clothes.zip, transparent: true, side: THREE.DoubleSide });
    this.group.add(new THREE.Mesh(geometry, material));
    const ends = [0, zip.path.length - 1].slice(0, Math.max(1, zip.sliders));
    for (const end of ends) this.addSlider(zip.path, zip.out, end);
  }

  private addSlider(path: readonly Vec3[], outs: readonly Vec3[], end: number): void {
    const inner = end === 0 ? 1 : path.length - 2;
    const [a, b] = [path[end], path[inner]];
    const out = outs[end];
    if (!a || !b || !out) return;
    const along = new THREE.Vector3(b[0] - a[0], b[1] - a[1], b[2] - a[2]).normalize();
    const normal = new THREE.Vector3(...out);
    const metal = new THREE.MeshLambertMaterial({ color: 0xb9b0a0 });
    const slider = new THREE.Group();
    const boat = new THREE.Mesh(new THREE.BoxGeometry(13, 8, 4), metal);
    const pull = new THREE.Mesh(new THREE.BoxGeometry(22, 5, 1.4), metal.clone());
    pull.position.set(12, 0, 2.6);
    slider.add(boat, pull);
    const across = new THREE.Vector3().crossVectors(normal, along);
    slider.setRotationFromMatrix(new THREE.Matrix4().makeBasis(along, across, normal));
    slider.position.set(a[0], a[1], a[2]).addScaledVector(along, 16).addScaledVector(normal, 2);
    this.group.add(slider);
  }
}

function steps(look: ClothLook, place: { turn: number; p: number; q: number }, at: Point): Point {
  return latticeSteps(look, placed(place, at));
}

function pointsAttribute(points: readonly Point[]): THREE.Float32BufferAttribute {
  return new THREE.Float32BufferAttribute(points.flat(), 2);
}

interface Frame {
  readonly at: Vec3;
  /** Level, away from the cushion, longer where the tube turns a corner. */
  readonly out: Vec3;
}
type Ring = Frame & { readonly s: number };

/** For each point of a path that runs counter-clockwise round the cushion: which way is outward. */
export function tubeFrames(path: readonly Vec3[], closed = true): Frame[] {
  const n = path.length;
  const way = (i: number, j: number): Point | null => {
    const [a, b] = [path[i], path[j]];
    if (!a || !b) return null;
    const [x, y] = [b[0] - a[0], b[1] - a[1]];
    const long = Math.hypot(x, y);
    return long > 1e-6 ? [x / long, y / long] : null;
  };
  return path.map((at, i) => {
    // The first and last point of a closed path are one.
    const before = i ? way(i - 1, i) : closed ? way(n - 2, n - 1) : null;
    const after = i < n - 1 ? way(i, i + 1) : closed ? way(0, 1) : null;
    const a = before ?? after ?? [1, 0];
    const b = after ?? a;
    const [x, y] = [a[1] + b[1], -(a[0] + b[0])];
    const long = Math.hypot(x, y) || 1;
    const half = Math.max(0.35, long / 2);
    return { at, out: [x / long / half, y / long / half, 0] };
  });
}

/** The frames from one length to another, with ends put in between where they fall so. */
export function ringsBetween(s: readonly number[], frames: readonly Frame[], from: number, to: number): Ring[] {
  const rings: Ring[] = [];
  const at = (length: number): Ring | null => {
    for (let i = 1; i < s.length; i++) {
      const [s0, s1] = [s[i - 1] ?? 0, s[i] ?? 0];
      const [a, b] = [frames[i - 1], frames[i]];
      if (!a || !b || length < s0 || length > s1 || s1 - s0 < 1e-9) continue;
      const t = (length - s0) / (s1 - s0);
      const mix = (p: Vec3, q: Vec3): Vec3 => [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), p[2] + t * (q[2] - p[2])];
      return { s: length, at: mix(a.at, b.at), out: mix(a.out, b.out) };
    }
    return null;
  };
  const first = at(from);
  const last = at(to);
  if (first) rings.push(first);
  frames.forEach((frame, i) => {
    const length = s[i] ?? 0;
    if (length > from + 1e-6 && length < to - 1e-6) rings.push({ ...frame, s: length });
  });
  if (last && to > from) rings.push(last);
  return rings;
}

function tubeGeometry(rings: readonly Ring[], radius: number, proud: number, uv: (s: number, w: number) => Point, radiusAt: (i: number) => number = () => radius): THREE.BufferGeometry {
  const positions: number[] = [];
  const normals: number[] = [];
  const uvs: number[] = [];
  const weave: number[] = [];
  const faces: number[] = [];
  rings.forEach(({ at, out, s }, i) => {
    const long = Math.hypot(out[0], out[1]) || 1;
    for (let k = 0; k <= ROUND; k++) {
      const angle = -Math.PI + (2 * Math.PI * k) / ROUND;
      const [c, h] = [Math.cos(angle), Math.sin(angle)];
      const reach = proud + radiusAt(i) * c;
      positions.push(at[0] + out[0] * reach, at[1] + out[1] * reach, at[2] + radiusAt(i) * h);
      normals.push((out[0] / long) * c, (out[1] / long) * c, h);
      const w = radius * angle;
      uvs.push(...uv(s, w));
      weave.push(s / WEAVE_MM, w / WEAVE_MM);
    }
    if (!i) return;
    const [a, b] = [(i - 1) * (ROUND + 1), i * (ROUND + 1)];
    for (let k = 0; k < ROUND; k++) faces.push(a + k, b + k, b + k + 1, a + k, b + k + 1, a + k + 1);
  });
  const geometry = new THREE.BufferGeometry();
  geometry.setAttribute("position", new THREE.Float32BufferAttribute(positions, 3));
  geometry.setAttribute("normal", new THREE.Float32BufferAttribute(normals, 3));
  geometry.setAttribute("uv", new THREE.Float32BufferAttribute(uvs, 2));
  geometry.setAttribute("uv1", new THREE.Float32BufferAttribute(weave, 2));
  geometry.setAttribute("color", new THREE.Float32BufferAttribute(new Array<number>(positions.length).fill(1), 3));
  geometry.setIndex(faces);
  return geometry;
}

/** The direction across a zip at one of its points: square to its run and to the way it faces. */
function acrossZip(path: readonly Vec3[], i: number, out: Vec3): Vec3 {
  const a = path[Math.max(0, i - 1)] ?? [0, 0, 0];
  const b = path[Math.min(path.length - 1, i + 1)] ?? [1, 0, 0];
  const along = new THREE.Vector3(b[0] - a[0], b[1] - a[1], b[2] - a[2]).normalize();
  const up = new THREE.Vector3().crossVectors(new THREE.Vector3(...out), along).normalize();
  return [up.x, up.y, up.z];
}

/** Four millimetres of a closed zip between its two rows of stitches. */
function zipTexture(): THREE.CanvasTexture {
  const canvas = document.createElement("canvas");
  canvas.width = 32;
  canvas.height = 208;
  const pen = canvas.getContext("2d");
  if (pen) {
    const mm = canvas.height / ZIP_MM;
    const middle = canvas.height / 2;
    pen.fillStyle = "rgba(38, 35, 31, .28)";
    pen.fillRect(0, middle - 4.6 * mm, 32, 9.2 * mm);
    pen.fillStyle = "#26231f";
    pen.fillRect(0, middle - 3.4 * mm, 32, 6.8 * mm);
    pen.fillStyle = "#b9b0a0";
    pen.fillRect(0, middle - 2.6 * mm, 13, 3.4 * mm);
    pen.fillRect(16, middle - 0.8 * mm, 13, 3.4 * mm);
    pen.fillStyle = "rgba(38, 35, 31, .7)";
    for (const side of [-10.5, 10.5]) pen.fillRect(3, middle + side * mm - 2.5, 24, 5);
  }
  const texture = new THREE.CanvasTexture(canvas);
  texture.colorSpace = THREE.SRGBColorSpace;
  texture.wrapS = THREE.RepeatWrapping;
  texture.anisotropy = 8;
  return texture;
}
