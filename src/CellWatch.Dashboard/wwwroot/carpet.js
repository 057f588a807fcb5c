// Cells against time on a canvas of ours: one byte a cell and bucket (see Carpet in the program), in order of the pack, on the time axis of the strips.
import { add, half, labels, line, words, hatch, signed, isPhone, onResize, timeCursor } from './drawing.js';
import { clock } from './clock.js';
import { spoken } from './texts.js';

// Cividis, five stops; the colours between are straight lines between them.
const stops = [[0x00, 0x22, 0x4E], [0x42, 0x4E, 0x6C], [0x7D, 0x7C, 0x78], [0xBB, 0xAD, 0x6D], [0xFE, 0xE8, 0x38]];
const cividis = share => {
  const at = Math.min(.9999, Math.max(0, share)) * 4, k = Math.floor(at), f = at - k;
  return stops[k].map((v, i) => Math.round(v + f * (stops[k + 1][i] - v)));
};
const middle = 64, most = 127, doubt = 0x80;
const colours = Array.from({ length: most + 1 }, (_, level) => level ? cividis((level - 1) / (most - 1)) : null);

function rgbOf(token) {
  const context = document.createElement('canvas').getContext('2d');
  context.fillStyle = getComputedStyle(document.documentElement).getPropertyValue('--' + token).trim();
  context.fillRect(0, 0, 1, 1);
  return context.getImageData(0, 0, 1, 1).data;
}

// The byte of a pixel: of all buckets under it the value farthest from the median, with any doubt.
function under(bytes, row, buckets, from, to) {
  let level = 0, doubted = 0;
  for (let b = from; b < to; b++) {
    const byte = bytes[row * buckets + b], v = byte & most;
    doubted |= byte & doubt;
    if (v && (!level || Math.abs(v - middle) > Math.abs(level - middle))) level = v;
  }
  return level | doubted;
}

function pixels(d, wide, row) {
  const canvas = d.canvas, context = canvas.getContext('2d'), lost = rgbOf('lost');
  canvas.width = wide;
  canvas.height = d.rows.length * row;
  const picture = context.createImageData(canvas.width, canvas.height), data = picture.data;
  for (let x = 0; x < wide; x++) {
    const from = Math.floor(x * d.buckets / wide), to = Math.max(from + 1, Math.floor((x + 1) * d.buckets / wide));
    for (let r = 0; r < d.rows.length; r++) {
      const byte = under(d.bytes, r, d.buckets, from, to), colour = colours[byte & most];
      for (let y = 0; y < row; y++) {
        const c = byte & doubt && y === row - 1 ? lost : colour;
        if (!c) continue;
        const at = 4 * ((r * row + y) * wide + x);
        data[at] = c[0]; data[at + 1] = c[1]; data[at + 2] = c[2]; data[at + 3] = 255;
      }
    }
  }
  context.putImageData(picture, 0, 0);
}

function scale(svg, d, x, y, width, height, lying) {
  for (let k = 0; k < 64; k++) {
    const fill = `rgb(${cividis((k + .5) / 64).join(' ')})`;
    add(svg, 'rect', lying ? { x: x + k * width / 64, y, width: width / 64 + .5, height, fill } : { x, y: y + height - (k + 1) * height / 64, width, height: height / 64 + .5, fill });
  }
  for (const share of lying ? [0, .5, 1] : [0, .25, .5, .75, 1]) {
    const v = d.reach * (2 * share - 1), text = v === 0 ? '0' : signed(v, v % 1 ? 1 : 0);
    if (lying) { words(svg, x + share * width, y + height + 17, text + (share === 1 ? '\u202fmV' : ''), { anchor: share === 0 ? 'start' : share === 1 ? 'end' : 'middle' }); continue; }
    const at = half(y + height - share * height);
    line(svg, x + width, at, x + width + 5, at, 'ink');
    words(svg, x + width + 7, at + 5, text);
  }
}

