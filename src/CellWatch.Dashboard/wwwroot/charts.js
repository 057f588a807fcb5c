// The small drawings beside the spread rule. Each takes plain figures and draws itself anew; none of them remembers anything.
import { add, sheet, half, labels, line, words, plate, hatch, wordsInHatch, signed, mark, onResize, isPhone, state } from './drawing.js';
import { spoken } from './texts.js';
import { beforeAfter, bleeds } from './night.js';
import { clock, offsetAt } from './clock.js';

const minute = 60_000;
const path = (parent, points, colour = 'trace', width = 1.5, more = {}) => points.length < 2 ? null
  : add(parent, 'path', { d: 'M' + points.map(([x, y]) => `${x.toFixed(1)} ${y.toFixed(1)}`).join('L'), fill: 'none', stroke: `var(--${colour})`, 'stroke-width': width, 'stroke-linejoin': 'round', ...more });

// Splits a run of points where the time between two is a gap: a line never bridges one.
function stretches(points, gapMs) {
  const runs = [];
  let run = [];
  for (const p of points) {
    if (!Number.isFinite(p.v) || run.length && p.t - run.at(-1).t > gapMs) { if (run.length) runs.push(run); run = []; }
    if (Number.isFinite(p.v)) run.push(p);
  }
  if (run.length) runs.push(run);
  return runs;
}

const pairs = flat => { const out = []; for (let i = 0; i < flat.length; i += 2) out.push({ t: flat[i], v: flat[i + 1] ?? NaN }); return out; };
const time = (t, zones) => clock(zones, t);

// Time foot: spread of the last 30 minutes, gaps hatched, a mark for each alarm.
function spark(host, d, label) {
  const W = host.clientWidth, H = Math.max(44, host.clientHeight), right = W - 64, s = sheet(host, W, H, label);
  const x = t => (t - d.from) / (d.to - d.from) * right, points = pairs(d.points);
  const known = points.filter(p => Number.isFinite(p.v));
  const base = H - 8.5;
  line(s, 0, base, right, base, 'hair');
  for (let i = 0; i <= 6; i++) line(s, half(i / 6 * right) + (i === 0 ? 1 : 0), base, half(i / 6 * right) + (i === 0 ? 1 : 0), base - (i % 2 ? 4 : 8), 'edge');
  if (known.length) {
    const low = Math.min(...known.map(p => p.v)), high = Math.max(...known.map(p => p.v)), room = Math.max(8, (high - low) * 1.2), centre = (low + high) / 2;
    const y = v => 12 + (H - 34) * (.5 - (v - centre) / room);
    const runs = stretches(points, d.gapMs);
    let end = d.from;
    for (const run of runs) {
      if (run[0].t - end > d.gapMs && end > d.from) hatch(s, x(end), 10, x(run[0].t) - x(end), H - 19, 'hatch-lost');
      path(s, run.map(p => [x(p.t), y(p.v)]));
      end = run.at(-1).t;
    }
    if (d.to - end > d.gapMs) hatch(s, x(end), 10, right - x(end), H - 19, 'hatch-lost');
    if (d.now) words(s, right + 8, Math.min(H - 14, Math.max(16, y(known.at(-1).v) + 5)), d.now, { bold: true, colour: 'ink' });
  } else words(s, 0, H / 2, spoken('nothing yet'));
  for (const a of d.alarms) mark(s, a.state, { radius: a.state === state.actNow ? 6 : a.state === state.noData ? 4 : 5 }).setAttribute('transform', `translate(${x(a.t).toFixed(1)} ${base})`);
}

