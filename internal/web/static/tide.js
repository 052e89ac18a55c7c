// The live trace: a wide band, like a tide that falls as the joint leaks. Over it lies
// the limit wedge, in which a joint just within its limit would stay; ahead of it runs
// the fitted curve, dashed, with the band of its uncertainty.

import { pressureStep } from "./figures.js";
import { HARD_LIMIT, reach } from "./say.js";

const WINDOW = 30; // seconds in view
const BEFORE = 4; // seconds in view before the valve was shut
const KEPT = 90; // seconds of readings kept
const BREAK = 0.5; // a longer time without readings is drawn as a gap

export class Tide {
  constructor(canvas) {
    this.canvas = canvas;
    this.context = canvas.getContext("2d");
    this.still = matchMedia("(prefers-reduced-motion: reduce)");
    this.stated = 2500;
    this.limit = "";
    this.target = false; // whether to show how far to draw
    this.clear();
    new ResizeObserver(() => this.draw()).observe(canvas);
    const step = () => {
      if (this.moving) this.draw();
      requestAnimationFrame(step);
    };
    requestAnimationFrame(step);
  }

  // clear forgets everything, as for another gauge.
  clear() {
    this.samples = [];
    this.view = null;
    this.moving = true;
    this.forget();
  }

  // forget takes curve and wedge away, as for a new draw.
  forget() {
    this.curve = this.wedge = null;
    this.isolation = 0;
    this.cut = 0; // where a disturbance ended what counts
  }

  // add takes readings in the order of their time, in seconds and pascals.
  add(readings) {
    if (!this.samples.length) this.view = null; // nothing to glide from
    for (const r of readings) {
      const last = this.samples.at(-1);
      if (last && r.t_s <= last.t) {
        if (r.t_s > last.t - 5) continue; // told twice
        this.clear(); // another clock
      }
      this.samples.push({ t: r.t_s, p: r.pressure_pa });
    }
    const newest = this.samples.at(-1);
    if (!newest) return;
    let old = 0;
    while (this.samples[old].t < newest.t - KEPT) old++;
    if (old > 500) this.samples.splice(0, old);
    this.heard = performance.now();
    this.moving = true;
  }

  // precede takes readings of before those that are there.
  precede(readings) {
    const first = this.samples[0]?.t ?? Infinity;
    const older = readings.filter((r) => r.t_s < first).map((r) => ({ t: r.t_s, p: r.pressure_pa }));
    if (!older.length) return;
    if (!this.samples.length) this.view = null;
    this.samples.unshift(...older);
    this.heard ??= performance.now();
    this.moving = true;
  }

  get newest() {
    return this.samples.at(-1);
  }

  // now is the gauge's clock now. It runs on between batches, but not without a gauge.
  get now() {
    if (!this.newest) return 0;
    const since = (performance.now() - this.heard) / 1000;
    return this.newest.t + (this.still.matches ? 0 : Math.min(since, 0.15));
  }

  // show sets the fitted curve and the wedge, both in gauge pressure with the zero level in it.
  show(curve, wedge, zero) {
    const level = (points) => points?.length ? points.map((q) => ({ t: q.t, p: q.p - zero, u: q.u })) : null;
    this.curve = level(curve);
    this.wedge = wedge === undefined ? this.wedge : level(wedge);
    this.moving = true;
  }

  // first is the place of the first reading from a time on.
  first(t) {
    let low = 0, high = this.samples.length;
    while (low < high) {
      const middle = (low + high) >> 1;
      if (this.samples[middle].t < t) low = middle + 1;
      else high = middle;
    }
    return low;
  }

  frame(now) {
    let from = now - WINDOW, to = now + 1;
    // A hold that lies ahead was timed by another clock.
    if (this.isolation && now > this.isolation - BEFORE && now < this.isolation + 2 * WINDOW && this.curve) {
      from = this.isolation - BEFORE;
      // Over at the wedge's end, and always some seconds ahead.
      to = Math.max(this.wedge?.at(-1).t ?? from + WINDOW, now + 4);
    }
    const seen = this.samples.slice(this.first(from));
    let high = 0, low = 0;
    for (const s of seen) {
      high = Math.max(high, s.p);
      low = Math.min(low, s.p);
    }
    // Without readings in view the curve alone says to which side it goes.
    for (const q of this.curve ?? []) {
      if (q.t < from || q.t > to) continue;
      high = Math.max(high, q.p);
      low = Math.min(low, q.p);
    }
    return { from, to, top: Math.max(1.25 * this.stated, 1.12 * Math.max(high, -low)), sign: high > -low ? 1 : -1, seen };
  }

