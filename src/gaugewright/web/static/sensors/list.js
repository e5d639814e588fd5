// The list of sensors: those kept for the workshop are taken into jobs, put away, brought back.

const root = document.querySelector("[data-list]");
const news = root.querySelector("[data-news]");

async function post(card, what, body = {}) {
  const answer = await fetch(`/api/sensor-cards/${card}/${what}`, {
    method: "POST",
    headers: { "content-type": "application/json", accept: "application/json" },
    body: JSON.stringify(body),
  });
  const told = await answer.json();
  if (!answer.ok) throw new Error(told.sentence);
  return told;
}

async function act(element, what, body) {
  try {
    const told = await post(element.closest("[data-card]").dataset.card, what, body);
    if (told.address) location.assign(told.address);
    else location.reload();
  } catch (problem) {
    news.textContent = problem.message;
  }
}

root.addEventListener("submit", (event) => {
  event.preventDefault();
  act(event.target, "into", { job: event.target.elements.namedItem("job").value });
});
root.addEventListener("click", (event) => {
  if (event.target.closest("[data-put-away]")) act(event.target, "set-aside");
  else if (event.target.closest("[data-bring-back]")) act(event.target, "bring-back");
});
root.dataset.ready = "";
