// One figure: fetches its data, draws, zooms, and stays true to theme, size and time.
import { heightFor, optionOf, pattern } from './option.js';
import { Zone } from './zone.js';

let loading = null;

// ECharts as the package brings it: a classic script that tells itself to the window.
function library(address) {
  loading ??= new Promise((done, failed) => {
    const script = document.createElement('script');
    script.src = address;
    script.addEventListener('load', () => (window.echarts ? done(window.echarts) : failed(new Error(address))));
    script.addEventListener('error', () => failed(new Error(address)));
    document.head.append(script);
  });
  return loading;
}

function inkOf(element) {
  const style = getComputedStyle(element);
  const read = (name) => style.getPropertyValue(name).trim();
  const accent = read('--accent');
  return {
    ink: read('--ink'), muted: read('--muted'), line: read('--line'), surface: read('--surface'), notMet: read('--not-met'), notProven: read('--not-proven'),
    font: style.fontFamily, scale: parseFloat(getComputedStyle(document.documentElement).fontSize) / 16,
    filler: accent.startsWith('rgb(') ? accent.replace('rgb(', 'rgba(').replace(')', ', 0.2)') : accent,
    series: [1, 2, 3, 4].map((n) => read(`--series-${n}`)),
  };
}

const wheelOff = 'ctrl';

export class Chart {
  constructor(figure) {
    this.figure = figure;
    this.words = { ...figure.dataset };
    this.zone = new Zone(figure.dataset.zone);
    this.plot = figure.querySelector('.plot');
    this.note = figure.querySelector('.chart-note');
    this.zoomsByWheel = wheelOff;
    this.askedAt = 0;
  }

  async start() {
    try {
      const [echarts, data] = await Promise.all([library(this.figure.dataset.library), this.fetch()]);
      this.take(data);
      this.plot.hidden = false;
      this.plot.style.height = `${heightFor(data, inkOf(this.figure).scale)}px`;
      this.chart = echarts.init(this.plot, null, { renderer: 'canvas' });
    } catch {
      this.tell(this.words.failed);
      return;
    }
    this.controls();
    this.draw();
    this.tell(this.data.series.some((s) => s.value.some((v) => v !== null)) ? '' : this.words.empty);
    this.figure.dataset.ready = 'yes';
    this.listen();
  }

  async fetch(window) {
    const address = new URL(this.figure.dataset.chart, document.baseURI);
    if (window) {
      address.searchParams.set('from', new Date(Math.floor(window.from)).toISOString());
      address.searchParams.set('until', new Date(Math.ceil(window.until)).toISOString());
    }
    const answer = await fetch(address, { headers: { accept: 'application/json' } });
    if (!answer.ok) throw new Error(String(answer.status));
    return answer.json();
  }

  take(data) {
    this.whole = data;
    this.data = data;
    this.window ??= { from: data.from, until: data.until };
  }

  tell(text) {
    this.told = text;
    const beyond = this.beyond?.length > 0 ? this.words.beyond.replace('{0}', this.beyond.join('; ')) : '';
    const note = [text, beyond].filter((part) => part !== '').join(' ');
    if (this.note.textContent !== note) this.note.textContent = note;
    this.note.hidden = note === '';
  }

  draw() {
    const summary = this.figure.querySelector('.summary')?.textContent.trim() ?? '';
    const { beyond, ...option } = optionOf(this.data, {
      window: this.window, width: this.plot.clientWidth, zone: this.zone, ink: inkOf(this.figure), words: this.words, zoomsByWheel: this.zoomsByWheel,
      describe: `${this.figure.querySelector('figcaption').firstElementChild.textContent}. ${summary}`,
    });
    this.chart.setOption(option, { notMerge: true });
    this.beyond = beyond;
    this.tell(this.told ?? '');
    this.plot.tabIndex = 0;
    for (const name of this.hiddenNames ?? []) this.chart.dispatchAction({ type: 'legendUnSelect', name });
  }

  listen() {
    new ResizeObserver(() => { this.chart.resize(); this.redrawSoon(); }).observe(this.plot);
    document.addEventListener('themechange', () => this.draw());
    matchMedia('(prefers-color-scheme: dark)').addEventListener('change', () => this.draw());
    this.chart.on('datazoom', () => this.zoomed());
    this.plot.addEventListener('focusin', () => this.wheel(true));
    this.plot.addEventListener('focusout', () => this.wheel(wheelOff));
    this.plot.addEventListener('keydown', (event) => this.key(event));
    if (this.figure.dataset.now !== undefined) document.addEventListener('beat', (event) => this.beat(event.detail));
  }

  // The wheel turns the page until somebody has taken hold of the picture.
  wheel(zooms) {
    this.zoomsByWheel = zooms;
    this.chart.setOption({ dataZoom: [{ zoomOnMouseWheel: zooms }] });
  }

  redrawSoon() {
    cancelAnimationFrame(this.frame);
    this.frame = requestAnimationFrame(() => this.draw());
  }

  zoomed() {
    const { startValue, endValue } = this.chart.getOption().dataZoom[0];
    if (startValue === this.window.from && endValue === this.window.until) return;
    this.window = { from: startValue, until: endValue };
    this.figure.dispatchEvent(new CustomEvent('chartzoom', { bubbles: true, detail: { ...this.window, isAll: startValue <= this.whole.from && endValue >= this.whole.until } }));
    clearTimeout(this.later);
    this.later = setTimeout(() => this.look(), 250);
  }

