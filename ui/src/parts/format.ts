import { counted } from "../words/counted";

const day = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "short", year: "numeric" });
const dayName = new Intl.DateTimeFormat("en-GB", { weekday: "short" });
const monthName = new Intl.DateTimeFormat("en-GB", { month: "long", year: "numeric" });
const minute = new Intl.DateTimeFormat("en-GB", {
  day: "numeric",
  month: "short",
  year: "numeric",
  hour: "2-digit",
  minute: "2-digit",
});

/** Writes a `YYYY-MM-DD` as people do; nothing where there is none. */
export function date(text: string | null | undefined): string {
  if (!text) return "";
  const at = new Date(text.length === 10 ? `${text}T12:00:00` : text);
  return Number.isNaN(at.getTime()) ? text : day.format(at);
}

/** Writes the days in a sentence, such as `2027-03-14`, as the screens write days. */
export function dated(sentence: string): string {
  return sentence.replace(/\b\d{4}-\d{2}-\d{2}\b/g, (day) => date(day));
}

/** Writes a day with its name, `Wed 3 Mar 2027`. */
export function weekday(text: string): string {
  const at = new Date(`${text}T12:00:00`);
  return Number.isNaN(at.getTime()) ? text : `${dayName.format(at)} ${day.format(at)}`;
}

/** Writes the month of `2027-03` or `2027-03-14`, `March 2027`. */
export function month(text: string): string {
  const at = new Date(`${text.slice(0, 7)}-15T12:00:00`);
  return Number.isNaN(at.getTime()) ? text : monthName.format(at);
}

/** Writes an RFC 3339 time to the minute, in the time of this device. */
export function time(text: string | null | undefined): string {
  if (!text) return "";
  const at = new Date(text);
  return Number.isNaN(at.getTime()) ? text : minute.format(at);
}

/** Writes from when to when, the day once where it is the same. */
export function stretch(from: string, to: string): string {
  const [begin, end] = [time(from), time(to)];
  const same = date(from) === date(to);
  return `${begin} to ${same ? end.replace(`${date(to)}, `, "") : end}`;
}

/** Says how far a day is from today: `in 12 days`, `today`, `3 days ago`. */
export function days(count: number): string {
  if (count === 0) return "today";
  const amount = Math.abs(count);
  const said =
    amount < 100
      ? counted(amount, "day")
      : amount < 730
        ? `${Math.round(amount / 30.44)} months`
        : `${(amount / 365.25).toFixed(1)} years`;
  return count > 0 ? `in ${said}` : `${said} ago`;
}

/** Writes hours so that both a day's and a year's worth can be read. */
export function hours(amount_h: number | null | undefined): string {
  if (amount_h === null || amount_h === undefined) return "not known";
  if (amount_h < 100) return `${number(amount_h, 1)} h`;
  const d = amount_h / 24;
  return d < 1000
    ? `${Math.floor(d).toLocaleString("en-GB")} days`
    : `${number(d / 365.25, 1)} years`;
}

/** Writes a number with at most so many places. */
export function number(value: number, places = 2): string {
  return value.toLocaleString("en-GB", { maximumFractionDigits: places });
}

/** Writes a figure of a sum: whole from a thousand on, else with four digits. */
export function figure(value: number): string {
  const whole = Math.abs(value) >= 1000;
  const digits = whole ? { maximumFractionDigits: 0 } : { maximumSignificantDigits: 4 };
  return value.toLocaleString("en-GB", digits);
}

/** Writes cents as an amount; the currency is the site's own and is not named. */
export function money(cents: number | null | undefined): string {
  if (cents === null || cents === undefined) return "";
  return (cents / 100).toLocaleString("en-GB", {
    minimumFractionDigits: 2,
    maximumFractionDigits: 2,
  });
}

export function percent(share: number, places = 1): string {
  return `${number(share * 100, places)} %`;
}

/**
 * Writes a chance with as many places as keep it apart from never and always: `99.96 %`, `0.03 %`.
 */
export function chance(share: number): string {
  const rest = Math.min(share, 1 - share);
  if (rest <= 0) return percent(share, 0);
  const places = Math.max(0, Math.min(6, Math.ceil(-Math.log10(rest)) - 1));
  if (rest < 1e-6) return share < 0.5 ? "< 0.0001 %" : "> 99.9999 %";
  return percent(share, rest >= 0.1 ? 0 : places);
}

/** Writes a number with three digits that count, whole from a hundred on; hardly any as such. */
export function brief(value: number): string {
  if (value > 0 && value < 1e-6) return "≈ 0";
  const whole = Math.abs(value) >= 100;
  const digits = whole ? { maximumFractionDigits: 0 } : { maximumSignificantDigits: 3 };
  return value.toLocaleString("en-GB", digits);
}

/** Today's day on this device, `YYYY-MM-DD`. */
export function today(now: Date = new Date()): string {
  const local = new Date(now.getTime() - now.getTimezoneOffset() * 60_000);
  return local.toISOString().slice(0, 10);
}
