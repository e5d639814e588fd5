// The recording page: lanes, stretches, readings, loupe and keys, wired together.

import { Draft } from "./draft.js";
import { listen } from "./gestures.js";
import { hear } from "./hearing.js";
import { Keeper } from "./keeping.js";
import { wireKeys } from "./keys.js";
import { LaneData } from "./lane-data.js";
import { Lane, paintsOf } from "./lane.js";
import { Loupe } from "./loupe.js";
import { laneElement, opened } from "./opening.js";
import { measure, paintAll, ratio } from "./painting.js";
import { Panel } from "./panel.js";
import { Pointer } from "./pointer.js";
import { figure } from "./rule.js";
import { Stretch } from "./stretch.js";
import { View, placesOf } from "./view.js";

class RecordingPage {
  constructor(root, state) {
    Object.assign(this, { root, state, texts: state.texts, stretches: new Map(), chosen: null });
    this.base = root.dataset.base;
    this.stack = root.querySelector("[data-stack]");
    this.over = root.querySelector("[data-over]");
    this.ruler = root.querySelector("[data-ruler]");
    this.hatches = root.querySelector("[data-hatches]");
    this.gutter = Number.parseFloat(getComputedStyle(this.stack).getPropertyValue("--gutter"));
    this.view = new View(state.start, state.end, state.least);
    this.data = new LaneData(`${this.base}/window`, state.lanes.length);
    this.keeper = new Keeper(this.base, state.version);
    this.loupe = new Loupe(root.querySelector("[data-loupe]"), state, `${this.base}/window`);
    this.panel = new Panel(root.querySelector("[data-readings]"), root.querySelector("[data-news]"), `${this.base}/readings`, this);
    this.status = root.querySelector("[data-status]");
    this.leftOut = [];
    this.timeAt = this.timeAt.bind(this);
    this.seconds = this.seconds.bind(this);
    this.lanes = state.lanes.map((meta) => new Lane(laneElement(root, meta, this.texts.lane), meta, this.gutter));
    this.pointer = new Pointer(this);
    this.draft = new Draft(this, root.querySelector("[data-draft]"));
  }

