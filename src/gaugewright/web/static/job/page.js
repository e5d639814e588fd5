// The page of one job: where it is, which version it shows, how a new one is put in.
import { ask } from "/static/ask.js";
import { morph } from "/static/job/morph.js";

export const job = document.getElementById("job").dataset.job;
export const sheet = () => document.getElementById("sheet");
export const version = () => Number(sheet().dataset.version);
const heard = new Set();

export function whenShown(listener) { heard.add(listener); }

// Put in a version's inner part; an older one than what is shown is let be.
export function show({ version: number, html }) {
  if (number < version()) return;
  const made = document.createElement("template");
  made.innerHTML = html;
  morph(sheet(), made.content.firstElementChild);
  for (const listener of heard) listener();
}

export async function reload() { show(await ask(`/api/jobs/${job}`)); }

let line = Promise.resolve();

// Resolves once what was sent from here is shown: what is heard after it is another's.
export const settled = () => line;

// Edits go one after another, so that each is based on what came before it.
export function send(path, body) {
  const sent = line.then(() => ask(`/api/jobs/${job}/${path}`, { ...body, based_on: version() }));
  line = sent.then(show, () => {});
  return sent;
}
