/** What a person accepted from a maker's plate, to be put into the fields of a form. */
export interface Plate {
  model?: string | null;
  serial?: string | null;
  revision?: string | null;
  lot?: string | null;
  made_on?: string | null;
  label?: string | null;
}
