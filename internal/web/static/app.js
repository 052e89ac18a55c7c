// The page, live: listens to the stream of the bench and says what is going on. What it says
// is a function of what it knows (say.js); events only change that.

import { Tide } from "./tide.js";
import { cutShort, limitSet, plain, pressure, settle } from "./figures.js";
import { hands, write as writeKeys } from "./hands.js";
import { BUSY, HARD_LIMIT, jointOf, present, reached, same, spoken, stated, subjectOf, whenOf } from "./say.js";
import { tones } from "./tones.js";

const SILENCE = 1800; // ms without a word from the program until that is said; it speaks every second
const RETRY = 500; // ms between attempts to reach it
const GLANCE = 2000; // ms between looks at what no event tells: counters, how the recording goes

const $ = (id) => document.getElementById(id);
const tide = new Tide($("tide"));

const known = {
  lost: false, // no contact with the program
  started: "", // when the program started; another one knows nothing of what we know
  made: "", // what the page was made for: the program's version and its gauges
  gauges: new Map(), // by name, in the bench's order
  gauge: $("tide").dataset.gauge, // the one shown
  estimate: null, // the running answer, while holding
  outcome: null, // the hold whose verdict is shown, until the next draw
  ledger: {},
  rigs: [], // how the rig of each gauge stands
};

// ---- What comes in ----

let source, lastEvent = "", heard = performance.now();

function listen() {
  source?.close();
  source = new EventSource("/api/v1/live" + (lastEvent ? "?after=" + encodeURIComponent(lastEvent) : ""));
  source.onopen = () => {
    heard = performance.now();
    refresh();
  };
  source.onerror = () => lose();
  for (const [kind, take] of Object.entries(takers)) {
    source.addEventListener(kind, (event) => {
      heard = performance.now();
      if (event.lastEventId) lastEvent = event.lastEventId;
      take(JSON.parse(event.data));
    });
  }
}

const takers = {
  heartbeat() {},
  gap(gap) {
    if (gap.missed) catchUp();
  },
  reading(readings) {
    const ours = readings.filter((r) => r.gauge === known.gauge);
    if (!ours.length) return;
    tide.add(ours);
    tones.drawing(reached(current(), tide.newest));
    if (Math.abs(tide.newest?.p) > HARD_LIMIT) tones.high();
    render();
  },
  state(state) {
    const gauge = known.gauges.get(state.gauge);
    if (!gauge) return refresh();
    const before = gauge.phase, series = gauge.series;
    told.set(state.gauge, performance.now());
    delete gauge.problem;
    delete gauge.warning;
    delete gauge.isolation_s;
    Object.assign(gauge, state);
    if (state.gauge === known.gauge) enter(before, gauge);
    if (before !== state.phase || series !== state.series) refreshTiles();
    if (series !== state.series) laid(state.gauge);
    render();
  },
  estimate(estimate) {
    if (estimate.gauge !== known.gauge) return;
    known.estimate = estimate;
    tide.show(estimate.curve, estimate.wedge, current()?.rest_level_pa ?? 0);
    if (estimate.outcome.disturbed) tones.disturbed();
    tones.verdict(estimate.outcome.verdict, true);
    render();
  },
  hold(hold) {
    refresh();
    if (hold.gauge && hold.gauge !== known.gauge) return;
    if (hold.voided) return dropStale([hold]);
    // Whoever steps on while the air comes in hears of it; the page speaks of what lies there now.
    if (current()?.moved || !same(hold.on, current()?.setup)) return aloud(`${subjectOf(hold.on)}: ${spoken(hold)}`);
    conclude(hold);
    if (hold.disturbed) tones.disturbed();
    tones.verdict(hold.verdict, false);
    aloud(spoken(hold));
    render();
  },
  trial(trial) {
    const gauge = known.gauges.get(trial.gauge);
    if (gauge) gauge.trial = trial;
    refreshParts();
    refreshTiles();
    render();
  },
};

// laid notes that something else lies on the bench: the last verdict is of what lay there.
function laid(name) {
  known.gauges.get(name).moved = true; // what lies there now comes with the next answer
  if (name === known.gauge) {
    known.outcome = null;
    tide.forget();
  }
  refresh();
}

// dropStale takes a verdict away that is of something else than what lies on the bench, or
// counts no more.
function dropStale(holds = []) {
  const shown = known.outcome, on = current()?.setup;
  if (!shown || !on || (same(shown.on, on) && !holds.some((h) => h.voided && h.id === shown.id))) return;
  known.outcome = null;
  tide.forget();
  render();
}

