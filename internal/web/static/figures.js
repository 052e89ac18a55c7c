// Figures as they are written: value and uncertainty to two significant
// digits of the uncertainty. The program's pages without script write the same.

export function decimals(u) {
  if (u === 0) return 3;
  let d = 1 - Math.floor(Math.log10(u));
  if (Math.round(u * 10 ** d) >= 100) d--;
  return Math.min(d, 9);
}

export function fixed(v, d) {
  if (d < 0) {
    const step = 10 ** -d;
    v = Math.round(v / step) * step;
    d = 0;
  }
  const text = v.toFixed(d);
  if (!text.startsWith("-")) return text;
  return /[1-9]/.test(text) ? "−" + text.slice(1) : text.slice(1);
}

export function powered(v, u) {
  const size = Math.max(Math.abs(v), Math.abs(u));
  if (size === 0) return "0 ± 0";
  const exponent = Math.floor(Math.log10(size)), scale = 10 ** exponent, d = decimals(u / scale);
  return `(${fixed(v / scale, d)} ± ${fixed(u / scale, d)}) × 10${raised(exponent)}`;
}

function raised(n) {
  return [...String(n)].map((d) => (d === "-" ? "⁻" : "⁰¹²³⁴⁵⁶⁷⁸⁹"[d])).join("");
}

export function probability(p) {
  if (p > 0.9995) return "> 0.999";
  if (p < 0.0005) return "< 0.001";
  return p.toFixed(3);
}

// house is what the shop has chosen to see; the program says it with each snapshot.
let house = { pressure: { symbol: "kPa", per: 1e-3, decimals: 2 }, flow: { symbol: "sccm", per: 0 }, utc_offset_s: 0, holds: 3 };

export function settle(chosen) {
  if (chosen) house = chosen;
}

export const pressureFigure = (pa) => fixed(Math.abs(pa) * house.pressure.per, house.pressure.decimals ?? 0);

export const pressureSymbol = () => house.pressure.symbol;

export const pressure = (pa) => `${pressureFigure(pa)} ${house.pressure.symbol}`;

// pressureStep is a pressure for an axis: as many decimals as the step needs.
export function pressureStep(step) {
  const size = step * house.pressure.per;
  const rise = nice(size) / house.pressure.per, d = Math.max(0, -Math.floor(Math.log10(nice(size)) + 1e-9));
  return { rise, say: (pa) => `${fixed(Math.abs(pa) * house.pressure.per, d)} ${house.pressure.symbol}` };
}

export function nice(step) {
  const power = 10 ** Math.floor(Math.log10(step));
  return power * [1, 2, 5, 10].find((m) => m * power >= step * (1 - 1e-9));
}

// perFlow is what a throughput is multiplied by; 0 where the result says the figure itself.
const perFlow = (ambient) => (house.flow.per_ambient ? house.flow.per / (ambient || 101325) : house.flow.per);

// limit writes a limit told as a throughput and in sccm.
export function limit(throughput, sccm, ambient) {
  const per = perFlow(ambient);
  return `${plain(per ? throughput * per : sccm)} ${house.flow.symbol}`;
}

// limitSet writes a limit before there is a hold: one set in sccm as it was set, since what it
// is in another unit hangs on the temperature of the gas.
export function limitSet(on) {
  return on.limit_standard ? `${plain(on.limit_sccm)} sccm` : limit(on.limit_pa_m3_s, on.limit_sccm, on.ambient_pa);
}

const MONTHS = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];

// clock is a moment in the shop's time zone, else in that of the machine at the bench, which
// need not be the browser's.
export function clock(stamp) {
  const moment = new Date(stamp), own = { hour: "2-digit", minute: "2-digit", second: "2-digit", hourCycle: "h23" };
  if (!house.time_zone) moment.setTime(moment.getTime() + 1000 * house.utc_offset_s);
  const format = new Intl.DateTimeFormat("en-GB", { day: "numeric", month: "numeric", ...own, timeZone: house.time_zone || "UTC" });
  const part = Object.fromEntries(format.formatToParts(moment).map((p) => [p.type, p.value]));
  return `${Number(part.day)} ${MONTHS[part.month - 1]} ${part.hour}:${part.minute}:${part.second}`;
}

// plain writes a number that was told by a person: four digits are more than it has.
export function plain(x) {
  const size = Math.abs(x);
  if (x !== 0 && (size < 1e-3 || size >= 1e6)) return String(Number(x.toPrecision(4)));
  const text = fixed(x, 4 - Math.min(4, size < 1 ? 0 : Math.floor(Math.log10(size)) + 1));
  return text.includes(".") ? text.replace(/\.?0+$/, "") : text;
}

// What stands behind ± is the expanded uncertainty, k = 2.
const expanded = (u) => 2 * u;

// reservation says how much of a disturbed hold its result speaks of, in the words of the
// page without script.
export function reservation(outcome) {
  if (!outcome.disturbed) return "";
  return cutShort(outcome) ? `up to ${fixed(outcome.hold.end_s - outcome.hold.start_s, 1)} s, then disturbed` : "though disturbed";
}

// cutShort tells whether a disturbance ended what counts while the joint was still held.
export function cutShort({ disturbed, hold }) {
  return disturbed && hold?.held_s - (hold.end_s - hold.start_s) > 0.5;
}

// pressing are the notes that must stand beside a verdict.
export const pressing = (outcome) => (outcome.notes ?? []).slice(0, outcome.pressing ?? 0);

// figure returns what an outcome gives: a leakage rate, or without a volume a
// pressure rate, or nothing.
export function figure(outcome, ambient) {
  const per = perFlow(ambient), q = outcome.leak_rate;
  const rate = per && q ? { value: q.value * per, u: q.u * per, low: q.low * per, high: q.high * per } : outcome.leak_rate_sccm;
  if (rate) {
    const d = decimals(expanded(rate.u));
    return {
      value: fixed(rate.value, d),
      u: fixed(expanded(rate.u), d),
      unit: house.flow.symbol,
      interval: `95 % interval ${fixed(rate.low, d)} to ${fixed(rate.high, d)} ${house.flow.symbol}`,
      si: q ? `${powered(q.value, expanded(q.u))} Pa·m³/s` : "",
    };
  }
  const slope = outcome.pressure_rate_pa_s;
  if (slope) {
    const d = decimals(expanded(slope.u));
    return { value: fixed(slope.value, d), u: fixed(expanded(slope.u), d), unit: "Pa/s", interval: "", si: "" };
  }
  return null;
}
