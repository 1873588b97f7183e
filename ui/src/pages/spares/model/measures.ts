/** What one stock gives, in four measures that are not the same. */
export interface Service {
  stock: number;
  /** Chance of no stock-out over a lead time. */
  no_stock_out: number;
  /** Share of demands served at once. */
  fill_rate: number;
  /** Pieces owed on average at a moment. */
  backorders: number;
  /** Hours a year that places stand empty. */
  down_time_h: number;
}
