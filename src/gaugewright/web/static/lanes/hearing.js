// Edits made elsewhere: another tab or device changed the job while this page was open.

/** Follow the job's events; the page takes what is new and keeps what is under the finger. */
export function hear(page) {
  const job = page.base.split("/recordings/")[0];
  const source = new EventSource(`${job}/events?since=${page.keeper.version}`);
  source.addEventListener("edited", (event) => {
    const { version, device, what } = JSON.parse(event.data);
    if (version > page.keeper.version) catchUp(page, device, what);
  });
  window.addEventListener("pagehide", () => source.close());
}

async function catchUp(page, device, what) {
  await page.keeper.line;
  const answer = await fetch(`${page.base}/state`, { headers: { accept: "application/json" } });
  if (answer.status !== 200) return;
  const told = await answer.json();
  if (told.version <= page.keeper.version) return;
  page.keeper.version = told.version;
  page.setStretches(told.conditions);
  page.panel.refresh(page.draft.stretch);
  page.say(page.texts["changed-elsewhere"].replace("{device}", device).replace("{what}", what));
}
