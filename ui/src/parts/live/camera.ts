import { words } from "../../words/live";

/** A camera that cannot be used, in a sentence that says what to do. */
export class NoCamera extends Error {}

/** Why this page cannot have a live camera at all, or nothing where it may try. */
export function whyNoLive(): string {
  if (!window.isSecureContext) return words.needsHttps;
  const devices: MediaDevices | undefined = navigator.mediaDevices;
  return devices ? "" : words.noCameraHere;
}

/** Opens the camera that looks away from the person; fails with `NoCamera`. */
export async function openCamera(): Promise<MediaStream> {
  const why = whyNoLive();
  if (why) throw new NoCamera(why);
  try {
    return await navigator.mediaDevices.getUserMedia({
      audio: false,
      video: {
        facingMode: { ideal: "environment" },
        width: { ideal: 1920 },
        height: { ideal: 1080 },
      },
    });
  } catch (thrown) {
    throw new NoCamera(sentence(thrown instanceof Error ? thrown.name : String(thrown)));
  }
}

/** Names of faults. Source: W3C Media Capture and Streams, getUserMedia(). */
function sentence(name: string): string {
  switch (name) {
    case "NotAllowedError":
    case "SecurityError":
      return words.refused;
    case "NotFoundError":
    case "OverconstrainedError":
      return words.noneConnected;
    case "NotReadableError":
    case "AbortError":
      return words.inUse;
    default:
      return words.cannotOpen(name);
  }
}

interface Torch {
  torch?: boolean;
}

/** Whether the camera has a lamp that the page may switch. */
export function hasTorch(stream: MediaStream): boolean {
  const [track] = stream.getVideoTracks();
  const can = track?.getCapabilities?.() as Torch | undefined;
  return can?.torch === true;
}

/** Switches the lamp; false where the camera would not. */
export async function setTorch(stream: MediaStream, on: boolean): Promise<boolean> {
  const [track] = stream.getVideoTracks();
  try {
    await track?.applyConstraints({ advanced: [{ torch: on } as MediaTrackConstraintSet] });
    return true;
  } catch {
    return false;
  }
}

export function stop(stream: MediaStream | null): void {
  stream?.getTracks().forEach((track) => track.stop());
}
