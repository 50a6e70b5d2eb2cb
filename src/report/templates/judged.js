'use strict';
// What every page has on which a person judges photos: it keeps answers in the browser, saves and opens files of them.
const page = {
  by: (id) => document.getElementById(id),
  data: JSON.parse(document.getElementById('points').textContent),

  tell(text) {
    page.by('trouble').textContent = text;
    page.by('trouble').hidden = text === '';
  },

  // Browsers may refuse to keep anything for pages opened from a file.
  cannotKeep() {
    page.tell('This browser does not keep answers: save them to a file before you close the page.');
  },

  keep(name, value) {
    try {
      localStorage.setItem('sprigcast ' + name, JSON.stringify(value));
    } catch {
      page.cannotKeep();
    }
  },

  recall(name) {
    try {
      const kept = JSON.parse(localStorage.getItem('sprigcast ' + name) || '[]');
      return Array.isArray(kept) ? kept : [];
    } catch {
      page.cannotKeep();
      return [];
    }
  },

  save(file, lines) {
    const link = document.createElement('a');
    link.href = URL.createObjectURL(new Blob([lines.join('\n') + '\n'], { type: 'text/csv' }));
    link.download = file;
    link.click();
    setTimeout(() => URL.revokeObjectURL(link.href), 10000);
  },

  // A cell of a table, in quotes where it needs them.
  cell: (text) => (/[",;\t]/.test(text) ? '"' + text.replace(/"/g, '""') + '"' : text),

  cells(line) {
    const found = [];
    const pattern = /(?:"((?:[^"]|"")*)"|([^,;\t]*))([,;\t]|$)/y;
    for (;;) {
      const match = pattern.exec(line);
      if (!match) break;
      found.push((match[1] === undefined ? match[2] : match[1].replace(/""/g, '"')).trim());
      if (match[3] === '') break;
    }
    return found;
  },

  // The rows of a table by the names of its columns; none where a needed column is missing.
  rows(text, needed, others = []) {
    const lines = text.replace(/^\uFEFF/, '').split(/\r?\n/).filter((line) => line.trim() !== '');
    const heading = page.cells(lines[0] || '').map((cell) => cell.toLowerCase());
    if (needed.some((name) => !heading.includes(name))) return undefined;
    const columns = [...needed, ...others].map((name) => heading.indexOf(name));
    return lines.slice(1).map(page.cells).map((row) => columns.map((column) => row[column] || ''));
  },

  // Opens a file that the person chooses and gives its text to `take`.
  opensWith(take) {
    page.by('open').addEventListener('click', () => page.by('file').click());
    page.by('file').addEventListener('change', () => {
      const [file] = page.by('file').files;
      if (file) file.text().then(take);
      page.by('file').value = '';
    });
  },

  // What each key does, unless something else on the page has taken it.
  keys(acts) {
    document.addEventListener('keydown', (event) => {
      if (event.ctrlKey || event.altKey || event.metaKey || event.repeat || event.defaultPrevented) return;
      const act = acts[event.key.toLowerCase()];
      if (act) {
        event.preventDefault();
        act();
      }
    });
  },
};
