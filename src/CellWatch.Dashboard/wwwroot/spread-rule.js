// The spread rule: the sheet is laid out once for a width; after that every scan is one byte array that moves the marks.
import { add, sheet, half, line, words, plate, hatch, wordsInHatch, signed, mark, dimension, onResize, isPhone, isWall, state } from './drawing.js';
import { spoken } from './texts.js';

const headerBytes = 5, markBytes = 3, none = -32768, unknown = 65535;
const stateWord = [spoken('normal'), spoken('bleeding'), spoken('not proven'), spoken('caution'), spoken('doubtful'), spoken('no data'), spoken('act now')];
const rules = new Set();

class SpreadRule {
  constructor(host, page) {
    this.host = host;
    this.page = page;
    this.marks = [];
    this.cursor = -1;
    this.bytes = null;
    this.notes = null;
    rules.add(this);
    onResize(host, () => this.layout());
    host.addEventListener('keydown', e => this.key(e));
    host.addEventListener('click', e => this.press(e));
    host.addEventListener('pointermove', e => e.pointerType === 'mouse' && this.hover(e));
    host.addEventListener('pointerleave', () => this.point(-1));
    host.addEventListener('blur', () => this.point(-1));
  }

  set(skeleton) {
    this.skeleton = skeleton;
    this.layout();
  }

  // ---- layout -------------------------------------------------------------------------------------------------------------
  layout() {
    if (!this.skeleton) return;
    const phone = isPhone(), wall = isWall(), simulated = document.querySelector('.sim') !== null;
    const f = this.form = wall
      ? { scale: 96, right: 250, gap: 24, long: 34, size: 28, top: 64, tray: 34, bottom: 52, thick: 6, radius: 12, lost: 5, band: 26 }
      : phone
        ? { scale: 33, right: 0, gap: 3, long: 2.5, size: 14, top: 22, tray: 14, bottom: 26, thick: 2, radius: 6, lost: 1.3, band: 14 }
        : { scale: 56, right: 72, gap: 12, long: 22, size: 14, top: 22, tray: 18, bottom: 24, thick: 3, radius: 7, lost: 3, band: 14 };
    f.phone = phone;
    f.wall = wall;
    const room = wall ? innerHeight - (simulated ? 80 : 0) - 180 - f.top - f.tray - f.bottom
      : phone ? 200 : Math.min(400, innerHeight - (simulated ? 580 : 500));
    f.height = Math.max(150, Math.floor(room / 50) * 50);
    const W = this.host.clientWidth, { columns } = this.skeleton;
    const boxes = columns.reduce((n, c, i) => n + (i > 0 && c.box !== columns[i - 1].box ? 1 : 0), 0);
    const weight = columns.reduce((sum, c) => sum + c.weight, 0);
    const unit = (W - f.scale - f.right - boxes * f.gap) / weight;
    let x = f.scale, position = 0;
    this.columns = columns.map((c, i) => {
      if (i > 0 && c.box !== columns[i - 1].box) x += f.gap;
      const width = Math.floor(unit * c.weight), room = width - (width > 30 ? 4 : 0);
      const pitch = c.count ? Math.floor(room / c.count) : room, start = x + Math.floor((width - pitch * c.count) / 2);
      const column = { ...c, x, width, pitch, first: position, at: k => start + k * pitch + (pitch > 6 ? (pitch - 2) / 2 : pitch / 2) };
      position += c.count;
      x += width;
      return column;
    });
    this.right = x;
    this.blocks = [];
    for (const c of this.columns) {
      const last = this.blocks.at(-1);
      if (last && last.box === c.box) { last.to = c.x + c.width; last.columns.push(c); }
      else this.blocks.push({ box: c.box, from: c.x, to: c.x + c.width, columns: [c] });
    }
    this.svg = sheet(this.host, W, f.top + f.height + f.tray + f.bottom, '');
    this.svg.setAttribute('aria-hidden', 'true');
    this.step = -1;
    this.back = add(this.svg, 'g');
    this.ground = add(this.svg, 'g');
    this.lostLayer = add(this.svg, 'g');
    this.markLayer = add(this.svg, 'g');
    this.front = add(this.svg, 'g');
    this.cursorLayer = add(this.svg, 'g');
    this.drawBoxes();
    this.marks = Array.from({ length: position }, () => ({ kind: -1, g: null }));
    if (this.bytes) this.frame(this.bytes, null);
    else this.scaleMarks(0);
  }