// enter notes a change of phase. A new draw takes the last verdict away: it is
// another joint, or the same one changed.
function enter(before, gauge) {
  if (gauge.isolation_s) tide.isolation = gauge.isolation_s;
  if (before === gauge.phase) return;
  if (gauge.phase === "drawing") {
    known.outcome = known.estimate = null;
    tide.forget();
  }
  if (gauge.phase === "settling" || gauge.phase === "holding") known.outcome = null;
  if (gauge.phase === "rest") known.estimate = null;
  if (gauge.phase === "holding") tones.shut();
  if (gauge.phase !== "rest" || !known.outcome) aloud(gauge.phase); // the verdict is said last
}

// conclude shows a finished hold.
function conclude(hold) {
  known.outcome = hold;
  known.estimate = null;
  if (hold.hold) tide.isolation = hold.hold.start_s;
  tide.cut = cutShort(hold) ? hold.hold.end_s : 0;
  if (hold.curve) tide.show(hold.curve, undefined, current()?.rest_level_pa ?? 0);
}

let asked = 0, lastRefresh = 0;
const told = new Map(); // when each gauge's state was told last, by an event

// ask fetches the present state with some of the latest holds of the gauge shown.
async function ask(holds) {
  const answer = await fetch(`/api/v1/snapshot?holds=${holds}&gauge=${encodeURIComponent(known.gauge)}`);
  if (!answer.ok) throw new Error(`snapshot: ${answer.status}`);
  return answer.json();
}

let later = 0;

// catchUp takes over the whole present state after a gap, of many in a second once.
function catchUp() {
  clearTimeout(later);
  later = setTimeout(refresh, Math.max(0, lastRefresh + 1000 - performance.now()));
}

// refresh takes over the whole present state: at the start, after a gap, after a hold.
async function refresh() {
  const turn = ++asked, begin = performance.now();
  lastRefresh = begin;
  refreshParts();
  let snapshot;
  try {
    snapshot = await ask(1);
  } catch {
    return; // a lost program is noticed by the stream
  }
  if (turn !== asked) return; // a later question has the newer answer
  const names = (snapshot.gauges ?? []).map((g) => g.name);
  if (names.length && !names.includes(known.gauge)) return choose(names[0]);
  const first = known.started !== snapshot.started;
  // Another program, or one with other gauges, has another page.
  const made = JSON.stringify([snapshot.version, names]);
  if (known.made && known.made !== made) return location.reload();
  known.made = made;
  if (first && known.started) {
    tide.clear();
    known.outcome = known.estimate = null; // of another program, which lists no holds of this one
  }
  if (first) recall();
  known.started = snapshot.started;
  known.ledger = snapshot.ledger;
  settle(snapshot.house);
  takeRigs(snapshot.rigs);
  const before = known.gauges;
  known.gauges = new Map();
  for (const gauge of snapshot.gauges ?? []) {
    // What an event told since the question was put is newer than the answer.
    const newer = told.get(gauge.name) > begin ? before.get(gauge.name) : null;
    if (newer) {
      for (const key of ["setup", "trial", "address", "serial"]) newer[key] = gauge[key];
      delete newer.moved;
    }
    known.gauges.set(gauge.name, newer ?? gauge);
  }
  const on = current()?.setup ?? {};
  tide.stated = stated(current());
  tide.limit = on.limit_sccm ? `limit ${limitSet(on)}` : "";
  dropStale(snapshot.holds ?? []);
  if (!(told.get(known.gauge) > begin)) look(snapshot, first);
  known.lost = source.readyState !== EventSource.OPEN; // an answer may come in just after the end
  render();
}

// recall asks for what was read before the page was there, such as the hold in progress.
async function recall() {
  const gauge = known.gauge;
  try {
    const answer = await fetch(`/api/v1/readings?gauge=${encodeURIComponent(gauge)}`);
    if (answer.ok && gauge === known.gauge) tide.precede((await answer.json()).readings);
  } catch {
    // A lost program is noticed by the stream.
  }
}