// Taper: logarithmic current makes the expected fall a straight line.
function taper(host, d, label) {
  const phone = isPhone(), W = host.clientWidth, H = phone ? 230 : innerHeight < 840 ? 184 : 224, s = sheet(host, W, H, label);
  const L = phone ? 32 : 48, R = W - (phone ? 8 : 40), T = 10, B = H - 26;
  const low = Math.min(2.5, d.end * .75), high = Math.max(100, d.plateau * 1.5);
  const x = t => L + (t - d.from) / (d.to - d.from) * (R - L), y = a => T + Math.log(high / a) / Math.log(high / low) * (B - T);
  const clip = a => Math.min(high, Math.max(low, a));
  plate(s, L, T, R - L, B - T);
  const named = [1, 3, 10, 30, 100, 300].filter(a => a >= low && a <= high);
  for (let decade = .1; decade < 1000; decade *= 10) for (let k = 1; k <= 9; k++) {
    const a = decade * k;
    if (a < low || a > high) continue;
    const major = named.some(n => Math.abs(n - a) < 1e-6), yy = half(y(a));
    line(s, L - 1 - (major ? (phone ? 6 : 16) : k === 5 ? 10 : 6), yy, L - 1, yy, major ? 'ink' : 'edge');
    if (!major) continue;
    words(s, L - (phone ? 8 : 21), yy + 5, a < 1 ? a.toFixed(1) : a.toFixed(0), { anchor: 'end' });
    if (yy > T + 3 && yy < B - 3) line(s, L, yy, R, yy, 'hair');
  }
  const span = (d.to - d.from) / minute, stepMin = [1, 2, 5, 10, 15, 30, 60, 120].find(m => span / m <= (phone ? 5 : 8)) ?? 240;
  const write = labels(s, B + 24);
  for (let t = Math.ceil(d.from / minute) * minute; t <= d.to; t += minute) {
    const m = Math.round(t / minute) + offsetAt(d.zones, t), major = m % stepMin === 0;
    if (!major && span > 120) continue;
    line(s, half(x(t)), B, half(x(t)), B + (major ? 9 : 4), major ? 'ink' : 'edge');
    if (major && x(t) > L + 12 && x(t) < R - 12) write(x(t), time(t, d.zones));
  }
  const fall = (from, tau) => { const out = []; for (let k = 0; k <= 60; k++) { const t = from + (d.to - from) * k / 60, a = d.plateau * Math.exp(-(t - from) / 1000 / tau); if (a < low) break; out.push([x(t), y(clip(a))]); } return out; };
  if (d.fallFrom && d.tau) {
    const early = fall(d.fallFrom - d.startBandMs, d.tauLow), late = fall(d.fallFrom + d.startBandMs, d.tauHigh);
    if (early.length > 1 && late.length > 1) {
      add(s, 'path', { d: 'M' + early.map(p => p.join(' ')).join('L') + 'L' + late.slice().reverse().map(p => p.join(' ')).join('L') + 'Z', fill: 'url(#hatch-edge)', opacity: 'var(--hatch)' });
      path(s, early, 'edge', 1);
      path(s, late, 'edge', 1);
    }
    const start = Math.max(d.now, d.from);
    const dash = { 'stroke-dasharray': '6 4' };
    const line0 = d.fallFrom > start ? [[x(start), y(clip(d.plateau))]] : [];
    path(s, [...line0, ...fall(d.fallFrom, d.tau)], 'ink', 1.5, dash);
    if (d.arrival && d.fallFrom > d.now) words(s, Math.min(x(d.fallFrom) + (phone ? 4 : 8), R - 110), y(d.plateau) - 6, phone ? d.arrivalShort : d.arrival);
    const right = R - 8, top = y(clip(d.plateau)) + 44;
    words(s, right, Math.min(top, B - 60), d.fit[0], { anchor: 'end', colour: 'ink', halo: true });
    if (d.fit[1]) words(s, right, Math.min(top, B - 60) + 18, d.fit[1], { anchor: 'end', halo: true });
  }
  let end = null;
  for (const run of stretches(pairs(d.measured), d.gapMs)) {
    if (end !== null) hatch(s, x(end), T, x(run[0].t) - x(end), B - T, 'hatch-lost');
    path(s, run.map(p => [x(p.t), y(clip(Math.max(low, p.v)))]), 'trace', 2);
    end = run.at(-1).t;
  }
  const xn = half(x(d.now));
  line(s, xn, T, xn, B, 'ink');
  words(s, xn - 6, B - 8, spoken('now'), { anchor: xn - L > 40 ? 'end' : 'start', bold: true, colour: 'ink', halo: true });
  if (d.measuredWords && !phone && xn - L > 150) words(s, xn - 8, y(clip(d.current)) + 20, d.measuredWords, { anchor: 'end', halo: true });
  if (d.endAt) {
    const ye = half(y(clip(d.end))), xa = x(d.endFrom), xb = Math.min(R, x(d.endTo));
    line(s, xa, ye, xb, ye, 'ink', 2);
    for (const v of [xa, xb]) line(s, half(v), ye - 5, half(v), ye + 5, 'ink');
    add(s, 'circle', { cx: x(d.endAt), cy: ye, r: 4, fill: 'var(--plate)', stroke: 'var(--ink)', 'stroke-width': 2 });
    const early = time(d.endFrom, d.zones), late = time(d.endTo, d.zones), best = spoken('end {0}', time(d.endAt, d.zones));
    let at = xa - 7;
    if (!phone && early !== late) { words(s, at, ye + 5, early, { anchor: 'end', halo: true }); at -= 46; }
    if (at - 70 > xn + 2) words(s, at, ye + 5, best, { anchor: 'end', bold: true, colour: 'ink', halo: true });
    else words(s, Math.min(R - 70, xb + 8), ye - 10, best, { bold: true, colour: 'ink', halo: true });
    if (!phone && early !== late && xb + 48 < R) words(s, xb + 7, ye + 5, late, { halo: true });
  }
}

