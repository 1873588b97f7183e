import { counted } from "./counted";

export const words = {
  oddAnswer: (status: number) =>
    `The door answered ${status} without a reason. Try again; if it stays so, restart Slotkeep.`,
  noConnection: "There is no connection to Slotkeep. Go where there is coverage and try again.",
  queued: "No connection: the record is kept on this device and will be sent.",
  noRoom:
    "There is no connection, and this device has no room left to keep the record. Write it down.",
  waiting: (count: number) =>
    counted(count, "record waiting to be sent", "records waiting to be sent"),
  sendNow: "Send now",
  sending: "Sending",
  setAside: (count: number) =>
    count === 1
      ? "1 record no longer fitted when it arrived. It was kept."
      : `${count} records no longer fitted when they arrived. They were kept.`,
  openJournal: "Settle in the journal",
  dismiss: "Close",
  held: "Not taken:",
  discard: "Throw away",
  showWaiting: "Show",
  hideWaiting: "Hide",
};
