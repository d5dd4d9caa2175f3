// What every page of the workroom loads: htmx with server-sent events, and the modules that
// pages ask for with `data-module`. A page works without either.

import htmx from "htmx.org";
import "htmx-ext-sse";

import { mountAll, unmountWithin } from "./mounting";

// A strict content policy allows neither styles nor code written into the page.
htmx.config.includeIndicatorStyles = false;
htmx.config.allowEval = false;
htmx.config.selfRequestsOnly = true;

declare global {
  interface Window {
    htmx: typeof htmx;
  }
}
window.htmx = htmx;

// htmx says `htmx:load` of the whole body once, and of everything it brings in later.
document.addEventListener("htmx:load", (event) => mountAll(event.target as Element));
document.addEventListener("htmx:beforeCleanupElement", (event) => unmountWithin(event.target as Element));

export { htmx };
