// Drawings of a night: two rulers on one scale, and bleed as ink or nothing.
import { add, sheet, half, labels, line, words, plate, hatch, signed, mark, dimension, isPhone } from './drawing.js';
import { spoken } from './texts.js';

const reaches = [.2, .4, 1, 2, 3, 4, 6, 10, 20];

// Before over after, on the same scale; an arrow from where a cell was to where it is.
export function beforeAfter(host, d, label) {
  const phone = isPhone(), W = host.clientWidth, L = phone ? 44 : 56, R = W - (phone ? 2 : 78), gap = phone ? 3 : 12;
  const tall = phone ? 96 : innerHeight < 840 ? 104 : 130, head = phone ? 46 : 24, between = head + 8, H = head + 2 * tall + between + 26;
  const s = sheet(host, W, H, label), boxes = [];
  for (const m of d.modules) { if (boxes.at(-1)?.name === m.box) boxes.at(-1).modules.push(m); else boxes.push({ name: m.box, modules: [m] }); }
  const cells = d.cells.length, cw = (R - L - gap * (boxes.length - 1)) / cells;
  const most = Math.max(...d.cells.flatMap(c => [Math.abs(c.b ?? 0), Math.abs(c.a ?? 0)])), reach = reaches.find(r => r >= most * 1.06) ?? Math.ceil(most);
  const xs = [];
  let x = L;
  for (const box of boxes) {
    box.x = x;
    for (const m of box.modules) { m.x = x; for (let k = 0; k < m.cells; k++) { xs.push(x + cw / 2); x += cw; } }
    box.w = x - box.x;
    x += gap;
  }
  const y = (top, v) => top + tall / 2 - v / reach * tall / 2;
  const ruler = top => {
    for (const box of boxes) {
      plate(s, box.x, top, box.w, tall);
      for (const m of box.modules.slice(1)) line(s, half(m.x), top, half(m.x), top + tall);
    }
    for (let v = -reach; v <= reach + 1e-9; v += reach / 4) {
      const yy = half(y(top, v)), major = Math.abs(Math.abs(v) - reach / 2) < 1e-9 || Math.abs(v) < 1e-9;
      line(s, L - 1 - (major ? (phone ? 6 : 20) : phone ? 3 : 8), yy, L - 1, yy, major ? 'ink' : 'edge');
      if (!major) continue;
      words(s, L - (phone ? 8 : 24), yy + 5, Math.abs(v) < 1e-9 ? '0' : signed(v, reach / 2 >= 1 && reach % 2 === 0 ? 0 : 1), { anchor: 'end' });
      for (const box of boxes) line(s, box.x, yy, box.x + box.w, yy, Math.abs(v) < 1e-9 ? 'edge' : 'hair');
    }
  };
  const spread = (top, pick, figure) => {
    // A cell whose bleed stays on is no part of the figure, so not of its arrow either.
    const known = d.cells.filter(c => !c.o).map(pick).filter(v => v !== null);
    const high = half(y(top, Math.max(...known))), low = half(y(top, Math.min(...known)));
    if (phone) return;
    for (const v of [high, low]) line(s, R, v, R + 22, v, 'edge', 1, { 'stroke-dasharray': '1 3' });
    dimension(s, R + 16.5, high, low);
    words(s, R + 26, (high + low) / 2 + 5, figure, { bold: true, colour: 'ink' });
  };
  const tops = [head, head + tall + between];
  tops.forEach(ruler);
  [[spoken('Before'), phone ? d.briefBefore : d.sayBefore, spoken('both rulers in Ah from the median cell')], [spoken('After'), phone ? d.briefAfter : d.sayAfter, spoken('arrow: moved more than {0} Ah', d.movedAh)]].forEach(([name, say, aside], k) => {
    const y0 = tops[k] - head + (phone ? 18 : 16), at = phone ? 16 : 0;
    const title = words(s, at, y0, name, { size: 16, bold: true, colour: 'ink' });
    words(s, phone ? at : Math.max(60, title.getBBox().width + 10), phone ? y0 + 18 : y0, say);
    if (!phone) words(s, W, y0, aside, { anchor: 'end' });
  });
  const wide = Math.max(2, Math.min(10, cw - 2)), thick = phone ? 2 : 3;
  // Names stay clear of each other and of every marked cell but their own.
  const named = d.cells.flatMap((c, i) => c.s && c.a !== null ? [[xs[i], y(tops[1], c.a) + 5, i]] : []);
  const names = [];
  d.cells.forEach((c, i) => {
    if (c.b !== null) add(s, 'rect', { x: Math.round(xs[i] - wide / 2), y: Math.round(y(tops[0], c.b) - thick / 2), width: wide, height: thick, fill: 'var(--trace)' });
    if (c.a === null) return;
    const at = y(tops[1], c.a);
    if (c.b !== null && Math.abs(c.b - c.a) > d.movedAh) {
      const from = y(tops[1], c.b), down = at > from ? 1 : -1, xx = half(xs[i]);
      line(s, xx - 3, half(from), xx + 3, half(from), 'edge');
      line(s, xx, from, xx, at - 3 * down, 'edge');
      if (Math.abs(at - from) > 10) add(s, 'path', { d: `M${xx} ${at - 2 * down}l-2.5 ${-6 * down}h5z`, fill: 'var(--edge)' });
    }
    mark(s, c.s, { width: wide, thick, radius: phone ? 5 : 6 }).setAttribute('transform', `translate(${xs[i].toFixed(1)} ${Math.round(at)})`);
    if (c.n) names.push(() => {
      const own = Math.min(tops[1] + tall - 4, Math.max(tops[1] + 12, at + 5));
      // Names too close are moved apart, inside the ruler.
      const free = y => y > tops[1] + 8 && y < tops[1] + tall && !named.some(([nx, ny, own]) => own !== i && Math.abs(nx - xs[i]) < 110 && Math.abs(ny - y) < 15);
      // On the line of the many there is no room for a name.
      const ways = Math.abs(at - y(tops[1], 0)) < 10 ? [18, -18, 34, -34] : [0, 16, -16, 32, -32];
      const beside = ways.map(by => own + by).find(free) ?? own;
      named.push([xs[i], beside]);
      words(s, xs[i] > R - 110 ? xs[i] - 12 : xs[i] + 12, beside, `${c.n} ${signed(c.a, 2)}`, { anchor: xs[i] > R - 110 ? 'end' : 'start', bold: true, colour: 'ink', halo: true });
    });
  });
  // Over all marks, so that none is drawn through a name.
  names.forEach(put => put());
  spread(tops[0], c => c.b, d.before);
  spread(tops[1], c => c.a, d.after);
  const troubled = new Set();
  let k = 0;
  for (const box of boxes) for (const m of box.modules) { if (d.cells.slice(k, k + m.cells).some(c => c.s)) troubled.add(m.id); k += m.cells; }
  for (const box of boxes) box.modules.forEach((m, i) => {
    if (phone && !troubled.has(m.id) && i !== 0) return;
    words(s, m.x + m.cells * cw / 2, tops[1] + tall + 20, m.id, { anchor: 'middle', bold: troubled.has(m.id), colour: troubled.has(m.id) ? 'ink' : 'ink-2' });
  });
}

