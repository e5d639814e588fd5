// Wheel, pinch, drag and keys on the lanes.

const WHEEL = 0.0016;
const THRESHOLD = 6;

/**
 * @param {HTMLElement} surface the plot over all lanes
 * @param {HTMLElement} ruler the time axis, which drags the view along
 * @param {HTMLElement} stack takes the keys
 * @param {object} page `view`, `timeAt(clientX)`, and takes `drawn(times, done)`,
 *   `clicked()`; its `pointer` is told where the pointer is
 */
export function listen(surface, ruler, stack, page) {
  stack.addEventListener("wheel", (event) => wheel(event, page), { passive: false });
  stack.addEventListener("keydown", (event) => keys(event, page));
  new Fingers(surface, page, false);
  new Fingers(ruler, page, true);
  surface.addEventListener("pointermove", (event) => page.pointer.at(event));
  surface.addEventListener("pointerleave", () => page.pointer.at(null));
}

function wheel(event, { view, timeAt }) {
  event.preventDefault();
  const unit = event.deltaMode === 1 ? 24 : 1;
  const [dx, dy] = [event.deltaX * unit, event.deltaY * unit];
  if (event.shiftKey || Math.abs(dx) > Math.abs(dy)) view.pan((dx || dy) / 900);
  else view.zoom(Math.exp(Math.max(Math.min(dy, 240), -240) * WHEEL), timeAt(event.clientX));
}

function keys(event, { view }) {
  if (event.ctrlKey || event.metaKey || event.target.closest("input, select, textarea")) return;
  const acts = {
    "+": () => view.zoom(0.5),
    "=": () => view.zoom(0.5),
    "-": () => view.zoom(2),
    ArrowLeft: () => view.pan(event.shiftKey ? -0.5 : -0.1),
    ArrowRight: () => view.pan(event.shiftKey ? 0.5 : 0.1),
    Home: () => view.pan(-1e9),
    End: () => view.pan(1e9),
    0: () => view.all(),
  };
  const act = acts[event.key];
  if (!act) return;
  event.preventDefault();
  act();
}

/** One finger sets out a stretch (or drags the view), two pinch. */
class Fingers {
  constructor(surface, page, drags) {
    Object.assign(this, { surface, page, drags, down: new Map(), start: null });
    surface.addEventListener("pointerdown", (event) => this.press(event));
    surface.addEventListener("pointermove", (event) => this.move(event));
    for (const name of ["pointerup", "pointercancel"]) surface.addEventListener(name, (e) => this.lift(e));
  }

  press(event) {
    if (event.button > 1 || event.target.closest("button, [role=slider]")) return;
    if (event.pointerType === "mouse") event.preventDefault();
    this.surface.setPointerCapture(event.pointerId);
    this.down.set(event.pointerId, event.clientX);
    const pan = this.drags || event.shiftKey || event.button === 1;
    this.start = { x: event.clientX, pan, drawn: false, times: this.times() };
    if (this.down.size > 1) this.page.drawn(null);
  }

  times() {
    return [...this.down].map(([id, x]) => [id, this.page.timeAt(x)]);
  }

  move(event) {
    if (!this.down.has(event.pointerId) || !this.start) return;
    this.down.set(event.pointerId, event.clientX);
    if (this.down.size > 1 || this.start.pan) this.pinch();
    else this.draw(event.clientX, false);
  }

  /** Keep the instants that were under the fingers under them. */
  pinch() {
    const { view } = this.page;
    const held = this.start.times.filter(([id]) => this.down.has(id));
    const [[a, ta], [b, tb]] = [held[0], held[1] ?? held[0]];
    const [xa, xb] = [this.down.get(a), this.down.get(b)];
    const zero = this.surface.getBoundingClientRect();
    const apart = a !== b && Math.abs(xb - xa) > 8 && Math.abs(tb - ta) > 1e-9;
    const per = apart ? Math.abs((tb - ta) / (xb - xa)) : view.span / zero.width;
    const begin = ta - (xa - zero.left) * per;
    view.show(begin, begin + per * zero.width);
  }

  draw(x, done) {
    const { start, page } = this;
    if (!start.drawn && Math.abs(x - start.x) < THRESHOLD) return;
    start.drawn = true;
    const times = [start.times[0][1], page.timeAt(x)].sort((p, q) => p - q);
    page.drawn(times, done);
  }

  lift(event) {
    if (!this.down.delete(event.pointerId) || !this.start) return;
    const { drawn, pan } = this.start;
    if (event.type === "pointercancel") this.page.drawn(null);
    else if (drawn && !this.down.size) this.draw(event.clientX, true);
    else if (!pan && !this.down.size) this.page.clicked();
    if (this.down.size) this.start = { ...this.start, pan: true, times: this.times() };
    else this.start = null;
  }
}
