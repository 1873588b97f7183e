export const words = {
  files: "On the wall and in the pocket",
  calendar: "Calendar file",
  workList: "Work list (PDF)",
  address: "Calendar address",
  addressLead:
    "Calendar programs read the visits from this address again and again. It is shown once. It can be withdrawn under",
  addressDo: "Make an address",
  addressHere:
    "This address reaches only this machine. Open this page from another device to make one for the network.",
  copy: "Copy",
  copied: "The address is copied.",
  copyNot: "It could not be copied: mark the text and copy it by hand.",
};
