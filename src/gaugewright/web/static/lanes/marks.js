// What stands on a lane beside its trace: limits as walls, means as lines with figures, axes.

import { figure, ticksOf } from "./rule.js";

const FEATHER = 7;
const HALO = 5;

/** The rule at the left of a lane: baseline, ticks outwards, figures at the long ones. */
export function drawStandingRule(ctx, scale, x, signed, paints) {
  const { long, brief, decimals } = ticksOf(scale, 38);
  ctx.strokeStyle = paints.ink;
  ctx.lineWidth = 1.5;
  for (let i = 0; i < scale.places.length - 1; i += 2) line(ctx, x, scale.places[i], x, scale.places[i + 1]);
  if (scale.broken) for (const y of scale.places.slice(1, 3)) line(ctx, x - 5, y + 3, x + 5, y - 3);
  ctx.lineWidth = 1;
  for (const value of brief) line(ctx, x - 5, scale.at(value), x, scale.at(value));
  ctx.fillStyle = paints.soft;
  ctx.font = "400 14px 'Source Sans Pro', sans-serif";
  ctx.textAlign = "right";
  ctx.textBaseline = "middle";
  for (const value of long) {
    const y = scale.at(value);
    line(ctx, x - 9, y, x, y);
    ctx.fillText(figure(value, decimals, signed), x - 13, y + 0.5);
  }
}

/** The shared time axis: a rule lying on its edge. */
export function drawLyingRule(ctx, scale, y, paints) {
  const { long, brief, decimals } = ticksOf(scale, 62);
  ctx.strokeStyle = paints.ink;
  ctx.lineWidth = 1.5;
  line(ctx, scale.places[0], y, scale.places.at(-1), y);
  ctx.lineWidth = 1;
  for (const value of brief) line(ctx, scale.at(value), y, scale.at(value), y + 5);
  ctx.fillStyle = paints.soft;
  ctx.font = "400 14px 'Source Sans Pro', sans-serif";
  ctx.textAlign = "center";
  ctx.textBaseline = "top";
  for (const value of long) {
    line(ctx, scale.at(value), y, scale.at(value), y + 9);
    ctx.fillText(figure(value, decimals), scale.at(value), y + 12);
  }
}

/** A limit that holds from x1 to x2: a wall with feathers on the side that is not allowed. */
export function drawWall(ctx, x1, x2, y, side, said, paints, bounds, means) {
  if (x2 - x1 < 2) return;
  ctx.strokeStyle = paints.ink;
  ctx.lineWidth = 1.25;
  line(ctx, x1, y, x2, y);
  ctx.lineWidth = 0.9;
  ctx.beginPath();
  for (let x = x1 + 4; x <= x2; x += FEATHER) {
    ctx.moveTo(x, y);
    ctx.lineTo(x - 4.5, y + 6 * side);
  }
  ctx.stroke();
  const middle = Math.max(x1, bounds[0]) / 2 + Math.min(x2, bounds[1]) / 2;
  const room = Math.min(x2, bounds[1]) - Math.max(x1, bounds[0]);
  ctx.font = "600 14px 'Source Sans Pro', sans-serif";
  if (ctx.measureText(said).width > room) return;
  const free = (way) => !means.some((mean) => (mean - y) * way > -3 && (mean - y) * way < 27);
  const way = free(side) || !free(-side) ? side : -side;
  write(ctx, said, middle, y + (way > 0 ? 9 : -9), way > 0 ? "top" : "bottom", paints.ink, paints);
}

/** A reading on its lane: its mean over the stretch, the figure above or below it. */
export function drawMean(ctx, x1, x2, y, said, paints, walls, top, bounds) {
  ctx.fillStyle = paints.figure;
  ctx.fillRect(x1, y - 1.1, Math.max(x2 - x1, 2), 2.2);
  const left = Math.max(x1, bounds[0]);
  const right = Math.min(x2, bounds[1]);
  ctx.font = "600 19px 'Source Sans Pro', sans-serif";
  if (!said || ctx.measureText(said).width > right - left + 24) return;
  const above = y - 11 - 16 > top && !walls.some((wall) => wall < y && wall > y - 32);
  write(ctx, said, (left + right) / 2, above ? y - 9 : y + 10, above ? "bottom" : "top", paints.figure, paints);
}

function write(ctx, text, x, y, baseline, ink, paints) {
  ctx.textAlign = "center";
  ctx.textBaseline = baseline;
  ctx.lineJoin = "round";
  ctx.strokeStyle = paints.paper;
  ctx.lineWidth = HALO;
  ctx.globalAlpha = 0.85;
  ctx.strokeText(text, x, y);
  ctx.globalAlpha = 1;
  ctx.fillStyle = ink;
  ctx.fillText(text, x, y);
}

function line(ctx, x1, y1, x2, y2) {
  ctx.beginPath();
  ctx.moveTo(x1, y1);
  ctx.lineTo(x2, y2);
  ctx.stroke();
}
