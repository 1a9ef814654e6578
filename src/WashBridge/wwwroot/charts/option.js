// From our data to what ECharts draws. One panel for each unit, one below the other, all on one axis of time: no second scale that could be misread.
import { extentOf } from './axis.js';

const patterns = ['solid', [8, 4], [2, 3], [10, 3, 2, 3]];
const symbols = ['circle', 'rect', 'triangle', 'diamond'];
const gapBetween = 46;
const below = 82;
const left = 66;
const right = 18;

// Colours come again after four lines: then with another pattern.
export const pattern = (index) => patterns[(index + Math.floor(index / patterns.length)) % patterns.length];

export function panelsOf(data) {
  const panels = new Map();
  for (const series of data.series) {
    const key = series.panel ?? series.unit;
    if (!panels.has(key)) panels.set(key, { key, unit: series.unit, isFlag: true, series: [] });
    const panel = panels.get(key);
    panel.series.push(series);
    panel.isFlag &&= series.isFlag === true;
  }
  return [...panels.values()];
}

const heightOf = (panel, only) => (panel.isFlag ? 44 : only ? 250 : 150);

// Sizes grow with the letters of the page.
export function heightFor(data, scale) {
  const panels = panelsOf(data);
  return Math.round(scale * (panels.reduce((sum, panel) => sum + heightOf(panel, panels.length === 1) + gapBetween, 0) + below));
}

const plotWidth = (width, scale) => Math.max(60, width - (left + right) * scale);

const points = (series, values) => series.at.map((at, i) => [at, values[i]]);

// The picture of one series: its band, if it has one, and its line.
function linesOf(series, index, panel, ink) {
  const colour = ink.series[index % ink.series.length];
  const step = series.form === 'line' || series.form === 'points' ? false : 'end';
  const common = { xAxisIndex: panel, yAxisIndex: panel, type: 'line', step, connectNulls: false, animation: false, triggerLineEvent: false };
  const made = [];
  if (series.low) {
    const side = { ...common, silent: true, symbol: 'none', lineStyle: { opacity: 0 }, stack: `band-${index}`, stackStrategy: 'all', tooltip: { show: false } };
    made.push({ ...side, name: series.name, data: points(series, series.low) });
    made.push({ ...side, name: series.name, data: points(series, series.high.map((high, i) => (high === null ? null : high - series.low[i]))), areaStyle: { color: colour, opacity: 0.28 } });
  }
  const few = series.at.length <= 80;
  made.push({
    ...common,
    name: series.name,
    data: points(series, series.value),
    symbol: symbols[index % symbols.length],
    symbolSize: series.form === 'points' ? 8 : 6,
    showSymbol: series.form === 'points' || few,
    itemStyle: { color: colour },
    lineStyle: { color: colour, width: series.form === 'points' ? 0 : 1.75, type: series.dashed ? [4, 4] : pattern(index) },
  });
  return made;
}

const spanGround = (kind, ink) => ({
  gap: ink.notMet, bad: ink.notMet, uncertain: ink.notProven, pause: ink.notProven,
}[kind] ?? ink.muted);

