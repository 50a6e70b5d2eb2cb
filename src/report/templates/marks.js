(() => {
  const { by, data, tell } = page;
  const { views, enough } = data;
  const keptAs = 'marks ' + data.season;
  const zooms = [1, 2, 4, 8];
  // In the order in which they were made: photo, the upper left pixel of the upright photo, size, and what it is.
  const marks = [];
  let at = 0;
  let kind = 'green';
  let zoom = 0;
  let isBoxing = false;
  let corner;
  let aim = [0, 0];

  const keep = () => page.keep(keptAs, marks);

  const isWhole = (number) => Number.isInteger(number) && number >= 0;
  const isMark = (mark) => typeof mark.photo === 'string' && [mark.x, mark.y].every(isWhole)
    && [mark.width, mark.height].every((n) => isWhole(n) && n > 0) && typeof mark.green === 'boolean';

  const add = (found) => {
    const same = (one, other) => ['photo', 'x', 'y', 'width', 'height', 'green'].every((key) => one[key] === other[key]);
    for (const mark of found) {
      if (isMark(mark) && !marks.some((known) => same(known, mark))) marks.push(mark);
    }
  };

  const inView = ({ photo, x, y }) => {
    const view = views[at];
    return photo === view.photo && x >= view.x && y >= view.y && x < view.x + view.width && y < view.y + view.height;
  };

  const draw = (name, attributes) => {
    for (const layer of ['under', 'over']) {
      const shape = document.createElementNS('http://www.w3.org/2000/svg', name);
      for (const [key, value] of Object.entries(attributes)) shape.setAttribute(key, value);
      shape.classList.add(layer);
      by('marked').append(shape);
    }
  };

  // Pixels of the photo that are so many pixels of the screen.
  const onScreen = (pixels) => (pixels * views[at].width) / Math.max(1, by('sheet').clientWidth);

  const cross = (x, y, reach) => 'M' + (x - reach) + ' ' + (y - reach) + 'L' + (x + reach) + ' ' + (y + reach)
    + 'M' + (x + reach) + ' ' + (y - reach) + 'L' + (x - reach) + ' ' + (y + reach);

  const drawMark = ({ x, y, width, height, green }) => {
    const [left, top] = [x - views[at].x, y - views[at].y];
    const [middleX, middleY] = [left + width / 2, top + height / 2];
    if (width > 1 || height > 1) draw('rect', { x: left, y: top, width, height, class: green ? '' : 'is-not' });
    if (green) draw('circle', { cx: middleX, cy: middleY, r: onScreen(6) });
    else draw('path', { d: cross(middleX, middleY, onScreen(5)) });
  };

  const between = ([x0, y0], [x1, y1]) => ({
    photo: views[at].photo,
    x: views[at].x + Math.min(x0, x1),
    y: views[at].y + Math.min(y0, y1),
    width: Math.abs(x1 - x0) + 1,
    height: Math.abs(y1 - y0) + 1,
    green: kind === 'green',
  });

  const drawAll = (unfinished) => {
    by('marked').replaceChildren();
    marks.filter(inView).forEach(drawMark);
    if (unfinished) drawMark(unfinished);
    else if (corner) drawMark(between(corner, corner));
    const [x, y] = [aim[0] + 0.5, aim[1] + 0.5];
    const [near, far] = [onScreen(5), onScreen(16)];
    draw('path', {
      class: 'aim',
      d: 'M' + (x - far) + ' ' + y + 'H' + (x - near) + 'M' + (x + near) + ' ' + y + 'H' + (x + far)
        + 'M' + x + ' ' + (y - far) + 'V' + (y - near) + 'M' + x + ' ' + (y + near) + 'V' + (y + far),
    });
  };

  const show = () => {
    const view = views[at];
    const source = 'data:image/jpeg;base64,' + view.jpeg;
    if (by('picture').src !== source) by('picture').src = source;
    by('sheet').style.width = 100 * zooms[zoom] + '%';
    by('sheet').classList.toggle('is-large', zoom > 0);
    by('sheet').classList.toggle('is-boxing', isBoxing);
    by('marked').setAttribute('viewBox', '0 0 ' + view.width + ' ' + view.height);
    by('green').setAttribute('aria-pressed', String(kind === 'green'));
    by('not').setAttribute('aria-pressed', String(kind === 'not'));
    by('box').setAttribute('aria-pressed', String(isBoxing));
    const n = (list, green) => list.filter((mark) => mark.green === green).length;
    const here = marks.filter(inView);
    by('place').textContent = 'Photo ' + (at + 1) + ' of ' + views.length + ' · here ' + n(here, true) + ' turf, '
      + n(here, false) + ' not · in all ' + n(marks, true) + ' turf, ' + n(marks, false) + ' not';
    by('caption').textContent = view.photo;
    by('done').value = Math.min(marks.length, enough);
    by('undo').disabled = marks.length === 0 && !corner;
    by('back').disabled = at === 0;
    by('next').disabled = at + 1 === views.length;
    by('smaller').disabled = zoom === 0;
    by('larger').disabled = zoom + 1 === zooms.length;
    drawAll();
  };

  const mark = (from, to) => {
    add([between(from, to)]);
    corner = undefined;
    keep();
    show();
  };

  const point = (place) => {
    aim = place;
    if (!isBoxing) mark(place, place);
    else if (corner) mark(corner, place);
    else {
      corner = place;
      show();
    }
  };

  // The last mark goes, wherever it is; its photo is shown so that one sees what went.
  const undo = () => {
    if (corner) {
      corner = undefined;
    } else {
      const gone = marks.pop();
      const index = gone ? views.findIndex((view) => view.photo === gone.photo) : -1;
      if (index >= 0) at = index;
      keep();
    }
    show();
  };

  const turn = (step) => {
    const to = at + step;
    if (to < 0 || to >= views.length) return;
    at = to;
    corner = undefined;
    aim = [Math.floor(views[at].width / 2), Math.floor(views[at].height / 2)];
    show();
  };

  // What was in the middle of the frame stays there.
  const resize = (step) => {
    const to = zoom + step;
    if (to < 0 || to >= zooms.length) return;
    const frame = by('sheet').parentElement;
    const middle = (scroll, seen, whole) => (scroll + seen / 2) / whole;
    const x = middle(frame.scrollLeft, frame.clientWidth, by('sheet').clientWidth);
    const y = middle(frame.scrollTop, frame.clientHeight, by('sheet').clientHeight);
    zoom = to;
    show();
    frame.scrollLeft = x * by('sheet').clientWidth - frame.clientWidth / 2;
    frame.scrollTop = y * by('sheet').clientHeight - frame.clientHeight / 2;
    drawAll();
  };

  const choose = (word) => {
    kind = word;
    show();
  };

  const box = () => {
    isBoxing = !isBoxing;
    corner = undefined;
    show();
  };

  const save = () => {
    if (marks.length === 0) {
      tell('There is nothing to save yet: mark some places first.');
      return;
    }
    tell('');
    const line = (one) => [page.cell(one.photo), one.x, one.y, one.width, one.height, one.green ? 'yes' : 'no'].join(',');
    page.save(data.file, ['photo,x,y,width,height,green', ...marks.map(line)]);
  };

  const take = (text) => {
    const rows = page.rows(text, ['photo', 'x', 'y', 'green'], ['width', 'height']);
    if (!rows) {
      tell('This file holds no marks: its first line must name photo, x, y and green.');
      return;
    }
    tell('');
    add(rows.map(([photo, x, y, green, width, height]) => ({
      photo, x: Number(x), y: Number(y), width: Number(width || 1), height: Number(height || 1),
      green: /^(y|yes|true|green|1)$/i.test(green),
    })));
    keep();
    show();
  };

  const placeOf = (event) => {
    const view = views[at];
    const seen = by('picture').getBoundingClientRect();
    const along = (from, length, n) => Math.max(0, Math.min(n - 1, Math.floor((from / length) * n)));
    return [
      along(event.clientX - seen.left, seen.width, view.width),
      along(event.clientY - seen.top, seen.height, view.height),
    ];
  };

  // A press that hardly moves is a point. One that moves is a rectangle with a mouse or pen, or where Rectangle is pressed;
  // else a finger that moves the picture.
  let press;
  const sheet = by('sheet');
  const hasMoved = (event) => Math.hypot(event.clientX - press.x, event.clientY - press.y) > 5;
  const drags = (event) => isBoxing || event.pointerType !== 'touch';
  sheet.addEventListener('pointerdown', (event) => {
    if (event.button !== 0 || !event.isPrimary) return;
    press = { x: event.clientX, y: event.clientY, place: placeOf(event) };
    if (drags(event)) sheet.setPointerCapture(event.pointerId);
  });
  sheet.addEventListener('pointermove', (event) => {
    if (press && drags(event) && hasMoved(event)) drawAll(between(press.place, placeOf(event)));
  });
  sheet.addEventListener('pointerup', (event) => {
    if (!press || !event.isPrimary) return;
    const { place } = press;
    const moved = hasMoved(event);
    press = undefined;
    if (!moved) point(place);
    else if (drags(event)) mark(place, placeOf(event));
    else drawAll();
  });
  sheet.addEventListener('pointercancel', () => {
    press = undefined;
    drawAll();
  });

  const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, -1], ArrowDown: [0, 1] };
  sheet.addEventListener('keydown', (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const view = views[at];
    const step = steps[event.key];
    if (step) {
      event.preventDefault();
      const far = event.shiftKey ? 1 : Math.max(1, Math.round(onScreen(12)));
      const within = (n, length) => Math.max(0, Math.min(length - 1, n));
      aim = [within(aim[0] + far * step[0], view.width), within(aim[1] + far * step[1], view.height)];
      const frame = sheet.parentElement;
      const follow = (scroll, seen, place) => Math.max(place - seen + 40, Math.min(scroll, place - 40));
      frame.scrollLeft = follow(frame.scrollLeft, frame.clientWidth, (aim[0] / view.width) * sheet.clientWidth);
      frame.scrollTop = follow(frame.scrollTop, frame.clientHeight, (aim[1] / view.height) * sheet.clientHeight);
      drawAll(corner && between(corner, aim));
    } else if (event.key === 'Enter' || event.key === ' ') {
      event.preventDefault();
      if (!event.repeat) point(aim);
    } else if (event.key === 'Escape') {
      corner = undefined;
      show();
    }
  });

  by('green').addEventListener('click', () => choose('green'));
  by('not').addEventListener('click', () => choose('not'));
  by('undo').addEventListener('click', undo);
  by('box').addEventListener('click', box);
  by('smaller').addEventListener('click', () => resize(-1));
  by('larger').addEventListener('click', () => resize(1));
  by('back').addEventListener('click', () => turn(-1));
  by('next').addEventListener('click', () => turn(1));
  by('save').addEventListener('click', save);
  page.opensWith(take);
  page.keys({
    g: () => choose('green'), n: () => choose('not'), z: undo, r: box, b: () => turn(-1), j: () => turn(1),
    s: save, o: () => by('file').click(), '-': () => resize(-1), '+': () => resize(1), '=': () => resize(1),
  });
  window.addEventListener('resize', () => drawAll());

  add(page.recall(keptAs));
  aim = [Math.floor(views[0].width / 2), Math.floor(views[0].height / 2)];
  show();
})();
