// Both pages as they print: their sheets asked for one after another.
import { ask } from "/static/ask.js";

const main = document.getElementById("main");
const { job, query } = main.dataset;

async function print(section) {
  const box = section.querySelector(".sheets");
  const count = section.querySelector("[data-count]");
  const name = section.dataset.name;
  try {
    const { sheets, version } = await ask(`/api/jobs/${job}/pages/${name}?${query}`);
    count.textContent = (sheets === 1 ? box.dataset.one : box.dataset.many).replace("{n}", sheets);
    for (let sheet = 1; sheet <= sheets; sheet += 1) {
      const picture = new Image();
      picture.alt = `${box.dataset.alt}, ${sheet}`;
      picture.loading = "lazy";
      picture.src = `/jobs/${job}/pages/${name}-${sheet}.png?${query}&v=${version}`;
      box.append(picture);
    }
  } catch (refused) {
    count.textContent = refused.message;
    count.className = "wrong";
  }
}

for (const section of document.querySelectorAll(".print")) await print(section);
document.querySelector(".choose")?.addEventListener("change", (event) => event.target.form.submit());
