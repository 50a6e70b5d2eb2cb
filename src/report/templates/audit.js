(() => {
  const { by, data, tell } = page;
  const words = ['green', 'not', 'unsure'];
  const keptAs = 'audit ' + data.audit;
  const answers = new Map();
  let at = 0;

  const keep = () => page.keep(keptAs, [...answers]);

  const recall = () => {
    for (const [point, word] of page.recall(keptAs)) {
      if (words.includes(word) && point >= 1 && point <= data.views.length) answers.set(point, word);
    }
  };

  const firstOpen = (from) => {
    const n = data.views.length;
    for (let step = 0; step < n; step += 1) {
      const index = (from + step) % n;
      if (!answers.has(index + 1)) return index;
    }
    return -1;
  };

  const show = () => {
    const n = data.views.length;
    const source = 'data:image/jpeg;base64,' + data.views[at];
    by('near').src = source;
    by('far').src = source;
    const given = answers.get(at + 1);
    for (const word of words) by(word).setAttribute('aria-pressed', String(given === word));
    const left = n - answers.size;
    const rest = left === 0 ? 'all judged: save your answers' : left + ' to go';
    by('place').textContent = 'Point ' + (at + 1) + ' of ' + n + ' · ' + rest;
    by('done').value = answers.size;
    by('back').disabled = at === 0;
    by('next').disabled = left === 0;
  };

  const answer = (word) => {
    answers.set(at + 1, word);
    keep();
    if (at + 1 < data.views.length) at += 1;
    show();
  };

  const back = () => {
    if (at > 0) at -= 1;
    show();
  };

  const next = () => {
    const open = firstOpen(at + 1);
    if (open >= 0) at = open;
    show();
  };

  const save = () => {
    const lines = ['audit,point,answer'];
    for (let point = 1; point <= data.views.length; point += 1) {
      lines.push(data.audit + ',' + point + ',' + (answers.get(point) || ''));
    }
    page.save(data.file, lines);
  };

  const take = (text) => {
    const rows = page.rows(text, ['audit', 'point', 'answer']);
    if (!rows) {
      tell('This file holds no answers: its first line must name audit, point and answer.');
      return;
    }
    const other = rows.find(([audit]) => audit !== data.audit);
    if (other) {
      tell('This file belongs to audit ' + other[0] + '; this page is audit ' + data.audit + '.');
      return;
    }
    for (const [, point, word] of rows) {
      const number = Number(point);
      const known = Number.isInteger(number) && number >= 1 && number <= data.views.length;
      if (known && words.includes(word.toLowerCase())) answers.set(number, word.toLowerCase());
    }
    tell('');
    keep();
    at = Math.max(0, firstOpen(0));
    show();
  };

  for (const word of words) by(word).addEventListener('click', () => answer(word));
  by('back').addEventListener('click', back);
  by('next').addEventListener('click', next);
  by('save').addEventListener('click', save);
  page.opensWith(take);
  page.keys({
    g: () => answer('green'), n: () => answer('not'), u: () => answer('unsure'),
    b: back, arrowleft: back, j: next, arrowright: next, s: save, o: () => by('file').click(),
  });

  recall();
  at = Math.max(0, firstOpen(0));
  show();
})();
