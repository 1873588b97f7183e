export const words = {
  title: "People and devices",
  notLetIn: "This device is not let in",
  notLetInLead:
    "The owner of this Slotkeep makes a pass for each device under People. Type it here.",
  pass: "Pass",
  enter: "Enter",
  people: "People",
  noRoles: "no role",
  addPerson: "Add a person or change roles",
  personName: "Name",
  roles: "Roles",
  savePerson: "Save",
  devices: "Devices",
  noDevices: "No device was let in yet.",
  calendarOnly: "an address that shows the battery visits and lets nobody in",
  withdrawn: "withdrawn",
  withdraw: "Withdraw",
  withdrawReason: "Why it is withdrawn",
  invite: "Let a device in",
  invitePerson: "Who will use it",
  inviteTitle: "What it is, for example: phone of the shift",
  makePass: "Make a pass",
  passOnce: "This pass is shown once. Type it at the door of the device.",
  ownerOnly: "Only the owner of the store lets devices in.",
};

export const roles: Record<string, string> = {
  owner: "Owner",
  planner: "Planner",
  technician: "Technician",
  clerk: "Stores clerk",
};
