// What lies under the pointer: the instant on the time axis, each lane's value beside its name.

export class Pointer {
  constructor(page) {
    this.page = page;
    this.hair = page.root.querySelector("[data-hair]");
    this.time = this.hair.querySelector("span");
    this.values = page.lanes.map((lane) => lane.element.querySelector(".unit"));
  }

  /** The pointer is here, or gone (null). */
  at(event) {
    const { page } = this;
    this.hair.hidden = !event || event.pointerType === "touch";
    const time = this.hair.hidden ? null : page.timeAt(event.clientX);
    if (time !== null) {
      const { x, width } = page.places();
      this.hair.style.left = `${x(time)}px`;
      this.hair.classList.toggle("flipped", x(time) > width - 90);
      this.time.textContent = page.seconds(time, page.view.span < 2 ? 3 : 2);
    }
    page.lanes.forEach((lane, place) => {
      const said = time === null ? "" : lane.said(time, page.data.piece, place);
      const line = this.values[place];
      line.textContent = said || lane.meta.unit;
      line.classList.toggle("here", Boolean(said));
    });
  }
}
