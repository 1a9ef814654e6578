// Times in the site's zone, and ticks that fall on whole hours and days there.
const steps = [1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600, 7200, 10800, 21600, 43200, 86400, 172800, 604800, 1209600, 2419200].map((s) => s * 1000);
export const day = 86400000;

export class Zone {
  constructor(id) {
    const ask = (options) => new Intl.DateTimeFormat('en-GB', { timeZone: id, hourCycle: 'h23', ...options });
    this.id = id;
    this.parts = ask({ year: 'numeric', month: '2-digit', day: '2-digit', hour: '2-digit', minute: '2-digit', second: '2-digit', timeZoneName: 'longOffset' });
    this.date = ask({ day: 'numeric', month: 'short' });
  }

  read(at) {
    return Object.fromEntries(this.parts.formatToParts(at).map((part) => [part.type, part.value]));
  }

  offsetText(at) {
    return this.read(at).timeZoneName.replace('GMT', '') || '+00:00';
  }

  offset(at) {
    const [sign, hours, minutes] = /^([+-])(\d+):(\d+)/.exec(this.offsetText(at)).slice(1);
    return (sign === '-' ? -1 : 1) * (Number(hours) * 60 + Number(minutes)) * 60000;
  }

  // Such as 2031-03-05 14:00:03 +01:00, with milliseconds where it has any.
  full(at) {
    const p = this.read(at);
    const rest = Math.round(at) % 1000;
    return `${p.year}-${p.month}-${p.day} ${p.hour}:${p.minute}:${p.second}${rest ? '.' + String(rest).padStart(3, '0') : ''} ${this.offsetText(at)}`;
  }

  clock(at) {
    const p = this.read(at);
    return `${p.hour}:${p.minute}:${p.second}`;
  }

  ticks(from, until, most) {
    const step = steps.find((s) => (until - from) / s <= most) ?? Math.ceil((until - from) / most / day) * day;
    const at = [];
    let offset = this.offset(from);
    for (let local = Math.ceil((from + offset) / step) * step; at.length < 100; local += step) {
      // Across a change of the clocks the same local time is another moment.
      offset = this.offset(local - offset);
      const tick = local - offset;
      if (tick > until) break;
      if (tick >= from && tick !== at.at(-1)) at.push(tick);
    }
    return { at, step };
  }

  // A label with the day below it where the day is not plain from the one before.
  label(at, index, step) {
    if (step >= day) return this.date.format(at);
    const isMidnight = (at + this.offset(at)) % day === 0;
    return index === 0 || isMidnight ? `${this.clock(at)}\n${this.date.format(at)}` : this.clock(at);
  }
}
