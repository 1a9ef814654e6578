// Keeps the parts of a page that are marked with data-live-part fresh while the log grows, and says when nothing is heard any more.
// A part needs an id. data-live-part="always" is asked for at every beat, because it shows how time passes; others only when the log has grown, and those with a
// number at most once in so many seconds. A part that somebody works in stands still; what names it with data-live-held then says so.
const parts = () => [...document.querySelectorAll('[data-live-part]')];
const silentAfter = 5000;
let shown = null;
let busy = false;
let isOld = false;
let askedAt = Date.now();
let heardAt = Date.now();
let pressed = null;
const served = new Map(parts().map((part) => [part.id, part.innerHTML]));

// What was sent with a field, and what somebody made of it since.
function isTouched(field) {
  if (field.matches('[type="checkbox"], [type="radio"]')) return field.checked !== field.defaultChecked;
  if (field.matches('select')) return field.selectedIndex !== Math.max(0, [...field.options].findIndex((option) => option.defaultSelected));
  return field.value !== field.defaultValue;
}

// Typing, choosing, marking text, or with a finger on it: a press that begins on one element and ends on another is no click.
function isInUse(part) {
  const marked = getSelection();
  return (part.contains(document.activeElement) && document.activeElement.matches('input, select, textarea'))
    || [...part.querySelectorAll('input, select, textarea')].some(isTouched)
    || (marked !== null && !marked.isCollapsed && part.contains(marked.anchorNode))
    || part.contains(pressed);
}

const nameOf = (element) => element.id || `${element.getAttribute('href') ?? ''} ${element.textContent.trim()}`;

// The first thing with an id that is on the screen, where the beginning of the part is above it: it stays where it is, whatever comes before it.
function anchorOf(part) {
  if (part.getBoundingClientRect().top >= 0) return null;
  const found = [...part.querySelectorAll('[id]')].find((element) => element.getBoundingClientRect().top >= 0);
  return found ? { id: found.id, top: found.getBoundingClientRect().top } : null;
}

function replace(part, fresh) {
  const html = fresh.innerHTML;
  if (served.get(part.id) === html) return;
  const isHeld = isInUse(part);
  for (const note of document.querySelectorAll(`[data-live-held="${part.id}"]`)) note.hidden = !isHeld;
  if (isHeld) return;
  served.set(part.id, html);
  const open = [...part.querySelectorAll('details[open][id]')].map((details) => details.id);
  const focused = part.contains(document.activeElement) ? nameOf(document.activeElement) : null;
  const anchor = anchorOf(part);
  part.replaceChildren(...document.importNode(fresh, true).childNodes);
  for (const id of open) document.getElementById(id)?.setAttribute('open', '');
  if (focused !== null) [...part.querySelectorAll('a, button, summary, [tabindex]')].find((element) => nameOf(element) === focused)?.focus({ preventScroll: true });
  part.dispatchEvent(new Event('freshened', { bubbles: true }));
  const anchored = anchor && document.getElementById(anchor.id);
  if (anchored) scrollBy({ top: anchored.getBoundingClientRect().top - anchor.top, behavior: 'instant' });
}

async function refresh() {
  if (busy || document.hidden) return;
  busy = true;
  isOld = false;
  askedAt = Date.now();
  try {
    const answer = await fetch(location.href, { headers: { accept: 'text/html' } });
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    for (const part of parts()) {
      const fresh = page.getElementById(part.id);
      if (!fresh) continue;
      replace(part, fresh);
      if (!fresh.hasAttribute('data-live-part')) part.removeAttribute('data-live-part');
    }
  } catch {
    // The beat is missing as well then, and says so.
  } finally {
    busy = false;
  }
}

function tellStale() {
  const banner = document.getElementById('stale');
  const stale = Date.now() - heardAt > silentAfter;
  if (stale && banner.hidden) banner.textContent = banner.dataset.text.replace('{0}', new Date(heardAt).toLocaleTimeString('en-GB', { timeZone: banner.dataset.zone, timeZoneName: 'shortOffset' }));
  banner.hidden = !stale;
}

// The part that may be asked for soonest decides.
const pace = () => Math.min(...parts().map((part) => (Number(part.dataset.livePart) || 0) * 1000));

function start() {
  const source = new EventSource('/live');
  source.addEventListener('message', (beat) => {
    const wasStale = Date.now() - heardAt > silentAfter;
    heardAt = Date.now();
    tellStale();
    const grown = beat.data !== shown;
    const first = shown === null;
    shown = beat.data;
    document.dispatchEvent(new CustomEvent('beat', { detail: { grown: grown && !first } }));
    isOld ||= wasStale || (grown && !first);
    if (parts().length > 0 && (document.querySelector('[data-live-part="always"]') || (isOld && Date.now() - askedAt >= pace()))) refresh();
  });
  document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
  document.addEventListener('pointerdown', (event) => { pressed = event.target; }, true);
  for (const end of ['pointerup', 'pointercancel']) document.addEventListener(end, () => setTimeout(() => { pressed = null; }), true);
  setInterval(tellStale, 1000);
}

// Who has not logged in is told nothing, and has no banner that could say so.
if (document.getElementById('stale')) start();
