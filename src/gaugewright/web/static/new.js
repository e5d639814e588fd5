// A new job: the few words it begins with, then its page.
import { ask } from "/static/ask.js";
import { words } from "/words.js";

const form = document.getElementById("new-job");
const wrong = document.getElementById("new-wrong");

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  const stated = Object.fromEntries(new FormData(form));
  const title = form.elements.title;
  const missing = document.getElementById("title-wrong");
  missing.hidden = Boolean(stated.title.trim());
  title.toggleAttribute("aria-invalid", !missing.hidden);
  if (!missing.hidden) {
    missing.textContent = words["js.needs-title"];
    title.setAttribute("aria-invalid", "true");
    title.focus();
    return;
  }
  if (!/^\d+$/.test(stated.cylinders.trim())) {
    wrong.textContent = words["js.whole-cylinders"];
    form.elements.cylinders.focus();
    return;
  }
  stated.cylinders = Number(stated.cylinders);
  try {
    location.href = (await ask("/api/jobs", stated)).page;
  } catch (refused) {
    wrong.textContent = refused.message;
  }
});
form.addEventListener("keydown", (event) => {
  if (event.key === "Enter" && (event.ctrlKey || event.metaKey)) form.requestSubmit();
});