  draw() {
    const { canvas, context: c } = this;
    const width = canvas.clientWidth, height = canvas.clientHeight, dense = devicePixelRatio || 1;
    if (!width || !height) return;
    if (canvas.width !== Math.round(width * dense) || canvas.height !== Math.round(height * dense)) {
      canvas.width = Math.round(width * dense);
      canvas.height = Math.round(height * dense);
    }
    c.setTransform(dense, 0, 0, dense, 0, 0);
    c.clearRect(0, 0, width, height);
    const style = getComputedStyle(canvas);
    const colours = new Map(); // each looked up once a picture
    const colour = (name) => {
      if (!colours.has(name)) colours.set(name, style.getPropertyValue("--" + name).trim());
      return colours.get(name);
    };
    c.font = `14px ${style.fontFamily}`;

    const now = this.now, frame = this.frame(now);
    this.ease(frame);
    const { from, to, top } = this.view;
    const floor = height - 26;
    const x = (t) => ((t - from) / (to - from)) * width;
    const y = (p) => floor - (Math.max(0, frame.sign * p) / top) * (floor - 8);
    const line = (points) => {
      points.forEach((q, i) => (i ? c.lineTo(x(q.t), y(q.p)) : c.moveTo(x(q.t), y(q.p))));
    };

    // Water.
    // Two pixels' worth: a line three pixels wide shows no more, and a picture costs the
    // browser by the point.
    const all = runs(frame.seen).map((run) => thin(run, (2 * (to - from)) / width));
    for (const run of all) {
      c.beginPath();
      line(run);
      c.lineTo(x(run.at(-1).t), floor);
      c.lineTo(x(run[0].t), floor);
      c.fillStyle = colour("water");
      c.fill();
    }
    // Wedge: between the curve of a joint just within the limit and one that holds all.
    if (this.wedge) {
      const full = this.wedge[0].p, end = this.wedge.at(-1);
      c.beginPath();
      line(this.wedge);
      c.lineTo(x(end.t), y(full));
      c.lineTo(x(this.wedge[0].t), y(full));
      c.fillStyle = colour("wedge");
      c.fill();
      c.beginPath();
      line(this.wedge);
      c.strokeStyle = colour("pass");
      c.lineWidth = 2;
      c.stroke();
    }
    this.grid(c, { x, y, from, to, top, width, floor, now, sign: frame.sign }, colour);
    // Fitted curve, with twice its standard uncertainty to both sides.
    if (this.curve) {
      c.beginPath();
      line(this.curve.map((q) => ({ t: q.t, p: q.p + 2 * q.u })));
      [...this.curve].reverse().forEach((q) => c.lineTo(x(q.t), y(q.p - 2 * q.u)));
      c.globalAlpha = 0.2;
      c.fillStyle = colour("ink");
      c.fill();
      c.globalAlpha = 1;
      c.beginPath();
      line(this.curve);
      c.strokeStyle = colour("ink");
      c.lineWidth = 2;
      c.setLineDash([9, 7]);
      c.stroke();
      c.setLineDash([]);
    }
    // Trace.
    c.beginPath();
    all.forEach(line);
    c.strokeStyle = colour("ink");
    c.lineWidth = 3;
    c.lineJoin = "round";
    c.stroke();
    this.labels(c, { x, y, to, width, floor }, colour);
    // For whoever wants to know how old a picture is.
    if (this.newest) canvas.dispatchEvent(new CustomEvent("drawn", { detail: this.newest.t }));
  }

  // ease lets the view glide to the frame instead of jumping.
  ease(frame) {
    const at = performance.now();
    const share = this.view && !this.still.matches ? 1 - Math.exp(-(at - this.drawn) / 120) : 1;
    this.drawn = at;
    const old = this.view ?? frame;
    // A view that only moves with time follows it stiffly.
    const far = Math.abs(frame.from - old.from) > 0.6 || Math.abs(frame.to - old.to) > 0.6;
    const to = (key, s) => old[key] + (frame[key] - old[key]) * s;
    this.view = { from: to("from", far ? share : 1), to: to("to", far ? share : 1), top: to("top", share) };
    this.moving = at - this.heard < 2000;
  }

