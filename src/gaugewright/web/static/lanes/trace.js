// One trace on a canvas: a filled column for each bin, the mean over a paler band.

const DASH = { dashed: [9, 5], "long-dash": [16, 6], dotted: [2.5, 4] };
const SPARSE = 1.6;
/** Samples further apart than so many intervals leave the line open. */
const GAP = 4;

/**
 * Draws the least-to-greatest band and the mean of one lane.
 *
 * `triples` holds (least, greatest, mean) for each column of `piece`; `x` takes seconds to
 * pixels, `y` values to pixels; `pulses` have no mean worth a line.
 */
export function drawTrace(ctx, piece, triples, { x, y, width, ink, dash, weight, wash, pulses, interval }) {
  const columns = visible(piece, triples, x, width);
  if (!columns.length) return;
  const apart = typicalDistance(columns);
  ctx.fillStyle = ink;
  ctx.strokeStyle = ink;
  const gap = Math.max(interval * GAP * (x(1) - x(0)), 3);
  if (apart > SPARSE) {
    drawPoints(ctx, columns, y, dash, weight, gap);
    return;
  }
  drawBand(ctx, columns, y, pulses ? 0.75 : wash);
  if (!pulses) drawMeans(ctx, columns, y, weight, DASH[dash], gap);
}

/** Columns that hold something, with their place and width in pixels. */
function visible(piece, triples, x, width) {
  const wide = piece.step * (x(1) - x(0));
  const zero = x(piece.begin);
  const first = Math.max(Math.floor(-zero / wide) - 2, 0);
  const last = Math.min(Math.ceil((width - zero) / wide) + 2, piece.columns);
  const found = [];
  for (let k = reach(triples, first); k < reachUp(triples, last, piece.columns); k += 1) {
    const mean = triples[3 * k + 2];
    if (mean === mean) {
      found.push({ x: zero + k * wide, wide, low: triples[3 * k], high: triples[3 * k + 1], mean });
    }
  }
  return found;
}

/** One filled column further out than the window, so that a line runs off its edge. */
function reach(triples, from) {
  let k = from;
  while (k > 0 && Number.isNaN(triples[3 * k + 2])) k -= 1;
  return k;
}

function reachUp(triples, from, columns) {
  let k = from;
  while (k < columns && Number.isNaN(triples[3 * k - 1])) k += 1;
  return k;
}

function typicalDistance(columns) {
  if (columns.length < 2) return columns[0].wide;
  return (columns.at(-1).x - columns[0].x) / (columns.length - 1);
}

function drawBand(ctx, columns, y, strength) {
  ctx.globalAlpha = strength;
  ctx.beginPath();
  for (const c of columns) {
    const top = y(c.high);
    const left = Math.floor(c.x);
    ctx.rect(left, top, Math.max(Math.floor(c.x + c.wide) - left, 1), Math.max(y(c.low) - top, 1));
  }
  ctx.fill();
  ctx.globalAlpha = 1;
}

function drawMeans(ctx, columns, y, weight, dash, gap) {
  const period = dash ? dash[0] + dash[1] : 0;
  ctx.beginPath();
  let before = null;
  for (const c of columns) {
    const at = y(c.mean);
    const joined = before !== null && c.x - before.right < gap;
    const from = joined ? before.at : at;
    const left = joined ? before.right : Math.floor(c.x);
    const right = Math.max(Math.floor(c.x + c.wide), left + 1);
    before = { right, at };
    if (period && left % period > dash[0]) continue;
    ctx.rect(left, Math.min(at, from) - weight / 2, right - left, Math.abs(at - from) + weight);
  }
  ctx.fill();
}

function drawPoints(ctx, columns, y, dash, weight, gap) {
  ctx.lineWidth = weight;
  ctx.lineJoin = "round";
  ctx.setLineDash(DASH[dash] ?? []);
  ctx.beginPath();
  let before = null;
  for (const c of columns) {
    const x = c.x + c.wide / 2;
    if (before !== null && x - before <= gap) ctx.lineTo(x, y(c.mean));
    else ctx.moveTo(x, y(c.mean));
    before = x;
  }
  ctx.stroke();
  ctx.setLineDash([]);
}
