// Strips over one time axis. The chart library draws scales, bands and lines; hatches, marks, cursor and what the hand does are ours.
import { add, hatch, labels, line, mark, words, half, signed, isPhone, onResize, timeCursor } from './drawing.js';
import { spoken } from './texts.js';
import { clock } from './clock.js';

let library;
const load = source => library ??= new Promise((done, failed) => {
  const script = document.createElement('script');
  script.src = source;
  script.onload = () => done(window.echarts);
  script.onerror = () => failed(new Error('The chart library was not served.'));
  document.head.append(script);
});

const token = name => getComputedStyle(document.documentElement).getPropertyValue('--' + name).trim();
const dashes = ['solid', [7, 3], [2, 3], [9, 3, 2, 3], [4, 4], [12, 4]];
// Twelve lines: six colours, each with two dashes, so that no two lines look the same.
const colourName = n => n < 0 ? 'trace' : `line-${n % 6 + 1}`, colourOf = n => token(colourName(n));
const dashOf = n => n < 0 ? 'solid' : dashes[n < 6 ? n : (n + 3) % 6];
const steps = [1, 2, 5, 10].flatMap(m => [-3, -2, -1, 0, 1, 2, 3].map(e => m * 10 ** e)).sort((a, b) => a - b);

// A scale of round steps that holds all values: it is stated by its graduation and never follows the last one.
function scaleOf(strip) {
  let low = Infinity, high = -Infinity;
  for (const s of strip.series) for (let i = 0; i < s.t.length; i++) {
    if (s.least[i] < low) low = s.least[i];
    if (s.greatest[i] > high) high = s.greatest[i];
  }
  if (!Number.isFinite(low)) return { low: 0, high: 1, step: 1, empty: true };
  const room = Math.max(strip.room, high - low), centre = (low + high) / 2;
  low = centre - room / 2; high = centre + room / 2;
  const step = steps.find(s => room / s <= 5) ?? room;
  return { low: Math.floor(low / step + 1e-9) * step, high: Math.ceil(high / step - 1e-9) * step, step };
}

function runsOf(series, columnMs) {
  const runs = [];
  let run = [];
  for (let i = 0; i <= series.t.length; i++) {
    if (i < series.t.length && Number.isFinite(series.mean[i])) run.push(i);
    else if (run.length) { runs.push(run); run = []; }
  }
  return runs.map(r => r.length > 1 ? { t: r.map(i => series.t[i]), lo: r.map(i => series.least[i]), hi: r.map(i => series.greatest[i]) }
    : { t: [series.t[r[0]] - columnMs / 2, series.t[r[0]] + Math.max(columnMs / 2, 1)], lo: [series.least[r[0]], series.least[r[0]]], hi: [series.greatest[r[0]], series.greatest[r[0]]] });
}

function unpack(header, bytes) {
  const all = new Float64Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.byteLength));
  let at = 0;
  const take = n => all.subarray(at, at += n);
  return header.map(strip => ({ ...strip, series: strip.series.map(s => ({ ...s, t: take(s.count), least: take(s.count), mean: take(s.count), greatest: take(s.count) })) }));
}

function layout(host, strips) {
  const phone = isPhone(), W = host.clientWidth, L = phone ? 44 : 60, R = phone ? 58 : 76;
  const unit = phone ? 96 : innerHeight < 840 ? 86 : 112;
  let top = 20;
  // A strip is never lower than the names at the ends of its lines.
  const boxes = strips.map(s => { const h = Math.max(Math.round(unit * s.weight), 15 * s.series.filter(q => !q.band).length - 10), box = { top, h }; top += h + 24; return box; });
  return { W, L, R: W - R, boxes, bottom: top - 24, H: top - 24 + 46 };
}

