// The keys at the foot of the page, and the closer look of each lane.

import { measure } from "./painting.js";

const CLOSER = 0.5;
const A_LITTLE = 0.1;

/** Wire the keys of the recording page. */
export function wireKeys(page) {
  const { view, draft } = page;
  const acts = {
    closer: () => view.zoom(CLOSER),
    wider: () => view.zoom(1 / CLOSER),
    cycle: () => oneCycle(page),
    whole: () => view.all(),
    set: () => draft.begin(),
    offer: () => draft.showOffers(),
    undo: () => page.change("undo", {}),
  };
  for (const key of page.root.querySelectorAll("[data-act]")) {
    key.addEventListener("click", () => acts[key.dataset.act]());
  }
  for (const lane of page.lanes) lane.key?.addEventListener("click", () => lookCloser(page, lane));
}

/** One cycle of the engine, near the middle of the chosen stretch or of the view. */
function oneCycle({ view, chosen, draft, state }) {
  const about = draft.stretch ?? chosen;
  const at = about ? (about.from + about.to) / 2 : (view.begin + view.finish) / 2;
  const [start, length] = cycleAt(state, at);
  view.show(start - A_LITTLE * length, start + (1 + A_LITTLE) * length);
}

/** Start and length of the cycle nearest to an instant, of those the server told. */
export function cycleAt({ cycles, cycle }, at) {
  let best = [at - cycle / 2, cycle];
  let least = Infinity;
  for (const [start, length] of cycles) {
    const away = Math.abs(start + length / 2 - at);
    if (away < least) [least, best] = [away, [start, length]];
  }
  return best;
}

function lookCloser(page, lane) {
  const on = !lane.closer;
  for (const other of page.lanes) other.look(other === lane && on);
  measure(page);
}
