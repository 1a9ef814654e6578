// How far the axis of values reaches: it fits what is drawn, with a margin, so that a small drift is seen. Zero is on it only where the values come near it.

const margin = 0.08;

// A limit is on it too, unless what is drawn would be squeezed into less than this part of the panel; then it is only named.
const leastPart = 0.2;

// Ends at whole steps of 1, 2 or 5.
function rounded(low, high, steps) {
  const rough = (high - low) / steps;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 5, 10].map((n) => n * power).find((n) => n >= rough * 0.999);
  return { min: Number((Math.floor(low / step + 1e-9) * step).toPrecision(12)), max: Number((Math.ceil(high / step - 1e-9) * step).toPrecision(12)), interval: step };
}

// Of values and limits: { min, max, interval, left }, where left are the limits that lie too far away. Null: there are no values.
export function extentOf(values, limits, steps) {
  const known = values.filter((v) => typeof v === 'number' && Number.isFinite(v));
  if (known.length === 0) return null;
  const lowest = known.reduce((a, b) => Math.min(a, b));
  const highest = known.reduce((a, b) => Math.max(a, b));
  const span = Math.max(highest - lowest, Math.max(Math.abs(lowest), Math.abs(highest)) * 0.02, 1e-9);
  let [low, high] = [lowest, highest];
  const left = [];
  for (const limit of [...limits].sort((a, b) => Math.abs(a - (lowest + highest) / 2) - Math.abs(b - (lowest + highest) / 2))) {
    const wider = Math.max(high, limit) - Math.min(low, limit);
    if (span / wider < leastPart) left.push(limit);
    else [low, high] = [Math.min(low, limit), Math.max(high, limit)];
  }
  const edge = margin * Math.max(high - low, span);
  const from = low >= 0 && low - edge < 0.2 * high ? 0 : low - edge;
  return { ...rounded(from, Math.max(high + edge, from + span), steps), left };
}
