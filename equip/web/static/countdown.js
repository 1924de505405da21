/* Why this exists: whoever wipes a scope reads from arm's length how long it has to stay wet yet.
   The page says until when; this only counts the seconds down to it. It trusts no clock of this
   device: what is left was reckoned by the server, and from there the browser counts evenly, so
   that what it shows is never too short. It asks the server nothing. */
"use strict";

(() => {
  const EVERY_MS = 250;
  const ends = new WeakMap(); // each place on the page to the moment its time is up

  function span(seconds) {
    const minutes = Math.floor(seconds / 60);
    const rest = seconds % 60;
    if (minutes === 0) return `${rest} s`;
    return rest === 0 ? `${minutes} min` : `${minutes} min ${String(rest).padStart(2, "0")} s`;
  }

  // Of a use that runs out only the minutes count, until the last one.
  function coarse(seconds) {
    const minutes = Math.round(seconds / 60);
    if (seconds < 90) return span(seconds);
    return minutes < 120 ? `${minutes} min` : `${Math.floor(minutes / 60)} h`;
  }

  function tick() {
    for (const place of document.querySelectorAll("[data-left]")) {
      if (!ends.has(place)) ends.set(place, performance.now() + Number(place.dataset.left) * 1000);
      const left = Math.max(0, Math.ceil((ends.get(place) - performance.now()) / 1000));
      const length = "coarse" in place.dataset ? coarse(left) : span(left);
      const says = left > 0 ? `${length} more` : place.dataset.over;
      if (place.textContent !== says) place.textContent = says;
      place.parentElement.classList.toggle("over", left === 0);
    }
  }

  // The bench swaps its parts after each scan: what came new starts at once, not a moment later.
  new MutationObserver(tick).observe(document.body, { childList: true, subtree: true });
  setInterval(tick, EVERY_MS);
  tick();
})();
