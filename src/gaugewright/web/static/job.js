// A job's page, put together.
import { listen, step } from "/static/job/edit.js";
import { takeFiles, tellHistory } from "/static/job/files.js";
import { follow } from "/static/job/fold.js";
import { hear, keepFinding } from "/static/job/live.js";

listen();
follow();
takeFiles();
tellHistory();
hear();
keepFinding();

document.addEventListener("keydown", (event) => {
  const typing = event.target.matches("input, textarea, select");
  if ((event.ctrlKey || event.metaKey) && event.key.toLowerCase() === "z" && !typing) {
    event.preventDefault();
    step(event.shiftKey ? "redo" : "undo");
  }
});