// The next cells: tick = now, hairline = where it is when the first one arrives.
function twelve(host, d, label) {
  const phone = isPhone(), W = host.clientWidth, L = phone ? 32 : 48, R = W - (phone ? 0 : 40), T = 22, n = Math.max(1, d.cells.length), cw = (R - L) / Math.max(12, n);
  const deepest = Math.max(20, ...d.cells.map(c => -c.now)), reach = [20, 40, 60, 100, 150, 200, 300, 400, 600, 1000].find(v => v >= deepest * 1.05) ?? Math.ceil(deepest / 500) * 500;
  const H = innerHeight < 840 ? 106 : 136, px = H / reach, s = sheet(host, W, T + H + 28, label), y = v => T - v * px;
  plate(s, L, T - 18, R - L, H + 18);
  hatch(s, L, T - 18, R - L, 18);
  line(s, L, T - .5, R, T - .5, 'ink');
  const major = reach / (reach % 3 === 0 ? 3 : reach === 40 || reach === 20 ? 2 : 4), minor = major / (major % 4 === 0 || major === 10 ? 4 : 5);
  for (let v = 0; v <= reach + 1e-6; v += minor) {
    const yy = half(y(-v)), m = Math.abs(v / major - Math.round(v / major)) < 1e-6;
    line(s, L - 1 - (m ? (phone ? 5 : 16) : phone ? 2 : 7), yy, L - 1, yy, m ? 'ink' : 'edge');
    if (!m) continue;
    words(s, L - (phone ? 7 : 21), yy + 5, v === 0 ? '0' : signed(-v), { anchor: 'end' });
    if (v > 0 && v < reach) line(s, L, yy, R, yy, 'hair');
  }
  wordsInHatch(s, R - 10, T - 4, d.target, { anchor: 'end', colour: 'ink' }, T - 17.5, 16.5);
  d.cells.forEach((c, i) => {
    const x = Math.round(L + cw * (i + .5)), wide = phone ? 12 : 22, first = i === 0;
    const end = Math.min(0, c.then ?? c.now);
    if (c.then !== null && Math.abs(end - c.now) * px > 2) {
      line(s, x - .5, y(c.now), x - .5, y(end), first ? 'ink' : 'edge', first ? 1.5 : 1);
      if (first) add(s, 'path', { d: `M${x - .5} ${y(end)}l-4 9h8z`, fill: 'var(--ink)' });
      else line(s, x - 4.5, half(y(end)), x + 3.5, half(y(end)), 'edge');
    }
    const tick = Math.max(T - 16, Math.round(y(c.now) - 1.5));
    add(s, 'rect', { x: x - wide / 2, y: tick, width: wide, height: 3, fill: c.urgent ? 'var(--urgent)' : first ? 'var(--ink)' : 'var(--trace)' });
    if (cw > 48 || first || c.highest) words(s, phone && first ? L : x - .5, T + H + 18, c.name, { anchor: phone && first ? 'start' : 'middle', bold: first, colour: first ? 'ink' : 'ink-2' });
    if (c.highest && !phone && !first) words(s, x - .5, tick + 19, spoken('high'), { anchor: 'middle', halo: true });
  });
}

