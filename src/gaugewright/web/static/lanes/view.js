// The stretch of time that is looked at, shared by all lanes.

/** A window on a recording; seconds throughout.  Fires "moved" whenever it changes. */
export class View extends EventTarget {
  /**
   * @param {number} start first instant of the recording
   * @param {number} end last instant
   * @param {number} least shortest window that can be looked at
   */
  constructor(start, end, least) {
    super();
    Object.assign(this, { start, end, least: Math.min(least, end - start), begin: start, finish: end });
  }

  get span() {
    return this.finish - this.begin;
  }

  get whole() {
    return this.span >= (this.end - this.start) * (1 - 1e-9);
  }

  /** Look at this window, brought within the recording. */
  show(begin, finish) {
    const span = Math.min(Math.max(finish - begin, this.least), this.end - this.start);
    const middle = (begin + finish) / 2;
    const first = Math.min(Math.max(middle - span / 2, this.start), this.end - span);
    if (first === this.begin && span === this.span) return;
    this.begin = first;
    this.finish = first + span;
    this.dispatchEvent(new Event("moved"));
  }

  /** Closer (factor below one) or wider, the instant `at` staying where it is. */
  zoom(factor, at = (this.begin + this.finish) / 2) {
    const span = Math.min(Math.max(this.span * factor, this.least), this.end - this.start);
    const begin = at - (at - this.begin) * (span / this.span);
    this.show(begin, begin + span);
  }

  /** Along the recording by a share of the window. */
  pan(share) {
    const step = share * this.span;
    this.show(this.begin + step, this.finish + step);
  }

  /** The recording from end to end. */
  all() {
    this.show(this.start, this.end);
  }
}

/** From seconds to places on a plot of this width, and back. */
export function placesOf(view, width) {
  const scale = width / view.span;
  return {
    x: (time) => (time - view.begin) * scale,
    time: (x) => view.begin + x / scale,
  };
}
