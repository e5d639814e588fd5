// Bring what stands on the page to what it should be, touching only what differs: what is being
// typed, what is open and where the focus is stay as they are.
export function morph(from, to) {
  if (from.nodeType === Node.TEXT_NODE) {
    if (from.data !== to.data) from.data = to.data;
    return;
  }
  if (from.dataset?.found && to.dataset?.found && from.childElementCount) return;
  if (busy(from)) return;
  attributes(from, to);
  if (from.matches("input, textarea, select")) field(from, to);
  if (!from.matches("textarea")) children(from, to);
}

const OWN = ["hidden", "aria-expanded", "aria-invalid", "data-dirty", "data-open"];

function attributes(from, to) {
  for (const { name, value } of [...to.attributes]) {
    if (!OWN.includes(name) && from.getAttribute(name) !== value) from.setAttribute(name, value);
  }
  for (const { name } of [...from.attributes]) {
    if (!OWN.includes(name) && !to.hasAttribute(name)) from.removeAttribute(name);
  }
}

// A field in which something is typed that is not kept yet: it keeps what it was looked at with,
// so that a stale write is noticed.
function busy(field) {
  if (!field.dataset?.place) return false;
  const typing = field === document.activeElement && field.value.trim() !== (field.dataset.old ?? "");
  return typing || Boolean(field.dataset.dirty) || field.getAttribute("aria-invalid") === "true";
}

function field(from, to) {
  if (from.type === "file" || from.type === "checkbox" || !from.dataset.place) return;
  const now = to.dataset.old ?? "";
  if (from.matches("select")) queueMicrotask(() => { from.value = now; });
  else if (from.value !== now) from.value = now;
}

function children(from, to) {
  const keyed = new Map();
  for (const child of from.children) if (child.id) keyed.set(child.id, child);
  let here = from.firstChild;
  for (const wanted of [...to.childNodes]) {
    const known = wanted.id && keyed.get(wanted.id);
    if (known) {
      if (known !== here) from.insertBefore(known, here);
      else here = here.nextSibling;
      morph(known, wanted);
      continue;
    }
    if (here && !here.id && same(here, wanted)) {
      const next = here.nextSibling;
      morph(here, wanted);
      here = next;
    } else from.insertBefore(wanted, here);
  }
  while (here) {
    const next = here.nextSibling;
    here.remove();
    here = next;
  }
}

function same(one, other) {
  return one.nodeType === other.nodeType && one.nodeName === other.nodeName && !other.id
    && one.dataset?.visit === other.dataset?.visit;
}
