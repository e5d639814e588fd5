// Settings: each is kept as soon as it is chosen.
import { ask, tell } from "/static/ask.js";
import { words } from "/words.js";

document.addEventListener("change", async (event) => {
  const field = event.target;
  if (!field.dataset.setting) return;
  const note = document.getElementById(`${field.id}-wrong`);
  try {
    await ask("/api/settings", { key: field.dataset.setting, value: field.value });
    note.hidden = true;
    if (field.dataset.setting === "workshop") tell(words["js.kept"]);
    else location.reload();
  } catch (refused) {
    note.textContent = refused.message;
    note.hidden = false;
  }
});