function optionOf(d, place) {
  const edge = token('edge'), hair = token('hair'), ink2 = token('ink-2'), plate = token('plate'), face = token('face');
  const series = [];
  d.strips.forEach((strip, i) => strip.series.forEach((s, k) => {
    const colour = colourOf(s.colour), axes = { xAxisIndex: i, yAxisIndex: i, silent: true, animation: false };
    const runs = runsOf(s, d.frame.columnMs);
    if (s.band || d.frame.columnMs > 0) series.push({
      ...axes, type: 'custom', clip: true, z: s.band ? 2 : 3, data: runs.map(r => [r.t[0], r.lo[0]]),
      renderItem: (p, api) => {
        const r = runs[p.dataIndex], points = [...r.t.map((t, j) => api.coord([t, r.hi[j]])), ...r.t.map((t, j) => api.coord([t, r.lo[j]])).reverse()];
        return { type: 'polygon', shape: { points }, style: s.band ? { fill: edge, opacity: .34 } : { fill: colour, opacity: .22, stroke: colour, lineWidth: .5, strokeOpacity: .5 } };
      },
    });
    if (!s.band) series.push({
      ...axes, type: 'line', z: 4 + k, showSymbol: false, connectNulls: false, lineStyle: { color: colour, width: 1.5, type: dashOf(s.colour) },
      data: Array.from(s.t, (t, j) => [t, Number.isFinite(s.mean[j]) ? s.mean[j] : null]),
    });
  }));
  return {
    animation: false, backgroundColor: 'transparent', textStyle: { fontFamily: face, fontSize: 14, color: ink2 }, tooltip: { show: false },
    grid: place.boxes.map(b => ({ left: place.L, width: place.R - place.L, top: b.top, height: b.h, show: true, backgroundColor: plate, borderColor: edge, borderWidth: 1 })),
    xAxis: place.boxes.map((_, i) => ({ gridIndex: i, type: 'value', min: d.frame.from, max: d.frame.to, show: false })),
    yAxis: d.strips.map((s, i) => ({
      gridIndex: i, type: 'value', min: s.scale.low, max: s.scale.high, interval: s.scale.step, axisLine: { show: false }, splitLine: { lineStyle: { color: hair } },
      axisTick: { show: !s.scale.empty, length: isPhone() ? 5 : 14, lineStyle: { color: ink2 } }, minorTick: { show: !s.scale.empty, splitNumber: 5, length: isPhone() ? 2 : 6, lineStyle: { color: edge } },
      axisLabel: { show: !s.scale.empty, margin: isPhone() ? 7 : 18, fontSize: 14, color: ink2, hideOverlap: true, formatter: v => s.signed ? (Math.abs(v) < 1e-9 ? '0' : signed(v, s.scale.step < 1 ? 1 : 0)) : v.toFixed(s.scale.step >= 1 ? 0 : s.scale.step >= .1 ? 1 : s.scale.step >= .01 ? 2 : 3) },
    })),
    series,
  };
}

// What the library does not draw: titles, time marks, hatches where nothing was recorded, events, names at the ends of lines.
function overlay(d, place, svg) {
  svg.textContent = '';
  const { L, R, boxes, bottom } = place, x = d.x;
  d.strips.forEach((s, i) => words(svg, L, boxes[i].top - 6, s.title, { bold: false }));
  const write = labels(svg, bottom + 22);
  for (const tick of d.frame.ticks) {
    const at = half(x(tick.t));
    if (at < L || at > R) continue;
    for (const b of boxes) line(svg, at, b.top, at, b.top + b.h, 'hair');
    line(svg, at, bottom, at, bottom + 8, 'ink');
    if (at > L + 14 && at < R - 14) write(at, tick.l);
  }
  for (const [a, b] of d.frame.gaps) {
    const from = Math.max(L, x(a)), wide = Math.max(2, Math.min(R, x(b)) - from);
    for (const box of boxes) hatch(svg, from, box.top, wide, box.h, 'hatch-lost');
    if (wide > 120) words(svg, from + wide / 2, boxes[0].top + boxes[0].h / 2 + 5, spoken('nothing recorded'), { anchor: 'middle', colour: 'lost', halo: true });
  }
  const placed = [];
  for (const m of d.frame.marks) {
    const at = x(m.t);
    if (at < L || at > R) continue;
    for (const b of boxes) line(svg, half(at), b.top, half(at), b.top + b.h, m.state < 0 ? 'edge' : m.state === 6 ? 'urgent' : m.state >= 4 ? 'lost' : 'caution', 1, { 'stroke-dasharray': '3 3' });
    if (placed.some(p => Math.abs(p - at) < 9)) continue;
    placed.push(at);
    const g = m.state < 0 ? add(svg, 'path', { d: 'M0 -7L4 0H-4Z', fill: 'var(--ink-2)' }) : mark(svg, m.state, { radius: 5 });
    g.setAttribute('transform', `translate(${at.toFixed(1)} ${bottom + 36})`);
    add(g, 'title', {}, m.say);
  }
  // Names at the ends, moved apart where they would lie on each other.
  d.strips.forEach((s, i) => {
    const names = s.series.map(q => { let k = q.t.length - 1; while (k >= 0 && !Number.isFinite(q.mean[k])) k--; return k < 0 ? null : { q, y: d.y(i, q.band ? (q.least[k] + q.greatest[k]) / 2 : q.mean[k]) }; })
      .filter(Boolean).sort((a, b) => a.y - b.y);
    const own = names.filter(n => !n.q.band), shown = own.length ? own : names;
    // A strip of one channel says its name in its title.
    if (s.series.length === 1 && s.title.startsWith(s.series[0].name)) return;
    if (shown.length * 15 > boxes[i].h + 16) return;
    shown.forEach((n, k) => { n.y = Math.max(n.y, k ? shown[k - 1].y + 15 : boxes[i].top + 6); });
    for (let k = shown.length - 1, limit = boxes[i].top + boxes[i].h; k >= 0; k--) { shown[k].y = Math.min(shown[k].y, limit); limit = shown[k].y - 15; }
    for (const n of shown) {
      if (n.q.colour >= 0) line(svg, R + 6, n.y, R + (isPhone() ? 14 : 20), n.y, colourName(n.q.colour), 2, { 'stroke-dasharray': [].concat(dashOf(n.q.colour)).join(' ').replace('solid', 'none') });
      words(svg, R + (n.q.colour < 0 ? 7 : isPhone() ? 16 : 24), n.y + 5, n.q.name, { colour: n.q.colour < 0 ? 'ink-2' : 'ink' });
    }
  });
}

