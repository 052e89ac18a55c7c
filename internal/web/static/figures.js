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

export const kilopascals = (pa) => `${(Math.abs(pa) / 1000).toFixed(2)} kPa`;

export const plain = (x) => String(Number(x.toPrecision(4)));

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
export function figure(outcome) {
  const rate = outcome.leak_rate_sccm;
  if (rate) {
    const d = decimals(expanded(rate.u));
    return {
      value: fixed(rate.value, d),
      u: fixed(expanded(rate.u), d),
      unit: "sccm",
      interval: `95 % interval ${fixed(rate.low, d)} to ${fixed(rate.high, d)} sccm`,
      si: outcome.leak_rate ? `${powered(outcome.leak_rate.value, expanded(outcome.leak_rate.u))} Pa·m³/s` : "",
    };
  }
  const slope = outcome.pressure_rate_pa_s;
  if (slope) {
    const d = decimals(expanded(slope.u));
    return { value: fixed(slope.value, d), u: fixed(expanded(slope.u), d), unit: "Pa/s", interval: "", si: "" };
  }
  return null;
}
