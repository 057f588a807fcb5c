// Sound for ACT NOW until it is seen, and once a minute while it is still true. Browsers give no sound before a person has pressed
// something, so until the test tone was pressed the page says SOUND OFF.
let context = null, level = 0, lastBurst = -Infinity, lastCaution = 0;

const ready = () => context?.state === 'running';

function tone(at, frequency, length, loudness = .25) {
  const oscillator = context.createOscillator(), gain = context.createGain();
  oscillator.type = 'triangle';
  oscillator.frequency.value = frequency;
  gain.gain.setValueAtTime(0, at);
  gain.gain.linearRampToValueAtTime(loudness, at + .02);
  gain.gain.setValueAtTime(loudness, at + length - .05);
  gain.gain.linearRampToValueAtTime(0, at + length);
  oscillator.connect(gain).connect(context.destination);
  oscillator.start(at);
  oscillator.stop(at + length);
}

const burst = () => [0, .3, .6].forEach((t, i) => tone(context.currentTime + t, i === 2 ? 988 : 740, .24));

export function show() { document.documentElement.classList.toggle('sound-on', ready()); }

export async function test() {
  context ??= new AudioContext();
  await context.resume();
  tone(context.currentTime, 740, .35);
  show();
}

// 0 quiet, 1 urgent and seen, 2 urgent and not seen; cautions counts up with each new one.
export function sound(newLevel, cautions) {
  if (ready() && cautions > lastCaution && newLevel < 2) tone(context.currentTime, 494, .2, .12);
  lastCaution = cautions;
  level = newLevel;
}

setInterval(() => {
  if (!ready() || level === 0) return;
  const now = performance.now(), every = level === 2 ? 1600 : 60_000;
  if (now - lastBurst < every) return;
  lastBurst = now;
  burst();
}, 200);
