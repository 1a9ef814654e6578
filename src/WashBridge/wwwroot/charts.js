// Draws every <figure data-chart="ADDRESS"> that comes near the screen, from the small JSON of Web/Charts/ChartData.cs.
// What draws is asked for only where there is something to draw. Without it, or without script, the numbers in the figure stay.
const undrawn = (root) => [...root.querySelectorAll('figure[data-chart]:not([data-drawn])')];

const near = new IntersectionObserver((entries) => {
  for (const entry of entries.filter((e) => e.isIntersecting)) {
    near.unobserve(entry.target);
    import('./charts/chart.js').then(({ Chart }) => new Chart(entry.target).start()).catch(() => {
      const note = entry.target.querySelector('.chart-note');
      if (note) note.textContent = entry.target.dataset.failed;
    });
  }
}, { rootMargin: '300px' });

function start(root) {
  for (const figure of undrawn(root)) {
    figure.dataset.drawn = 'yes';
    near.observe(figure);
  }
}

start(document);
document.addEventListener('freshened', (event) => start(event.target));
