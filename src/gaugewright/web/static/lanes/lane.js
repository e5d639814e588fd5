// One lane: its name, its rule, its trace, and what stands on it.

import { drawMean, drawStandingRule, drawWall } from "./marks.js";
import { ratio } from "./painting.js";
import { brokenWhereNeeded, figure, straight } from "./rule.js";
import { drawTrace } from "./trace.js";
import { placesOf } from "./view.js";

const TOP = 26;
const FOOT = 10;
const PALE = 0.62;
const ROOM = 0.1;

/** The colours and strokes of the page as it is lit now. */
export function paintsOf(element) {
  const style = getComputedStyle(element);
  const of = (name) => style.getPropertyValue(`--${name}`).trim();
  return {
    ink: of("ink"),
    soft: of("soft"),
    paper: of("paper"),
    figure: of("figure"),
    wash: Number(of("tint")) || 0.17,
    trace: Number(of("trace")) || 1,
    of,
  };
}

export class Lane {
  /** `element` holds the name and a canvas; `meta` is what the server told of this lane. */
  constructor(element, meta, gutter) {
    Object.assign(this, { element, meta, gutter, closer: false, means: [], walls: [] });
    this.canvas = element.querySelector("canvas");
    this.ctx = this.canvas.getContext("2d");
    this.key = element.querySelector("[data-closer]");
  }

  /** Fit the canvas to its place; gives the plot's width. */
  measure() {
    const box = this.canvas.parentElement.getBoundingClientRect();
    this.width = box.width;
    this.height = box.height;
    this.canvas.width = Math.round(box.width * ratio());
    this.canvas.height = Math.round(box.height * ratio());
    this.ctx.setTransform(ratio(), 0, 0, ratio(), 0, 0);
    return box.width - this.gutter;
  }

  /** Look at this lane closely: its scale follows what is in view. */
  look(closer) {
    this.closer = closer;
    this.element.classList.toggle("closer", closer);
    this.key?.setAttribute("aria-pressed", String(closer));
  }

  paint({ view, about, piece, place, paints, inside, glows }) {
    const { ctx, gutter, meta } = this;
    const width = this.width - gutter;
    ctx.clearRect(0, 0, this.width, this.height);
    const triples = piece?.lane(place);
    const scale = this.scaleFor(about ?? view, piece, triples);
    this.element.dataset.low = scale.values[0];
    this.element.dataset.high = scale.values.at(-1);
    if (!meta.pulses) drawStandingRule(ctx, scale, gutter - 8, meta.signed, paints);
    ctx.save();
    ctx.beginPath();
    ctx.rect(gutter, 0, width, this.height);
    ctx.clip();
    ctx.translate(gutter, 0);
    const { x } = placesOf(view, width);
    const y = (value) => clamp(scale.at(value), -40, this.height + 40);
    if (triples) this.drawPiece(piece, triples, { x, y, width, paints });
    this.fade(x, width, inside);
    this.drawMarks(x, y, width, paints);
    this.glow(x, glows, paints);
    ctx.restore();
  }

  drawPiece(piece, triples, { x, y, width, paints }) {
    const { meta } = this;
    drawTrace(this.ctx, piece, triples, {
      x,
      y,
      width,
      ink: paints.of(meta.ink),
      dash: meta.dash,
      weight: 1.7 * paints.trace,
      wash: paints.wash * 1.6,
      pulses: meta.pulses,
      interval: meta.interval,
    });
  }

  /** Between conditions traces turn pale. */
  fade(x, width, inside) {
    if (!inside.length) return;
    const { ctx } = this;
    ctx.globalCompositeOperation = "destination-out";
    ctx.globalAlpha = PALE;
    let from = 0;
    for (const [begin, finish] of [...inside, [Infinity, Infinity]]) {
      const to = Math.min(x(begin), width);
      if (to > from) ctx.fillRect(from, 0, to - from, this.height);
      from = Math.max(from, x(finish));
    }
    ctx.globalAlpha = 1;
    ctx.globalCompositeOperation = "source-over";
  }

