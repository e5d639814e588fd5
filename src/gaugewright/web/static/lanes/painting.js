// Putting the page's picture up: canvases fitted, lanes and time axis drawn, elements placed.

import { drawLyingRule } from "./marks.js";
import { straight } from "./rule.js";

const MOST_RATIO = 2;

/** Screen pixels for each of the page's, as far as drawing follows. */
export function ratio() {
  return Math.min(window.devicePixelRatio || 1, MOST_RATIO);
}

/** Fit every canvas to its place. */
export function measure(page) {
  for (const lane of page.lanes) page.width = lane.measure();
  const canvas = page.ruler.querySelector("canvas");
  const box = page.ruler.getBoundingClientRect();
  Object.assign(canvas, { width: Math.round(box.width * ratio()), height: Math.round(box.height * ratio()) });
  page.rulerCtx = canvas.getContext("2d");
  page.rulerCtx.setTransform(ratio(), 0, 0, ratio(), 0, 0);
  page.moved();
}

/** Draw all lanes as they are looked at now; says in the document what was drawn. */
export function paintAll(page) {
  const { view, paints } = page;
  const { piece } = page.data;
  const [inside, glows, about] = [page.inside(), page.glows(), page.about()];
  page.lanes.forEach((lane, place) => lane.paint({ view, about, piece, place, paints, inside, glows }));
  paintRuler(page);
  for (const stretch of page.all()) stretch.place();
  placeHatches(page);
  tellPainted(page, piece);
}

function paintRuler({ rulerCtx: ctx, gutter, width, view, paints }) {
  ctx.clearRect(0, 0, width + gutter + 60, 60);
  drawLyingRule(ctx, straight(view.begin, view.finish, gutter + 0.5, gutter + width - 0.5), 2, paints);
}

function placeHatches(page) {
  const { x, width } = page.places();
  page.leftOut.forEach(({ from, to }, k) => {
    const element = page.hatches.children[k];
    const [left, right] = [Math.max(x(from), 0), Math.min(x(to), width)];
    element.hidden = right - left < 1;
    element.style.left = `${left}px`;
    element.style.width = `${Math.max(right - left, 1)}px`;
  });
}

/** `data-painted`: the window that is drawn in full detail, empty while its data are on the way. */
function tellPainted({ stack, data, view, columns }, piece) {
  const fine = piece?.covers(view.begin, view.finish) && piece.step <= (view.span / columns) * 1.01;
  stack.dataset.painted = fine ? `${view.begin.toFixed(4)} ${view.finish.toFixed(4)}` : "";
  stack.dataset.asked = String(data.sent);
}