// glance takes over what no event tells.
async function glance() {
  if (known.lost || document.hidden) return;
  const turn = asked;
  try {
    const snapshot = await ask(0);
    if (turn !== asked) return; // a newer answer came in, or is to come
    known.ledger = snapshot.ledger;
    settle(snapshot.house);
    takeRigs(snapshot.rigs);
    for (const now of snapshot.gauges ?? []) {
      const gauge = known.gauges.get(now.name);
      if (!gauge) return refresh();
      for (const key of ["serial", "setup", "trial", "lost_total", "damaged_total", "reconnects_total"]) gauge[key] = now[key];
      delete gauge.moved;
    }
    dropStale();
    render();
  } catch {
    // A lost program is noticed by the stream.
  }
}

setInterval(glance, GLANCE);

// look takes from a snapshot what concerns the gauge shown.
function look(snapshot, first) {
  const gauge = current();
  if (!gauge) return;
  tide.isolation = gauge.isolation_s || tide.isolation;
  const busy = gauge.phase === "drawing" || gauge.phase === "settling" || gauge.phase === "holding";
  known.estimate = (busy && gauge.estimate) || null;
  if (known.estimate) tide.show(known.estimate.curve, known.estimate.wedge, gauge.rest_level_pa);
  if (busy) known.outcome = null;
  const last = snapshot.holds?.[0];
  if (busy || !last || last.voided || !same(last.on, gauge.setup)) return;
  if (first && last.hold && !gauge.trial) return; // of before it was put on the bench once more
  // A verdict that a new draw took away does not come back because that draw came to nothing.
  if (first || known.outcome) {
    const shown = known.outcome?.id === last.id;
    known.outcome = last;
    if (!shown) conclude(last);
  }
}

let shownRigs = "";

// takeRigs notes how the rigs stand, and puts the program's own words for it into the page
// when that has changed.
function takeRigs(rigs = []) {
  known.rigs = rigs;
  const now = JSON.stringify(rigs);
  if (now === shownRigs) return;
  shownRigs = now;
  renew("rig", undefined, () => (shownRigs = "")); // asked again with the next look
}

// worth is what the rig makes a result of the gauge shown worth.
const worth = () => (known.rigs.find((r) => r.gauge === known.gauge)?.worth ?? []).join(" ");

const STILL = new Set(["settling", "holding"]); // nothing moves while a joint is held
const parts = new Map(); // those that the program itself writes, by their place

// renew puts a part of the page in its place as the program writes it now. Asked for several
// times in a moment it is fetched once, and an answer that was overtaken is not shown.
function renew(id, done, failed) {
  const part = parts.get(id) ?? { asked: 0, timer: 0 }, turn = ++part.asked;
  parts.set(id, part);
  clearTimeout(part.timer);
  part.timer = setTimeout(async () => {
    try {
      const answer = await fetch(`/parts/${id}?gauge=${encodeURIComponent(known.gauge)}`);
      if (!answer.ok) throw new Error(`${id}: ${answer.status}`);
      const content = await answer.text();
      if (turn !== part.asked) return;
      if (STILL.has(current()?.phase)) return void setTimeout(renew, 200, id, done, failed);
      exchange(id, content);
      done?.();
    } catch {
      failed?.(); // lost: said by the stream, and asked again when it heals
    }
  }, 30);
}

// refreshParts renews the list of holds and the next thing to do.
function refreshParts() {
  renew("holds");
  renew("next", writeKeys);
}

// refreshTiles renews the gauges side by side.
function refreshTiles() {
  if ($("tiles")) renew("tiles");
}

// exchange puts new content in the place of old, and the focus back where it was.
function exchange(id, content) {
  const place = $(id), focus = place.contains(document.activeElement) ? document.activeElement : null;
  const again = focus && focus !== place && twin(focus, place);
  place.innerHTML = content;
  if (again) (place.querySelectorAll(again.selector)[again.nth] ?? place).focus({ preventScroll: true });
}

// twin tells what stands for an element of a place once that was written anew.
function twin(element, place) {
  if (element.id) return { selector: "#" + CSS.escape(element.id), nth: 0 };
  if (element.form?.id) return { selector: `#${CSS.escape(element.form.id)} button`, nth: 0 };
  const name = ["href", "aria-label"].find((name) => element.hasAttribute(name));
  const selector = name ? `[${name}="${CSS.escape(element.getAttribute(name))}"]` : element.localName;
  return { selector, nth: [...place.querySelectorAll(selector)].indexOf(element) };
}

function lose() {
  if (!known.lost) {
    known.lost = true;
    aloud("no contact with the program");
    render();
  }
  source?.close();
  asked++; // an answer still under way is of before
  clearTimeout(lose.timer);
  lose.timer = setTimeout(listen, RETRY);
}

