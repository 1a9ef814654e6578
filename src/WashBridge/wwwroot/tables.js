// On a narrow screen the rows of a table stand one below the other (.stack in site.css). Each value then needs the name of its column beside it.
// A table that names its values itself has the class already.
function stack(root) {
  for (const table of root.querySelectorAll('.frame > table:not(.stack)')) {
    const names = [...table.querySelectorAll('thead th')].map((th) => th.textContent.trim());
    for (const row of table.tBodies[0]?.rows ?? []) {
      [...row.cells].forEach((cell, column) => {
        cell.classList.toggle('blank', cell.textContent.trim() === '');
        if (cell.tagName === 'TD' && cell.colSpan === 1) cell.dataset.label = names[column] ?? '';
      });
    }
    table.classList.add('stack');
  }
}

stack(document);
document.addEventListener('freshened', (event) => stack(event.target));
