// Mapping a file's columns; kept as a recording of the job.
import { ask } from "/static/ask.js";

const form = document.getElementById("map");
const wrong = document.getElementById("map-wrong");
const path = `/api/jobs/${form.dataset.job}/brought/${form.dataset.ticket}`;
const INK = { "oil-pressure": "oil", "crankcase-pressure": "crankcase", "engine-speed": "speed", ignition: "ignition", crank: "ignition", cam: "ignition", "manifold-pressure": "manifold", "oil-temperature": "temperature", "coolant-temperature": "temperature", "air-flow": "air", "fuel-trim-short": "trim", "fuel-trim-long": "trim" };

function part(row, name) { return row.querySelector(`[data-part="${name}"]`); }

function settle(row) {
  const quantity = part(row, "quantity").value;
  row.classList.toggle("left", !quantity);
  row.querySelector(".drawn").className = `drawn ${INK[quantity] || "soft"}`;
  part(row, "unit").disabled = Boolean(part(row, "sensor").value);
  part(row, "reference").hidden = !quantity.endsWith("-pressure") || Boolean(part(row, "sensor").value);
}

const rowsOf = () => [...form.querySelectorAll("tr[data-column]")];
rowsOf().forEach(settle);
form.addEventListener("change", (event) => {
  const row = event.target.closest("tr[data-column]");
  if (row) settle(row);
});

// A file without a clock needs its rate: asked for at the field itself.
function rateStands() {
  const rate = form.elements.rate;
  if (!rate) return true;
  const stands = Boolean(rate.value.trim());
  document.getElementById("rate-wrong").hidden = stands;
  if (stands) rate.removeAttribute("aria-invalid");
  else { rate.setAttribute("aria-invalid", "true"); rate.focus(); }
  return stands;
}

form.addEventListener("submit", async (event) => {
  event.preventDefault();
  wrong.textContent = "";
  if (!rateStands()) return;
  const stated = Object.fromEntries(new FormData(form));
  stated.header_row = Number(stated.header_row) || null;
  const signals = rowsOf().filter((row) => part(row, "quantity").value).map((row) => {
    const sensor = part(row, "sensor").value;
    return { column: row.dataset.column, quantity: part(row, "quantity").value, sensor, unit: sensor ? "" : part(row, "unit").value.trim(), reference: part(row, "reference").hidden ? "" : part(row, "reference").value };
  });
  try {
    const { page } = await ask(`${path}/keep`, { ...stated, file: form.dataset.file, signals, based_on: Number(form.dataset.version) });
    location.href = page;
  } catch (refused) {
    wrong.textContent = (refused.answer?.sentences || [refused.message]).join(" ");
  }
});

document.getElementById("skip").addEventListener("click", async () => {
  location.href = (await ask(`${path}/skip`, { page: form.dataset.file })).page;
});