// Spans lie behind all panels; a label only where it fits.
function marksOf(data, panel, isFirst, window, width, ink) {
  const perUnit = plotWidth(width, ink.scale) / (window.until - window.from);
  const areas = data.spans.filter((s) => s.until > window.from && s.from < window.until && (!s.series || data.series.some((d, i) => d.name === s.series && panel.series.includes(data.series[i])))).map((span, i) => {
    const seen = (Math.min(span.until, window.until) - Math.max(span.from, window.from)) * perUnit;
    const isPhase = span.kind === 'phase';
    return [
      {
        xAxis: Math.max(span.from, data.from),
        itemStyle: { color: spanGround(span.kind, ink), opacity: isPhase ? (i % 2 ? 0.05 : 0.11) : 0.2 },
        label: { show: (isFirst || !isPhase) && seen > span.label.length * 6.2 * ink.scale, position: isPhase ? 'insideTop' : 'insideBottom', formatter: () => span.label, color: ink.ink, fontSize: 11 * ink.scale },
      },
      { xAxis: Math.min(span.until, data.until) },
    ];
  });
  const lines = data.limits.filter((limit) => (limit.panel ?? limit.unit) === panel.key || limit.at !== undefined).map((limit) => ({
    ...(limit.at === undefined ? { yAxis: limit.value } : { xAxis: limit.at }),
    label: { show: limit.at === undefined || isFirst, formatter: () => limit.label, ...(limit.at === undefined ? { position: 'insideEndTop' } : { position: 'end', rotate: 0 }), color: ink.ink, fontSize: 11 * ink.scale },
    lineStyle: { color: ink.notMet, type: [8, 4], width: 1.5 },
  }));
  return { areas, lines };
}

// Bands reach further than their lines.
const valuesOf = (panel) => panel.series.flatMap((s) => [...s.value, ...(s.low ?? []), ...(s.high ?? [])]);
const limitsOf = (data, panel) => data.limits.filter((limit) => limit.at === undefined && (limit.panel ?? limit.unit) === panel.key);

export function optionOf(data, { window, width, zone, ink, words, describe, zoomsByWheel }) {
  const panels = panelsOf(data);
  const isTime = data.axis === undefined;
  const ticks = isTime ? zone.ticks(window.from, window.until, Math.max(2, Math.floor(plotWidth(width, ink.scale) / (92 * ink.scale)))) : null;
  const [grid, xAxis, yAxis, series, beyond] = [[], [], [], [], []];
  let top = 34 * ink.scale;
  panels.forEach((panel, number) => {
    const height = heightOf(panel, panels.length === 1) * ink.scale;
    const isLast = number === panels.length - 1;
    grid.push({ left: left * ink.scale, right: right * ink.scale, top, height, containLabel: false, outerBoundsMode: 'none' });
    xAxis.push({
      type: 'value', gridIndex: number, min: data.from, max: data.until, scale: true,
      axisLine: { onZero: false, lineStyle: { color: ink.muted } },
      axisTick: { show: true, ...(ticks ? { customValues: ticks.at } : {}) },
      axisLabel: {
        show: isLast, color: ink.ink, fontSize: 12 * ink.scale, lineHeight: 15 * ink.scale, hideOverlap: true,
        ...(ticks ? { customValues: ticks.at, formatter: (at) => zone.label(at, ticks.at.indexOf(at), ticks.step) } : {}),
      },
      splitLine: { show: false },
      name: isLast ? (isTime ? `${zone.id}, ${zone.offsetText(window.from)}` : data.axis) : '',
      nameLocation: 'middle', nameGap: 38 * ink.scale, nameTextStyle: { color: ink.muted, fontSize: 12 * ink.scale },
      axisPointer: { label: { show: isLast, formatter: (p) => (isTime ? zone.full(p.value) : String(Number(p.value.toPrecision(6)))) } },
    });
    const steps = panels.length === 1 ? 5 : 3;
    const extent = panel.isFlag ? null : extentOf(valuesOf(panel), limitsOf(data, panel).map((limit) => limit.value), steps, panel.unit);
    beyond.push(...limitsOf(data, panel).filter((limit) => extent?.left.includes(limit.value)).map((limit) => limit.label));
    yAxis.push({
      type: 'value', gridIndex: number, scale: true, name: panel.isFlag ? words.flag : (panel.unit || words.plain), nameLocation: 'end', nameGap: 8 * ink.scale,
      nameTextStyle: { align: 'right', color: ink.ink, fontSize: 12 * ink.scale },
      ...(panel.isFlag ? { min: -0.1, max: 1.1 } : extent ? { min: extent.min, max: extent.max, interval: extent.interval } : {}),
      axisLabel: {
        color: ink.ink, fontSize: 12 * ink.scale, hideOverlap: true,
        ...(panel.isFlag ? { customValues: [0, 1], formatter: (v) => (v === 1 ? words.on : words.off) } : {}),
      },
      axisTick: panel.isFlag ? { customValues: [0, 1] } : {},
      splitLine: { show: !panel.isFlag, lineStyle: { color: ink.line } },
      splitNumber: steps,
    });
    const marks = marksOf(data, panel, number === 0, window, width, ink);
    panel.series.forEach((each) => series.push(...linesOf(each, data.series.indexOf(each), number, ink)));
    series.push({
      type: 'line', name: `panel-${number}`, xAxisIndex: number, yAxisIndex: number, data: [], silent: true, animation: false, tooltip: { show: false },
      markArea: { silent: true, data: marks.areas, animation: false }, markLine: { silent: true, symbol: 'none', data: marks.lines, animation: false },
    });
    top += height + gapBetween * ink.scale;
  });
  return {
    beyond,
    animation: false,
    aria: { enabled: true, label: { description: describe } },
    textStyle: { fontFamily: ink.font, color: ink.ink },
    grid, xAxis, yAxis, series,
    legend: { show: false },
    axisPointer: { link: [{ xAxisIndex: 'all' }], lineStyle: { color: ink.muted } },
    tooltip: { trigger: 'axis', confine: true, transitionDuration: 0, backgroundColor: ink.surface, borderColor: ink.line, textStyle: { color: ink.ink, fontSize: 13 * ink.scale }, formatter: (at) => tip(data, at, zone, words) },
    dataZoom: [
      { type: 'inside', xAxisIndex: 'all', filterMode: 'none', startValue: window.from, endValue: window.until, zoomOnMouseWheel: zoomsByWheel, moveOnMouseWheel: false, minValueSpan: isTime ? 1000 : 2 },
      { type: 'slider', xAxisIndex: 'all', filterMode: 'none', startValue: window.from, endValue: window.until, showDetail: false, brushSelect: false, height: 22 * ink.scale, bottom: 4, left: left * ink.scale, right: right * ink.scale,
        borderColor: ink.line, fillerColor: ink.filler, handleSize: '140%', textStyle: { color: ink.ink }, dataBackground: { lineStyle: { color: ink.muted }, areaStyle: { color: ink.line } } },
    ],
  };
}

