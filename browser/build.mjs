// Bundle what the browser runs into the package, or the tests into a folder of their own.
//
//     node build.mjs            into ../src/squab/web/static/bundle
//     node build.mjs --tests    tests as plain modules into made/tests
//
// Nothing here reaches out: everything comes from node_modules. The licence of every package
// that went into the bundle is written beside it.

import { readdirSync, readFileSync, rmSync, writeFileSync, existsSync } from "node:fs";
import { dirname, join } from "node:path";
import { fileURLToPath } from "node:url";
import { build } from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const common = { absWorkingDir: here, bundle: true, format: "esm", target: "es2022", logLevel: "warning", loader: { ".css": "text" } };

async function bundle() {
  const into = join(here, "..", "src", "squab", "web", "static", "bundle");
  rmSync(into, { recursive: true, force: true });
  const made = await build({
    ...common,
    entryPoints: ["src/workroom.ts"],
    outdir: into,
    splitting: true,
    minify: true,
    metafile: true,
    legalComments: "linked",
    chunkNames: "part-[hash]",
  });
  writeFileSync(join(into, "LICENCES.txt"), licences(Object.keys(made.metafile.inputs)));
}

/** The licence text of every package that any of these files belongs to. */
function licences(inputs) {
  const names = new Set();
  for (const input of inputs) {
    const found = /(?:^|\/)node_modules\/((?:@[^/]+\/)?[^/]+)/.exec(input);
    if (found) names.add(found[1]);
  }
  return [...names].sort().map(licenceOf).join("\n\n");
}

function licenceOf(name) {
  const folder = join(here, "node_modules", name);
  const about = JSON.parse(readFileSync(join(folder, "package.json"), "utf8"));
  const file = readdirSync(folder).find((f) => /^licen[cs]e/i.test(f));
  if (!file) throw new Error(`${name} has no licence file: it may not be bundled`);
  return `${name} ${about.version} (${about.license ?? "as follows"})\n\n${readFileSync(join(folder, file), "utf8").trim()}\n`;
}

async function tests() {
  const folder = join(here, "tests");
  const into = join(here, "made", "tests");
  rmSync(into, { recursive: true, force: true });
  if (!existsSync(folder)) return;
  const entryPoints = readdirSync(folder).filter((f) => f.endsWith(".test.ts")).map((f) => `tests/${f}`);
  await build({ ...common, entryPoints, outdir: into, platform: "node", outExtension: { ".js": ".mjs" }, sourcemap: "inline" });
}

await (process.argv.includes("--tests") ? tests() : bundle());
