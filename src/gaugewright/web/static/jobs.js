// The list of jobs: bringing in, finding, setting aside.
import { ask, tell } from "/static/ask.js";
import { carry, onDrop, picked } from "/static/drop.js";
import { words } from "/words.js";

const offers = document.getElementById("offers");
const by = (id) => document.getElementById(id);

async function takeIn(files) {
  if (!files.length) return;
  tell(words["js.bringing"], [], 0);
  try {
    const taken = await carry("/api/take-in", files);
    tell("", [], 0);
    if (taken.state === "update") offer(taken);
    else location.href = taken.page;
  } catch (refused) {
    tell("", [], 0);
    say(refused);
  }
}

function say(refused) {
  const list = document.createElement("ul");
  for (const said of refused.answer?.sentences || [refused.message]) {
    list.append(Object.assign(document.createElement("li"), { textContent: said, className: "wrong" }));
  }
  offers.replaceChildren(list);
}

function offer(taken) {
  const box = document.createElement("div");
  const said = document.createElement("p");
  said.textContent = taken.says;
  const list = document.createElement("ul");
  for (const line of taken.differences) {
    list.append(Object.assign(document.createElement("li"), { textContent: line }));
  }
  const keys = document.createElement("p");
  keys.className = "keys";
  for (const [word, act] of [[words["js.take-over"], () => accept(taken)], [words["js.leave"], () => { location.href = taken.page; }]]) {
    const key = Object.assign(document.createElement("button"), { type: "button", className: "tap" });
    key.append(Object.assign(document.createElement("span"), { textContent: word }));
    key.addEventListener("click", act);
    keys.append(key);
  }
  box.append(said, list, keys);
  offers.replaceChildren(box);
  keys.firstChild.focus();
}

async function accept(taken) {
  try {
    const made = await ask("/api/take-in/accept", { ticket: taken.ticket, based_on: taken.version });
    location.href = made.page;
  } catch (refused) { say(refused); }
}

for (const [key, input] of [["bring", "files"], ["bring-folder", "folder"]]) {
  by(key)?.addEventListener("click", () => by(input).click());
  by(input)?.addEventListener("change", () => takeIn(picked(by(input))));
}
onDrop(takeIn);

const waits = new URLSearchParams(location.search).get("offer");
if (waits) ask(`/api/take-in/${encodeURIComponent(waits)}`).then(offer, say);

by("demo")?.addEventListener("click", async (event) => {
  event.currentTarget.disabled = true;
  tell(words["js.making-demo"], [], 0);
  try { location.href = (await ask("/api/demo", {})).page; } catch (refused) { tell(refused.message); }
});

by("find")?.addEventListener("input", (event) => {
  const wanted = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
  let shown = 0;
  for (const line of by("lines").rows) {
    const fits = wanted.every((word) => line.dataset.find.toLowerCase().includes(word));
    line.hidden = !fits;
    shown += fits;
  }
  by("none-found").hidden = shown > 0;
});

document.addEventListener("click", async (event) => {
  const key = event.target.closest("[data-act]");
  if (!key) return;
  const turned = { "set-aside": "bring-back", "bring-back": "set-aside" }[key.dataset.act];
  try {
    await ask(`/api/jobs/${key.dataset.job}/${key.dataset.act}`, {});
    key.closest("tr").remove();
    tell(words[`js.${key.dataset.act}`], [[words["js.undo"], async () => {
      await ask(`/api/jobs/${key.dataset.job}/${turned}`, {});
      location.reload();
    }]]);
  } catch (refused) { tell(refused.message); }
});
