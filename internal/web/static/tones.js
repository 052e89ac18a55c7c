// Tones, for hands and eyes that are busy. They begin off: a page may sound only after
// it was touched, and a shop may have its own mind about it.

let audio = null, on = false, told = "";

// Rising for pass, falling for fail, two alike for inconclusive.
const MELODIES = { pass: [523, 784], fail: [392, 262], inconclusive: [440, 440] };

function play(frequencies) {
  if (!on || !audio) return;
  frequencies.forEach((frequency, i) => {
    const begin = audio.currentTime + 0.22 * i;
    const tone = audio.createOscillator(), loudness = audio.createGain();
    tone.frequency.value = frequency;
    loudness.gain.setValueAtTime(0, begin);
    loudness.gain.linearRampToValueAtTime(0.2, begin + 0.02);
    loudness.gain.linearRampToValueAtTime(0, begin + 0.2);
    tone.connect(loudness).connect(audio.destination);
    tone.start(begin);
    tone.stop(begin + 0.21);
  });
}

export const tones = {
  get on() {
    return on;
  },
  // toggle switches the tones and says whether they are on now.
  toggle() {
    audio ??= new AudioContext();
    audio.resume();
    on = !on;
    if (on) play([523]);
    return on;
  },
  // shut sounds when the valve has been shut: keep still from here on.
  shut() {
    told = "";
    play([660]);
  },
  // verdict sounds once a hold, when it is certain or when the hold ends.
  verdict(word, running) {
    if (!MELODIES[word] || (running && word === "inconclusive") || told === word) return;
    told = word;
    play(MELODIES[word]);
  },
};
