// One repeat of a cloth drawn on a canvas, as a texture in steps of its lattice.

import * as THREE from "three";
import type { ClothLook } from "../pattern";

const STRIPE_PX = 2048;
const PRINT_PX = 1024;

/** Draw a cloth's repeat. One unit of the texture is one step of the lattice each way. */
export function clothTexture(look: ClothLook, anisotropy: number): THREE.CanvasTexture {
  const canvas = document.createElement("canvas");
  const pen = canvas.getContext("2d");
  if (!pen) throw new Error("no canvas to draw cloth on");
  if (look.stripes.length && look.kind !== "plain" && look.kind !== "print") drawStripes(canvas, pen, look);
  else drawPrint(canvas, pen, look);
  const texture = new THREE.CanvasTexture(canvas);
  texture.colorSpace = THREE.SRGBColorSpace;
  texture.wrapS = texture.wrapT = THREE.RepeatWrapping;
  // A stripe's texture changes one way only: the longest way a pixel reaches is the one that counts.
  texture.anisotropy = look.kind === "print" ? anisotropy : 1;
  return texture;
}

function drawStripes(canvas: HTMLCanvasElement, pen: CanvasRenderingContext2D, look: ClothLook): void {
  const across = look.kind === "warp_stripe";
  [canvas.width, canvas.height] = across ? [STRIPE_PX, 4] : [4, STRIPE_PX];
  const period = look.stripes.reduce((sum, s) => sum + s.width, 0);
  let at = 0;
  for (const stripe of look.stripes) {
    const from = Math.round((at / period) * STRIPE_PX);
    const to = Math.round(((at + stripe.width) / period) * STRIPE_PX);
    pen.fillStyle = stripe.colour;
    // The texture's second axis runs upwards.
    if (across) pen.fillRect(from, 0, to - from, 4);
    else pen.fillRect(0, STRIPE_PX - to, 4, to - from);
    at += stripe.width;
  }
}

function drawPrint(canvas: HTMLCanvasElement, pen: CanvasRenderingContext2D, look: ClothLook): void {
  const across = look.across ?? 1;
  const along = look.along ?? 1;
  const plain = !look.motif;
  canvas.width = plain ? 4 : PRINT_PX;
  canvas.height = plain ? 4 : Math.min(2048, Math.max(256, Math.round((PRINT_PX * along) / across)));
  pen.fillStyle = look.ground;
  pen.fillRect(0, 0, canvas.width, canvas.height);
  if (!look.motif) return;
  // From the pattern's millimetres to steps of the lattice (sheared by the drop), y downwards.
  const x = canvas.width / across;
  const y = canvas.height / along;
  pen.setTransform(x, (look.drop / across) * canvas.height / along, 0, -y, 0, canvas.height);
  pen.fillStyle = look.motif.colour;
  for (let i = -1; i <= 2; i++) {
    for (let j = -2; j <= 3; j++) {
      const [p, q] = [i * across, i * look.drop + j * along];
      pen.beginPath();
      look.motif.outline.forEach(([a, b], k) => (k ? pen.lineTo(p + a, q + b) : pen.moveTo(p + a, q + b)));
      pen.closePath();
      pen.fill();
    }
  }
}

/** A small piece of plain weave as a height map, so that cloth looks woven from near by. */
export function weaveTexture(): THREE.CanvasTexture {
  const n = 64;
  const canvas = document.createElement("canvas");
  canvas.width = canvas.height = n;
  const pen = canvas.getContext("2d");
  if (pen) {
    const image = pen.createImageData(n, n);
    for (let y = 0; y < n; y++) {
      for (let x = 0; x < n; x++) {
        const over = (Math.floor(x / 8) + Math.floor(y / 8)) % 2 === 0;
        const t = over ? (y % 8) / 8 : (x % 8) / 8;
        const h = 120 + 110 * Math.sin(Math.PI * (t + 1 / 16)) * (over ? 1 : 0.82);
        const k = 4 * (y * n + x);
        image.data[k] = image.data[k + 1] = image.data[k + 2] = h;
        image.data[k + 3] = 255;
      }
    }
    pen.putImageData(image, 0, 0);
  }
  const texture = new THREE.CanvasTexture(canvas);
  texture.wrapS = texture.wrapT = THREE.RepeatWrapping;
  texture.channel = 1;
  return texture;
}

/** How many millimetres one tile of the weave covers: eight threads of 0.7 mm. */
export const WEAVE_MM = 5.6;