setInterval(() => {
  if (!away && performance.now() - heard > SILENCE && !known.lost) lose();
}, 200);

// A browser allows few streams at once to one program: a page that nobody sees or
// hears gives its own back.
let away = false;

document.addEventListener("visibilitychange", () => {
  if (document.hidden && !tones.on) {
    away = true;
    source.close();
  } else if (away) {
    away = false;
    heard = performance.now();
    listen();
  }
});

// ---- What goes out ----

const current = () => known.gauges.get(known.gauge);

// put writes text only when it changes, so that nothing is laid out for nothing.
function put(id, text) {
  const element = $(id);
  if (element.textContent !== text) element.textContent = text;
}

function aloud(text) {
  $("aloud").textContent = text;
}

const DRAWS = new Set(["rest", "drawing"]); // when it helps to see how far to draw

// render makes the page say what is known.
function render() {
  if (!known.started && !known.lost) return; // what the program itself wrote is better than a guess
  document.body.classList.toggle("lost", known.lost);
  const gauge = current();
  const now = present({ ...known, gauge, newest: tide.newest, now: tide.now, worth: worth() });
  $("now").dataset.class = now.class ?? "calm";
  $("now").classList.toggle("held", !known.lost && (BUSY.has(gauge?.phase) || gauge?.phase === "venting"));
  put("state", now.word);
  put("advice", now.advice ?? "");
  put("verdict", now.verdict ?? "");
  put("rule", now.rule ?? "");
  put("reservation", now.reservation ?? "");
  const said = now.worth ?? "";
  $("worth").hidden = !said;
  if (said) $("worth").lastElementChild.textContent = said;
  put("pressing", (now.pressing ?? []).join(" "));
  $("word").toggleAttribute("data-long", now.word.length > 6);
  $("word").toggleAttribute("data-longer", now.word.length > 12);
  const f = now.figure ?? { value: "", u: "", unit: "" };
  $("result").hidden = !now.figure && !now.missing;
  put("value", now.missing ?? f.value);
  $("value").dataset.size = now.missing ? "words" : Math.max(5, Math.min(9, f.value.length));
  put("u", f.u ? "± " + f.u : "");
  put("unit", f.unit);
  put("interval", now.why ?? f.interval ?? "");
  put("si", f.si ? `${f.si}, ± is U, k = 2` : "");
  put("when", now.when ?? "");
  tide.target = !known.lost && !now.verdict && DRAWS.has(gauge?.phase);
  const title = `${now.word} · Boretight`;
  if (document.title !== title) document.title = title;
  $("next").inert = BUSY.has(gauge?.phase) || known.lost;
  renderBanners();
  renderGauges();
  if (!STILL.has(gauge?.phase)) renderOn(); // a hold is of what lay there at its beginning
}

function renderBanners() {
  const all = [];
  for (const gauge of known.gauges.values()) {
    for (const trouble of [gauge.warning, gauge.problem]) {
      if (trouble) all.push(known.gauges.size > 1 ? `${gauge.name}: ${trouble}` : trouble);
    }
  }
  if (known.ledger.problem) all.push(`ledger: ${known.ledger.problem}`);
  else if (known.ledger.lag_s > 1) all.push(`ledger: recording is ${known.ledger.lag_s.toFixed(1)} s behind`);
  if (known.ledger.copies?.problem) all.push(`copies of the ledger: ${known.ledger.copies.problem}; ${copyAge(known.ledger.copies)}`);
  rewrite("banners", all, (text) => {
    const banner = make("p", text, "banner");
    banner.setAttribute("role", "alert");
    return banner;
  });
}

// copyAge says how old the newest copy of the ledger is, in the words of the page
// without script.
function copyAge(copies) {
  if (!copies) return "no copies are made";
  if (!copies.newest) return "no copy yet";
  const age = copies.age_s;
  if (age < 60) return "last copy just now";
  if (age < 3600) return `last copy ${Math.floor(age / 60)} min ago`;
  if (age < 48 * 3600) return `last copy ${Math.floor(age / 3600)} h ago`;
  return `last copy ${Math.floor(age / 86400)} days ago`;
}

// count says how many there are of something, in the plural where it belongs.
const count = (n, what) => `${n} ${what}${n === 1 ? "" : "s"}`;