function paint(host) {
  const d = host._carpet;
  if (!d || host.clientWidth < 80 || !d.rows.length) return;
  const phone = isPhone(), W = host.clientWidth, L = phone ? 44 : 60, R = W - (phone ? 8 : 76);
  const row = Math.max(3, Math.min(22, Math.floor(324 / d.rows.length))), H = d.rows.length * row, whole = H + 34 + (phone ? 42 : 0);
  d.place = { L, R, H, row };
  d.x = t => L + (t - d.from) / (d.to - d.from) * (R - L);
  if (!d.canvas) {
    host.textContent = '';
    [d.under, d.canvas, d.over, d.cursor] = [add(host, 'svg'), host.appendChild(document.createElement('canvas')), add(host, 'svg'), add(host, 'svg')];
    for (const svg of [d.under, d.over, d.cursor]) svg.setAttribute('aria-hidden', 'true');
  }
  host.style.height = whole + 'px';
  for (const svg of [d.under, d.over, d.cursor]) { svg.textContent = ''; svg.setAttribute('width', W); svg.setAttribute('height', whole); }
  hatch(d.under, L, 0, R - L, H, 'hatch-lost');
  d.canvas.style.left = L + 'px';
  pixels(d, Math.round(R - L), row);
  add(d.over, 'rect', { x: L - .5, y: .5, width: R - L + 1, height: H, fill: 'none', stroke: 'var(--edge)' });
  let at = 0, labelled = -20;
  for (const m of d.modules) {
    const y = at * row, centre = y + m.cells * row / 2 + 5;
    if (at) line(d.over, L - 8, half(y), L, half(y), 'edge');
    if (centre - labelled >= 15) { words(d.over, L - 10, Math.min(H, Math.max(11, centre)), m.id, { anchor: 'end' }); labelled = centre; }
    at += m.cells;
  }
  const write = labels(d.over, H + 22);
  for (const tick of d.ticks) {
    const x = half(d.x(tick.t));
    if (x < L || x > R) continue;
    line(d.over, x, H, x, H + 8, 'ink');
    if (x > L + 14 && x < R - 14) write(x, tick.l);
  }
  if (phone) scale(d.over, d, L, H + 34, R - L, 12, true);
  else scale(d.over, d, R + 10, 8, 12, Math.max(60, H - 16), false);
  point(d);
}

// The cursor: an instant shared with the strips, and a cell of its own.
function point(d) {
  d.cursor.textContent = '';
  if (d.at === null || d.at < d.from || d.at > d.to) return;
  const x = half(d.x(d.at)), { H, row, L, R } = d.place;
  line(d.cursor, x, 0, x, H, 'ink');
  if (d.row === null) return;
  add(d.cursor, 'rect', { x: L - .5, y: d.row * row - .5, width: R - L + 1, height: row + 1, fill: 'none', stroke: 'var(--ink)' });
  const bucket = Math.min(d.buckets - 1, Math.floor((d.at - d.from) / (d.to - d.from) * d.buckets)), byte = d.bytes[d.row * d.buckets + bucket], level = byte & most;
  const mv = (level - middle) / (middle - 1) * d.reach, beyond = level === 1 || level === most;
  const says = !level ? byte & doubt ? spoken('no value that was believed') : spoken('nothing recorded')
    : spoken('about {0}\u202fmV{1}{2}', signed(mv, d.reach > 25 ? 0 : 1), beyond && d.cut ? spoken(' or beyond') : '', byte & doubt ? spoken(', not every scan was believed') : '');
  if (d.say) d.say.textContent = `${clock(d.zones, d.at, 0, d.to - d.from < 120_000 ? 23 : 19)}: ${d.rows[d.row]} ${says}`;
}

function hands(host) {
  const move = (t, row) => {
    const d = host._carpet;
    d.at = Math.min(d.to, Math.max(d.from, t));
    d.row = Math.min(d.rows.length - 1, Math.max(0, row));
    point(d);
    timeCursor.tell(host, d.at);
  };
  host.addEventListener('pointermove', e => {
    const d = host._carpet, box = host.getBoundingClientRect(), { L, R, row } = d.place ?? {};
    if (row) move(d.from + (e.clientX - box.left - L) / (R - L) * (d.to - d.from), Math.floor((e.clientY - box.top) / row));
  });
  host.addEventListener('keydown', e => {
    const d = host._carpet, step = (d.to - d.from) / d.buckets, t = d.at ?? (d.from + d.to) / 2, row = d.row ?? 0;
    const to = { ArrowLeft: [t - step, row], ArrowRight: [t + step, row], ArrowUp: [t, row - 1], ArrowDown: [t, row + 1] }[e.key];
    if (!to || e.ctrlKey || e.altKey || e.metaKey) return;
    e.preventDefault();
    e.stopPropagation();
    move(...to);
  });
  timeCursor.hear(host, t => { const d = host._carpet; if (d?.place) { d.at = t; point(d); } });
}

export const carpet = {
  show(host, header, bytes) {
    if (!host?.isConnected) return;
    const before = host._carpet;
    host._carpet = { ...before, ...header, bytes: new Uint8Array(bytes), at: before?.at ?? null, row: before?.row < header.rows.length ? before.row : null, say: host.parentElement.querySelector('[data-carpet-say]') };
    if (!before) {
      hands(host);
      onResize(host, () => paint(host));
      host._theme = new MutationObserver(() => paint(host));
      host._theme.observe(document.documentElement, { attributes: true, attributeFilter: ['data-theme'] });
    }
    paint(host);
    host.dataset.drawn = String(header.from);
  },
  close(host) {
    host?._theme?.disconnect();
    if (host) { timeCursor.deaf(host); delete host._carpet; }
  },
};
