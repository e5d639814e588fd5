// The keys at the foot of the page, and the closer look of each lane.

const CLOSER = 0.5;
const A_LITTLE_MORE = 1.2;

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

/** One cycle of the engine, in the middle of the chosen stretch or of the view. */
function oneCycle({ view, chosen, draft, state }) {
  const about = draft.stretch ?? chosen;
  const at = about ? (about.from + about.to) / 2 : (view.begin + view.finish) / 2;
  const half = (state.cycle * A_LITTLE_MORE) / 2;
  view.show(at - half, at + half);
}

function lookCloser(page, lane) {
  const on = !lane.closer;
  for (const other of page.lanes) other.look(other === lane && on);
  page.measure();
}
