/* Why this exists: hands in gloves and eyes on the patient. Each sort of answer has a tone of its own
   and a shake where the device can: asked and yes, used, look here, no, not read. Nothing is said
   by the tone alone. It may be silenced on this device. */
"use strict";

(() => {
  const MUTE = "bench-silent";
  // Each note: its pitch in hertz, from when and how long in seconds.
  const TONES = {
    kept: { notes: [[660, 0, 0.1], [990, 0.12, 0.16]], shake: [40, 40, 40] },
    yes: { notes: [[660, 0, 0.12]], shake: [40] },
    warn: { notes: [[440, 0, 0.14], [440, 0.22, 0.14]], shake: [120, 60, 120] },
    no: { notes: [[165, 0, 0.55]], shake: [500], wave: "square" },
    unread: { notes: [[300, 0, 0.07], [300, 0.12, 0.07], [300, 0.24, 0.07]], shake: [40, 30, 40] },
    note: { notes: [[520, 0, 0.05]], shake: [] },
  };
  const ORDER = ["no", "warn", "unread", "kept", "yes", "note"];
  const button = document.getElementById("sound");
  let audio = null;

  const isSilent = () => localStorage.getItem(MUTE) === "yes";

  function play(tone) {
    audio ??= new AudioContext(); // a browser lets it sound once somebody has typed or tapped
    for (const [pitch, from, long] of tone.notes) {
      const at = audio.currentTime + from;
      const voice = new OscillatorNode(audio, { frequency: pitch, type: tone.wave ?? "sine" });
      const loud = new GainNode(audio, { gain: 0.2 });
      loud.gain.setTargetAtTime(0, at + long, 0.02); // it fades: a tone that is cut clicks
      voice.connect(loud).connect(audio.destination);
      voice.start(at);
      voice.stop(at + long + 0.1);
    }
    if (navigator.vibrate) navigator.vibrate(tone.shake);
  }

  document.addEventListener("answered", (event) => {
    const sort = ORDER.find((one) => event.detail.includes(one));
    document.documentElement.dataset.tone = sort ?? "";
    if (sort && !isSilent()) play(TONES[sort]);
  });

  function say() {
    button.textContent = isSilent() ? "Sound is off: turn it on" : "Sound is on: turn it off";
  }

  if (button) {
    button.addEventListener("click", () => {
      localStorage.setItem(MUTE, isSilent() ? "no" : "yes");
      say();
    });
    button.hidden = false;
    say();
  }
})();
