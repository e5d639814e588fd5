// What others do to this job, as it happens; and what was found, as soon as it is worked out.
import { ask, tell } from "/static/ask.js";
import { job, reload, settled, sheet, version, whenShown } from "/static/job/page.js";
import { words } from "/words.js";

let stream;
let lost = false;

export function hear() {
  stream = new EventSource(`/api/jobs/${job}/events?since=${version()}`);
  stream.addEventListener("edited", async (event) => {
    const told = JSON.parse(event.data);
    await settled();
    if (told.version <= version()) return;
    await reload().catch(() => {});
    tell(words["js.changed-elsewhere"].replace("{device}", told.device).replace("{what}", named(told)));
    mark(told.places);
  });
  stream.addEventListener("stage", (event) => {
    const { stage } = JSON.parse(event.data);
    for (const line of sheet().querySelectorAll(".stage")) line.textContent = words[`stage.${stage}`] || stage;
  });
  stream.addEventListener("error", () => {
    if (!lost) tell(words["js.gone"], [], 0);
    lost = true;
  });
  stream.addEventListener("open", () => {
    if (lost) { tell(words["js.back"]); reload().catch(() => {}); }
    lost = false;
  });
  addEventListener("pagehide", () => stream.close());
  addEventListener("pageshow", (event) => { if (event.persisted) hear(); });
}

// What was changed, as the page itself calls it where it does.
function named({ places, what }) {
  const field = sheet().querySelector(`[data-place="${CSS.escape(places[0] ?? "")}"]`);
  return field?.closest(".field").querySelector("label")?.textContent || what;
}

function mark(places) {
  for (const place of places) {
    const field = sheet().querySelector(`[data-place="${CSS.escape(place)}"]`);
    field?.closest(".field").classList.add("fresh");
    setTimeout(() => field?.closest(".field").classList.remove("fresh"), 4000);
  }
}

let asked = 0;
let busy = false;

// First what is quick, the readings; then all of it, the causes too.
export async function find() {
  const now = version();
  if (busy || now === asked || !sheet().querySelector('[data-found="meaning"]')) return;
  busy = true;
  document.body.dataset.finding = "1";
  try {
    for (const whole of [false, true]) {
      const found = await ask(`/api/jobs/${job}/found?whole=${whole}`);
      asked = found.version;
      put(found);
      if (found.whole || version() !== found.version) break;
    }
  } catch (refused) {
    asked = now;
    const place = sheet().querySelector('[data-found="meaning"]');
    if (place) place.replaceChildren(Object.assign(document.createElement("p"), { className: "wrong", textContent: refused.message }));
  } finally {
    busy = false;
    delete document.body.dataset.finding;
  }
  if (version() !== asked) find();
}

function put(found) {
  for (const name of ["meaning", "recordings", "instruments"]) {
    const place = sheet().querySelector(`[data-found="${name}"]`);
    if (place) place.innerHTML = found[name];
  }
}

export function keepFinding() {
  find();
  whenShown(() => find());
}