// What holds at a moment: the last point not after it, unless a gap came since.
export function valueAt(series, at) {
  let [low, high] = [0, series.at.length];
  while (low < high) {
    const middle = (low + high) >> 1;
    if (series.at[middle] <= at) low = middle + 1; else high = middle;
  }
  const i = low - 1;
  if (i < 0 || series.value[i] === null) return null;
  return { value: series.value[i], low: series.low?.[i], high: series.high?.[i] };
}

export const number = (value) => String(Number(value.toPrecision(5)));

function tip(data, at, zone, words) {
  const x = (Array.isArray(at) ? at[0] : at)?.axisValue ?? (Array.isArray(at) ? at[0] : at)?.value?.[0];
  const box = document.createElement('div');
  const add = (text, name = 'div') => { const line = document.createElement(name); line.textContent = text; box.append(line); return line; };
  add(data.axis === undefined ? zone.full(x) : `${number(x)} ${data.axis}`, 'strong');
  for (const series of data.series) {
    const found = valueAt(series, x);
    const unit = series.unit ? ` ${series.unit}` : '';
    if (found === null) add(`${series.name}: ${words.nothing}`);
    else if (series.isFlag && (found.low === undefined || found.low === found.high)) add(`${series.name}: ${found.value ? words.on : words.off}`);
    else if (found.low !== undefined && found.low !== found.high) add(`${series.name}: ${number(found.value)}${unit} (${number(found.low)} ${words.to} ${number(found.high)}${unit})`);
    else add(`${series.name}: ${number(found.value)}${unit}`);
  }
  return box;
}
