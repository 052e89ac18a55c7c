// What the page says in huge letters: a function of what it knows, the most pressing first.
// The program's pages without script say the same.

import { clock, figure, fixed, limit, pressure, pressureFigure, pressureSymbol, pressing, probability, reservation } from "./figures.js";

export const HARD_LIMIT = 6000; // Pa: pads and glue are not made for more
export const BUSY = new Set(["drawing", "settling", "holding"]);
const REACH_OVER = 1.15; // how far above the stated difference a draw may go without a note

// present says what is now. Gauge is the one shown, newest its latest reading {t, p}, now its
// clock, worth what the rig makes of a result.
export function present({ lost, gauge, outcome, estimate, newest, now, worth }) {
  if (lost) {
    return { word: "no contact", advice: "No contact with the program. It is tried again by itself.", figure: null };
  }
  if (!gauge || !gauge.up) {
    const shown = outcome ? concluded(outcome, gauge, newest, worth) : { figure: null };
    return { ...shown, class: "calm", word: "no gauge", advice: "Plug the gauge in: it is noticed by itself." };
  }
  if (Math.abs(newest?.p) > HARD_LIMIT) return { word: "too high", advice: "Let it down now.", ...meter(newest) };
  if (gauge.phase === "drawing") return drawing(gauge, newest);
  if (BUSY.has(gauge.phase)) return holding(gauge, estimate?.outcome, newest, now, worth);
  if (outcome) return concluded(outcome, gauge, newest, worth);
  if (gauge.phase === "venting") return { word: "venting", advice: "Let the air in.", ...meter(newest) };
  return { word: gauge.phase, advice: `Plug the joint, close the keys, then draw to ${reach(stated(gauge))}.`, ...meter(newest) };
}

export const stated = (gauge) => Math.abs(gauge?.setup?.at_pa) || 2500;

// reached tells whether a draw is far enough.
export const reached = (gauge, newest) => gauge?.phase === "drawing" && Math.abs(newest?.p) >= stated(gauge);

export const reach = (at) => `${pressureFigure(at)} to ${pressureFigure(REACH_OVER * at)} ${pressureSymbol()}`.replaceAll(" ", "\u00a0");

function drawing(gauge, newest) {
  if (reached(gauge, newest)) return { word: "shut the valve", advice: "The draw is reached.", ...meter(newest) };
  return { word: "drawing", advice: `Draw to ${reach(stated(gauge))}, then shut the valve.`, ...meter(newest) };
}

function holding(gauge, outcome, newest, clockNow, worth) {
  const held = Math.max(0, Math.floor(clockNow - gauge.isolation_s));
  const now = { word: gauge.phase, advice: "Keep still.", ...meter(newest) };
  if (gauge.phase === "holding") now.word = `holding ${held} s`;
  const so = outcome && figure(outcome, gauge.setup?.ambient_pa);
  if (!so) return now;
  now.reservation = reservation(outcome);
  now.pressing = pressing(outcome);
  now.figure = { ...so, interval: so.interval && `so far, ${so.interval}` };
  now.when = so.interval ? "" : "so far";
  if (outcome.decision) now.verdict = against(outcome, gauge.setup?.ambient_pa);
  const wait = outcome.decision?.wait_s;
  if (wait) now.advice = `Keep still: a verdict is expected in about ${fixed(wait, 0)} s.`;
  if (outcome.verdict === "pass" || outcome.verdict === "fail") {
    now.class = now.word = outcome.verdict;
    now.advice = `Certain after ${held} s: the valve may be opened.`;
    now.rule = rule(outcome);
    now.worth = worth;
  }
  return now;
}

function concluded(outcome, gauge, newest, worth) {
  const ambient = outcome.on?.ambient_pa;
  const f = figure(outcome, ambient);
  const decided = (outcome.hold && outcome.verdict) || "";
  const now = { class: decided || "none", figure: f, when: outcome.ended ? `hold ended ${clock(outcome.ended)}` : "" };
  const of = subjectOf(outcome.on);
  if (now.when && of) now.when += `, ${of}`;
  now.word = wordOf(outcome);
  if (outcome.decision && outcome.hold) {
    now.verdict = against(outcome, ambient);
    now.rule = rule(outcome);
    if (outcome.decision.next) now.advice = `To settle it: ${outcome.decision.next}.`;
  }
  now.reservation = reservation(outcome);
  now.pressing = pressing(outcome);
  if (f) now.worth = worth;
  else miss(now, gauge, newest);
  return now;
}

// miss says that a hold has no figure, and why. The gauge's reading in its place would
// look like one.
function miss(now, gauge, newest) {
  now.missing = "no leakage rate";
  [now.why = "", ...now.pressing] = now.pressing;
  if (gauge?.up && newest) now.when += ` · gauge reading ${pressure(newest.p)}`;
}

// wordOf is a finished hold in a word. Of what was never held nothing can be asked.
export function wordOf(outcome) {
  if (!outcome.hold) return "not a hold";
  return outcome.verdict || (outcome.leak_rate || outcome.pressure_rate_pa_s ? "measured" : "no result");
}

const against = (outcome, ambient) =>
  `Limit ${limit(outcome.decision.limit_pa_m3_s, outcome.decision.limit_sccm, ambient)} at ${pressure(outcome.at_pa)} ${outcome.sign ?? ""}` +
  (outcome.leak_rate ? `, P(within) ${probability(outcome.decision.p_conform)}.` : ".");

const rule = (outcome) => (outcome.decision?.rule ? `Rule: ${outcome.decision.rule}` : "");

// meter shows the gauge's reading where there is no result to show.
function meter(reading) {
  if (!reading) return { figure: null };
  const pa = reading.p, sign = pa < 0 ? "suction" : "pressure", unit = pressureSymbol();
  return {
    figure: { value: pressureFigure(pa), u: "", unit: Math.abs(pa) < 50 ? unit : `${unit} ${sign}` },
    when: "gauge reading",
  };
}

// spoken is a finished hold for those who listen.
export function spoken(hold) {
  const f = figure(hold, hold.on?.ambient_pa), word = [wordOf(hold), reservation(hold)].filter(Boolean).join(" ");
  return f ? `${word}: ${f.value} plus or minus ${f.u} ${f.unit}` : word;
}

export const jointOf = (on) => [[on?.instrument, on?.joint].filter(Boolean).join(" "), on?.section].filter(Boolean).join(", ");

export const whenOf = (on) => (on?.when ?? "").replaceAll("_", " ");

// same tells whether two setups are of one thing on the bench.
export const same = (a = {}, b = {}) => ["instrument", "joint", "section", "closure", "when", "ticket"].every((key) => (a[key] ?? "") === (b[key] ?? ""));

export const subjectOf = (on) => [jointOf(on), whenOf(on)].filter(Boolean).join(", ");
