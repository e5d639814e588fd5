// An edge of a stretch, or its middle: a slider for the pointer and for the keyboard.

const REPEAT = 0.1;
const REST = 400;

/** Seconds for each press of an arrow key; with Shift ten of them, with Alt a tenth. */
function stepOf(event) {
  if (event.shiftKey) return REPEAT * 10;
  return event.altKey ? REPEAT / 10 : REPEAT;
}

/** Seconds rounded as finely as the view can show, never finer than a millisecond. */
export function rounded(time, perPixel) {
  const grain = 10 ** Math.max(Math.floor(Math.log10(Math.max(perPixel, 1e-6))), -3);
  return Number((Math.round(time / grain) * grain).toFixed(3));
}

export class Edge {
  /**
   * @param {HTMLElement} element takes the focus and the finger
   * @param {object} host tells `value()`, `bounds()`, `timeAt(clientX)`, `perPixel()`, and takes
   *   `moving(time)`, `settled(time)`, `focused(on)`
   */
  constructor(element, host) {
    this.element = element;
    this.host = host;
    this.held = null;
    element.addEventListener("pointerdown", (event) => this.grip(event));
    element.addEventListener("pointermove", (event) => this.drag(event));
    element.addEventListener("pointerup", (event) => this.letGo(event));
    element.addEventListener("pointercancel", (event) => this.letGo(event));
    element.addEventListener("keydown", (event) => this.key(event));
    element.addEventListener("focus", () => host.focused(true));
    element.addEventListener("blur", () => this.blurred());
  }

  /** Write where the edge is for those who hear the page. */
  tell(said) {
    const [low, high] = this.host.bounds();
    const attributes = { valuemin: low, valuemax: high, valuenow: this.host.value() };
    for (const [name, value] of Object.entries(attributes)) {
      this.element.setAttribute(`aria-${name}`, String(Number(value.toFixed(3))));
    }
    this.element.setAttribute("aria-valuetext", said);
  }

  grip(event) {
    if (event.button !== 0) return;
    event.preventDefault();
    event.stopPropagation();
    this.element.setPointerCapture(event.pointerId);
    this.element.focus({ preventScroll: true });
    const at = this.host.timeAt(event.clientX);
    this.held = { pointer: event.pointerId, off: at - this.host.value(), moved: false };
    this.host.focused(true);
  }

  drag(event) {
    if (this.held?.pointer !== event.pointerId) return;
    event.stopPropagation();
    this.held.moved = true;
    this.move(rounded(this.host.timeAt(event.clientX) - this.held.off, this.host.perPixel()));
  }

  letGo(event) {
    if (this.held?.pointer !== event.pointerId) return;
    event.stopPropagation();
    const { moved } = this.held;
    this.held = null;
    if (moved) this.host.settled();
  }

  key(event) {
    const way = { ArrowLeft: -1, ArrowDown: -1, ArrowRight: 1, ArrowUp: 1, PageDown: -50, PageUp: 50 }[event.key];
    if (way === undefined) return;
    event.preventDefault();
    event.stopPropagation();
    this.move(rounded(this.host.value() + way * stepOf(event), 0.001));
    clearTimeout(this.resting);
    this.waits = true;
    this.resting = setTimeout(() => this.rested(), REST);
  }

  rested() {
    this.waits = false;
    this.host.settled();
  }

  move(time) {
    const [low, high] = this.host.bounds();
    this.host.moving(Math.min(Math.max(time, low), high));
  }

  blurred() {
    if (!this.held) this.host.focused(false);
  }
}