function nearest(series, t) {
  let low = 0, high = series.t.length - 1;
  while (low < high) { const mid = (low + high) >> 1; if (series.t[mid] < t) low = mid + 1; else high = mid; }
  if (low > 0 && Math.abs(series.t[low - 1] - t) < Math.abs(series.t[low] - t)) low--;
  return low;
}

function cursor(d) {
  const { svgCursor, place, say } = d;
  svgCursor.textContent = '';
  if (d.at === null) return;
  const at = half(d.x(d.at));
  line(svgCursor, at, place.boxes[0].top, at, place.bottom, 'ink');
  const parts = [];
  const reach = Math.max(d.frame.columnMs * 1.5, (d.frame.to - d.frame.from) / 400, 1500);
  d.strips.forEach(s => s.series.forEach(q => {
    if (!q.t.length) return;
    const k = nearest(q, d.at), unit = s.title.split(', ')[1] ?? '';
    if (Math.abs(q.t[k] - d.at) > reach || !Number.isFinite(q.mean[k])) { if (!q.band) parts.push(spoken('{0} no value', q.name)); return; }
    const f = v => s.signed ? signed(v, s.decimals) : v.toFixed(s.decimals);
    parts.push(q.band ? spoken('{0} {1} to {2}\u202f{3}', q.name, f(q.least[k]), f(q.greatest[k]), unit) : `${q.name} ${f(q.mean[k])}\u202f${unit}`);
  }));
  say.textContent = `${clock(d.frame.zones, d.at, 0, d.frame.to - d.frame.from < 120_000 ? 23 : 19)}: ${parts.join(', ')}`;
}

const zoom = (d, from, to) => d.ref.invokeMethodAsync('ZoomAsync', Math.round(from), Math.round(to)).catch(() => {});

function key(d, name) {
  const span = d.frame.to - d.frame.from, centre = d.at ?? (d.frame.from + d.frame.to) / 2;
  const jump = way => {
    const from = d.at ?? (way > 0 ? d.frame.from - 1 : d.frame.to + 1);
    const next = d.frame.marks.map(m => m.t).filter(t => way > 0 ? t > from : t < from).sort((a, b) => way * (a - b))[0];
    if (next !== undefined) { d.at = next; cursor(d); }
  };
  switch (name) {
    case '+': zoom(d, centre - span / 4, centre + span / 4); return true;
    case '-': zoom(d, centre - span, centre + span); return true;
    case '[': jump(-1); return true;
    case ']': jump(1); return true;
    case 'Home': zoom(d, d.frame.from - span / 2, d.frame.to - span / 2); return true;
    case 'End': zoom(d, d.frame.from + span / 2, d.frame.to + span / 2); return true;
    case 'ArrowLeft': case 'ArrowRight': {
      const step = Math.max(d.frame.columnMs, span / 200) * (name === 'ArrowLeft' ? -1 : 1);
      d.at = Math.min(d.frame.to, Math.max(d.frame.from, (d.at ?? centre) + step));
      cursor(d);
      return true;
    }
  }
  return false;
}