  drawBoxes() {
    const f = this.form, y = f.top + f.height + f.tray + (f.wall ? 38 : 18);
    for (const b of this.blocks) {
      plate(this.back, b.from, f.top, b.to - b.from, f.height);
      for (const c of b.columns.slice(1)) line(this.back, c.x - .5, f.top, c.x - .5, f.top + f.height + f.tray, 'hair');
      const slots = b.columns.map(c => c.slot);
      const run = slots.length > 1 ? spoken('slots {0}\u2013{1}', slots[0], slots.at(-1)) : spoken('slot {0}', slots[0]);
      const name = b.box ? spoken('{0} box', b.box[0].toUpperCase() + b.box.slice(1)) : spoken('Pack');
      words(this.back, b.from, f.top - 8, f.phone ? name : `${name}, ${run}`, { size: f.size });
    }
    this.names = this.columns.map((c, i) => {
      const first = f.phone && i === 0, last = f.phone && i === this.columns.length - 1;
      return words(this.back, first ? c.x : last ? c.x + c.width - 4 : c.x + c.width / 2, y, c.id,
        { anchor: first ? 'start' : last ? 'end' : 'middle', size: f.size });
    });
  }

  y(v) { return this.form.top + this.form.height / 2 - v * this.px; }

  // Graduated like a steel rule: long marks with figures, then half, then a third; what would come closer than 4 px is left out.
  scaleMarks(step) {
    if (step === this.step) return;
    this.step = step;
    const f = this.form, reach = this.skeleton.steps[step], tenth = Number((reach / 10 ** Math.floor(Math.log10(reach))).toFixed(3)) === 1;
    const [long, middle, short] = (tenth ? [.5, .1, .05] : [.4, .2, .04]).map(k => k * reach);
    this.px = f.height / (2 * reach);
    this.ground.textContent = '';
    const decimals = Math.max(0, -Math.floor(Math.log10(long) + 1e-9)), count = Math.round(reach / short);
    for (let i = -count; i <= count; i++) {
      const v = i * short, y = half(this.y(v)), is = unit => Math.abs(v / unit - Math.round(v / unit)) < 1e-6;
      const major = is(long), mid = is(middle);
      if (!major && !mid && short * this.px < 3.9) continue;
      const length = major ? f.long : mid ? f.long * .64 : f.long * .36;
      line(this.ground, f.scale - 1 - length, y, f.scale - 1, y, major ? 'ink' : 'edge');
      if (!f.phone) line(this.ground, this.right + 1, y, this.right + 1 + length * .7, y, major ? 'ink' : 'edge');
      if (!major) continue;
      words(this.ground, f.scale - f.long - (f.phone ? .5 : 8), y + f.size * .36, i === 0 ? '0' : signed(v, decimals),
        { anchor: 'end', size: f.size, colour: i === 0 ? 'ink' : 'ink-2' });
      if (i !== 0) for (const b of this.blocks) line(this.ground, b.from, y, b.to, y, 'hair');
    }
    for (const b of this.blocks) line(this.ground, b.from, half(this.y(0)), b.to, half(this.y(0)), 'edge');
  }

