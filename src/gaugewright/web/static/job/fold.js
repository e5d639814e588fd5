// Parts that fold, rows that open, and the spine that follows the page.
import { job, sheet, whenShown } from "/static/job/page.js";

const kept = `folds-${job}`;
const chosen = JSON.parse(localStorage.getItem(kept) || "{}");

function folded(part) {
  return part.id in chosen ? chosen[part.id] : part.dataset.folds === "1";
}

function setFold(part, fold) {
  part.dataset.open = fold ? "0" : "1";
  const key = part.querySelector("[data-fold]");
  key.setAttribute("aria-expanded", String(!fold));
  key.textContent = fold ? key.dataset.unfoldSays : key.dataset.foldSays;
}

function change(part, open) {
  const key = part.querySelector("[data-change]");
  if (!key) return;
  part.querySelector(".form").hidden = !open;
  part.querySelector(".read").hidden = open;
  key.setAttribute("aria-expanded", String(open));
  key.firstElementChild.textContent = open ? key.dataset.doneSays : key.dataset.changeSays;
  if (open) {
    setFold(part, false);
    part.querySelector(".form input, .form textarea, .form select").focus({ preventScroll: true });
  }
}

function openRow(key) {
  const row = document.getElementById(key.dataset.rowOpen);
  row.hidden = !row.hidden;
  key.setAttribute("aria-expanded", String(!row.hidden));
  if (!row.hidden) row.querySelector("input, select, textarea").focus();
}

export function follow() {
  const settle = () => {
    for (const part of sheet().querySelectorAll("section.part")) {
      setFold(part, folded(part));
      const key = part.querySelector("[data-change]");
      if (key?.getAttribute("aria-expanded") === "true") key.firstElementChild.textContent = key.dataset.doneSays;
    }
  };
  settle();
  whenShown(settle);
  const asked = location.hash && document.querySelector(`section${location.hash}`);
  if (asked) setFold(asked, false);
  document.addEventListener("click", (event) => {
    const on = (what) => event.target.closest(what);
    const part = on("section.part");
    if (on("[data-fold]")) {
      chosen[part.id] = !(part.dataset.open === "0");
      localStorage.setItem(kept, JSON.stringify(chosen));
      setFold(part, chosen[part.id]);
    }
    if (on("[data-change]")) change(part, on("[data-change]").getAttribute("aria-expanded") !== "true");
    if (on("[data-row-open]")) openRow(on("[data-row-open]"));
    if (on("[data-more]")) more(on("[data-more]"));
    const link = on(".spine a, .lying a, #go-on");
    if (link) go(link);
  });
  spy();
  whenShown(spy);
}

function more(key) {
  const box = key.nextElementSibling || key.parentElement.nextElementSibling;
  box.hidden = !box.hidden;
  key.setAttribute("aria-expanded", String(!box.hidden));
}

function go(link) {
  const part = document.querySelector(`section${link.getAttribute("href")}`);
  if (!part) return;
  setFold(part, false);
  if (link.id === "go-on") {
    if (part.querySelector("[data-change]")) change(part, true);
    else queueMicrotask(() => part.querySelector(".adders .tap, a.tap, .key")?.focus());
  }
}

let watcher;

function spy() {
  watcher?.disconnect();
  const seen = new Set();
  watcher = new IntersectionObserver((entries) => {
    for (const entry of entries) entry.isIntersecting ? seen.add(entry.target.id) : seen.delete(entry.target.id);
    const here = [...sheet().querySelectorAll("section.part")].find((part) => seen.has(part.id))?.id;
    for (const link of sheet().querySelectorAll(".spine a")) {
      if (link.dataset.part === nameOf(here)) link.setAttribute("aria-current", "location");
      else link.removeAttribute("aria-current");
    }
  }, { rootMargin: "-8% 0px -55% 0px" });
  for (const part of sheet().querySelectorAll("section.part")) watcher.observe(part);
}

const nameOf = (id) => id;
