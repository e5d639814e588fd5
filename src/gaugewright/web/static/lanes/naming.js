// Naming the stretch that was set out, or changing a named one: its name and what was done.

export class Naming {
  /**
   * @param {HTMLFormElement} form with `name`, `did` boxes and a way back
   * @param {object} page takes `named({ name, did })`, `did(list)`, `dropped()`
   */
  constructor(form, page) {
    Object.assign(this, { form, page, own: false });
    this.name = form.elements.namedItem("name");
    form.addEventListener("submit", (event) => this.keep(event));
    form.addEventListener("change", (event) => this.changed(event));
    form.querySelector("[data-back]").addEventListener("click", () => page.stopNaming());
    this.name.addEventListener("input", () => (this.own = this.name.value !== ""));
  }

  open(name, did) {
    this.form.hidden = false;
    this.own = name !== "";
    this.name.value = name;
    for (const box of this.boxes()) box.checked = did.includes(box.value);
    this.wrong("");
    this.name.focus();
    this.name.select();
  }

  close() {
    this.form.hidden = true;
  }

  boxes() {
    return [...this.form.querySelectorAll("input[name=did]")];
  }

  chosen() {
    const did = this.boxes().filter((box) => box.checked).map((box) => box.value);
    return did.length ? did : ["nothing"];
  }

  changed(event) {
    if (event.target.name !== "did") return;
    this.exclude(event.target);
    if (!this.own) this.name.value = this.suggested();
    this.page.did(this.chosen());
  }

  /** "nothing" stands alone. */
  exclude(box) {
    if (!box.checked) return;
    for (const other of this.boxes()) {
      if (other !== box && (box.value === "nothing" || other.value === "nothing")) other.checked = false;
    }
  }

  suggested() {
    const words = this.boxes().filter((box) => box.checked && box.value !== "nothing");
    return words.map((box) => box.dataset.word).join(", ");
  }

  keep(event) {
    event.preventDefault();
    const name = this.name.value.trim();
    if (!name) {
      this.wrong(this.form.dataset.wantsName);
      this.name.focus();
      return;
    }
    this.page.named({ name, did: this.chosen() });
  }

  wrong(sentence) {
    const line = this.form.querySelector(".wrong");
    line.textContent = sentence;
    line.hidden = !sentence;
    this.name.setAttribute("aria-invalid", String(Boolean(sentence)));
  }
}
