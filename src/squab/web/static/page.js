// What every page does beyond htmx: nothing typed is lost when the workroom does not answer or the page is left,
// and the modules of a page hear of an edit.

const unsent = new Set();
const dirty = new Set();
const sent = new WeakMap();
const told = () => document.getElementById("told");
let waiting = 0;

const keeps = (form) => form instanceof HTMLFormElement && form.method === "post" && form.hasAttribute("hx-post");

function notice() {
  const place = told();
  if (!place || place.querySelector(".unsent")) return;
  const part = document.createElement("div");
  part.className = "told unsent";
  const words = document.createElement("p");
  words.textContent =
    "The workroom does not answer: what you typed is not kept yet. Leave this page open; it is sent again as soon as it answers.";
  part.append(words);
  place.replaceChildren(part);
}

function again() {
  window.clearTimeout(waiting);
  waiting = window.setTimeout(() => {
    for (const form of [...unsent]) {
      if (form.isConnected) window.htmx.trigger(form, "submit");
      else unsent.delete(form);
    }
  }, 2500);
}

document.addEventListener("input", (event) => {
  const form = event.target instanceof Element ? event.target.closest("form") : null;
  if (keeps(form)) dirty.add(form);
});

// The unit of a field stands beside it, unless what is typed names its own.
const NAMES_UNIT = /\d\s*(mm|cm|m|in|ft|yd|['"′″’”]+)\s*$/i;

document.addEventListener("input", ({ target }) => {
  const unit = target instanceof HTMLInputElement ? target.parentElement?.querySelector(":scope.unit-field > span") : null;
  unit?.classList.toggle("typed", NAMES_UNIT.test(target.value || target.placeholder));
});

const written = (form) => new URLSearchParams(new FormData(form)).toString();

// What was sent already is not sent again when the field is left: the answer may be on the page, being read.
document.addEventListener("htmx:beforeRequest", (event) => {
  const form = event.detail.elt;
  if (!keeps(form) || !form.matches(".field, .stripe")) return;
  if (sent.get(form) === written(form)) event.preventDefault();
  else sent.set(form, written(form));
});

// What is found of a key that has no field on the page as it is stands among all that is found, and needs no place.
const FOUND_OF_A_KEY = /<ul class="says" id="([^"]+)" hx-swap-oob="true">[\s\S]*?<\/ul>/g;

document.addEventListener("htmx:beforeSwap", (event) => {
  const { detail } = event;
  if (!detail.serverResponse?.includes("hx-swap-oob")) return;
  detail.serverResponse = detail.serverResponse.replace(FOUND_OF_A_KEY, (part, id) => (document.getElementById(id) ? part : ""));
});

document.addEventListener("htmx:sendError", (event) => {
  const form = event.detail.elt;
  if (!keeps(form)) return;
  sent.delete(form);
  unsent.add(form);
  notice();
  again();
});

document.addEventListener("htmx:afterRequest", (event) => {
  const { elt, xhr } = event.detail;
  if (!xhr || xhr.status === 0) return;
  if (keeps(elt)) {
    dirty.delete(elt);
    if (unsent.delete(elt) && unsent.size === 0) told()?.querySelector(".unsent")?.remove();
  }
});

// An edit is drawn anew by the modules of the page, once nothing more is being sent: what is typed comes first.
const REST_MS = 300;
let resting = 0;

document.addEventListener("edited", drawAnew);

function drawAnew() {
  window.clearTimeout(resting);
  resting = window.setTimeout(() => {
    if (document.querySelector("form.htmx-request")) return drawAnew();
    const fresh = () => document.querySelectorAll("[data-module]").forEach((module) => module.dispatchEvent(new CustomEvent("fresh")));
    if (window.requestIdleCallback) window.requestIdleCallback(fresh, { timeout: 500 });
    else fresh();
    // Where the view does not run, its plain drawing is asked for.
    const picture = document.getElementById("picture");
    if (picture?.dataset.drawing && picture.closest("[data-state='ready']") === null) {
      window.htmx.ajax("GET", picture.dataset.drawing, { source: picture, target: picture, swap: "innerHTML" });
    }
  }, REST_MS);
}

