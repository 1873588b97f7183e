/// What every procedure opens with, on screen and on paper: swaps, battery changes, and whatever
/// else is done in front of an open cabinet.
pub const CAUTIONS: [&str; 6] = [
    "Permit and isolation: by the rules of your site, before you open the cabinet.",
    "Running loops: clear every effect with operations before you touch the unit.",
    "Electrostatic discharge: wear the wrist strap, keep the unit in its bag until it is plugged.",
    "Hazardous areas: only authorised, competent people work here.",
    "Lithium cells: no short circuit, no heat, no recharging.",
    "This program does not replace local codes, the maker's instructions or licensed practice.",
];