function renderGauges() {
  const all = [...known.gauges.values()].map((g) => [
    g.name, g.up ? "heard" : "silent", g.serial ? `serial ${g.serial}` : "", g.address.replace(/^[^=:]*=/, ""),
    `${count(g.lost_total, "reading")} lost`, `${count(g.damaged_total, "line")} damaged`, count(g.reconnects_total, "reconnection"),
  ]);
  rewrite("gauges", all, ([name, heard, ...rest]) => {
    const item = make("li");
    item.append(make("b", name), make("span", heard, heard), ...rest.filter(Boolean).map((text) => make("span", text)));
    return item;
  });
  put("ledger", known.ledger.path ? `· ledger ${known.ledger.path}, ${count(known.ledger.records, "record")}, ${copyAge(known.ledger.copies)}` : "");
}

function choose(name) {
  known.gauge = name;
  known.outcome = known.estimate = null;
  known.started = "";
  tide.clear();
  refresh();
  refreshTiles();
}

// renderOn says what lies on the bench.
function renderOn() {
  const gauge = current();
  if (!gauge?.setup) return;
  const s = gauge.setup;
  rewrite("ticket", s.ticket ? [s.ticket] : [], (id) => {
    const to = make("a", id);
    to.href = "/tickets/" + encodeURIComponent(id);
    return to;
  });
  const subject = [jointOf(s), s.closure].filter(Boolean);
  rewrite("subject", subject.length ? subject : ["nothing named on the bench"], (t) => make("span", t));
  put("whenleft", whenOf(s));
  rewrite("against", [
    s.limit_sccm ? `limit ${limitSet(s)}` : "no limit set",
    `at ${pressure(stated(gauge))}`,
    s.volume_m3 ? `volume ${plain(s.volume_m3 * 1e6)} ml` : "no volume told: only the pressure rate can be given",
  ], (t) => make("span", t));
}

const written = new Map();

// rewrite fills a list anew, only when its content changed: focus and screen readers stay undisturbed.
function rewrite(id, items, element) {
  const content = JSON.stringify(items);
  if (written.get(id) === content) return;
  written.set(id, content);
  $(id).replaceChildren(...items.map(element));
}

function make(tag, text = "", name = "") {
  const element = document.createElement(tag);
  element.textContent = text;
  if (name) element.className = name;
  return element;
}

// ---- Switches ----

const THEMES = ["system", "light", "dark"];

function theme(name) {
  if (name === "system") delete document.documentElement.dataset.theme;
  else document.documentElement.dataset.theme = name;
  // A cookie, so that the page comes in the right colours at once.
  document.cookie = `boretight_theme=${name}; path=/; max-age=31536000; samesite=lax`;
  $("theme").textContent = `Theme: ${name}`;
  tide.draw();
}

$("theme").hidden = $("sound").hidden = false;
$("theme").textContent = `Theme: ${document.documentElement.dataset.theme ?? "system"}`;
$("theme").onclick = () => theme(THEMES[(THEMES.indexOf(document.documentElement.dataset.theme ?? "system") + 1) % 3]);
matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => tide.draw());

function sayTones() {
  $("sound").textContent = tones.on ? "Tones on" : "Tones off";
  for (const button of $("loudness").children) button.setAttribute("aria-pressed", Number(button.dataset.loudness) === tones.loudness);
}

sayTones();
$("sound").onclick = () => $("tones").showModal();
$("loudness").onclick = (e) => {
  const button = e.target.closest("[data-loudness]");
  if (!button) return;
  tones.loudness = Number(button.dataset.loudness);
  sayTones();
};
$("tones").addEventListener("click", (e) => {
  const button = e.target.closest("[data-play]");
  if (button) tones.sample(button.dataset.play);
});

$("tiles")?.addEventListener("click", (e) => {
  const tile = e.target.closest("[data-gauge]");
  if (!tile) return;
  e.preventDefault();
  history.replaceState(null, "", "/?gauge=" + encodeURIComponent(tile.dataset.gauge));
  choose(tile.dataset.gauge);
});

let unsaid = 0;

hands({
  busy: () => BUSY.has(current()?.phase),
  gauge: () => known.gauge,
  say(text) {
    aloud(text);
    $("said").textContent = text;
    clearTimeout(unsaid);
    unsaid = setTimeout(() => ($("said").textContent = ""), 6000);
  },
  done: () => refresh(),
});
listen();
if (known.gauge) recall(); // what was read is drawn at once, before the first word of the stream
