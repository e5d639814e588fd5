// The loupe: the edge under the finger among single pulses, beside the lanes and never over them.

import { cycleAt } from "./keys.js";
import { LaneData } from "./lane-data.js";
import { ratio } from "./painting.js";
import { straight } from "./rule.js";
import { drawTrace } from "./trace.js";

const CYCLES = 2.3;
const HATCH = 7;

export class Loupe {
  /** `element` holds a canvas and an output; `state` is what the server told of the recording. */
  constructor(element, state, address) {
    Object.assign(this, { element, state });
    this.canvas = element.querySelector("canvas");
    this.said = element.querySelector("output");
    this.data = new LaneData(address, state.lanes.length);
    this.data.addEventListener("arrived", () => this.paint());
    this.place = Math.max(state.lanes.findIndex((lane) => lane.pulses), 0);
    this.half = CYCLES * state.cycle;
    this.base = this.half;
  }

  /** Show this instant; `side` is -1 where the stretch begins, +1 where it ends. */
  show(time, side, said, paints) {
    Object.assign(this, { time, side, paints });
    const [start, length] = cycleAt(this.state, time);
    const near = Math.abs(start - time) < 4 * length;
    this.half = near ? CYCLES * length : this.base;
    this.element.hidden = false;
    this.said.textContent = said;
    const limits = [this.state.start, this.state.end];
    this.data.ask(time - this.half, time + this.half, this.canvas.clientWidth || 228, limits);
    this.paint();
  }

  hide() {
    this.element.hidden = true;
  }

  paint() {
    if (this.element.hidden || this.time === undefined) return;
    const ctx = this.fit();
    const [width, height] = [this.canvas.clientWidth, this.canvas.clientHeight];
    const scale = width / (2 * this.half);
    const x = (t) => (t - this.time + this.half) * scale;
    ctx.clearRect(0, 0, width, height);
    const { piece } = this.data;
    if (piece) this.trace(ctx, piece, x, width, height);
    this.outside(ctx, width, height);
    ctx.fillStyle = this.paints.ink;
    ctx.fillRect(width / 2 - 1.25, 0, 2.5, height);
  }

  fit() {
    const [wide, high] = [this.canvas.clientWidth * ratio(), this.canvas.clientHeight * ratio()];
    if (this.canvas.width !== wide) this.canvas.width = wide;
    if (this.canvas.height !== high) this.canvas.height = high;
    const ctx = this.canvas.getContext("2d");
    ctx.setTransform(ratio(), 0, 0, ratio(), 0, 0);
    return ctx;
  }

  trace(ctx, piece, x, width, height) {
    const meta = this.state.lanes[this.place];
    const y = straight(...rangeOf(piece.lane(this.place), meta), height - 8, 26);
    drawTrace(ctx, piece, piece.lane(this.place), {
      x,
      y: (value) => y.at(value),
      width,
      ink: this.paints.of(meta.ink),
      dash: undefined,
      weight: 1.6 * this.paints.trace,
      wash: this.paints.wash * 2,
      pulses: meta.pulses,
      interval: meta.interval,
    });
  }

  /** What lies outside the stretch is hatched. */
  outside(ctx, width, height) {
    if (!this.side) return;
    const [from, to] = this.side < 0 ? [0, width / 2] : [width / 2, width];
    ctx.save();
    ctx.beginPath();
    ctx.rect(from, 0, to - from, height);
    ctx.clip();
    ctx.strokeStyle = this.paints.of("line");
    ctx.lineWidth = 0.8;
    ctx.beginPath();
    for (let x = from - height; x < to; x += HATCH) {
      ctx.moveTo(x, height);
      ctx.lineTo(x + height, 0);
    }
    ctx.stroke();
    ctx.restore();
  }
}

/** Least and greatest value of what the loupe shows. */
function rangeOf(triples, meta) {
  let [low, high] = [Infinity, -Infinity];
  for (let k = 0; k < triples.length; k += 3) {
    if (triples[k] < low) low = triples[k];
    if (triples[k + 1] > high) high = triples[k + 1];
  }
  return low < high ? [low, high] : [meta.low, meta.high];
}
