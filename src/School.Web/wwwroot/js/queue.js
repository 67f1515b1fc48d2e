// Draws what waits in this browser, sets two versions of a record side by side, and lists the pages that are kept.
(() => {
  'use strict';
  const list = document.querySelector('[data-queue]');
  const pages = document.querySelector('[data-kept-pages]');
  const me = document.querySelector('meta[name=person]')?.content;
  if (!list || !me || !Keep.able) return;
  const nothing = list.firstElementChild;

  const make = (tag, set = {}, ...inside) => {
    const element = Object.assign(document.createElement(tag), set);
    element.append(...inside);
    return element;
  };
  const when = at => new Date(at).toLocaleString('en-GB', { weekday: 'long', day: 'numeric', month: 'long', hour: '2-digit', minute: '2-digit' });
  const button = (words, act, className = '') => {
    const made = make('button', { type: 'button', className }, words);
    made.addEventListener('click', async () => {
      made.disabled = true;
      try { await act(); } finally { made.disabled = false; }
    });
    return made;
  };
  const say = words => document.getElementById('said').replaceChildren(make('p', { className: 'done' }, make('span', {}, words)));

  const send = async record => {
    const told = await Send.one(me, record.id);
    if (told.outcome === 'sent' || told.outcome === 'already') say(told.sentence ?? 'Sent.');
  };
  const drop = async (record, words) => {
    await Keep.dropRecord(record.id, record.key);
    say(words);
    Send.changed();
  };

  /** What the school has now, read from the same page that the record was written on. */
  const theirs = async record => {
    const answer = await fetch(record.action, { redirect: 'manual', cache: 'no-store' });
    if (!answer.ok) throw new Error('No answer.');
    const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
    const form = page.querySelector('form[data-keep-offline]');
    return form
      ? { stands: form.dataset.stands, version: form.elements[record.version]?.value, fields: form.dataset.recorded === 'yes' ? Send.read(form).fields : [] }
      : { stands: page.querySelector('main .note')?.textContent.trim() ?? 'The school has nothing to record for this lesson.', fields: [] };
  };

  const compared = (record, school) => {
    const named = new Map([...school.fields, ...record.fields].map(f => [f.name, f.label]));
    const words = (fields, name) => fields.find(f => f.name === name)?.words || '–';
    const cell = (heading, text) => {
      const made = make('td', { dir: 'auto' }, text);
      made.dataset.label = heading;
      return made;
    };
    const differing = [...named].map(([name, label]) => [label, words(school.fields, name), words(record.fields, name)]).filter(([, one, other]) => one !== other);
    if (!differing.length) return make('p', {}, 'The two say the same.');
    return make('table', { className: 'rows' },
      make('caption', {}, 'Where the two differ'),
      make('thead', {}, make('tr', {}, ...['About', 'At the school', 'On this phone'].map(words => make('th', { scope: 'col' }, words)))),
      make('tbody', {}, ...differing.map(([label, one, other]) =>
        make('tr', {}, make('th', { scope: 'row' }, label), cell('At the school', one), cell('On this phone', other)))));
  };

  const onNewVersion = async (record, school) => {
    const body = new URLSearchParams(record.body);
    body.set(record.version, school.version);
    return Keep.putRecord({ ...record, body: body.toString(), state: 'waiting', sentence: null, errors: null, held: null, key: crypto.randomUUID() }, record.key);
  };
  const conflict = async record => {
    let school;
    try {
      school = await theirs(record);
    } catch {
      return [make('p', {}, 'Somebody else changed this lesson meanwhile. To compare the two there must be signal.'), make('p', { className: 'do' }, button('Try again', draw))];
    }
    const parts = [make('p', {}, make('b', {}, 'Somebody else changed this lesson meanwhile. '), `At the school: ${school.stands}`), compared(record, school)];
    const actions = [button('Keep the school’s', () => drop(record, 'The school’s record stands. Yours was taken off this phone.'))];
    if (school.version) {
      actions.unshift(button('Keep mine', async () => send(await onNewVersion(record, school)), 'main'));
      actions.push(button('Change mine first', async () => { await onNewVersion(record, school); location.assign(record.action); }));
    }
    return [...parts, make('p', { className: 'do' }, ...actions)];
  };

  const HELD = {
    signed_out: 'You are signed out. Sign in again to send it.',
    other_person: 'Somebody else is signed in on this phone.',
    unanswered: 'The school could not be reached. It goes by itself once there is signal.',
  };
  const waiting = record => {
    const refused = record.state === 'refused';
    const old = !refused && Date.now() - record.at > Keep.PAGE_LIFE;
    const words = refused ? record.sentence
      : old ? 'It is older than 48 hours, so it is sent only when you say so. Look at it first.'
      : HELD[record.held] ?? 'It goes by itself once there is signal.';
    const off = make('details', {}, make('summary', {}, 'Take it off this phone'),
      make('p', {}, 'It will not reach the school.'), button('Take it off', () => drop(record, 'Taken off this phone. It was not sent.'), 'grave'));
    off.dataset.record = record.id;
    return [
      make('p', {}, make('b', {}, refused ? 'The school did not take it. ' : 'Not yet sent. '), words),
      make('dl', { className: 'answers' }, ...record.fields.filter(f => f.words).map(f => make('div', {}, make('dt', {}, f.label), make('dd', { dir: 'auto' }, f.words)))),
      make('p', { className: 'do' }, button(refused ? 'Try again' : 'Send now', () => send(record), refused ? '' : 'main'),
        make('a', { className: refused ? 'button main' : 'button', href: record.action }, refused ? 'Put it right' : 'Change it')),
      off,
    ];
  };

  const card = async record => make('section', { className: 'card' },
    make('h3', {}, record.title), make('p', { className: 'soft small' }, `Written ${when(record.at)}`),
    ...record.state === 'stale' ? await conflict(record) : waiting(record));

  let drawing = 0;
  const draw = async () => {
    const turn = ++drawing;
    const cards = await Promise.all((await Keep.records(me)).map(card));
    if (turn !== drawing) return;
    // What somebody has unfolded stays so: a try to send beside it draws the list anew under their finger.
    const unfolded = new Set([...list.querySelectorAll('details[open]')].map(fold => fold.dataset.record));
    list.replaceChildren(...cards.length ? cards : [nothing]);
    for (const fold of list.querySelectorAll('details')) fold.open = unfolded.has(fold.dataset.record);
  };
  const drawPages = async () => {
    const found = (await Keep.pages(me)).filter(p => p.title && p.url !== '/syllabus/queue').sort((a, b) => a.title.localeCompare(b.title, 'en-GB', { numeric: true }));
    if (found.length) pages.replaceChildren(make('ul', {}, ...found.map(p => make('li', {}, make('a', { href: p.url }, p.title), make('span', { className: 'soft small' }, `, as of ${when(p.at)}`)))));
  };
  const begin = async () => {
    if (!await self.MayUseKept) return;
    await Promise.all([draw(), drawPages()]);
    document.addEventListener('records-changed', draw);
  };
  begin();
})();
