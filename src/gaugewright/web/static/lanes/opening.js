// Opening a recording: wait until it is read, then put up its lanes.

const PATIENCE = 250;

/** What the server tells of the recording, or null when it cannot be read (the page says why). */
export async function opened(root) {
  const news = root.querySelector("[data-news]");
  for (;;) {
    const answer = await fetch(`${root.dataset.base}/state`, { headers: { accept: "application/json" } });
    const told = await answer.json();
    if (answer.status === 200) return told;
    news.textContent = told.sentence;
    if (answer.status !== 202) return null;
    await new Promise((done) => setTimeout(done, PATIENCE));
  }
}

/** One lane's elements, its name beside its plot. */
export function laneElement(root, meta, said) {
  const element = root.querySelector("[data-lane-template]").content.firstElementChild.cloneNode(true);
  const [name, against, unit] = ["h2", ".against", ".unit"].map((part) => element.querySelector(part));
  name.textContent = meta.name;
  against.textContent = meta.against;
  against.hidden = !meta.against;
  unit.textContent = meta.unit;
  unit.hidden = meta.pulses;
  element.classList.add(`weight-${meta.weight}`);
  element.querySelector(".lane-name").classList.add(meta.ink);
  const words = { name: meta.name, against: meta.against, unit: meta.unit };
  const label = said.replace(/\{(\w+)\}/g, (_, key) => words[key]);
  element.querySelector("canvas").setAttribute("aria-label", label);
  if (meta.pulses) element.querySelector("[data-closer]").remove();
  else element.querySelector("[data-closer]").setAttribute("aria-label", `${meta.name}: ${element.querySelector("[data-closer]").textContent}`);
  root.querySelector("[data-lanes]").append(element);
  return element;
}
