import type { WhatIf } from "../../../api/generated";

/** Another case, and whether it is shown. */
export interface Wish {
  on: boolean;
  what: WhatIf;
}

export function plainWish(): Wish {
  return { on: false, what: {} };
}

/** What is asked for, with all that changes nothing left out. */
export function wishOf(
  lead_time_factor: number | null,
  supplier_lost: boolean,
  warmer_k: number | null,
  units_pct: number | null,
): Wish {
  const what: WhatIf = {
    ...(lead_time_factor !== null && lead_time_factor !== 1 ? { lead_time_factor } : {}),
    ...(supplier_lost ? { supplier_lost } : {}),
    ...(warmer_k ? { warmer_k } : {}),
    ...(units_pct ? { units_pct } : {}),
  };
  return { on: Object.keys(what).length > 0, what };
}
