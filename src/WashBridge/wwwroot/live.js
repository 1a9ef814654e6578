// Keeps the parts of a page that are marked with data-live-part fresh while the log grows, and says when nothing is heard any more.
// A part needs an id. data-live-part="always" is asked for at every beat, because it shows how time passes; others only when the log has grown.
const parts = () => [...document.querySelectorAll('[data-live-part]')];
const silentAfter = 5000;
let shown = null;
let busy = false;
let heardAt = Date.now();
const served = new Map(parts().map((part) => [part.id, part.innerHTML]));

function isInUse(part) {
  return part.contains(document.activeElement) && document.activeElement.matches('input, select, textarea');
}

function replace(part, fresh) {
  const html = fresh.innerHTML;
  if (served.get(part.id) === html || isInUse(part)) return;
  served.set(part.id, html);
  const open = [...part.querySelectorAll('details[open][id]')].map((details) => details.id);
  const focused = part.contains(document.activeElement) ? document.activeElement.id : '';
  part.replaceChildren(...document.importNode(fresh, true).childNodes);
  for (const id of open) document.getElementById(id)?.setAttribute('open', '');
  if (focused) document.getElementById(focused)?.focus({ preventScroll: true });
  part.dispatchEvent(new Event('freshened', { bubbles: true }));
}

async function refresh() {
  if (busy || document.hidden) return;
  busy = true;
  try {
    const answer = await fetch(location.href, { headers: { accept: 'text/html' } });
    if (!answer.ok || answer.redirected) return;
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    for (const part of parts()) {
      const fresh = page.getElementById(part.id);
      if (fresh) replace(part, fresh);
    }
  } catch {
    // The beat is missing as well then, and says so.
  } finally {
    busy = false;
  }
}

function tellStale() {
  const banner = document.getElementById('stale');
  if (!banner) return;
  const stale = Date.now() - heardAt > silentAfter;
  if (stale && banner.hidden) banner.textContent = banner.dataset.text.replace('{0}', new Date(heardAt).toLocaleTimeString('en-GB', { timeZone: banner.dataset.zone, timeZoneName: 'shortOffset' }));
  banner.hidden = !stale;
}

const source = new EventSource('/live');
source.addEventListener('message', (beat) => {
  const wasStale = Date.now() - heardAt > silentAfter;
  heardAt = Date.now();
  tellStale();
  const grown = beat.data !== shown;
  const first = shown === null;
  shown = beat.data;
  document.dispatchEvent(new CustomEvent('beat', { detail: { grown: grown && !first } }));
  if (parts().length > 0 && (wasStale || (grown && !first) || document.querySelector('[data-live-part="always"]'))) refresh();
});
document.addEventListener('visibilitychange', () => { if (!document.hidden) refresh(); });
setInterval(tellStale, 1000);