  start() {
    this.setStretches(this.state.conditions);
    this.view.addEventListener("moved", () => this.moved());
    this.data.addEventListener("arrived", () => this.paintSoon());
    this.data.addEventListener("failed", () => this.say(this.texts["no-lanes"]));
    new ResizeObserver(() => measure(this)).observe(this.stack);
    new MutationObserver(() => this.relit()).observe(document.documentElement, { attributeFilter: ["data-look"] });
    matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => this.relit());
    document.fonts.ready.then(() => this.paintSoon());
    listen(this.over, this.ruler, this.stack, this);
    wireKeys(this);
    this.relit();
    measure(this);
    this.panel.refresh(null);
    hear(this);
  }

  // -- what is looked at ---------------------------------------------------------------------

  moved() {
    const { begin, finish, start, end } = this.view;
    this.columns = Math.max(Math.round(this.width * ratio()), 1);
    this.data.ask(begin, finish, this.columns, [start, end]);
    Object.assign(this.stack.dataset, { begin: begin.toFixed(4), finish: finish.toFixed(4) });
    this.paintSoon();
  }

  relit() {
    this.paints = paintsOf(this.root);
    this.paintSoon();
  }

  paintSoon() {
    if (this.frame) return;
    this.frame = requestAnimationFrame(() => {
      this.frame = null;
      paintAll(this);
    });
  }

  places() {
    return { ...placesOf(this.view, this.width), width: this.width };
  }

  timeAt(clientX) {
    return this.places().time(clientX - this.over.getBoundingClientRect().left);
  }

  perPixel() {
    return this.view.span / this.width;
  }

  seconds(time, decimals = 1) {
    return this.texts.seconds.replace("{time}", figure(time, decimals));
  }

  // -- stretches -----------------------------------------------------------------------------

  all() {
    return [...this.stretches.values(), ...(this.draft.stretch ? [this.draft.stretch] : [])];
  }

  inside() {
    return this.all().map((s) => [s.from, s.to]).sort((a, b) => a[0] - b[0]);
  }

  /** The part that a closer look is about: the chosen stretch where it is in view, else the view. */
  about() {
    const { begin, finish } = this.view;
    const about = this.draft.stretch ?? this.chosen;
    if (!about || about.from >= finish || about.to <= begin) return null;
    return { begin: Math.max(about.from, begin), finish: Math.min(about.to, finish) };
  }

  glows() {
    const lit = this.all().filter((s) => s.draft || s === this.chosen || this.under?.includes(s.key));
    return lit.map((s) => [s.from, s.to]);
  }

  /** What the document says now; a stretch that is under the finger stays there. */
  setStretches(conditions) {
    const before = this.stretches;
    this.stretches = new Map();
    for (const data of conditions) {
      const known = before.get(data.key);
      before.delete(data.key);
      this.stretches.set(data.key, known?.take(data) ?? new Stretch(this, data));
    }
    for (const gone of before.values()) gone.remove();
    if (this.chosen && !this.stretches.has(this.chosen.key)) this.choose(null);
    this.remark();
    this.paintSoon();
  }

  choose(stretch) {
    this.chosen = stretch === this.chosen ? null : stretch;
    this.draft.offer(this.chosen);
    this.remark();
  }

  point(key) {
    this.pointed(key ? [key] : []);
  }

  pointed(keys) {
    this.under = keys;
    this.remark();
  }

  remark() {
    const top = this.draft.stretch;
    for (const s of this.all()) {
      s.mark(s.draft || s === this.chosen);
      s.element.classList.toggle("under", Boolean(top) && s !== top && s.from < top.to && s.to > top.from);
    }
    this.paintSoon();
  }

  moving(stretch, part) {
    this.underFinger(stretch, part, true);
    this.paintSoon();
  }

  /** Let go: readings follow, and a named stretch is kept. */
  settled(stretch) {
    if (stretch.draft) this.panel.refresh(stretch);
    else this.change("move", () => ({ key: stretch.key, from: stretch.from, to: stretch.to, old: stretch.old }));
  }

  async change(what, body) {
    try {
      const told = await this.keeper.send(what, body);
      this.setStretches(told.conditions);
      this.say(told.said);
      this.panel.refresh(this.draft.stretch);
      return told;
    } catch (problem) {
      if (problem.told?.conditions) this.setStretches(problem.told.conditions);
      this.say(problem.message, true);
      return null;
    }
  }

  underFinger(stretch, part, on) {
    if (!on) {
      this.loupe.hide();
      return;
    }
    if (!stretch.draft && this.chosen !== stretch) this.choose(stretch);
    const time = part === "end" ? stretch.to : stretch.from;
    this.loupe.show(time, { begin: -1, end: 1, move: -1 }[part], this.seconds(time, 2), this.paints);
  }

  // -- what the gestures say ------------------------------------------------------------------

  drawn(times, done) {
    this.draft.drawn(times, done);
  }

  clicked() {
    if (this.chosen) this.choose(null);
  }

  // -- readings and what they tell the lanes --------------------------------------------------

  answered({ lanes, left_out: leftOut, said, draft }) {
    this.lanes.forEach((lane) => Object.assign(lane, lanes[lane.meta.key] ?? { means: [], walls: [] }));
    this.leftOut = leftOut;
    this.hatches.replaceChildren(...leftOut.map(({ said: words }) => this.hatch(words)));
    this.draft.told(draft);
    this.status.textContent = said;
    this.paintSoon();
  }

  hatch(words) {
    const element = document.createElement("div");
    element.className = "left-out";
    element.append(Object.assign(document.createElement("span"), { textContent: words }));
    return element;
  }

  say(text, wrong = false) {
    const line = this.root.querySelector("[data-line]");
    line.textContent = text ?? "";
    line.hidden = !text;
    line.classList.toggle("wrong", wrong);
  }
}

const root = document.querySelector("[data-recording]");
const state = await opened(root);
if (state) {
  const page = new RecordingPage(root, state);
  page.start();
  root.dataset.ready = "";
}