// One module's cells under a limit: is it the cell, or the lead?
function moduleTicks(host, d, label) {
  const W = Math.min(host.clientWidth, isPhone() ? 480 : d.wide ?? 236), T = 18, H = d.tall ?? 100, s = sheet(host, W, T + H + 22, label), L = 44, w = W - L - 2;
  const values = d.cells.map(c => c.v).filter(Number.isFinite);
  let top = Math.max(...values, d.limit ?? -Infinity), bottom = Math.min(...values, d.limit ?? Infinity);
  if (!Number.isFinite(top)) { top = 10; bottom = -10; }
  const room = Math.max(10, top - bottom);
  top += room * .14; bottom -= room * .14;
  const px = H / (top - bottom), y = v => T + (top - v) * px, cw = w / d.cells.length;
  plate(s, L, T, w, H);
  const major = [1, 2, 5, 10, 20, 50, 100, 200, 500, 1000].find(v => (top - bottom) / v <= 4) ?? 2000, step = major / (String(major)[0] === '2' ? 4 : 5);
  for (let v = Math.ceil(bottom / step) * step; v <= top; v += step) {
    const m = Math.abs(v / major - Math.round(v / major)) < 1e-6, yy = half(y(v));
    line(s, L - 1 - (m ? 12 : 6), yy, L - 1, yy, m ? 'ink' : 'edge');
    if (m) { words(s, L - 17, yy + 5, v === 0 ? '0' : signed(v), { anchor: 'end' }); line(s, L, yy, L + w, yy, 'hair'); }
  }
  if (d.limit !== null && d.limit !== undefined) {
    const yl = y(d.limit), above = d.limitSide >= 0;
    hatch(s, L, above ? T : yl, w, above ? yl - T : T + H - yl);
    line(s, L, half(yl), L + w, half(yl), 'ink');
  }
  words(s, L + w, T - 5, d.title, { anchor: 'end', colour: 'ink' });
  d.cells.forEach((c, i) => {
    const x = Math.round(L + cw * (i + .5)), lost = c.state === state.noData || !Number.isFinite(c.v);
    const g = mark(s, lost ? state.noData : c.state, { width: 18, radius: lost ? 5 : 9, up: !(d.limitSide < 0) });
    g.setAttribute('transform', `translate(${x} ${lost ? T + H - 8 : Math.round(y(c.v))})`);
    words(s, x, T + H + 18, c.name, { anchor: 'middle', bold: c.state >= state.caution, colour: c.state >= state.caution ? 'ink' : 'ink-2' });
  });
}

// The day as a rule graduated in hours; marks too close are stacked.
function day(host, d, label) {
  const W = host.clientWidth, B = 70, s = sheet(host, W, 94, label), x = h => 8 + h / 24 * (W - 16);
  line(s, x(0), B - .5, x(d.now), B - .5, 'ink', 2);
  line(s, x(0), B + .5, x(24), B + .5, 'edge');
  for (let h = 0; h <= 24; h++) {
    const m = h % 6 === 0;
    line(s, half(x(h)), B, half(x(h)), B - (m ? 14 : h % 3 === 0 ? 10 : 6), m ? 'ink' : 'edge');
    if (m) words(s, x(h), B + 19, String(h).padStart(2, '0'), { anchor: h === 0 ? 'start' : h === 24 ? 'end' : 'middle' });
  }
  const placed = [];
  for (const a of d.marks) {
    const level = placed.filter(p => Math.abs(p - x(a.h)) < 12).length;
    placed.push(x(a.h));
    if (level > 2) continue;
    mark(s, a.state, { radius: a.state === state.actNow ? 8 : 5 }).setAttribute('transform', `translate(${x(a.h).toFixed(1)} ${B - 8 - level * 16})`);
  }
  // Above the highest mark there can be, so that neither covers the other.
  line(s, half(x(d.now)), 16, half(x(d.now)), B, 'edge');
  words(s, Math.min(x(d.now), W - 76), 12, d.nowWords);
}

// A lone run of values, for rows: end value said beside it by the page.
function small(host, d, label) {
  const W = host.clientWidth, H = host.clientHeight || 24, s = sheet(host, W, H, label), points = pairs(d.points), known = points.filter(p => Number.isFinite(p.v));
  if (known.length < 2) return;
  const low = Math.min(...known.map(p => p.v)), high = Math.max(...known.map(p => p.v)), room = Math.max(d.least ?? 0, high - low) || 1;
  const x = t => (t - d.from) / (d.to - d.from) * W, y = v => 3 + (H - 6) * (1 - (v - (low + high) / 2) / room - .5);
  for (const run of stretches(points, d.gapMs)) path(s, run.map(p => [x(p.t), y(p.v)]), 'trace', 1.2);
}

const kinds = { spark, taper, twelve, moduleTicks, day, small, beforeAfter, bleeds };

export function draw(host, kind, json, label) {
  if (!host) return;
  const data = JSON.parse(json), now = () => { if (host.clientWidth > 80) kinds[kind](host, host._data, host._label); };
  host._data = data;
  host._label = label;
  if (!host._watched) { host._watched = true; onResize(host, now); }
  now();
}
