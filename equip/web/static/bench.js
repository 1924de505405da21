/* Why this exists: a scanner types a whole code in a few hundredths of a second and the next one
   before a page could load. So the field stays where it is, is empty again at once, and keeps the
   focus; scans queue here and are sent one by one, in order. Each gets an id on this device: if
   its answer is lost on the way the same id is sent again, so that it is written down once.
   Without this script the form works as any form does; with it nothing else is added. */
"use strict";

(() => {
  const form = document.getElementById("scan");
  if (!form) return; // an auditor's page has no field

  const PARTS = ["strip", "answer", "timers", "options", "latest", "words", "recent"];
  const PAUSES_MS = [300, 1000, 2000];
  const READ_MS = 2000; // sooner nobody has read an answer
  const MOMENT_MS = 400; // a scanner fires twice sooner than a hand scans twice
  const PATIENCE_MS = 5000;
  const PASSING = [502, 503, 504]; // whatever stands before the server has lost it for a moment
  const DONE_WITH = ["start over", "finish"];
  const TYPING = "input, textarea, select";
  const token = document.querySelector('meta[name="csrf-token"]').content;
  const field = form.elements.text;
  const answer = document.getElementById("answer");
  const held = document.getElementById("held");
  const now = document.querySelector(".now");
  const waiting = [];
  let before = { id: "", text: "", at: 0 }; // the scan before, by this device's own clock
  const again = []; // what was scanned on a screen that was behind
  let sending = false;
  let answeredAt = -Infinity; // when the answer on the screen came
  let runsOut = 0; // the timer of what is in hand
  let unsure = null; // the scan whose answer never came: it may have been written down
  let shown = document.getElementById("strip").dataset.after; // the act this screen shows

  // crypto.randomUUID is missing on plain http, getRandomValues is not.
  function newId() {
    const bytes = crypto.getRandomValues(new Uint8Array(16));
    bytes[6] = (bytes[6] & 0x0f) | 0x40;
    bytes[8] = (bytes[8] & 0x3f) | 0x80;
    const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, "0")).join("");
    return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
  }

  function take(text) {
    const said = text.trim();
    if (!said) return;
    const isAgain = unsure !== null && unsure.text === said;
    const after = waiting.length > 0 ? waiting[waiting.length - 1].id : shown;
    const now = performance.now();
    const firedTwice = said === before.text && now - before.at < MOMENT_MS;
    const scan = { id: newId(), text: said, after, repeats: firedTwice ? before.id : "" };
    waiting.push(isAgain ? unsure : scan);
    before = { id: waiting[waiting.length - 1].id, text: said, at: now };
    unsure = null;
    sendAll();
  }

  async function sendAll() {
    if (sending) return;
    sending = true;
    while (waiting.length > 0) {
      answer.classList.add("sending");
      const page = await post(waiting[0]);
      if (page !== null && page.getElementById("answer") !== null) {
        const sent = waiting.shift();
        show(page);
        listAgain(sent, isBehind(page) ? [sent, ...waiting.splice(0)] : []);
      } else {
        stop(page);
      }
    }
    sending = false;
    if (!document.activeElement.matches(TYPING)) focus();
  }

  // The page that came back, or null if the network stayed silent through every try.
  async function post(scan) {
    for (let turn = 0; turn <= PAUSES_MS.length; turn += 1) {
      if (turn > 0) await new Promise((done) => setTimeout(done, PAUSES_MS[turn - 1]));
      const patience = new AbortController();
      const clock = setTimeout(() => patience.abort(), PATIENCE_MS);
      try {
        const response = await fetch(form.action, {
          method: "POST",
          headers: { "X-Fragment": "1", "X-CSRFToken": token },
          body: new URLSearchParams(scan),
          signal: patience.signal,
        });
        const html = await response.text();
        if (!PASSING.includes(response.status)) {
          return new DOMParser().parseFromString(html, "text/html");
        }
      } catch {
        // Lost on the way there or back: nobody can tell which, so the same id goes again.
      } finally {
        clearTimeout(clock);
      }
    }
    return null;
  }

  const isBehind = (page) => page.getElementById("strip").hasAttribute("data-behind");

  // Somebody scanned at this bench since this screen was drawn. What was scanned on the old screen
  // is written down for nobody, and neither is what was scanned after it. It stays listed until it
  // is scanned again, or somebody says that they are done with it.
  function listAgain(sent, lost) {
    const turn = again.indexOf(sent.text);
    if (DONE_WITH.includes(sent.text.toLowerCase())) again.length = 0;
    else if (turn >= 0 && lost.length === 0) again.splice(turn, 1);
    for (const scan of lost) if (!again.includes(scan.text)) again.push(scan.text);
    if (again.length === 0) return;
    const list = make("ul", "again", "");
    list.append(...again.map((text) => make("li", "", text)));
    answer.append(line("what", "To be scanned again:"), list);
  }

  // What is in hand runs out by the server's clock: then the server is asked what is left of it.
  function watch(strip) {
    clearTimeout(runsOut);
    const left = strip.dataset.runsOut;
    if (left !== undefined) runsOut = setTimeout(look, Math.min(Number(left) + 1, 86400) * 1000);
  }

  async function look() {
    if (sending || waiting.length > 0) return;
    try {
      const response = await fetch(form.action, { headers: { "X-Fragment": "1" } });
      const page = new DOMParser().parseFromString(await response.text(), "text/html");
      if (waiting.length === 0 && page.getElementById("strip") !== null) show(page);
    } catch {
      // The next scan tells: nothing is written down for what ran out.
    }
  }

  function show(page) {
    holdNo();
    const strip = page.getElementById("strip");
    shown = strip.dataset.after;
    watch(strip);
    for (const name of PARTS) {
      const here = document.getElementById(name);
      const fresh = page.getElementById(name);
      here.className = fresh.className;
      here.replaceChildren(...fresh.childNodes);
    }
    answeredAt = performance.now();
    const box = now.getBoundingClientRect();
    if (box.top < 0 || box.bottom > window.innerHeight) now.scrollIntoView();
    document.dispatchEvent(new CustomEvent("answered", { detail: answer.className.split(" ") }));
  }

  // A No that scans went past before anybody can have read it stays until somebody has seen it.
  function holdNo() {
    const wasRead = performance.now() - answeredAt > READ_MS && waiting.length < 2;
    if (wasRead || !answer.classList.contains("no")) return;
    const [word, what] = [".word", ".what"].map((part) => answer.querySelector(part).textContent);
    held.append(make("p", "", `${word}. ${what.replace(/^Patient ends .*?\. /, "")}`));
    if (held.querySelector("button") === null) {
      const seen = make("button", "", "Seen");
      seen.type = "button";
      seen.addEventListener("click", () => {
        held.hidden = true;
        held.replaceChildren();
        focus();
      });
      held.append(seen);
    }
    held.append(held.querySelector("button")); // below the last of them
    held.hidden = false;
  }

  // What follows a scan that was not written down must not be either: a lost patient would put
  // the next instruments on the patient before. So the queue stops, and says what to scan again.
  function stop(page) {
    const lost = waiting.splice(0);
    unsure = lost[0];
    const signedOut = page !== null && page.getElementById("sign-in") !== null;
    const [what, next] = page === null
      ? ["The network does not answer.", "Scan again."]
      : signedOut
        ? ["Nobody is signed in on this device any more.", "Sign in, then scan again."]
        : [textOf(page, "says") || "The answer could not be read.", textOf(page, "way")];
    const parts = [line("word", "Not sent"), line("what", what)];
    if (lost.length > 1) {
      const list = document.createElement("ul");
      list.append(...lost.map((scan) => make("li", "", scan.text)));
      parts.push(line("what", "Scan again, in this order:"), list);
    }
    parts.push(line("next", next || "Scan again."));
    if (signedOut) {
      const way = make("a", "button", "Sign in");
      way.href = form.dataset.signIn;
      parts.push(way);
    }
    answer.className = "answer unread";
    answer.replaceChildren(...parts);
    if (field.value === "") {
      field.value = unsure.text;
      field.select(); // the next scan types over it; Enter sends it again
    }
  }

  const textOf = (page, id) => page.getElementById(id)?.textContent.trim() ?? "";
  const line = (name, text) => make("p", name, text);

  function make(tag, name, text) {
    const made = document.createElement(tag);
    made.className = name;
    made.textContent = text;
    return made;
  }

  function focus() {
    field.focus({ preventScroll: true });
  }

  form.addEventListener("submit", (event) => {
    event.preventDefault();
    const text = field.value;
    field.value = "";
    take(text);
    focus();
  });

  document.getElementById("say").addEventListener("submit", (event) => {
    event.preventDefault();
    take(event.submitter.value);
    focus();
  });

  document.addEventListener("click", (event) => {
    if (!event.target.closest(`${TYPING}, a, button, label, summary`)) focus();
  });

  // A scanner may end with a Tab instead of an Enter; a hand that tabs on has typed nothing yet.
  field.addEventListener("keydown", (event) => {
    if (event.key !== "Tab" || event.shiftKey || field.value.trim() === "") return;
    event.preventDefault();
    form.requestSubmit();
  });

  // A list that is pasted, and a scanner that sends several at once: each is a scan of its own.
  field.addEventListener("paste", (event) => {
    const lines = event.clipboardData.getData("text").split(/[\r\n\t]+/).filter((one) => one.trim());
    if (lines.length < 2) return;
    event.preventDefault();
    lines.forEach(take);
  });

  // A scanner types wherever the focus is: whatever is no key of that place goes to the field.
  document.addEventListener("keydown", (event) => {
    const here = document.activeElement;
    const isText = event.key.length === 1 && !event.ctrlKey && !event.metaKey && !event.altKey;
    if (isText && event.key !== " " && !here.matches(TYPING)) focus();
  });

  window.addEventListener("focus", () => {
    if (!document.activeElement.matches(TYPING)) focus();
  });

  window.addEventListener("beforeunload", (event) => {
    if (waiting.length > 0) event.preventDefault();
  });

  watch(document.getElementById("strip"));
  focus();
})();