  grid(c, { x, y, from, to, top, width, floor, now, sign }, colour) {
    c.lineWidth = 1;
    const { rise, say } = pressureStep(top / 4);
    for (let p = rise; p < 0.93 * top; p += rise) {
      rule(c, 0, y(sign * p), width, colour("hair"));
      label(c, say(p), 0, y(sign * p) - 5, "left", colour);
    }
    if (this.target) {
      c.strokeStyle = colour("ink");
      const high = y(sign * 1.15 * this.stated), low = y(sign * this.stated);
      c.globalAlpha = 0.08;
      c.fillStyle = colour("ink");
      c.fillRect(0, high, width, low - high);
      c.globalAlpha = 1;
      label(c, `draw to here: ${reach(this.stated)}`, 84, (high + low) / 2 + 5, "left", colour);
    }
    if (top > 0.85 * HARD_LIMIT) {
      c.lineWidth = 3;
      rule(c, 0, y(sign * HARD_LIMIT), width, colour("fail"));
      label(c, `no higher than ${say(HARD_LIMIT)}`, 84, y(sign * HARD_LIMIT) - 7, "left", colour, true);
      c.lineWidth = 1;
    }
    rule(c, 0, floor, width, colour("ink"));
    const origin = this.isolation && this.curve ? this.isolation : now;
    for (let k = Math.ceil((from - origin) / 5) * 5; k < to - origin; k += 5) {
      if (origin === now && k === 0) continue;
      const at = x(origin + k);
      if (at < 24 || at > width - 24) continue;
      label(c, k < 0 ? `−${-k} s` : `${k} s`, at, floor + 19, "center", colour);
    }
  }

  labels(c, { x, y, to, width, floor }, colour) {
    for (const [t, word] of [[this.isolation, "shut"], [this.cut, "counts up to here"]]) {
      if (!t || !this.curve) continue;
      c.setLineDash([2, 4]);
      c.lineWidth = 1.5;
      c.beginPath();
      c.moveTo(x(t), 8);
      c.lineTo(x(t), floor);
      c.strokeStyle = colour("soft");
      c.stroke();
      c.setLineDash([]);
      label(c, word, x(t) + 6, floor - 8, "left", colour);
    }
    if (this.wedge && this.limit) {
      const edge = Math.min(to, this.wedge.at(-1).t);
      // Under the curve, or over it where the axis is too near.
      const under = y(at(this.wedge, edge)) + 20;
      label(c, this.limit, x(edge) - 8, under < floor - 6 ? under : under - 32, "right", colour, true);
    }
  }
}

// runs splits samples where readings are missing.
function runs(samples) {
  const all = [];
  let begin = 0;
  for (let i = 1; i <= samples.length; i++) {
    if (i === samples.length || samples[i].t - samples[i - 1].t > BREAK) {
      all.push(samples.slice(begin, i));
      begin = i;
    }
  }
  return all;
}

// thin leaves of each stretch of so many seconds the lowest and the highest sample, and
// the last of all. Stretches are counted from 0, so that what is left stays left as the
// picture moves on, and the line does not shimmer.
function thin(samples, stretch) {
  const kept = [];
  for (let i = 0; i < samples.length; ) {
    const number = Math.floor(samples[i].t / stretch);
    let low = samples[i], high = low;
    for (i++; i < samples.length && Math.floor(samples[i].t / stretch) === number; i++) {
      if (samples[i].p < low.p) low = samples[i];
      if (samples[i].p > high.p) high = samples[i];
    }
    if (low === high) kept.push(low);
    else if (low.t < high.t) kept.push(low, high);
    else kept.push(high, low);
  }
  if (kept.at(-1) !== samples.at(-1)) kept.push(samples.at(-1));
  return kept;
}

// at reads a curve at a time.
function at(points, t) {
  const next = points.find((q) => q.t >= t) ?? points.at(-1);
  return next.p;
}

function rule(c, x, y, width, colour) {
  c.beginPath();
  c.moveTo(x, y);
  c.lineTo(x + width, y);
  c.strokeStyle = colour;
  c.stroke();
}

// label writes on a halo of paper, so that it can be read over anything.
function label(c, text, x, y, align, colour, strong) {
  c.textAlign = align;
  c.lineJoin = "round";
  c.strokeStyle = colour("paper");
  c.lineWidth = 4;
  c.strokeText(text, x, y);
  c.lineWidth = 1;
  c.fillStyle = colour(strong ? "ink" : "soft");
  c.fillText(text, x, y);
}
