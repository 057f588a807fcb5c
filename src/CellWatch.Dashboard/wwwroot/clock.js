// Times of day in the site's zone. `zones` holds [from when, ms; minutes ahead of UTC], in order; a time of the hour that comes twice when
// summer time ends carries its zone, so that no two instants read the same.
const minuteMs = 60_000;

export function offsetAt(zones, t) {
  let minutes = zones[0]?.[1] ?? 0;
  for (const [from, ahead] of zones) if (t >= from) minutes = ahead;
  return minutes;
}

const twice = (zones, t) => zones.some(([from, ahead], i) => {
  const back = i > 0 ? (zones[i - 1][1] - ahead) * minuteMs : 0;
  return back > 0 && t >= from - back && t < from + back;
});

export function zoneName(minutes) {
  if (minutes === 0) return 'UTC';
  const m = Math.abs(minutes), rest = m % 60;
  return `UTC${minutes < 0 ? '\u2212' : '+'}${Math.floor(m / 60)}${rest ? ':' + String(rest).padStart(2, '0') : ''}`;
}

// From and to pick the part of an ISO time: 11 to 16 is hours and minutes.
export function clock(zones, t, from = 11, to = 16) {
  const minutes = offsetAt(zones, t), text = new Date(t + minutes * minuteMs).toISOString();
  return text.slice(from, to).replace('T', ' ') + (twice(zones, t) ? ' ' + zoneName(minutes) : '');
}
