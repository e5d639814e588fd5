// A condition, or one being set out, as elements over the lanes: bracket, name, edges.

import { Edge } from "./edge.js";

const LEAST = 0.2;
/** A name may be wider than its bracket by this much. */
const OVER = 26;
/** A bracket that goes on beyond the view is drawn so far out. */
const BEYOND = 4;

function made(tag, kind, attributes = {}) {
  const element = document.createElement(tag);
  element.className = kind;
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  return element;
}

export class Stretch {
  /**
   * @param {object} page the recording page: `view`, `texts`, `places()`, `changed(stretch)`, ...
   * @param {object} data `key`, `name`, `from`, `to`, `did`; a draft has the key "draft"
   */
  constructor(page, data) {
    Object.assign(this, { page, ...data });
    this.draft = data.key === "draft";
    this.build();
  }

  build() {
    const { texts } = this.page;
    this.element = made("div", this.draft ? "stretch draft" : "stretch", { role: "group", "data-key": this.key });
    this.glow = made("div", "glow");
    this.label = made("button", "stretch-name", { type: "button" });
    this.bracket = made("div", "bracket");
    this.element.append(this.glow, this.bracket, this.label);
    this.edges = ["begin", "move", "end"].map((part) => this.edge(part, texts));
    this.label.addEventListener("click", () => this.page.choose(this));
    this.element.addEventListener("pointerenter", () => this.page.point(this.key));
    this.element.addEventListener("pointerleave", () => this.page.point(null));
    this.page.over.append(this.element);
  }

  edge(part, texts) {
    const element = made("span", `edge ${part}`, { role: "slider", tabindex: "0", "aria-orientation": "horizontal" });
    element.append(made("i", "grip"));
    this.element.append(element);
    const edge = new Edge(element, {
      value: () => (part === "end" ? this.to : this.from),
      bounds: () => this.boundsOf(part),
      timeAt: (x) => this.page.timeAt(x),
      perPixel: () => this.page.perPixel(),
      moving: (time) => this.move(part, time),
      settled: () => this.page.settled(this),
      focused: (on) => this.page.underFinger(this, part, on),
    });
    edge.part = part;
    edge.label = texts[`edge-${part}`];
    return edge;
  }

  /** A named stretch keeps clear of its neighbours: conditions follow one another. */
  boundsOf(part) {
    const [start, end] = this.draft ? [this.page.view.start, this.page.view.end] : this.room();
    if (part === "begin") return [start, this.to - LEAST];
    if (part === "end") return [this.from + LEAST, end];
    return [start, end - (this.to - this.from)];
  }

  room() {
    const { view, stretches } = this.page;
    const middle = (this.from + this.to) / 2;
    const others = [...stretches.values()].filter((other) => other !== this);
    const before = others.filter((other) => (other.from + other.to) / 2 < middle).map((other) => other.to);
    const after = others.filter((other) => (other.from + other.to) / 2 > middle).map((other) => other.from);
    return [Math.max(view.start, ...before), Math.min(view.end, ...after)];
  }

  move(part, time) {
    const length = this.to - this.from;
    if (part === "begin") this.from = time;
    else if (part === "end") this.to = time;
    else [this.from, this.to] = [time, Number((time + length).toFixed(3))];
    this.page.moving(this, part);
  }

  /** Put the elements where the stretch is now. */
  place() {
    const { x, width } = this.page.places();
    const [at, till] = [x(this.from), x(this.to)];
    this.element.hidden = till < 0 || at > width;
    if (this.element.hidden) return;
    const [left, right] = [Math.max(at, -BEYOND), Math.min(till, width + BEYOND)];
    this.element.classList.toggle("open-left", at < left);
    this.element.classList.toggle("open-right", till > right);
    this.element.style.left = `${left}px`;
    this.element.style.width = `${Math.max(right - left, 1)}px`;
    this.setLabel(left, right, width);
    for (const edge of this.edges) this.tell(edge);
    this.element.setAttribute("aria-label", this.spoken());
  }

  setLabel(left, right, width) {
    const said = this.draft ? this.page.seconds(this.to - this.from) : this.name;
    if (this.label.textContent !== said) this.label.textContent = said;
    const [from, to] = [Math.max(left, 0), Math.min(right, width)];
    const room = Math.max(to - from, 40) + OVER;
    this.label.style.left = `${(from + to) / 2 - left}px`;
    this.label.style.maxWidth = `${room}px`;
    this.label.classList.toggle("tight", said.length * 8.2 > room);
  }

  tell(edge) {
    const time = edge.part === "end" ? this.to : this.from;
    edge.element.setAttribute("aria-label", edge.label.replace("{name}", this.title));
    edge.tell(this.page.seconds(time, 2));
  }

  get title() {
    return this.draft ? this.page.texts["new-condition"] : this.name;
  }

  spoken() {
    const { seconds, texts } = this.page;
    return texts.stretch
      .replace("{name}", this.title)
      .replace("{from}", seconds(this.from, 2))
      .replace("{to}", seconds(this.to, 2));
  }

  /** What the document says of it now; while it is held, its edges stay under the finger. */
  take(data) {
    const held = this.edges.some((edge) => edge.held || edge.waits);
    const { from, to } = held ? this : data;
    Object.assign(this, data, { from, to });
    return this;
  }

  mark(chosen) {
    this.element.classList.toggle("chosen", chosen);
    this.label.setAttribute("aria-pressed", String(chosen));
  }

  remove() {
    this.element.remove();
  }
}
