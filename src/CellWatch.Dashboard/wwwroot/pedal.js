// A foot pedal is a keyboard with one or two keys. A press counts when the pedal is let go: held for longer than a press lasts it is stuck,
// counts for nothing and is said. It never counts while somebody types, and a key that repeats by itself is one press.
import { spoken } from './texts.js';

const longestMs = 5000, saidMs = 6000, patienceMs = 5000;
let keys = { presence: '', seen: '' }, send = null, down = null, learning = null, hiding = 0;

const own = () => JSON.parse(localStorage.getItem('pedal') ?? 'null');
const typing = e => e.target.closest?.('input, textarea, select, [contenteditable]');

export function say(words, well) {
  const box = document.getElementById('press-said');
  if (!box) return;
  box.textContent = words;
  box.classList.toggle('caution', !well);
  box.hidden = false;
  clearTimeout(hiding);
  hiding = setTimeout(() => { box.hidden = true; }, saidMs);
}

// `site` holds the keys of the site file; `press` carries a press to the program and gives its answer.
export function use(site, press) {
  keys = own() ?? site;
  send = press;
}

export const pedal = {
  keys: () => ({ ...keys, own: own() !== null }),
  keep(presence, seen) {
    keys = { presence, seen };
    localStorage.setItem('pedal', JSON.stringify(keys));
  },
  forget(presence, seen) {
    localStorage.removeItem('pedal');
    keys = { presence, seen };
  },
  // The next key pressed, by its code name; empty after Escape, a second call, or 15 s.
  learn() {
    learning?.('');
    return new Promise(done => {
      const stop = setTimeout(() => learning?.(''), 15_000);
      learning = code => { clearTimeout(stop); learning = null; done(code); };
    });
  },
};

addEventListener('keydown', e => {
  if (learning) {
    e.preventDefault();
    e.stopPropagation();
    if (!e.repeat) learning(e.code === 'Escape' ? '' : e.code);
    return;
  }
  const purpose = Object.keys(keys).find(k => keys[k] && keys[k] === e.code);
  if (!purpose || e.ctrlKey || e.altKey || e.metaKey || typing(e)) return;
  e.preventDefault();
  e.stopPropagation();
  if (e.repeat || down) return;
  down = { code: e.code, purpose, stuck: false };
  down.timer = setTimeout(() => {
    down.stuck = true;
    say(spoken('The pedal has been held for longer than a press lasts: it counts for nothing. Let it go; if that does not help, it is stuck.'), false);
  }, longestMs);
}, true);

addEventListener('keyup', async e => {
  if (down?.code !== e.code) return;
  const { purpose, stuck, timer } = down;
  clearTimeout(timer);
  down = null;
  e.preventDefault();
  e.stopPropagation();
  if (stuck || typing(e)) return;
  try {
    if (!send) throw new Error('not connected');
    const late = new Promise((_, failed) => setTimeout(() => failed(new Error('late')), patienceMs));
    const answer = await Promise.race([send(purpose), late]);
    say(answer.message, answer.accepted);
  } catch {
    say(spoken('The pedal was not heard: this page has no word from the program.'), false);
  }
}, true);

// Where the page lost the keys, nobody knows whether the pedal was let go.
addEventListener('blur', () => {
  if (!down) return;
  clearTimeout(down.timer);
  down = null;
});
