// The browser's side of the pages: starts the circuit, mends it when it breaks, and hands the program's calls to the parts.
import { rule } from './spread-rule.js';
import { draw } from './charts.js';
import { strips } from './strips.js';
import { carpet } from './carpet.js';
import * as word from './no-word.js';
import * as audio from './sound.js';
import { spoken } from './texts.js';
import * as foot from './pedal.js';
import { notices } from './notices.js';

const root = document.documentElement;
let layout = null, wake = null, awakeWanted = false;

// On a screen that has the rail, the chart library is fetched and rehearsed while nothing else is to do: Traces then opens within a second at the first press.
function warmUp() {
  const library = document.head.querySelector('link[rel=prefetch]');
  if (library && matchMedia('(min-width: 1024px)').matches) setTimeout(() => (window.requestIdleCallback ?? setTimeout)(() => strips.rehearse(library.href)), 3_000);
}

window.cellwatch = {
  rule,
  draw,
  strips,
  carpet,
  pedal: foot.pedal,
  notices,
  tick(sequence, level, cautions, charging) { word.tick(sequence, charging); audio.sound(level, cautions); },
  layout(reference, pedal) {
    layout = reference;
    root.dataset.live = 'yes';
    warmUp();
    audio.show();
    foot.use(pedal, purpose => layout.invokeMethodAsync('PedalAsync', purpose));
  },
  isDark: () => root.dataset.theme === 'dark',
  toggleTheme() {
    root.dataset.theme = root.dataset.theme === 'dark' ? 'light' : 'dark';
    localStorage.setItem('theme', root.dataset.theme);
    return root.dataset.theme === 'dark';
  },
  name: () => localStorage.getItem('name') ?? '',
  setName(name) { localStorage.setItem('name', name); },
  keys: () => localStorage.getItem('keys') !== 'off',
  setKeys(on) { localStorage.setItem('keys', on ? 'on' : 'off'); },
  focus(selector) { document.querySelector(selector)?.focus(); },
  print() { window.print(); },
  // Hands a text to the person as a file.
  save(name, type, text) {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([text], { type }));
    link.download = name;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
  },
  // Keeps the screen awake while a charge is looked at; answers whether that worked.
  async awake(on) {
    awakeWanted = on;
    if (!on) { await wake?.release(); wake = null; return true; }
    try {
      wake = await navigator.wakeLock.request('screen');
      return true;
    } catch {
      return false;
    }
  },
};

document.addEventListener('click', e => {
  if (e.target.closest('[data-tone]')) audio.test();
});

// A browser lets the screen sleep again whenever the page was out of sight.
document.addEventListener('visibilitychange', () => {
  if (awakeWanted && document.visibilityState === 'visible') window.cellwatch.awake(true);
});

// Single-letter keys, where nobody is typing; they can be switched off.
document.addEventListener('keydown', e => {
  if (e.ctrlKey || e.altKey || e.metaKey || e.defaultPrevented) return;
  if (e.target.closest('input, textarea, select, [contenteditable], .mud-dialog')) return;
  if (!window.cellwatch.keys()) return;
  // A key that is held or stuck repeats by itself: nobody is there for each of these. Only looking around may go on.
  if (e.repeat && !['PageUp', 'PageDown', '+', '-', '[', ']', 'Home', 'End'].includes(e.key)) return;
  if (e.key === ' ' && e.target.closest('button, a')) return;
  if (e.key === 'p') { window.print(); return; }
  if (['+', '-', '[', ']', 'Home', 'End'].includes(e.key) && strips.key(e.key)) { e.preventDefault(); return; }
  if ('tvacrhesk? '.includes(e.key) || ['PageUp', 'PageDown', 'Escape'].includes(e.key)) {
    if (!layout) return;
    if (e.key === ' ' && !document.querySelector('[data-space]')) return;
    if (['PageUp', 'PageDown'].includes(e.key) && !document.querySelector('[data-page-keys]')) return;
    e.preventDefault();
    layout.invokeMethodAsync('KeyAsync', e.key).catch(() => {});
  }
});

// A circuit that broke is taken up again; one that the program no longer knows (it was started anew) is replaced by a fresh page.
let mending = false;
async function mend() {
  if (mending) return;
  mending = true;
  for (let pause = 500; ; pause = Math.min(5000, pause * 1.5)) {
    await new Promise(done => setTimeout(done, pause));
    try {
      if (await Blazor.reconnect()) break;
      location.reload();
      return;
    } catch {
      // Not reachable yet: the page says so, and this goes on.
    }
  }
  mending = false;
}

const failed = document.getElementById('blazor-error-ui');
new MutationObserver(() => {
  if (failed.style.display !== 'block') return;
  failed.style.display = 'none';
  word.stop(spoken('This page has stopped on a fault of its own and is being read again. Do not rely on anything below.'));
  setTimeout(() => location.reload(), 2000);
}).observe(failed, { attributes: true });

await Blazor.start({ circuit: { reconnectionHandler: { onConnectionDown: mend, onConnectionUp: () => { mending = false; } } } });

// A page whose circuit never came up is read again as soon as the program answers.
setInterval(async () => {
  if (layout || mending || !word.isSilent()) return;
  try {
    if ((await fetch(location.href, { cache: 'no-store' })).ok) location.reload();
  } catch {
    // Not reachable yet.
  }
}, 3000);
