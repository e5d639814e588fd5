// Files let fall on the page, folders with all that is in them; and carried over, telling how far.
import { Refused, tell } from "/static/ask.js";
import { words } from "/words.js";

export function onDrop(take) {
  const body = document.body;
  let depth = 0;
  const carries = (event) => event.dataTransfer?.types.includes("Files");
  addEventListener("dragenter", (event) => {
    if (carries(event)) { depth += 1; body.classList.add("over"); }
  });
  addEventListener("dragleave", () => {
    depth = Math.max(0, depth - 1);
    if (!depth) body.classList.remove("over");
  });
  addEventListener("dragover", (event) => { if (carries(event)) event.preventDefault(); });
  addEventListener("drop", async (event) => {
    if (!carries(event)) return;
    event.preventDefault();
    depth = 0;
    body.classList.remove("over");
    take(await within(event.dataTransfer));
  });
}

// Every file with its path inside what was dropped.
async function within(carried) {
  const entries = [...carried.items].map((item) => item.webkitGetAsEntry?.()).filter(Boolean);
  if (!entries.length) return [...carried.files].map((file) => [file.name, file]);
  const found = [];
  for (const entry of entries) await walk(entry, "", found);
  return found;
}

async function walk(entry, path, found) {
  if (entry.isFile) {
    const file = await new Promise((done, failed) => entry.file(done, failed));
    found.push([path + entry.name, file]);
    return;
  }
  const reader = entry.createReader();
  for (;;) {
    const some = await new Promise((done, failed) => reader.readEntries(done, failed));
    if (!some.length) return;
    for (const inner of some) await walk(inner, `${path}${entry.name}/`, found);
  }
}

export function picked(input) {
  return [...input.files].map((file) => [file.webkitRelativePath || file.name, file]);
}

function asForm(files) {
  const form = new FormData();
  for (const [path, file] of files) form.append("files", file, path);
  return form;
}

// Send files to this machine's app; resolves with its answer.
export function carry(path, files) {
  const asked = new XMLHttpRequest();
  asked.open("POST", path);
  asked.setRequestHeader("accept", "application/json");
  asked.responseType = "json";
  asked.upload.addEventListener("progress", ({ lengthComputable, loaded, total }) => {
    if (lengthComputable) tell(words["js.so-far"].replace("{percent}", Math.round((100 * loaded) / total)), [], 0);
  });
  asked.upload.addEventListener("load", () => tell(words["js.looking"], [], 0));
  return new Promise((done, failed) => {
    asked.addEventListener("load", () => (asked.status < 400 ? done(asked.response) : failed(new Refused(asked.status, asked.response || {}))));
    asked.addEventListener("error", () => failed(new Refused(0, { sentence: words["js.gone"] })));
    asked.send(asForm(files));
  });
}
