/** What every check of a rule says, whatever was checked. */
export interface Finding {
  severity: string;
  rule: string;
  unknown: boolean;
  compared: string;
  to_do: string;
}
