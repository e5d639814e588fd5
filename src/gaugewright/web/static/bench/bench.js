// The what-if bench: what is chosen and moved goes to the server, its picture comes back.

const root = document.querySelector("[data-bench]");
const part = (name) => root.querySelector(`[data-${name}]`);
const choices = part("choices");
const sliders = part("sliders");
const news = part("news");
const PATIENCE = 300;
let wish = null;
let busy = false;
let states = {};

function chosen() {
  return Object.fromEntries([...new FormData(choices)].filter(([, value]) => value));
}

function moved() {
  return Object.fromEntries(new FormData(sliders));
}

/** Ask for this; one request in flight, the newest wish next. */
function ask(query) {
  wish = query;
  next();
}

async function next() {
  if (busy || !wish) return;
  const query = wish;
  wish = null;
  busy = true;
  try {
    const told = await fetchWhenRead(query);
    if (told && !wish) show(told);
  } catch (problem) {
    news.textContent = problem.message;
  } finally {
    busy = false;
  }
  next();
}

async function fetchWhenRead(query) {
  for (;;) {
    const answer = await fetch(`${root.dataset.bench}?${new URLSearchParams(query)}`, {
      headers: { accept: "application/json" },
    });
    const told = await answer.json();
    if (answer.status === 200 && told.html) return told;
    news.textContent = told.sentence;
    if (answer.status !== 202) {
      part("body").hidden = true;
      part("slopes-part").hidden = true;
      return null;
    }
    await new Promise((done) => setTimeout(done, PATIENCE));
  }
}

function fill(place, html) {
  place.replaceChildren(document.createRange().createContextualFragment(html));
}

function show(told) {
  news.textContent = "";
  for (const name of ["body", "slopes-part"]) part(name).hidden = false;
  fill(part("picture"), told.picture);
  fill(part("told"), told.html);
  fill(part("slopes"), told.slopes);
  part("status").textContent = told.said;
  states = told.state;
  for (const [name, words] of Object.entries(told.choices)) offer(name, words, told.chosen[name]);
  slide("speed", told.speed);
  slide("warmth", told.warmth);
  sliders.elements.namedItem("warmth").disabled = !told.warmth.known;
  sliders.querySelector("[data-state=limit]").hidden = !told.state.limit;
  root.dataset.ready = "";
}

function offer(name, words, now) {
  const select = choices.elements.namedItem(name);
  const known = [...select.options].map((option) => option.value).join("\n");
  if (known !== words.join("\n")) select.replaceChildren(...words.map((word) => new Option(word, word)));
  select.value = now;
  select.disabled = !words.length;
}

function slide(name, { low, high, now }) {
  const slider = sliders.elements.namedItem(name);
  Object.assign(slider, { min: low, max: high });
  if (document.activeElement === slider) return;
  slider.value = now;
  tell(name, now);
}

function say(name) {
  tell(name, sliders.elements.namedItem(name).value);
}

function tell(name, value) {
  const slider = sliders.elements.namedItem(name);
  part(`${name}-said`).textContent = `${value} ${slider.dataset.unit}`;
  slider.setAttribute("aria-valuetext", `${value} ${slider.dataset.unit}`);
}

choices.addEventListener("change", (event) => {
  const { visit, condition, ...rest } = chosen();
  if (event.target.name === "visit") ask({ visit });
  else if (event.target.name === "condition") ask({ visit, condition });
  else if (event.target.name === "limit") ask({ visit, condition, ...rest });
  else ask({ ...chosen(), ...moved() });
});
sliders.addEventListener("input", () => {
  say("speed");
  say("warmth");
  ask({ ...chosen(), ...moved() });
});
sliders.addEventListener("click", (event) => {
  const key = event.target.closest("[data-state]");
  const state = key && states[key.dataset.state];
  if (!state) return;
  const asked = Object.fromEntries(Object.entries(state).filter(([, value]) => value !== null));
  ask({ ...chosen(), ...moved(), ...asked });
});

ask(chosen());
