// The steel rule: scales with round steps, plain or broken, as axes draw them.

const BREAK = 0.1;
const MINUS = "\u2212";

/** The least of 1, 2, 5 times a power of ten that parts `span` into at most `most` steps. */
export function roundStep(span, most) {
  const raw = span / Math.max(most, 1);
  const power = 10 ** Math.floor(Math.log10(raw));
  return [1, 2, 5, 10].map((f) => f * power).find((step) => step >= raw * (1 - 1e-9));
}

/** All multiples of a step between two values. */
export function multiples(low, high, step) {
  const first = Math.ceil(low / step - 1e-9);
  const last = Math.floor(high / step + 1e-9);
  return Array.from({ length: Math.max(last - first + 1, 0) }, (_, k) => (first + k) * step || 0);
}

/** From values to places: pieces that each run straight; four knots are a broken rule. */
export class Scale {
  constructor(values, places) {
    this.values = values;
    this.places = places;
  }

  at(value) {
    const last = this.values.length - 2;
    let piece = 0;
    while (piece < last && value >= this.values[piece + 1]) piece += 1;
    const [low, high] = [this.values[piece], this.values[piece + 1]];
    const [start, end] = [this.places[piece], this.places[piece + 1]];
    return start + ((end - start) * (value - low)) / (high - low);
  }

  get broken() {
    return this.values.length > 2;
  }
}

/** A plain scale from `low` at the foot to `high` at the top. */
export function straight(low, high, foot, top) {
  return new Scale([low, high], [foot, top]);
}

/** A broken rule where the levels stand in two groups far apart, else a plain one. */
export function brokenWhereNeeded(levels, low, high, foot, top) {
  const cut = cutOf([...levels].sort((a, b) => a - b), high - low);
  if (!cut) return straight(low, high, foot, top);
  const half = (1 - BREAK) / 2;
  const room = top - foot;
  return new Scale(
    [low, cut[0], cut[1], high],
    [foot, foot + half * room, foot + (1 - half) * room, top],
  );
}

function cutOf(levels, span) {
  if (levels.length < 2 || span <= 0) return null;
  let best = 0;
  for (let k = 1; k < levels.length - 1; k += 1) {
    if (levels[k + 1] - levels[k] > levels[best + 1] - levels[best]) best = k;
  }
  const [below, above] = [levels[best], levels[best + 1]];
  const gap = above - below;
  const [under, over] = [below - levels[0], levels.at(-1) - above];
  if (gap < 1.3 * Math.max(under, over) || gap < 0.42 * span) return null;
  const room = (part) => Math.min(Math.max(0.4 * part, 0.03 * span), gap / 4);
  return [below + room(under), above - room(over)];
}

/** Values at the long and the short ticks, and the decimals their figures need. */
export function ticksOf(scale, perPoint) {
  const long = [];
  const brief = [];
  for (let i = 0; i < scale.values.length - 1; i += 2) {
    const [low, high] = [scale.values[i], scale.values[i + 1]];
    const room = Math.abs(scale.places[i + 1] - scale.places[i]);
    const step = fittingStep(low, high, Math.max(Math.floor(room / perPoint), 1), scale.broken || room < 2 * perPoint ? 1 : 2);
    long.push(...multiples(low, high, step));
    const parts = step.toExponential()[0] === "2" ? 4 : 5;
    brief.push(...multiples(low, high, step / parts));
  }
  return { long, brief, decimals: decimalsOf(long) };
}

function fittingStep(low, high, most, least) {
  for (let more = 0; more < 12; more += 1) {
    const step = roundStep(high - low, most + more);
    if (multiples(low, high, step).length >= least) return step;
  }
  return (high - low) / 2;
}

function decimalsOf(values) {
  let places = 0;
  const needs = (v) => Math.abs(v - Number(v.toFixed(places))) > 1e-9 * Math.max(1, Math.abs(v));
  while (places < 6 && values.some(needs)) places += 1;
  return places;
}

/** A figure with a true minus, a plus where the quantity carries one, the page's decimal mark. */
export function figure(value, decimals, signed = false) {
  const bare = Math.abs(value).toFixed(decimals);
  const text = document.documentElement.lang === "de" ? bare.replace(".", ",") : bare;
  if (Number(bare) === 0) return text;
  if (value < 0) return MINUS + text;
  return signed ? `+${text}` : text;
}
