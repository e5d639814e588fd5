// The stretch that is being set out: drawn by a drag, by keys or from an offer, then named.

import { Naming } from "./naming.js";
import { Stretch } from "./stretch.js";

export class Draft {
  /** `element` is the block at the side that tells of the draft or of the chosen stretch. */
  constructor(page, element) {
    Object.assign(this, { page, element, stretch: null, offers: [] });
    this.head = element.querySelector("[data-draft-head]");
    this.words = element.querySelector("[data-draft-words]");
    this.keys = element.querySelector("[data-draft-keys]");
    this.naming = new Naming(element.querySelector("form"), this);
    element.querySelector("[data-name]").addEventListener("click", () => this.name());
    element.querySelector("[data-drop]").addEventListener("click", () => this.drop());
    element.addEventListener("keydown", (event) => event.key === "Escape" && this.escape());
  }

  /** A drag over the lanes; null: it was no drag after all. */
  drawn(times, done) {
    if (!times) {
      if (this.drawing) this.clear();
      this.drawing = false;
      return;
    }
    const grain = 10 ** Math.max(Math.floor(Math.log10(this.page.perPixel())), -3);
    const [from, to] = times.map((t) => Number((Math.round(t / grain) * grain).toFixed(3)));
    if (to - from < 2 * grain) return;
    this.put(from, to);
    this.drawing = !done;
    if (done) this.page.settled(this.stretch);
  }

  /** By keyboard: a part of what is in view, its edges then moved with the arrow keys. */
  begin() {
    const { begin, span } = this.page.view;
    this.put(Number((begin + 0.4 * span).toFixed(2)), Number((begin + 0.6 * span).toFixed(2)));
    this.page.settled(this.stretch);
    this.stretch.edges[0].element.focus();
  }

  put(from, to) {
    const { view } = this.page;
    const [a, b] = [Math.max(from, view.start), Math.min(to, view.end)];
    if (this.stretch) Object.assign(this.stretch, { from: a, to: b });
    else {
      this.clearOffers();
      this.stretch = new Stretch(this.page, { key: "draft", name: "", from: a, to: b, did: ["nothing"] });
      if (this.page.chosen) this.page.choose(null);
      this.offer(null);
    }
    this.page.remark();
    this.page.paintSoon();
  }

  clear() {
    this.stretch?.remove();
    this.stretch = null;
    this.naming.close();
    this.offer(null);
    this.page.paintSoon();
  }

  /** What the block at the side is about: the draft, a chosen stretch, or nothing. */
  offer(chosen) {
    this.about = this.stretch ?? chosen;
    this.element.hidden = !this.about;
    this.element.classList.toggle("is-draft", Boolean(this.stretch));
    this.naming.close();
    this.keys.hidden = false;
    if (!this.about) return;
    this.head.textContent = this.about.title;
    this.words.hidden = true;
    const { texts } = this.page;
    const [name, drop] = this.stretch ? ["name-it", "let-go"] : ["change-it", "take-it-out"];
    const key = this.element.querySelector("[data-name]");
    key.className = this.stretch ? "key" : "tap";
    key.firstElementChild.textContent = texts[name];
    this.element.querySelector("[data-drop] span").textContent = texts[drop];
  }

  /** The server's words and readings for the draft. */
  told(html) {
    this.words.hidden = !html || !this.stretch;
    if (!this.words.hidden) {
      this.words.replaceChildren(document.createRange().createContextualFragment(html));
    }
  }

  name() {
    const { about } = this;
    this.keys.hidden = true;
    this.naming.open(about.name, about.did);
  }

  stopNaming() {
    this.naming.close();
    this.keys.hidden = false;
    this.element.querySelector("[data-name]").focus();
  }

  /** What was done was ticked: the readings depend on it. */
  did(list) {
    if (!this.stretch) return;
    this.stretch.did = list;
    this.page.panel.refresh(this.stretch);
  }

  async named({ name, did }) {
    const { stretch, about, page } = this;
    const body = { name, did, from: about.from, to: about.to };
    const what = stretch ? "name" : "rename";
    if (stretch) {
      this.stretch = null;
      stretch.remove();
    } else Object.assign(body, { key: about.key, old: about.old });
    const told = await page.change(what, body);
    if (told) {
      this.naming.close();
      page.choose(null);
    } else if (stretch) {
      this.put(stretch.from, stretch.to);
      this.name();
    }
    page.stack.focus({ preventScroll: true });
  }

  drop() {
    if (!this.stretch) {
      this.page.change("take-out", { key: this.about.key, old: this.about.old });
      return;
    }
    this.clear();
    this.page.panel.refresh(null);
    this.page.stack.focus({ preventScroll: true });
  }

  escape() {
    if (this.keys.hidden) this.stopNaming();
    else if (this.stretch) this.drop();
    else this.page.choose(null);
  }

  // -- offers --------------------------------------------------------------------------------

  async showOffers() {
    const { page } = this;
    const answer = await fetch(`${page.base}/offers`, { headers: { accept: "application/json" } });
    const told = await answer.json();
    this.clearOffers();
    page.say(told.said ?? told.sentence, !answer.ok);
    this.offers = (told.offers ?? []).map((offer) => this.offered(offer));
    page.root.querySelector("[data-offers]").replaceChildren(...this.offers);
    this.offers[0]?.focus();
  }

  offered({ from, to, said }) {
    const key = document.createElement("button");
    key.type = "button";
    key.className = "offer tap";
    key.append(Object.assign(document.createElement("span"), { textContent: said }));
    const { page } = this;
    key.addEventListener("click", () => {
      this.put(from, to);
      page.settled(this.stretch);
      this.stretch.edges[0].element.focus();
    });
    for (const name of ["focus", "pointerenter"]) {
      key.addEventListener(name, () => page.view.whole || page.view.show(from - 2, to + 2));
    }
    return key;
  }

  clearOffers() {
    for (const key of this.offers) key.remove();
    this.offers = [];
  }
}
