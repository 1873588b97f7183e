/** What a hand and an ear get when a label was read, for eyes that are on the cabinet. */

const KEY = "slotkeep.mute";

/** Whether reading makes a sound; kept on the device where that is allowed. */
export const sound = $state({ on: kept() });

export function setSound(on: boolean): void {
  sound.on = on;
  try {
    localStorage.setItem(KEY, on ? "no" : "yes");
  } catch {
    // Then it holds for as long as the page is open.
  }
}

let audio: AudioContext | null = null;

/** Makes sound possible: browsers allow it only from within a press. */
export function readySound(): void {
  if (typeof AudioContext === "undefined") return;
  audio ??= new AudioContext();
  void audio.resume().catch(() => {});
}

/** A short rising tone and a short shake. */
export function succeed(): void {
  navigator.vibrate?.(60);
  if (!sound.on || audio?.state !== "running") return;
  const [now, tone, loudness] = [audio.currentTime, audio.createOscillator(), audio.createGain()];
  tone.frequency.setValueAtTime(880, now);
  tone.frequency.setValueAtTime(1320, now + 0.07);
  loudness.gain.setValueAtTime(0.0001, now);
  loudness.gain.exponentialRampToValueAtTime(0.25, now + 0.01);
  loudness.gain.exponentialRampToValueAtTime(0.0001, now + 0.16);
  tone.connect(loudness).connect(audio.destination);
  tone.start(now);
  tone.stop(now + 0.18);
}

function kept(): boolean {
  try {
    return localStorage.getItem(KEY) !== "yes";
  } catch {
    return true;
  }
}
