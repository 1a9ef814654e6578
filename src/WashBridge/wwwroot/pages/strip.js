// What is seen nearer in the signals is framed in the strip above them, and scrolled to.
const strip = document.getElementById('strip');
const frame = strip?.querySelector('.strip-frame');
const mark = strip?.querySelector('.strip-window');

document.addEventListener('chartzoom', ({ detail: { from, until, isAll } }) => {
  if (!mark) return;
  const place = (at) => Math.max(0, ((at - Number(strip.dataset.origin)) / 1000) * Number(strip.dataset.scale));
  mark.setAttribute('x', place(from));
  mark.setAttribute('width', isAll ? 0 : Math.max(2, place(until) - place(from)));
  const picture = frame.querySelector('svg');
  const shown = picture.getBoundingClientRect().width / picture.viewBox.baseVal.width;
  if (!isAll) frame.scrollLeft = place((from + until) / 2) * shown - frame.clientWidth / 2;
});
