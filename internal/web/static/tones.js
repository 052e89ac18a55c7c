// Tones, for hands and eyes that are busy. They begin off: a page may sound only after it
// was touched, and a shop may have its own mind about it. What a tone says, the page shows.

const KEPT = "boretight.tones";

let audio = null, loudness = Number(read()) || 0, told = "", unrest = false, drawn = false, alarmed = 0;

function read() {
  try {
    return localStorage.getItem(KEPT);
  } catch {
    return 0; // a browser that keeps nothing
  }
}

// Hertz, one after another. Rising for pass, falling for fail, two alike for inconclusive.
const MELODIES = {
  reached: [880],
  shut: [660],
  pass: [523, 784],
  fail: [392, 262],
  inconclusive: [440, 440],
  disturbed: [330, 349, 330],
  high: [988, 988, 988],
};
const STEP = 0.22; // s from one tone to the next

// LATE in ms is how old a tone may be that a browser held back until the page was touched.
const LATE = 500;

function play(name, loud = loudness) {
  if (!loud) return;
  heard.push(name);
  if (heard.length > 50) heard.shift();
  audio ??= new AudioContext();
  if (audio.state === "running") return sound(name, loud);
  const due = performance.now();
  audio.resume().then(() => performance.now() - due < LATE && sound(name, loud), () => {});
}

function sound(name, loud) {
  MELODIES[name].forEach((frequency, i) => {
    const begin = audio.currentTime + STEP * i;
    const tone = audio.createOscillator(), strength = audio.createGain();
    tone.frequency.value = frequency;
    strength.gain.setValueAtTime(0, begin);
    strength.gain.linearRampToValueAtTime(loud, begin + 0.02);
    strength.gain.linearRampToValueAtTime(0, begin + STEP - 0.02);
    tone.connect(strength).connect(audio.destination);
    tone.start(begin);
    tone.stop(begin + STEP);
  });
}

// heard are the names of the tones played last.
export const heard = [];

export const tones = {
  get on() {
    return loudness > 0;
  },
  get loudness() {
    return loudness;
  },
  set loudness(loud) {
    loudness = loud;
    try {
      localStorage.setItem(KEPT, loud);
    } catch {
      // a browser that keeps nothing
    }
    if (loud) play("shut");
  },
  // sample plays a tone to hear what it is like, also while tones are off.
  sample: (name) => play(name, loudness || 0.25),
  // drawing sounds once a draw when it is far enough.
  drawing(reached) {
    if (reached && !drawn) play("reached");
    drawn = reached;
  },
  // shut sounds when the valve has been shut: keep still from here on.
  shut() {
    told = "";
    drawn = unrest = false;
    play("shut");
  },
  // verdict sounds once a hold, when it is certain or when the hold ends.
  verdict(word, running) {
    if (!["pass", "fail", "inconclusive"].includes(word) || (running && word === "inconclusive") || told === word) return;
    told = word;
    play(word);
  },
  // disturbed sounds once a hold.
  disturbed() {
    if (unrest) return;
    unrest = true;
    play("disturbed");
  },
  // high sounds as long as the pressure difference is too high.
  high() {
    const now = performance.now();
    if (now - alarmed < 1200) return;
    alarmed = now;
    play("high");
  },
};
