// Asking this machine: JSON there and back, failures as the sentence it says.
import { words } from "/words.js";

export class Refused extends Error {
  constructor(status, answer) {
    super(answer.sentence || words["js.lost"]);
    this.status = status;
    this.answer = answer;
  }
}

export async function ask(path, body, method) {
  const how = { method: method || (body === undefined ? "GET" : "POST"), headers: { accept: "application/json" } };
  if (body instanceof FormData) how.body = body;
  else if (body !== undefined) {
    how.body = JSON.stringify(body);
    how.headers["content-type"] = "application/json";
  }
  let answer;
  try {
    answer = await fetch(path, how);
  } catch {
    throw new Refused(0, { sentence: words["js.gone"] });
  }
  const said = await answer.json().catch(() => ({}));
  if (!answer.ok) throw new Refused(answer.status, said);
  return said;
}

const news = document.getElementById("news");
let fades;

// One line of news at the foot; `keys` are [word, what it does].
export function tell(text, keys = [], seconds = 9) {
  clearTimeout(fades);
  news.replaceChildren(Object.assign(document.createElement("span"), { textContent: text }));
  for (const [word, act] of keys) {
    const key = document.createElement("button");
    key.type = "button";
    key.className = "tap";
    key.append(Object.assign(document.createElement("span"), { textContent: word }));
    key.addEventListener("click", () => { news.hidden = true; act(); });
    news.append(key);
  }
  news.hidden = !text;
  if (seconds) fades = setTimeout(() => { news.hidden = true; }, 1000 * seconds);
}
