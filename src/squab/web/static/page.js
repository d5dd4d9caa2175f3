// What every page does beyond htmx: nothing yet.
