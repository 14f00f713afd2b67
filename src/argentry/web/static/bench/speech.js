// Spoken calls, off until asked for. Where the browser has no voice or will not use it, tones.
// A browser lets a page speak only after a touch or key: the first call is made by that gesture.

import { TABLET } from "./say.js";

const AFTER_CANCEL_MS = 60; // a browser drops what is said at once after cancel()
const SPEAKS_BY_MS = 700;
// Tones stand for calls: [frequency in Hz, seconds] one after the other.
const TONES = {
  step: [[660, 0.18]],
  up: [[880, 0.2], [0, 0.12], [880, 0.2], [0, 0.12], [880, 0.4]],
  limit: [[520, 0.25], [0, 0.15], [520, 0.25]],
  caution: [[330, 0.5]],
};

export function makeVoice({ synthesis = globalThis.speechSynthesis, onChange = () => {} } = {}) {
  let mode = "silent"; // silent, voice or tones
  let trouble = "";
  let sound = null;
  let voice = null;

  function findVoice() {
    const voices = synthesis?.getVoices?.() ?? [];
    const language = document.documentElement.lang || "en";
    const fits = voices.filter((one) => one.lang?.toLowerCase().startsWith(language));
    voice = fits.find((one) => one.localService) ?? fits[0] ?? voices.find((one) => one.localService) ?? voices[0] ?? null;
  }
  findVoice();
  synthesis?.addEventListener?.("voiceschanged", findVoice);

  function tone(kind) {
    try {
      sound ??= new AudioContext();
      sound.resume();
      let when = sound.currentTime + 0.02;
      for (const [frequency, seconds] of TONES[kind] ?? TONES.step) {
        if (frequency > 0) {
          const source = sound.createOscillator();
          const gain = sound.createGain();
          source.frequency.value = frequency;
          gain.gain.setValueAtTime(0, when);
          gain.gain.linearRampToValueAtTime(0.3, when + 0.02);
          gain.gain.linearRampToValueAtTime(0, when + seconds);
          source.connect(gain).connect(sound.destination);
          source.start(when);
          source.stop(when + seconds);
        }
        when += seconds;
      }
    } catch {
      // A browser without sound: the screen still says everything.
    }
    globalThis.navigator.vibrate?.(kind === "up" ? [300, 150, 300] : 120);
  }

  function fallBack(why, kind) {
    mode = "tones";
    trouble = why;
    tone(kind);
    onChange();
  }

  function speak(words, kind) {
    synthesis.cancel();
    setTimeout(() => {
      const call = new SpeechSynthesisUtterance(words);
      if (voice) call.voice = voice;
      call.lang = voice?.lang ?? document.documentElement.lang;
      let begun = false;
      call.onstart = () => {
        begun = true;
      };
      call.onerror = (event) => {
        if (event.error !== "canceled" && event.error !== "interrupted") fallBack(TABLET.voiceFails, kind);
      };
      synthesis.speak(call);
      setTimeout(() => {
        if (mode === "voice" && !begun && !synthesis.speaking && !synthesis.pending) fallBack(TABLET.voiceSilent, kind);
      }, SPEAKS_BY_MS);
    }, AFTER_CANCEL_MS);
  }

  return {
    mode: () => mode,
    trouble: () => trouble,
    /** Choose silent, voice or tones; call it from a touch or a key. */
    choose(next) {
      trouble = "";
      mode = next;
      if (mode === "voice" && !synthesis?.speak) {
        mode = "tones";
        trouble = TABLET.noVoice;
      }
      findVoice();
      if (mode === "voice") speak(TABLET.voiceOn, "step");
      else if (mode === "tones") tone("step");
      else synthesis?.cancel?.();
    },
    /** Say `words`, or sound the tone of `kind`: step, up, limit or caution. */
    call(words, kind = "step") {
      if (mode === "silent") return;
      if (mode === "tones") tone(kind);
      else if (words) speak(words, kind);
    },
  };
}