const axis = (s, d, x, y, L, R) => {
  const write = labels(s, y + 22);
  for (const t of d.ticks) {
    const at = half(x(t.t));
    if (at < L || at > R) continue;
    line(s, at, y, at, y + 8, 'ink');
    write(Math.max(L + 16, Math.min(R - 16, at)), t.l);
  }
};

// On or off, so ink or nothing. A cell that fell without a command is a dotted row.
export function bleeds(host, d, label) {
  const W = host.clientWidth, L = 56, R = W - 4, row = Math.max(6, Math.min(14, 220 / Math.max(1, d.rows.length))), H = d.rows.length * row + 34;
  const s = sheet(host, W, H, label), x = t => L + (t - d.from) / (d.to - d.from) * (R - L), bottom = d.rows.length * row + 2;
  plate(s, L, 1, R - L, bottom - 1);
  d.rows.forEach((r, i) => {
    const y = 1 + i * row;
    if (r.fell) line(s, L, half(y + row / 2), R, half(y + row / 2), 'caution', 2, { 'stroke-dasharray': '2 3' });
    for (const [a, b] of r.runs) add(s, 'rect', { x: x(a), y: y + 1, width: Math.max(1, x(b) - x(a)), height: Math.max(3, row - 3), fill: 'var(--trace)' });
    if (row >= 12 || r.fell || i === d.rows.length - 1) words(s, L - 6, y + row / 2 + 5, r.name, { anchor: 'end', bold: r.fell, colour: r.fell ? 'ink' : 'ink-2' });
  });
  for (const [a, b] of d.holes) hatch(s, x(a), 1, Math.max(2, x(b) - x(a)), bottom - 1, 'hatch-lost');
  axis(s, d, x, bottom, L, R);
}