function hands(host, get) {
  let from = null, box = null;
  const timeAt = e => { const d = get(), px = e.clientX - host.getBoundingClientRect().left; return d.frame.from + (Math.min(d.place.R, Math.max(d.place.L, px)) - d.place.L) / (d.place.R - d.place.L) * (d.frame.to - d.frame.from); };
  host.addEventListener('pointermove', e => {
    const d = get();
    d.at = timeAt(e);
    cursor(d);
    timeCursor.tell(host, d.at);
    if (from === null) return;
    const a = d.x(Math.min(from, d.at)), b = d.x(Math.max(from, d.at));
    box ??= add(d.svg, 'rect', { y: d.place.boxes[0].top, height: d.place.bottom - d.place.boxes[0].top, fill: 'var(--scribe)', opacity: .16 });
    box.setAttribute('x', a);
    box.setAttribute('width', b - a);
  });
  host.addEventListener('pointerdown', e => { if (e.button === 0) { from = timeAt(e); host.focus({ preventScroll: true }); } });
  addEventListener('pointerup', () => {
    const d = get();
    if (from === null || !host.isConnected) { from = null; return; }
    const a = Math.min(from, d.at), b = Math.max(from, d.at);
    from = null;
    box?.remove();
    box = null;
    if (d.x(b) - d.x(a) > 8) zoom(d, a, b);
  });
  host.addEventListener('dblclick', () => key(get(), '-'));
  host.addEventListener('keydown', e => { if (!e.ctrlKey && !e.altKey && !e.metaKey && key(get(), e.key)) { e.preventDefault(); e.stopPropagation(); if (get().at !== null) timeCursor.tell(host, get().at); } });
}

function paint(host) {
  const d = host._strips;
  if (!d || host.clientWidth < 80) return;
  const place = d.place = layout(host, d.strips);
  host.style.height = place.H + 'px';
  d.x = t => place.L + (t - d.frame.from) / (d.frame.to - d.frame.from) * (place.R - place.L);
  d.y = (i, v) => place.boxes[i].top + (d.strips[i].scale.high - v) / (d.strips[i].scale.high - d.strips[i].scale.low) * place.boxes[i].h;
  if (!d.chart) {
    host.textContent = '';
    d.canvas = host.appendChild(document.createElement('div'));
    d.svg = add(host, 'svg');
    d.svgCursor = add(host, 'svg');
  }
  d.canvas.style.cssText = `width:${place.W}px;height:${place.H}px`;
  for (const svg of [d.svg, d.svgCursor]) for (const [name, value] of Object.entries({ width: place.W, height: place.H, 'aria-hidden': 'true' })) svg.setAttribute(name, value);
  d.chart ??= d.echarts.init(d.canvas, null, { renderer: 'canvas' });
  d.chart.resize({ width: place.W, height: place.H });
  d.chart.setOption(optionOf(d, place), true);
  overlay(d, place, d.svg);
  cursor(d);
}

export const strips = {
  // The library is fetched and compiled while the log is read.
  prepare(source) { return load(source).catch(() => { library = undefined; }); },
  // Before anybody asks: a chart drawn to nowhere, because a browser compiles a function of the library only when it is first called.
  async rehearse(source) {
    const echarts = await this.prepare(source);
    const chart = echarts?.init(document.createElement('div'), null, { renderer: 'canvas', width: 200, height: 100 });
    const line = { t: [0, 1, 2], least: [0, 0, 0], mean: [0, 1, NaN], greatest: [1, 1, 1], colour: 0 };
    const strip = { signed: true, scale: { low: 0, high: 1, step: 1 }, series: [{ ...line, band: true, colour: -1 }, line] };
    chart?.setOption(optionOf({ strips: [strip], frame: { from: 0, to: 2, columnMs: 1 } }, { L: 60, R: 190, boxes: [{ top: 10, h: 60 }] }));
    chart?.dispose();
  },
  async show(host, ref, source, frame, header, bytes) {
    const echarts = await load(source);
    if (!host?.isConnected) return;
    const before = host._strips;
    const sheets = unpack(header, bytes).map(s => ({ ...s, scale: scaleOf(s) }));
    host._strips = { ...before, ref, echarts, frame, strips: sheets, at: before && before.at >= frame.from && before.at <= frame.to ? before.at : null, say: host.parentElement.querySelector('[data-cursor-say]') };
    if (!before) {
      hands(host, () => host._strips);
      timeCursor.hear(host, t => { if (host._strips?.place) { host._strips.at = t; cursor(host._strips); } });
      onResize(host, () => paint(host));
      host._theme = new MutationObserver(() => paint(host));
      host._theme.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
    }
    paint(host);
    host.dataset.drawn = String(frame.from);
  },
  close(host) {
    host?._theme?.disconnect();
    host?._strips?.chart?.dispose();
    if (host) { timeCursor.deaf(host); delete host._strips; }
  },
  // Keys pressed on the page outside the strips.
  key(name) {
    const host = document.querySelector('.strips');
    return !!host?._strips && key(host._strips, name);
  },
};
