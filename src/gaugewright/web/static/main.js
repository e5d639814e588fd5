// What every page does: light or dim bay, kept by this device.
const key = document.getElementById("look");
const root = document.documentElement;

function isDim() {
  const look = root.dataset.look;
  return look === "dim" || (look === "device" && matchMedia("(prefers-color-scheme: dark)").matches);
}

function say() {
  key.textContent = isDim() ? key.dataset.light : key.dataset.dim;
}

key?.addEventListener("click", () => {
  const look = isDim() ? "light" : "dim";
  document.cookie = `look=${look}; path=/; max-age=31536000; samesite=strict`;
  root.dataset.look = look;
  say();
  document.dispatchEvent(new CustomEvent("look", { detail: look }));
});
if (key) say();
