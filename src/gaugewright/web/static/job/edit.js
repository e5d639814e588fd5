// Typing into the page: saved at once, place by place; what is wrong is said beside the field.
import { tell } from "/static/ask.js";
import { reload, send, sheet } from "/static/job/page.js";
import { words } from "/words.js";

const noteOf = (field) => document.getElementById(field.getAttribute("aria-describedby")?.split(" ")[0]);

function wrong(field, text, keys = []) {
  const note = noteOf(field);
  field.toggleAttribute("aria-invalid", false);
  if (text) field.setAttribute("aria-invalid", "true");
  if (!note) { if (text) tell(text); return; }
  note.replaceChildren(text);
  for (const [word, act] of keys) {
    const key = Object.assign(document.createElement("button"), { type: "button", textContent: word, className: "quiet" });
    key.addEventListener("click", act);
    note.append(" ", key);
  }
  note.hidden = !text;
  note.setAttribute("role", text ? "alert" : "note");
}

function oldOf(field) {
  const old = field.dataset.old;
  return old === undefined || old === "" ? null : old;
}

async function save(field, old = oldOf(field)) {
  const said = field.value.trim();
  if (said === (oldOf(field) ?? "") && !field.hasAttribute("aria-invalid")) return;
  field.dataset.dirty = "1";
  try {
    const stated = { place: field.dataset.place, old_text: old, new: said };
    await send("edit", stated);
    delete field.dataset.dirty;
    field.dataset.old = said;
    wrong(field, "");
  } catch (refused) {
    if (refused.status === 409) return clash(field, refused);
    wrong(field, refused.message);
  }
}

// Another hand was here: say so, show what is there now, let the person choose.
function clash(field, refused) {
  const now = refused.answer.now_text ?? "";
  wrong(field, refused.message, [
    [words["js.take-theirs"], () => { delete field.dataset.dirty; field.value = now; field.dataset.old = now; wrong(field, ""); reload(); field.focus(); }],
    [words["js.keep-mine"], () => { field.dataset.old = now; save(field, now === "" ? null : now); }],
  ]);
}

async function addChoice(field) {
  if (!field.value) return;
  const row = { ...JSON.parse(field.dataset.with), [field.dataset.key]: field.value };
  try { await send("rows", { place: field.dataset.adds, row }); } catch (refused) { wrong(field, refused.message); }
}

async function addRow(form) {
  const row = { ...JSON.parse(form.dataset.fixed || "{}") };
  for (const [key, value] of new FormData(form)) if (value.trim()) row[key] = value.trim();
  const said = form.querySelector(".keys .wrong");
  said.textContent = "";
  for (const field of form.elements) if (field.name) wrong(field, "");
  try {
    if (form.dataset.first) await send("rows", { place: "visit", row: { name: form.dataset.first } });
    await send("rows", { place: form.dataset.add, row });
    form.reset();
    close(form);
    tell(words["js.kept"], [[words["js.undo"], () => step("undo")]]);
  } catch (refused) {
    const key = refused.answer?.place?.split(".").pop();
    const field = key && form.elements[key];
    if (field?.name) { wrong(field, refused.message); field.focus(); } else said.textContent = refused.message;
  }
}

function close(form) {
  form.hidden = true;
  const key = sheet().querySelector(`[data-adder="${form.id}"]`);
  key?.setAttribute("aria-expanded", "false");
  key?.focus();
}

async function remove(key) {
  try {
    await send("rows/remove", { place: key.dataset.remove, old: JSON.parse(key.dataset.row) });
    tell(words["js.dropped"], [[words["js.undo"], () => step("undo")]]);
  } catch (refused) { tell(refused.message); }
}

export async function step(which) {
  try { await send(which, {}); } catch (refused) { tell(refused.message); }
}

export function listen() {
  document.addEventListener("change", (event) => {
    const field = event.target;
    if (field.dataset.place) save(field);
    else if (field.dataset.adds) addChoice(field);
  });
  document.addEventListener("keydown", (event) => {
    if (event.key === "Enter" && event.target.matches("input[data-place]")) event.target.blur(), event.target.focus();
    if (event.key === "Escape") escape(event.target);
  });
  document.addEventListener("submit", (event) => {
    if (event.target.dataset.add) { event.preventDefault(); addRow(event.target); }
  });
  document.addEventListener("click", (event) => {
    const on = (what) => event.target.closest(what);
    if (on("[data-step]")) step(on("[data-step]").dataset.step);
    if (on("[data-remove]")) remove(on("[data-remove]"));
    if (on("[data-adder]")) adder(on("[data-adder]"));
    if (on("[data-close]")) close(on("form"));
  });
}

function adder(key) {
  const form = document.getElementById(key.dataset.adder);
  form.hidden = !form.hidden;
  key.setAttribute("aria-expanded", String(!form.hidden));
  if (!form.hidden) form.querySelector("input, select, textarea").focus();
}

function escape(field) {
  if (field.dataset?.place) {
    field.value = field.dataset.old;
    delete field.dataset.dirty;
    wrong(field, "");
  } else if (field.closest?.("form[data-add]")) close(field.closest("form"));
}
