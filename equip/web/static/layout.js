/* Why this exists: a layout is described by trying. On each change the form goes to the server as it
   stands and what it makes of the log is shown beside it. Nothing is kept by that; without this
   script the button "Preview" does the same. */
"use strict";

(() => {
  const form = document.getElementById("layout");
  if (!form) return; // only a manager has the form

  const PAUSE_MS = 300; // as long as somebody goes on typing nothing is asked
  const WHOLE_BYTES = 2 * 1024 * 1024;
  const PART_BYTES = 256 * 1024; // of a larger log the beginning is enough to look at
  let timer = 0;
  let turn = 0;

  function later() {
    clearTimeout(timer);
    timer = setTimeout(look, PAUSE_MS);
  }

  async function look() {
    turn += 1;
    const mine = turn;
    const body = new FormData(form);
    const log = body.get("log");
    if (log.size > WHOLE_BYTES) {
      body.set("log", log.slice(0, PART_BYTES), log.name);
      body.set("part", "yes");
    }
    let fresh = null;
    let says = "The preview cannot be fetched now: press the button “Preview”.";
    try {
      const response = await fetch(form.dataset.preview, { method: "POST", body });
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      fresh = page.getElementById("seen");
      says = page.getElementById("says")?.textContent.trim() || says;
    } catch {
      // No network, or a log that was changed since it was chosen.
      if (log.size > 0) says += " If the log was written to since, choose it again.";
    }
    if (mine !== turn) return; // something newer is on its way
    show(fresh, says);
  }

  function show(fresh, says) {
    const seen = document.getElementById("seen");
    const wasOpen = seen.querySelector("details")?.open ?? false;
    if (fresh === null) {
      const said = document.createElement("p");
      said.className = "problem";
      said.textContent = says;
      seen.querySelector("[role=status]").replaceChildren(said);
      return;
    }
    const details = fresh.querySelector("details");
    if (details) details.open = wasOpen;
    seen.replaceChildren(...fresh.childNodes);
  }

  form.addEventListener("input", (event) => {
    if (event.target.name !== "reason") later();
  });
})();