  // A closer look asks for the part that is shown in full detail.
  async look() {
    const { from, until } = this.window;
    if (this.whole.hasMore && until - from < (this.whole.until - this.whole.from) * 0.6) {
      try {
        const near = await this.fetch(this.window);
        if (this.window.from === from && this.window.until === until) this.data = { ...this.whole, series: this.whole.series.map((s, i) => joined(s, near.series[i], near)), spans: joinedSpans(this.whole, near) };
      } catch {
        this.data = this.whole;
      }
    } else {
      this.data = this.whole;
    }
    this.draw();
  }

  show(from, until) {
    const { from: first, until: last } = this.whole;
    const span = Math.min(Math.max(until - from, this.whole.axis === undefined ? 1000 : 2), last - first);
    const start = Math.min(Math.max(from, first), last - span);
    this.chart.dispatchAction({ type: 'dataZoom', startValue: start, endValue: start + span });
  }

  move(act) {
    const { from, until } = this.window;
    const span = until - from;
    ({
      nearer: () => this.show(from + span / 4, until - span / 4),
      further: () => this.show(from - span / 2, until + span / 2),
      earlier: () => this.show(from - span / 3, until - span / 3),
      later: () => this.show(from + span / 3, until + span / 3),
      all: () => this.show(this.whole.from, this.whole.until),
    })[act]();
  }

  key(event) {
    const act = { '+': 'nearer', '=': 'nearer', '-': 'further', ArrowLeft: 'earlier', ArrowRight: 'later', Home: 'all', 0: 'all' }[event.key];
    if (!act || event.ctrlKey || event.metaKey || event.altKey) return;
    event.preventDefault();
    this.move(act);
  }

  controls() {
    const bar = document.createElement('div');
    bar.className = 'chart-controls';
    for (const act of ['nearer', 'further', 'earlier', 'later', 'all']) {
      const button = document.createElement('button');
      button.type = 'button';
      button.textContent = this.words[act];
      button.addEventListener('click', () => this.move(act));
      bar.append(button);
    }
    this.plot.after(bar);
    if (this.data.series.length > 1) this.plot.before(this.legend());
  }

  // Names with the pattern of their line; a press leaves one out.
  legend() {
    this.hiddenNames = new Set();
    const list = document.createElement('ul');
    list.className = 'chart-legend';
    this.data.series.forEach((series, index) => {
      const item = document.createElement('li');
      const button = document.createElement('button');
      button.type = 'button';
      button.setAttribute('aria-pressed', 'true');
      button.append(swatch(index, series), series.name + (series.unit ? ` (${series.unit})` : ''));
      button.addEventListener('click', () => {
        const on = button.getAttribute('aria-pressed') !== 'true';
        button.setAttribute('aria-pressed', String(on));
        if (on) this.hiddenNames.delete(series.name); else this.hiddenNames.add(series.name);
        this.chart.dispatchAction({ type: on ? 'legendSelect' : 'legendUnSelect', name: series.name });
      });
      item.append(button);
      list.append(item);
    });
    return list;
  }

  // Where the period ends now, it goes on with the log; not more often than anybody could see.
  async beat({ grown }) {
    const every = Math.max(1000, (this.whole.until - this.whole.from) / 800);
    if (!grown || document.hidden || performance.now() - this.askedAt < every) return;
    this.askedAt = performance.now();
    try {
      const isAll = this.window.from === this.whole.from && this.window.until === this.whole.until;
      const data = await this.fetch();
      this.take(data);
      if (isAll) this.window = { from: data.from, until: data.until };
      this.draw();
      this.tell('');
    } catch {
      this.tell(this.words.old);
    }
  }
}

function swatch(index, series) {
  const space = 'http://www.w3.org/2000/svg';
  const picture = document.createElementNS(space, 'svg');
  picture.setAttribute('viewBox', '0 0 32 10');
  picture.setAttribute('aria-hidden', 'true');
  picture.setAttribute('class', `swatch series-${(index % 4) + 1}`);
  const line = document.createElementNS(space, 'path');
  line.setAttribute('d', series.form === 'points' ? 'M13 5 a3 3 0 1 0 6 0 a3 3 0 1 0 -6 0' : 'M1 5 H31');
  const dashes = series.dashed ? [4, 4] : pattern(index);
  if (Array.isArray(dashes) && series.form !== 'points') line.setAttribute('stroke-dasharray', dashes.join(' '));
  picture.append(line);
  return picture;
}

// The whole with one part seen nearer.
function joined(far, near, { from, until }) {
  if (!near) return far;
  const before = far.at.findIndex((at) => at >= from);
  const end = before < 0 ? far.at.length : before;
  let after = far.at.findIndex((at) => at >= until);
  if (after < 0) after = far.at.length;
  const hasBand = far.low || near.low;
  const pick = (series, key) => series[key] ?? series.value;
  const join = (key) => [...pick(far, key).slice(0, end), ...pick(near, key), ...pick(far, key).slice(after)];
  return { ...far, form: far.form, at: [...far.at.slice(0, end), ...near.at, ...far.at.slice(after)], value: join('value'), ...(hasBand ? { low: join('low'), high: join('high') } : {}) };
}

const joinedSpans = (whole, near) => [...whole.spans.filter((s) => s.kind === 'phase' || s.until <= near.from || s.from >= near.until), ...near.spans.filter((s) => s.kind !== 'phase')];