  /** The stretch being set out, or chosen, lies on its own ground behind the trace. */
  glow(x, glows, paints) {
    const { ctx } = this;
    ctx.globalCompositeOperation = "destination-over";
    ctx.fillStyle = paints.of("selection");
    for (const [from, to] of glows) ctx.fillRect(x(from), 0, x(to) - x(from), this.height);
    ctx.globalCompositeOperation = "source-over";
  }

  drawMarks(x, y, width, paints) {
    const bounds = [0, width];
    for (const wall of this.walls) {
      const at = y(wall.value);
      if (at < 4 || at > this.height - 2) continue;
      const means = this.means.filter((m) => m.from < wall.to && m.to > wall.from).map((m) => y(m.value));
      drawWall(this.ctx, x(wall.from), x(wall.to), at, wall.side, wall.text, paints, bounds, means);
    }
    for (const mean of this.means) {
      const at = y(mean.value);
      if (at < 0 || at > this.height) continue;
      const near = this.walls.filter((w) => w.from < mean.to && w.to > mean.from).map((w) => y(w.value));
      drawMean(this.ctx, x(mean.from), x(mean.to), at, mean.text, paints, near, 0, bounds);
    }
  }

  /** The vertical scale: the whole recording's, or with a closer look that of a part of it. */
  scaleFor(about, piece, triples) {
    const [foot, top] = [this.height - FOOT, TOP];
    const seen = this.closer && triples ? rangeIn(piece, triples, about) : null;
    if (seen) {
      const within = (m) => m.from < about.finish && m.to > about.begin;
      const levels = [...this.means, ...this.nearWalls(seen[1] - seen[0])].filter(within);
      return straight(...around(seen, levels.map((m) => m.value)), foot, top);
    }
    const { low, high } = this.meta;
    const near = this.nearWalls().map((wall) => wall.value);
    const range = around([low, high], near, this.meta.pulses ? 0.04 : 0.06);
    if (this.meta.pulses) return straight(...range, foot, top);
    return brokenWhereNeeded([...this.means.map((m) => m.value), ...near], ...range, foot, top);
  }

  /** Walls near enough to their stretch's reading to be worth the room. */
  nearWalls(span = this.meta.high - this.meta.low) {
    return this.walls.filter((wall) =>
      this.means.some((m) => m.from < wall.to && m.to > wall.from && Math.abs(m.value - wall.value) < 0.4 * span),
    );
  }

  /** What the pointer is over, in words. */
  said(time, piece, place) {
    if (!piece || this.meta.pulses) return "";
    const k = Math.floor((time - piece.begin) / piece.step);
    const mean = piece.lane(place)[3 * k + 2];
    if (mean === undefined || Number.isNaN(mean)) return "";
    return `${figure(mean, this.meta.decimals, this.meta.signed)} ${this.meta.unit}`;
  }
}

function clamp(value, low, high) {
  return Math.min(Math.max(value, low), high);
}

function around([low, high], levels, room = ROOM) {
  const least = Math.min(low, ...levels);
  const most = Math.max(high, ...levels);
  const span = most - least || Math.max(Math.abs(most), 1) * 0.1;
  return [least - room * span, most + room * span];
}

/** Least and greatest value of a lane within the view, or null where it is empty. */
function rangeIn(piece, triples, view) {
  const first = Math.max(Math.floor((view.begin - piece.begin) / piece.step), 0);
  const last = Math.min(Math.ceil((view.finish - piece.begin) / piece.step), piece.columns);
  let [low, high] = [Infinity, -Infinity];
  for (let k = first; k < last; k += 1) {
    if (triples[3 * k] < low) low = triples[3 * k];
    if (triples[3 * k + 1] > high) high = triples[3 * k + 1];
  }
  return low <= high ? [low, high] : null;
}
