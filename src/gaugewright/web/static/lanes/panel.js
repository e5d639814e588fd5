// The readings at the side: asked for anew whenever a stretch was let go.

const PATIENCE = 250;

export class Panel {
  /**
   * @param {HTMLElement} element what the server's readings are put into
   * @param {HTMLElement} news a line that says how far it is
   * @param {string} address where the readings come from
   * @param {object} page takes `answered(answer)` and `pointed(keys)`
   */
  constructor(element, news, address, page) {
    Object.assign(this, { element, news, address, page, wish: null, busy: false });
    for (const name of ["pointerover", "focusin"]) {
      element.addEventListener(name, (event) => this.overRow(event.target.closest("[data-reading]")));
    }
    for (const name of ["pointerleave", "focusout"]) element.addEventListener(name, () => this.overRow(null));
  }

  /** Ask for the readings, with the stretch that is being set out, if there is one. */
  refresh(draft) {
    this.asked = performance.now();
    this.wish = draft ? { from: draft.from, to: draft.to, did: draft.did.join(" ") } : {};
    this.next();
  }

  async next() {
    if (this.busy || !this.wish) return;
    const { wish } = this;
    this.wish = null;
    this.busy = true;
    this.element.setAttribute("aria-busy", "true");
    try {
      const answer = await this.fetch(wish);
      if (!this.wish && answer) this.take(answer);
    } catch (problem) {
      this.say(problem.message);
    } finally {
      this.busy = false;
      this.element.removeAttribute("aria-busy");
    }
    this.next();
  }

  async fetch(wish) {
    for (;;) {
      const answer = await fetch(`${this.address}?${new URLSearchParams(wish)}`, {
        headers: { accept: "application/json" },
      });
      const told = await answer.json();
      if (answer.status === 200) return told;
      this.say(told.sentence);
      if (answer.status !== 202) return null;
      if (this.wish) return null;
      await new Promise((done) => setTimeout(done, PATIENCE));
    }
  }

  take(answer) {
    const focused = document.activeElement?.closest?.("[data-reading]")?.dataset.reading;
    this.element.replaceChildren(document.createRange().createContextualFragment(answer.html));
    if (focused) this.element.querySelector(`[data-reading="${CSS.escape(focused)}"]`)?.focus();
    this.say("");
    this.page.root.dataset.readingsMs = String(Math.round(performance.now() - this.asked));
    this.page.answered(answer);
  }

  say(text) {
    this.news.textContent = text;
    this.news.hidden = !text;
  }

  /** A reading under the pointer or the focus shows what it was matched with. */
  overRow(row) {
    if (row === this.row) return;
    this.row = row;
    for (const line of this.element.querySelectorAll("[data-usual]")) line.textContent = line.dataset.usual;
    const line = row?.closest("[data-block]")?.querySelector("[data-usual]");
    if (line && row.dataset.match) line.textContent = row.dataset.match;
    this.page.pointed(row ? [row.dataset.of, row.dataset.with].filter(Boolean) : []);
  }
}
