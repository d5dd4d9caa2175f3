// Lengths as a maker writes them. Inside they are millimetres.

const VULGAR: Record<string, string> = {
  "1/2": "½", "1/4": "¼", "3/4": "¾", "1/8": "⅛", "3/8": "⅜", "5/8": "⅝", "7/8": "⅞",
};
const GLYPHS: Record<string, number> = {
  "½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8, "⅓": 1 / 3, "⅔": 2 / 3,
};
export const MM_PER_INCH = 25.4;

export type Unit = "mm" | "cm" | "m" | "in";

const MM_PER: Record<string, number> = {
  mm: 1, cm: 10, m: 1000, in: MM_PER_INCH, '"': MM_PER_INCH, "″": MM_PER_INCH, "”": MM_PER_INCH, inch: MM_PER_INCH,
  inches: MM_PER_INCH, ft: 12 * MM_PER_INCH, "'": 12 * MM_PER_INCH, "′": 12 * MM_PER_INCH, "’": 12 * MM_PER_INCH,
};

/** Print a length: whole millimetres, or inches to a sixteenth with their fraction. */
export function shown(mm: number, inches: boolean, parts = 16): string {
  if (!inches) return `${Math.round(mm)} mm`;
  return `${inchText(mm, parts)} in`;
}

/** Inches to a part, as `3 3/4`; the fraction in lowest terms. */
export function inchText(mm: number, parts = 16): string {
  const sign = mm < 0 ? "-" : "";
  let n = Math.round((Math.abs(mm) / MM_PER_INCH) * parts);
  let d = parts;
  const whole = Math.floor(n / d);
  n -= whole * d;
  while (n && n % 2 === 0) {
    n /= 2;
    d /= 2;
  }
  if (!n) return `${sign}${whole}`;
  const glyph = VULGAR[`${n}/${d}`];
  const fraction = glyph ?? `${n}/${d}`;
  if (!whole) return sign + fraction;
  return glyph ? `${sign}${whole}${fraction}` : `${sign}${whole} ${fraction}`;
}

/** Read a length as typed, in `unit` where it names none; null where it is none. A minus is allowed in front. */
export function readLength(text: string, unit: Unit): number | null {
  const trimmed = text.trim().replace(/−/g, "-");
  const negative = trimmed.startsWith("-");
  let rest = negative ? trimmed.slice(1).trim() : trimmed;
  if (!rest) return null;
  let total = 0;
  let smallest = Infinity;
  while (rest) {
    const found =
      /^(?:(\d+)(?:\s+|\s*-\s*)(\d+)\s*[/⁄]\s*(\d+)|(\d+)\s*([½¼¾⅛⅜⅝⅞⅓⅔])|(\d+)\s*[/⁄]\s*(\d+)|([½¼¾⅛⅜⅝⅞⅓⅔])|(\d+(?:[.,]\d+)?|[.,]\d+))\s*(mm|cm|m|inches|inch|in|ft|["″”'′’])?\.?\s*/.exec(
        rest,
      );
    if (!found) return null;
    const [all, w, n, d, gw, g, pn, pd, pg, dec, word] = found;
    let value: number;
    if (w !== undefined) value = Number(w) + Number(n) / Number(d);
    else if (gw !== undefined) value = Number(gw) + (GLYPHS[g ?? ""] ?? NaN);
    else if (pn !== undefined) value = Number(pn) / Number(pd);
    else if (pg !== undefined) value = GLYPHS[pg] ?? NaN;
    else value = Number((dec ?? "").replace(",", "."));
    const per = word ? MM_PER[word] : total === 0 && all.length === rest.length ? MM_PER[unit] : undefined;
    if (per === undefined || per >= smallest || !Number.isFinite(value)) return null;
    smallest = per;
    total += value * per;
    rest = rest.slice(all.length);
  }
  return negative ? -total : total;
}
