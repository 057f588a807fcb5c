// Primitives of the drawing: everything is SVG in CSS pixels, lines on half pixels.
const space = 'http://www.w3.org/2000/svg';

export const isPhone = () => innerWidth <= 640;
export const isWall = () => document.documentElement.classList.contains('wall');

export function add(parent, tag, attributes = {}, content) {
  const element = document.createElementNS(space, tag);
  for (const [name, value] of Object.entries(attributes)) element.setAttribute(name, value);
  if (content !== undefined) element.textContent = content;
  return parent.appendChild(element);
}

export function sheet(host, width, height, label) {
  host.textContent = '';
  const svg = add(host, 'svg', { width, height, viewBox: `0 0 ${width} ${height}`, role: 'img' });
  if (label) svg.setAttribute('aria-label', label);
  return svg;
}

export const half = v => Math.round(v) - .5;

export function line(parent, x1, y1, x2, y2, colour = 'hair', width = 1, more = {}) {
  return add(parent, 'line', { x1, y1, x2, y2, stroke: `var(--${colour})`, 'stroke-width': width, ...more });
}

export function words(parent, x, y, content, { anchor = 'start', size = 14, bold = false, colour = 'ink-2', halo = false } = {}) {
  const style = `font-size:${size}px;fill:var(--${colour});${bold ? 'font-weight:600;' : ''}` +
    (halo ? 'paint-order:stroke;stroke:var(--plate);stroke-width:4px;stroke-linejoin:round;' : '');
  return add(parent, 'text', { x, y, 'text-anchor': anchor, style }, content);
}

// Width of words, px, without asking the document: a box asked for between two insertions lays the whole page out each time.
let measure = null;
export function widthOf(content, size = 14, bold = false) {
  measure ??= { context: document.createElement('canvas').getContext('2d'), face: getComputedStyle(document.documentElement).getPropertyValue('--face').trim() };
  measure.context.font = `${bold ? 600 : 400} ${size}px ${measure.face}`;
  return measure.context.measureText(content).width;
}

// Labels along an axis, from left to right: one that would run into the one before is left out; its mark stays.
export function labels(parent, y) {
  let free = -Infinity;
  return (x, content) => {
    const wide = widthOf(content);
    if (x - wide / 2 < free) return;
    words(parent, x, y, content, { anchor: 'middle' });
    free = x + wide / 2 + 6;
  };
}

export const plate = (parent, x, y, width, height) =>
  add(parent, 'rect', { x: x - .5, y: y - .5, width: width + 1, height: height + 1, fill: 'var(--plate)', stroke: 'var(--edge)' });

export const hatch = (parent, x, y, width, height, kind = 'hatch-edge') =>
  add(parent, 'rect', { x, y, width, height, fill: `url(#${kind})`, opacity: 'var(--hatch)' });

// Words on a patch of plate, so that a hatch does not run through them.
export function wordsInHatch(parent, x, y, content, options, bandY, bandHeight) {
  const wide = widthOf(content, options.size, options.bold), from = x - ({ middle: wide / 2, end: wide }[options.anchor] ?? 0);
  add(parent, 'rect', { x: from - 5, y: bandY, width: wide + 10, height: bandHeight, fill: 'var(--plate)' });
  return words(parent, x, y, content, options);
}

export const signed = (v, decimals = 0) => {
  const text = Math.abs(v).toFixed(decimals);
  return +text === 0 ? text : (v < 0 ? '\u2212' : '+') + text;
};

// One shape a state, centred on 0,0. State numbers are those of the program's StateWord.
export const state = { normal: 0, bleeding: 1, notProven: 2, caution: 3, doubtful: 4, noData: 5, actNow: 6 };

export function mark(parent, kind, { width = 6, thick = 3, radius = 7, up = true } = {}) {
  const g = add(parent, 'g');
  const tick = { x: -width / 2, y: -thick / 2, width, height: thick, fill: 'var(--trace)' };
  switch (kind) {
    case state.caution:
      add(g, 'path', { d: `M0 ${-radius}L${radius} 0L0 ${radius}L${-radius} 0Z`, fill: 'var(--caution-fill)', stroke: 'var(--mark-edge)', 'stroke-width': 1.5 });
      break;
    case state.actNow: {
      const s = up ? 1 : -1;
      add(g, 'path', { d: `M0 ${-radius * s}L${radius} ${radius * .75 * s}H${-radius}Z`, fill: 'var(--urgent)' });
      break;
    }
    case state.doubtful: {
      const r = Math.max(4, radius * .9);
      add(g, 'rect', { x: -r, y: -r, width: 2 * r, height: 2 * r, fill: 'var(--plate)', stroke: 'var(--lost)', 'stroke-width': 1.5 });
      words(g, 0, r * .62, '?', { anchor: 'middle', size: Math.round(r * 1.8), bold: true, colour: 'lost' });
      break;
    }
    case state.noData: {
      const r = radius;
      add(g, 'rect', { x: -r, y: -r, width: 2 * r, height: 2 * r, fill: 'var(--plate)' });
      add(g, 'rect', { x: -r, y: -r, width: 2 * r, height: 2 * r, fill: 'url(#hatch-lost-fine)', stroke: 'var(--lost)', 'stroke-width': 1.5 });
      break;
    }
    case state.notProven: {
      const dots = width >= 6 ? 3 : 2, step = width / dots;
      for (let i = 0; i < dots; i++) add(g, 'rect', { ...tick, x: -width / 2 + i * step, width: Math.max(1, step - 1) });
      break;
    }
    case state.bleeding:
      add(g, 'rect', tick);
      add(g, 'rect', { x: -.5, y: thick / 2, width: 1, height: Math.max(4, thick * 2), fill: 'var(--trace)' });
      break;
    default:
      add(g, 'rect', tick);
  }
  return g;
}

// A dimension line as on a drawing: arrowheads inside where there is room, outside where there is not.
export function dimension(parent, x, yTop, yBottom) {
  const tight = yBottom - yTop < 22;
  line(parent, x, tight ? yTop - 16 : yTop, x, tight ? yBottom + 16 : yBottom, 'ink');
  for (const [y, way] of [[yTop, tight ? -1 : 1], [yBottom, tight ? 1 : -1]])
    add(parent, 'path', { d: `M${x} ${y}l-3 ${9 * way}h6z`, fill: 'var(--ink)' });
}

// Redraws when the host changes its width.
export function onResize(host, redraw) {
  let width = host.clientWidth, height = innerHeight;
  const observer = new ResizeObserver(() => {
    if (!host.isConnected) return observer.disconnect();
    if (host.clientWidth === width && innerHeight === height) return;
    width = host.clientWidth;
    height = innerHeight;
    redraw();
  });
  observer.observe(host);
  return observer;
}

// One cursor over all drawings of a time axis: what one points at, the others show.
const hearers = new Map();
export const timeCursor = {
  hear(host, listener) { hearers.set(host, listener); },
  deaf(host) { hearers.delete(host); },
  tell(host, t) { for (const [other, listener] of hearers) if (other !== host && other.isConnected) listener(t); },
};
