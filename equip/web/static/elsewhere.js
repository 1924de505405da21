/* Why this exists: a scanner types wherever the focus is. On a page that waits for no scan, what it
   types would end up in a name, or press a button. A scanner is told by its speed and by the Enter
   or Tab behind it; then the server says what was scanned, and it is opened, or left alone aloud.
   A field that waits for a tag says so and gets it. Text that means nothing stays where it was. */
"use strict";

(() => {
  const GAP_MS = 35; // no hand types on at this pace
  const LEAST = 5; // the shortest patient reference; a tag has ten characters
  const FIELD = "input, textarea";
  const WAITS = "[data-scans]";
  const WORDS = "textarea, [name=name], [name=reason], [name=why], [name=note], [name=decision]";
  const token = document.querySelector('meta[name="csrf-token"]').content;
  const notice = document.getElementById("scanned");
  let run = null; // what is being typed at a scanner's pace: its text, and the field as it was

  function begin(field) {
    return { text: "", at: 0, field, was: field ? field.value : "" };
  }

  document.addEventListener("keydown", (event) => {
    const active = document.activeElement;
    const field = active.matches(FIELD) ? active : null;
    const now = performance.now();
    if (event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey) {
      if (run === null || run.field !== field || now - run.at > GAP_MS) run = begin(field);
      run.text += event.key;
      run.at = now;
      return;
    }
    if (event.key === "Shift") return;
    const ended = run;
    run = null;
    if (event.key !== "Enter" && event.key !== "Tab") return;
    if (ended === null || now - ended.at > GAP_MS * 2 || ended.text.trim().length < LEAST) return;
    if (field && field.matches(WAITS)) return;
    event.preventDefault();
    event.stopPropagation();
    ask(ended, event.key);
  }, true);

  async function ask(scan, key) {
    const typed = scan.field ? scan.field.value : "";
    if (scan.field) scan.field.value = scan.was;
    let found = { kind: "text", says: "", url: "" };
    try {
      const response = await fetch(notice.dataset.ask, {
        method: "POST",
        headers: { "X-CSRFToken": token },
        body: new URLSearchParams({ text: scan.text }),
      });
      if (response.ok) found = await response.json();
    } catch {
      // Without an answer it is text: it stays where it was typed.
    }
    const isText = found.kind === "text" || (found.kind === "patient" && !isWords(scan.field));
    if (scan.field && isText) {
      scan.field.value = typed;
      if (key === "Enter" && scan.field.form && scan.field.matches("input")) {
        scan.field.form.requestSubmit();
      }
      return;
    }
    if (found.url && found.kind !== "act" && found.kind !== "patient" && !scan.field) {
      location.assign(found.url);
      return;
    }
    tell(found);
  }

  const isWords = (field) => field === null || field.matches(WORDS);

  function tell(found) {
    const says = document.createElement("span");
    says.textContent = `${found.says || "That scan means nothing here."} `;
    notice.replaceChildren(says);
    if (found.url) {
      const way = document.createElement("a");
      way.href = found.url;
      way.textContent = found.kind === "act" || found.kind === "patient" ? "To the Bench" : "Open it";
      notice.append(way);
    }
    notice.hidden = false;
    notice.scrollIntoView({ block: "nearest" });
  }
})();
