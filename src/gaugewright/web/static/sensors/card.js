// A sensor's card: points are added and taken out, what is stated of it is changed.

const root = document.querySelector("[data-sensor]");
const base = root.dataset.sensor;
const card = root.querySelector("[data-card]");
const news = root.querySelector("[data-news]");
const PATIENCE = 400;
let version = Number(root.dataset.version);
let line = Promise.resolve();

async function post(what, body) {
  const answer = await fetch(`${base}/${what}`, {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify({ ...body, version }),
  });
  const told = await answer.json();
  if (!answer.ok) throw new Error(told.sentence);
  show(told);
  if (told.waits) follow();
}

function send(what, body) {
  const sent = line.then(() => post(what, body));
  line = sent.catch(() => null);
  return sent;
}

function show({ html, version: now }) {
  version = now;
  card.replaceChildren(document.createRange().createContextualFragment(html));
}

/** The readings and zeros come as soon as the recordings are read. */
async function follow() {
  for (;;) {
    const answer = await fetch(`${base}/card`, { headers: { accept: "application/json" } });
    const told = await answer.json();
    if (answer.status === 200) {
      show(told);
      news.textContent = "";
      return;
    }
    if (answer.status !== 202) {
      news.textContent = told.sentence;
      return;
    }
    await new Promise((done) => setTimeout(done, PATIENCE));
  }
}

/** Show the fields of a new point, or put them away. */
function open(on) {
  const form = card.querySelector("[data-add]");
  const opener = card.querySelector("[data-open]");
  form.hidden = !on;
  opener.parentElement.hidden = on;
  (on ? form.elements.namedItem("value") : opener).focus();
}

function wrong(element, sentence) {
  element.textContent = sentence;
  element.hidden = !sentence;
}

async function add(form) {
  const [value, output] = ["value", "output"].map((name) => form.elements.namedItem(name).value);
  try {
    await send("points", { value, output });
    open(true);
  } catch (problem) {
    wrong(form.querySelector(".wrong"), problem.message);
  }
}

async function takeOut(key) {
  try {
    await send("points/take-out", { number: Number(key.dataset.takeOut), old: JSON.parse(key.dataset.old) });
    card.querySelector("[data-open]").focus();
  } catch (problem) {
    news.textContent = problem.message;
  }
}

card.addEventListener("submit", (event) => {
  event.preventDefault();
  add(event.target);
});
card.addEventListener("click", (event) => {
  if (event.target.closest("[data-open]")) open(true);
  else if (event.target.closest("[data-close]")) open(false);
  else if (event.target.closest("[data-take-out]")) takeOut(event.target.closest("[data-take-out]"));
});

root.querySelector("[data-keep]").addEventListener("click", async () => {
  const answer = await fetch(`${base}/keep`, { method: "POST", headers: { accept: "application/json" } });
  const told = await answer.json();
  news.textContent = told.said ?? told.sentence;
});

for (const input of root.querySelectorAll("[data-key]")) {
  input.addEventListener("change", async () => {
    const line = document.getElementById(`${input.id}-wrong`);
    try {
      const parts = input.value.split(/\s+(?:to|bis)\s+/);
      await send("state", { key: input.dataset.key, old: JSON.parse(input.dataset.old), new: input.value });
      input.dataset.old = JSON.stringify(input.value ? (parts.length > 1 ? parts : input.value) : null);
      wrong(line, "");
    } catch (problem) {
      wrong(line, problem.message);
    }
    input.setAttribute("aria-invalid", String(!line.hidden));
  });
}

if (root.hasAttribute("data-waits")) follow();
root.dataset.ready = "";
