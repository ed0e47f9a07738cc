/** Choosing and sorting the rows of the table of parts. The choice stands in the address, so that it can be kept and sent. */
export function startTable(): void {
  const box = document.querySelector<HTMLElement>('.filter');
  const table = document.querySelector<HTMLTableElement>('#part-table');
  if (box === null || table === null) return;
  box.hidden = false;
  sortable(table);
  const rows = [...table.tBodies[0]!.rows];
  const words = box.querySelector('input')!;
  const selects = [...box.querySelectorAll('select')];
  const said = box.querySelector('output')!;

  const show = (): void => {
    const wanted = words.value.toLowerCase().split(/\s+/).filter(Boolean);
    let shown = 0;
    for (const row of rows) {
      const text = row.textContent.toLowerCase();
      const fits =
        wanted.every((word) => text.includes(word)) &&
        selects.every(({ name, value }) => value === '' || (row.dataset[name] ?? '').split('\n').includes(value));
      row.hidden = !fits;
      if (fits) shown++;
    }
    const chosen = wanted.length > 0 || selects.some(({ value }) => value !== '');
    said.textContent = chosen ? `${shown} of ${rows.length}` : '';
  };
  const remember = (): void => {
    const chosen = new URLSearchParams();
    for (const { name, value } of [...selects, { name: 'words', value: words.value }]) {
      if (value !== '') chosen.set(name, value);
    }
    const text = chosen.toString();
    history.replaceState(null, '', text === '' ? '#parts' : `#parts:${text}`);
  };
  const recall = (): void => {
    const asked = /^#parts:(.*)$/.exec(location.hash)?.[1];
    if (asked === undefined) return;
    const chosen = new URLSearchParams(asked);
    words.value = chosen.get('words') ?? '';
    for (const select of selects) select.value = chosen.get(select.name) ?? '';
    show();
    document.getElementById('parts')?.scrollIntoView();
  };

  for (const control of [words, ...selects]) {
    control.addEventListener('input', () => {
      show();
      remember();
    });
  }
  addEventListener('hashchange', recall);
  recall();
}

/** Columns whose cells carry what to sort by get a button; a second press turns the order round. */
function sortable(table: HTMLTableElement): void {
  const body = table.tBodies[0]!;
  const heads = [...table.tHead!.rows[0]!.cells];
  for (const [column, head] of heads.entries()) {
    if (![...body.rows].some((row) => row.cells[column]?.dataset['by'] !== undefined)) continue;
    const button = document.createElement('button');
    button.type = 'button';
    button.textContent = head.textContent;
    head.replaceChildren(button);
    button.addEventListener('click', () => {
      const down = head.ariaSort === 'ascending';
      for (const other of heads) other.ariaSort = null;
      head.ariaSort = down ? 'descending' : 'ascending';
      body.append(...[...body.rows].sort((a, b) => (down ? -1 : 1) * compareCells(a, b, column)));
    });
  }
}

function compareCells(a: HTMLTableRowElement, b: HTMLTableRowElement, column: number): number {
  const x = a.cells[column]?.dataset['by'] ?? '';
  const y = b.cells[column]?.dataset['by'] ?? '';
  const difference = Number(x) - Number(y);
  return Number.isNaN(difference) ? x.localeCompare(y, 'en', { numeric: true }) : difference;
}
