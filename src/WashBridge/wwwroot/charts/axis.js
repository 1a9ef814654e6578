// How far the axis of values reaches: it fits what is drawn, with a margin, so that a small drift is seen. Zero is on it only where the values come near it.

const margin = 0.08;

// A limit is on it too, unless what is drawn would be squeezed into less than this part of the panel; then it is only named.
const leastPart = 0.2;

// Values that hardly differ are not blown up: the axis spans at least this part of the largest.
const leastSpan = 0.02;

// Ends at whole steps of 1, 2 or 5, of which there are as many as asked for, up to 1.6 times.
function rounded(low, high, steps) {
  const rough = (high - low) / steps / 1.6;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((n) => n >= rough * 0.999);
  return { min: Number((Math.floor(low / step + 1e-9) * step).toPrecision(12)), max: Number((Math.ceil(high / step - 1e-9) * step).toPrecision(12)), interval: Number(step.toPrecision(12)) };
}

// Of values and limits: { min, max, interval, left }, where left are the limits that lie too far away. Null: there are no values.
// A share of 100 % does not go beyond that.
export function extentOf(values, limits, steps, unit = '') {
  const known = values.filter((v) => typeof v === 'number' && Number.isFinite(v));
  if (known.length === 0) return null;
  const lowest = known.reduce((a, b) => Math.min(a, b));
  const highest = known.reduce((a, b) => Math.max(a, b));
  const largest = Math.max(Math.abs(lowest), Math.abs(highest));
  const span = Math.max(highest - lowest, largest * leastSpan) || 1;
  const middle = (lowest + highest) / 2;
  let [low, high] = [Math.min(lowest, middle - span / 2), Math.max(highest, middle + span / 2)];
  const left = [];
  for (const limit of [...limits].sort((a, b) => Math.abs(a - middle) - Math.abs(b - middle))) {
    const [below, above] = [Math.min(low, limit), Math.max(high, limit)];
    if (span / (above - below) < leastPart) left.push(limit);
    else [low, high] = [below, above];
  }
  const edge = margin * (high - low);
  const from = lowest >= 0 && low - edge < 0.2 * high ? 0 : low - edge;
  const until = unit === '%' && highest <= 100 && high + edge > 100 ? Math.max(100, high) : high + edge;
  return { ...rounded(from, until, steps), left };
}