// What was pressed stays where it is under the eye when the whole job comes anew: a browser holds on to what goes.
let held = [];

document.addEventListener("htmx:beforeSwap", ({ detail }) => {
  if (detail.target?.id !== "job") return;
  held = [];
  for (let at = (detail.requestConfig?.elt ?? detail.elt).closest("[id]"); at && at.id !== "job"; at = at.parentElement?.closest("[id]")) {
    held.push([at.id, at.getBoundingClientRect().top]);
  }
});

document.addEventListener("htmx:afterSwap", () => {
  for (const [id, top] of held) {
    const now = document.getElementById(id);
    if (!now) continue;
    window.scrollBy({ top: now.getBoundingClientRect().top - top, behavior: "instant" });
    break;
  }
  held = [];
});

// Which parts of a job's page are open is kept for the next time; what a link leads to is opened before it is gone to.
const FOLDS = "squab_folds";

function keepFold(details) {
  const name = details.id.replace(/^fold-/, "");
  const kept = document.cookie.split("; ").find((c) => c.startsWith(`${FOLDS}=`))?.slice(FOLDS.length + 1) ?? "";
  const others = kept.split(".").filter((x) => x && x.replace(/^-/, "") !== name);
  const value = [...others, details.open ? name : `-${name}`].join(".");
  document.cookie = `${FOLDS}=${value}; path=/; max-age=31536000; samesite=strict`;
}

function openUpTo(hash) {
  const target = hash.length > 1 ? document.getElementById(decodeURIComponent(hash.slice(1))) : null;
  if (!target) return;
  const own = target.matches(".part") ? target.querySelector(":scope > .fold") : null;
  for (let fold = own ?? target.closest("details"); fold; fold = fold.parentElement?.closest("details")) {
    if (fold.open) continue;
    fold.open = true;
    if (fold.id.startsWith("fold-")) keepFold(fold);
  }
}

document.addEventListener("click", (event) => {
  const on = event.target instanceof Element ? event.target : null;
  const fold = on?.closest("summary")?.parentElement;
  if (fold?.id.startsWith("fold-")) window.setTimeout(() => keepFold(fold));
  const link = on?.closest("a[href^='#']");
  if (link) openUpTo(link.hash);
});
window.addEventListener("hashchange", () => openUpTo(window.location.hash));
if (window.location.hash) openUpTo(window.location.hash);

// Paper shows every part of a job: a browser that cannot be told so by style alone opens them while it prints.
if (!CSS.supports("selector(::details-content)")) {
  let opened = [];
  window.addEventListener("beforeprint", () => {
    opened = [...document.querySelectorAll(".fold:not([open])")];
    for (const fold of opened) fold.open = true;
  });
  window.addEventListener("afterprint", () => {
    for (const fold of opened) fold.open = false;
  });
}

// Small pictures that do not stand in the page are asked for when they come near: hundreds at once hold it up.
const near = new IntersectionObserver(
  (entries) => {
    for (const { target, isIntersecting } of entries) {
      if (!isIntersecting) continue;
      near.unobserve(target);
      const image = new Image(120, 88);
      image.alt = "";
      image.src = target.dataset.picture;
      target.removeAttribute("data-picture");
      target.replaceChildren(image);
    }
  },
  { rootMargin: "600px" },
);
const watch = (root) => root.querySelectorAll("[data-picture]").forEach((place) => near.observe(place));
document.addEventListener("htmx:afterSwap", (event) => event.target instanceof Element && watch(event.target));
watch(document);

// What was moved or drawn by hand is kept when one says so.
for (const done of ["piece-moved", "piece-pinned", "outline-changed"]) {
  document.addEventListener(done, (event) => event.target.closest(".by-hand")?.classList.add("touched"));
}

// A page that is left in the middle of a word sends what was typed on its way out.
window.addEventListener("pagehide", () => {
  for (const form of dirty) {
    if (!form.isConnected) continue;
    const body = new URLSearchParams(new FormData(form));
    const now = document.getElementById("now");
    if (now) body.set("now", now.value);
    navigator.sendBeacon(form.action, body);
  }
});

window.addEventListener("beforeunload", (event) => {
  if (unsent.size) event.preventDefault();
});