  // ---- one scan -----------------------------------------------------------------------------------------------------------
  frame(bytes, notes) {
    this.bytes = bytes;
    if (notes) this.notes = notes;
    if (!this.svg) return;
    this.host.classList.remove('empty');
    const view = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength), f = this.form;
    this.scaleMarks(view.getUint8(0));
    this.highest = view.getUint16(1, true);
    this.lowest = view.getUint16(3, true);
    const reach = this.skeleton.steps[this.step];
    this.off = [];
    let i = 0;
    this.lostLayer.textContent = '';
    for (const c of this.columns) {
      let lost = 0;
      const width = c.pitch > 6 ? Math.min(c.pitch - 2, f.wall ? 10 : 14) : c.pitch > 3 ? c.pitch - 1 : c.pitch;
      for (let k = 0; k < c.count; k++, i++) {
        const at = headerBytes + i * markBytes, counts = view.getInt16(at, true), kind = view.getUint8(at + 2), m = this.marks[i];
        if (kind === state.noData) lost++;
        const known = counts !== none, v = counts * this.skeleton.perCount, up = v >= 0;
        const offScale = known && Math.abs(v) > reach + 1e-9;
        if (offScale) this.off.push({ i, v, kind, x: c.at(k) });
        m.v = known ? v : NaN;
        m.state = kind;
        m.x = c.at(k);
        m.column = c;
        m.y = kind === state.noData ? f.top + f.height + f.tray / 2 + 1 : known ? this.y(v) : NaN;
        const hidden = offScale || kind !== state.noData && !known;
        const key = hidden ? -2 : kind === state.actNow ? kind + (up ? 0 : 100) : kind;
        if (m.kind !== key) {
          m.g?.remove();
          m.g = hidden ? null : mark(this.markLayer, kind, { width, thick: f.thick, radius: kind === state.noData ? f.lost : f.radius, up });
          m.kind = key;
        }
        const ty = kind === state.noData || kind >= state.caution ? Math.round(m.y) : Math.round(m.y - f.thick / 2) + f.thick / 2;
        m.g?.setAttribute('transform', `translate(${m.x} ${ty})`);
      }
      c.lost = lost === c.count && c.count > 0;
      if (c.lost) this.drawLost(c);
    }
    this.drawNotes();
    if (this.cursor >= 0) this.point(this.cursor);
  }

  drawLost(c) {
    const f = this.form, g = this.lostLayer, said = this.notes?.columns?.[c.id];
    add(g, 'rect', { x: c.x, y: f.top, width: c.width - 1, height: f.height, fill: 'var(--ground)' });
    hatch(g, c.x, f.top, c.width - 1, f.height, 'hatch-lost');
    if (!said || c.width < 44) return;
    const lead = f.size * 1.35, tall = said.length * lead + 8, y = f.top + f.height / 2 - tall / 2;
    add(g, 'rect', { x: c.x + 1, y, width: c.width - 3, height: tall, fill: 'var(--ground)' });
    said.forEach((t, k) => words(g, c.x + c.width / 2, y + 4 + f.size * 1.02 + k * lead, t, { anchor: 'middle', size: f.size, colour: 'lost' }));
  }

  // Limits, labels, the spread as a dimension, module names that stand out.
  drawNotes() {
    const g = this.front, f = this.form, n = this.notes;
    g.textContent = '';
    if (!n) return;
    for (const limit of n.limits) this.drawLimit(g, limit);
    const median = f.phone ? '' : n.median;
    // Ends at the first box's far corner, where the study's eye looks for it.
    if (median) words(g, this.blocks[0].to, f.top - 8, median, { anchor: 'end', size: f.size, colour: 'ink' });

    const named = new Set(), taken = [];
    const place = (x, y, content, options) => {
      const w = content.length * f.size * .58;
      let start = options.side < 0 ? x - w : x, dy = 0;
      while (taken.some(t => Math.abs(t.y - (y + dy)) < f.size * 1.1 && start < t.x + t.w && t.x < start + w)) dy += f.size * 1.15;
      taken.push({ x: start, y: y + dy, w });
      words(g, x, y + dy + f.size * .36, content, { anchor: options.side < 0 ? 'end' : 'start', size: f.size, halo: true, ...options });
    };
    const clear = f.radius + 5;
    for (const label of n.labels) {
      const m = this.marks[label.at];
      if (!m || !Number.isFinite(m.v) || m.state === state.noData) continue;
      named.add(m.column.id);
      if (this.off.some(o => o.i === label.at)) continue;
      const side = m.x > this.right - 150 * (f.size / 14) ? -1 : 1;
      place(m.x + side * clear, m.y, label.text, { side, bold: true, colour: 'ink' });
    }
    for (const o of this.off) {
      const up = o.v > 0, y = up ? f.top + 12 : f.top + f.height - 12, s = up ? -1 : 1;
      const colour = o.kind === state.actNow ? 'urgent' : o.kind === state.doubtful ? 'lost' : o.kind === state.caution ? 'caution' : 'ink';
      add(g, 'path', { d: `M${o.x} ${y + 9 * s}l-5 ${-9 * s}h3.5v${-8 * s}h3v${8 * s}h3.5z`, fill: `var(--${colour})` });
      const side = o.x > this.right - 170 * (f.size / 14) ? -1 : 1, m = this.marks[o.i];
      named.add(m.column.id);
      place(o.x + side * 10, y, `${this.nameOf(o.i)} ${signed(o.v, this.skeleton.decimals)}\u202f${this.skeleton.unit}`, { side, bold: true, colour });
    }
    this.drawSpread(g, n, named, place);
    this.columns.forEach((c, i) => {
      const bold = c.lost || named.has(c.id), t = this.names[i];
      t.style.fontWeight = bold ? 600 : 400;
      t.style.fill = c.lost ? 'var(--lost)' : bold ? 'var(--ink)' : 'var(--ink-2)';
      // On a phone there is room for the ends and for what stands out, where it does not run into another name.
      if (f.phone) {
        const end = i === 0 || i === this.columns.length - 1;
        const near = [...(i < 3 ? [0] : []), ...(i > this.columns.length - 4 ? [this.columns.length - 1] : [])].length > 0 && !end;
        t.style.display = end || bold && !near ? '' : 'none';
      }
    });
  }

  drawLimit(g, limit) {
    const f = this.form, y = this.y(limit.at), band = f.band;
    if (y < f.top || y > f.top + f.height) return;
    const top = limit.side > 0 ? y - band : y;
    const from = Math.max(f.top, top), tall = Math.min(f.top + f.height, top + band) - from;
    for (const b of this.blocks) {
      hatch(g, b.from, from, b.to - b.from, tall);
      line(g, b.from, half(y), b.to, half(y), 'edge');
    }
    if (!limit.words || tall < band) return;
    const last = this.columns.filter(c => !c.lost).at(Math.min(4, this.columns.length - 1)) ?? this.columns[0];
    wordsInHatch(g, f.phone ? this.blocks[0].from + 9 : last.x + 8, top + band / 2 + f.size * .36, limit.words, { size: f.size }, limit.side > 0 ? top - .5 : top + .5, band);
  }

  drawSpread(g, n, named, place) {
    const f = this.form, hi = this.marks[this.highest], lo = this.marks[this.lowest];
    if (!hi || !lo || this.highest === unknown || this.lowest === unknown || !n.spread) return;
    const clampY = y => Math.min(f.top + f.height, Math.max(f.top, y));
    const yh = half(clampY(this.y(hi.v))), yl = half(clampY(this.y(lo.v)));
    for (const [i, m, y] of [[this.highest, hi, yh], [this.lowest, lo, yl]]) {
      if (!f.phone && !named.has(m.column.id) && !this.off.some(o => o.i === i)) {
        const side = m.x < this.blocks[0].from + 70 * (f.size / 14) ? 1 : -1;
        // Beside its own extension line, away from the crowd.
        place(m.x + side * (f.wall ? 14 : 9), y + (i === this.lowest ? f.size * .7 : 0), this.nameOf(i), { side, colour: 'ink-2' });
      }
    }
    if (f.phone) return;
    const x = half(this.right + (f.wall ? 64 : 40)), clear = f.radius + 4;
    const from = (i, m) => m.x + clear + (n.labels.some(l => l.at === i) ? (n.labels.find(l => l.at === i).text.length * f.size * .56 + 10) : 0);
    const dots = { 'stroke-dasharray': '1 3' };
    line(g, from(this.highest, hi), yh, x + 6, yh, 'ink-2', 1, dots);
    line(g, from(this.lowest, lo), yl, x + 6, yl, 'ink-2', 1, dots);
    dimension(g, x, yh, yl);
    const [figure, unit] = n.spread, middle = Math.min(Math.max((yh + yl) / 2, f.top + 20), f.top + f.height - (f.wall ? 80 : 20));
    if (f.wall) {
      const t = words(g, x + 20, middle + 34, figure, { size: 96, bold: true, colour: 'ink' });
      words(g, x + 30 + t.getBBox().width, middle + 34, unit, { size: 28 });
      words(g, x + 22, middle + 74, spoken('spread'), { size: 28 });
    } else {
      words(g, x + 8, middle - 2, figure, { bold: true, colour: 'ink' });
      words(g, x + 8, middle + 15, unit);
    }
  }

  // ---- the cursor ---------------------------------------------------------------------------------------------------------
  nameOf(i) {
    const c = this.columns.find(x => i < x.first + x.count);
    return this.skeleton.sensors ? spoken('{0} sensor {1}', c.id, i - c.first + 1) : `${c.id}.${i - c.first + 1}`;
  }

  sayOf(i) {
    const m = this.marks[i], s = this.skeleton, n = this.notes;
    const said = Number.isFinite(m.v) && m.state !== state.noData
      ? `${n?.medianValue != null ? (n.medianValue + m.v * s.toQuantity).toFixed(s.quantityDecimals) + '\u202f' + s.quantityUnit + ', ' : ''}${signed(m.v, s.decimals)}\u202f${s.unit}`
      : spoken('no value');
    return `${this.nameOf(i)}  ${said}, ${stateWord[m.state] ?? ''}`;
  }

  point(i) {
    this.cursor = i;
    const g = this.cursorLayer, f = this.form;
    if (!g) return;
    g.textContent = '';
    if (i < 0 || !this.marks[i]?.column) return;
    const m = this.marks[i], c = m.column, y = Number.isFinite(m.y) ? Math.min(f.top + f.height + f.tray, Math.max(f.top, m.y)) : f.top + f.height / 2;
    add(g, 'rect', { x: c.x + .5, y: f.top + .5, width: c.width - 2, height: f.height - 1, fill: 'none', stroke: 'var(--scribe)' });
    add(g, 'circle', { cx: m.x, cy: y, r: f.radius + 3, fill: 'none', stroke: 'var(--scribe)', 'stroke-width': 2 });
    const say = this.sayOf(i), left = m.x > (f.scale + this.right) / 2;
    const t = words(g, left ? m.x - f.radius - 10 : m.x + f.radius + 10, y - 12, say, { anchor: left ? 'end' : 'start', size: f.size, colour: 'ink' });
    const b = t.getBBox();
    g.insertBefore(add(g, 'rect', { x: b.x - 6, y: b.y - 3, width: b.width + 12, height: b.height + 6, fill: 'var(--plate)', stroke: 'var(--scribe)' }), t);
    if (document.activeElement === this.host) this.speak(say);
  }

  speak(say) {
    const live = this.host.parentElement?.querySelector('.cursor-say');
    if (live && live.textContent !== say) live.textContent = say;
  }

  key(e) {
    const all = this.marks.length, at = this.cursor < 0 ? -1 : this.cursor;
    const column = this.columns?.findIndex(c => at >= c.first && at < c.first + c.count) ?? -1;
    const jump = way => { const c = this.columns[Math.max(0, Math.min(this.columns.length - 1, column + way))]; return c.first + Math.min(c.count - 1, Math.max(0, at - (this.columns[column]?.first ?? 0))); };
    switch (e.key) {
      case 'ArrowRight': this.point(Math.min(all - 1, at + 1)); break;
      case 'ArrowLeft': this.point(Math.max(0, at - 1)); break;
      case 'ArrowDown': this.point(at < 0 ? 0 : jump(1)); break;
      case 'ArrowUp': this.point(at < 0 ? 0 : jump(-1)); break;
      case 'Home': this.point(0); break;
      case 'End': this.point(all - 1); break;
      case 'Enter': if (at >= 0) this.page?.invokeMethodAsync('OpenMark', at); break;
      case 'Escape': this.point(-1); break;
      default: return;
    }
    e.preventDefault();
    e.stopPropagation();
  }

  nearest(e) {
    const box = this.host.getBoundingClientRect(), x = e.clientX - box.left, y = e.clientY - box.top;
    const c = this.columns?.find(c => x >= c.x && x < c.x + c.width);
    if (!c || !c.count || y < this.form.top) return -1;
    let best = c.first, far = Infinity;
    for (let i = c.first; i < c.first + c.count; i++) {
      const d = Math.abs(this.marks[i].x - x);
      if (d < far) { far = d; best = i; }
    }
    return best;
  }

  hover(e) { const i = this.nearest(e); if (i !== this.cursor) this.point(i); }
  press(e) { const i = this.nearest(e); if (i >= 0) this.page?.invokeMethodAsync('OpenMark', i); }

  // No word from the program: nothing may look as if it were present.
  empty() {
    if (!this.svg || this.host.classList.contains('empty')) return;
    this.host.classList.add('empty');
    this.markLayer.textContent = '';
    this.front.textContent = '';
    this.cursorLayer.textContent = '';
    this.lostLayer.textContent = '';
    for (const m of this.marks) { m.kind = -1; m.g = null; }
    const f = this.form;
    for (const b of this.blocks) {
      hatch(this.lostLayer, b.from, f.top, b.to - b.from, f.height, 'hatch-lost');
      const x = (b.from + b.to) / 2, y = f.top + f.height / 2;
      add(this.lostLayer, 'rect', { x: x - f.size * 4, y: y - f.size, width: f.size * 8, height: f.size * 2, fill: 'var(--plate)' });
      words(this.lostLayer, x, y + f.size * .36, spoken('NO DATA'), { anchor: 'middle', size: f.size, bold: true, colour: 'lost' });
    }
  }
}

export const rule = {
  set(host, page, skeleton) {
    host._rule ??= new SpreadRule(host, page);
    host._rule.page = page;
    host._rule.set(skeleton);
  },
  frame(host, bytes, notes) { host._rule?.frame(bytes, notes); },
  drop(host) { if (host?._rule) { rules.delete(host._rule); host._rule = null; } },
};

export function emptyAllRules() { for (const r of rules) r.host.isConnected ? r.empty() : rules.delete(r); }
