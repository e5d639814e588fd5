// A practice round: begin it, ask for tests, say what it is.
import { ask } from "/static/ask.js";
import { words } from "/words.js";

const by = (id) => document.getElementById(id);
const job = document.getElementById("main").dataset.job;

by("begin")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const stated = Object.fromEntries(new FormData(event.target));
  const seed = stated.seed.trim();
  event.target.querySelector(".key").disabled = true;
  try {
    const { page } = await ask("/api/practice", { level: Number(stated.level), seed: seed ? Number(seed) : null });
    location.href = page;
  } catch (refused) {
    by("begin-wrong").textContent = refused.message;
    event.target.querySelector(".key").disabled = false;
  }
});

document.addEventListener("click", async (event) => {
  const key = event.target.closest("[data-ask]");
  if (!key) return;
  for (const other of document.querySelectorAll("[data-ask]")) other.disabled = true;
  by("doing").textContent = words["js.engine-runs"];
  by("doing").scrollIntoView({ block: "center" });
  try {
    await ask(`/api/practice/${job}/ask`, { test: key.dataset.ask });
    location.reload();
  } catch (refused) {
    by("doing").textContent = refused.message;
    for (const other of document.querySelectorAll("[data-ask]")) other.disabled = false;
  }
});

by("say")?.addEventListener("submit", async (event) => {
  event.preventDefault();
  const causes = new FormData(event.target).getAll("cause");
  await ask(`/api/practice/${job}/reveal`, { causes });
  location.hash = "truth";
  location.reload();
});
