// Recordings brought to this job: dropped or picked, then mapped on their own page.
import { ask, tell } from "/static/ask.js";
import { carry, onDrop, picked } from "/static/drop.js";
import { job } from "/static/job/page.js";
import { words } from "/words.js";

async function bring(files) {
  if (!files.length) return;
  tell(words["js.bringing"], [], 0);
  try {
    location.href = (await carry(`/api/jobs/${job}/files`, files)).page;
  } catch (refused) { tell(refused.message, [], 20); }
}

export function takeFiles() {
  onDrop(bring);
  document.addEventListener("click", (event) => {
    if (event.target.closest("[data-bring]")) document.getElementById("recording-files").click();
  });
  document.addEventListener("change", (event) => {
    if (event.target.id === "recording-files") bring(picked(event.target));
  });
}

export function tellHistory() {
  document.addEventListener("click", async (event) => {
    const key = event.target.closest("[data-history]");
    if (!key) return;
    const box = key.closest(".body").querySelector(".history");
    box.hidden = !box.hidden;
    if (box.hidden) return;
    const list = document.createElement("ol");
    for (const line of await ask(`/api/jobs/${job}/history`)) {
      const item = document.createElement("li");
      item.textContent = `${new Date(line.at).toLocaleString()}, ${line.device}: ${words[`edit.${line.kind}`] || line.kind} ${line.what}${line.stands ? "" : ` (${words["js.taken-back"]})`}`;
      list.append(item);
    }
    box.replaceChildren(list);
  });
}
