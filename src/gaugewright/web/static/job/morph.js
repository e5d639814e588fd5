// Bring what stands on the page to what it should be, touching only what differs: what is being
// typed, what is open and where the focus is stay as they are.
export function morph(from, to) {
  if (from.nodeType === Node.TEXT_NODE) {
    if (from.data !== to.data) from.data = to.data;
    return;
  }
  if (from.dataset?.found && to.dataset?.found && from.childElementCount) return;
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

function field(from, to) {
  const typing = from === document.activeElement && value(from) !== from.dataset.was;
  if (from.dataset.dirty || typing) return;
  const now = to.matches("select") ? [...to.options].find((o) => o.defaultSelected)?.value ?? to.options[0]?.value ?? "" : to.matches("textarea") ? to.defaultValue : to.getAttribute("value") ?? "";
  if (from.type !== "file" && from.value !== now && !from.matches("select")) from.value = now;
  if (from.matches("select")) queueMicrotask(() => { if (from.value !== now) from.value = now; });
}

const value = (element) => element.value;

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
