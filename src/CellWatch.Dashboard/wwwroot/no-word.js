// Judged in the browser, in real time: five seconds without a word from the program and the page turns itself to NO DATA.
import { emptyAllRules } from './spread-rule.js';
import { spoken } from './texts.js';
import { notices } from './notices.js';

const limitS = 5;
let lastTick = performance.now(), lastScan = performance.now(), sequence = -1, scans = false, stopped = '', charging = false;

export function tick(newSequence, isCharging) {
  const now = performance.now();
  lastTick = now;
  charging = isCharging;
  stopped = '';
  if (newSequence !== sequence) {
    lastScan = now;
    sequence = newSequence;
    scans = newSequence > 0;
  }
  check();
}

// The page's own circuit ended by a fault: no need to wait.
export function stop(reason) { stopped = reason; check(); }

function sentence() {
  const now = performance.now(), tickS = (now - lastTick) / 1000, scanS = (now - lastScan) / 1000;
  if (stopped) return stopped;
  if (tickS >= limitS) return spoken('This page has had no word from the program for {0}\u202fs. Do not rely on anything below.', Math.floor(tickS));
  if (scans && scanS >= limitS) return spoken('The program has taken no new scan for {0}\u202fs. Do not rely on anything below.', Math.floor(scanS));
  return '';
}

export const isSilent = () => sentence() !== '';

function check() {
  const say = sentence(), box = document.getElementById('no-word'), root = document.documentElement;
  if (!box) return;
  if (say) {
    document.getElementById('no-word-say').textContent = say;
    box.hidden = false;
    root.classList.add('no-word');
    emptyAllRules();
    // What was last known is that a charge ran: that nobody sees its cells any more is as urgent as a limit.
    if (charging) notices.show('no-word', spoken('NO DATA while charging'), say);
  } else if (!box.hidden) {
    box.hidden = true;
    root.classList.remove('no-word');
    notices.again();
  }
}

setInterval(check, 250);
