import { counted } from "./counted";

export const words = {
  live: "Live camera",
  stopLive: "Stop the camera",
  aim: "Hold one label inside the frame, or tap a label",
  several: "Several labels: tap the one you mean",
  lampOn: "Lamp on",
  lampOff: "Lamp off",
  soundOn: "Sound on",
  soundOff: "Sound off",
  starting: "Starting the camera",
  seenNow: (count: number) => counted(count, "label in view", "labels in view"),
  needsHttps:
    "A live camera needs this page opened over HTTPS. Take a photo instead: it reads just as well.",
  noCameraHere:
    "This browser gives pages no live camera. Take a photo instead: it reads just as well.",
  refused:
    "The camera was refused to this page. Allow it in the browser's settings for this page, or take a photo instead.",
  noneConnected:
    "No camera is connected to this device. Connect one, or choose, paste or drop a picture instead.",
  inUse:
    "The camera is there but another program is using it. Close that program, or take a photo instead.",
  cannotOpen: (why: string) => `The camera could not be opened (${why}). Take a photo instead.`,
};

/** How a label was read, in a word that stands beside its colour. */
export const states: Record<string, string> = {
  read: "Read",
  confirm: "Recognised, confirm",
  scrapped: "Scrapped",
  unknown: "Not in the register",
  foreign: "Not one of ours",
  damaged: "Not readable",
};
