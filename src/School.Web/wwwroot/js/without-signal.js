// Working without signal: keeps the day's pages ahead, keeps a record that cannot be sent, sends it later, wipes at sign-out.
// Every page works without this file while there is signal.
(() => {
  'use strict';
  const meta = document.querySelector('meta[name=person]');
  if (!meta || !Keep.able || !('serviceWorker' in navigator)) return;
  const me = meta.dataset.keeps === 'yes' ? meta.content : null;
  const kept = document.querySelector('[data-kept-at]');
  const STILL_FRESH = 5 * 60_000;
  const AGAIN_AFTER = 30_000;

  const make = (tag, set = {}, ...inside) => {
    const element = Object.assign(document.createElement(tag), set);
    element.append(...inside);
    return element;
  };
  const path = address => { const url = new URL(address, location.href); return url.pathname + url.search; };
  const count = (n, one, many) => n === 1 ? `1 ${one}` : `${n} ${many}`;
  /** Why a record waits although there is signal, in words. */
  const held = record => record?.held === 'signed_out'
    ? ['You are signed out. ', make('a', { href: `/people/sign-in?next=${encodeURIComponent(path(location.href))}` }, 'Sign in again to send it.')]
    : record?.held === 'other_person' ? ['Somebody else is signed in on this phone. It waits for you to sign in.'] : [];

  // --- ahead of time ------------------------------------------------------------------------------------------------
  const linksOf = page => ['.do a[data-keep]', 'li a[data-keep]'].flatMap(which => [...page.querySelectorAll(`[data-ahead] ${which}`)]);
  const assetsOf = page => [...page.querySelectorAll('link[rel=stylesheet], link[rel=icon], link[rel=manifest], script[src]')]
    .map(e => e.getAttribute('href') ?? e.getAttribute('src'));

  const fetchAhead = async (links, behind, assets) => {
    const later = [];
    for (const link of links) {
      const url = path(link.getAttribute('href'));
      const at = await Keep.keptAt(me, url);
      if (at > behind && Date.now() - at < STILL_FRESH) continue;
      const answer = await fetch(url, { headers: { 'School-Ahead': '1' }, redirect: 'manual', cache: 'no-store' });
      if (!answer.ok || !answer.headers.get('Content-Type')?.includes('html')) continue;
      const html = await answer.text();
      const page = new DOMParser().parseFromString(html, 'text/html');
      if (page.querySelector('meta[name=person]')?.content !== me) return;
      await Keep.putPage(me, url, { html, title: link.dataset.keep, csp: answer.headers.get('Content-Security-Policy') });
      assetsOf(page).forEach(asset => assets.add(asset));
      if ('follow' in link.dataset) later.push(...linksOf(page).filter(l => !('follow' in l.dataset)));
    }
    if (later.length) await fetchAhead(later, behind, assets);
  };
  const ahead = () => navigator.locks.request('fetch-ahead', { ifAvailable: true }, async lock => {
    if (!lock) return;
    const assets = new Set(assetsOf(document));
    const today = location.search ? [] : [make('a', { href: '/diary/day' })];
    today.forEach(link => { link.dataset.keep = ''; });
    await fetchAhead([...linksOf(document), ...today], await Keep.behindSince(me), assets);
    await Promise.all([...assets].map(asset => Keep.asset(asset).catch(() => null)));
    document.documentElement.dataset.ahead = 'done';
  }).catch(() => { /* The signal went; what is kept so far stays. */ });

  // --- what is not yet sent -----------------------------------------------------------------------------------------
  const sendNow = again => {
    const button = make('button', { type: 'button' }, 'Send now');
    button.addEventListener('click', async () => {
      button.disabled = true;
      await again();
      button.disabled = false;
    });
    return button;
  };
  const notSent = records => {
    return make('div', { className: 'warning' }, make('div', {},
      make('p', {}, make('b', {}, `Not yet sent (${records.length}).`), ' Kept on this phone: ', records.map(r => r.title).join('; '), '. ', ...held(records.find(r => r.held))),
      make('p', { className: 'do' }, sendNow(() => send(true)), make('a', { className: 'button', href: '/syllabus/queue' }, 'Look at it'))));
  };
  const draw = async () => {
    const records = me ? await Keep.records(me) : [];
    let link = document.querySelector('.top .unsent');
    if (records.length && !link) {
      link = make('a', { className: 'unsent', href: '/syllabus/queue' });
      document.querySelector('.top .school')?.after(link);
    }
    if (link) {
      link.hidden = !records.length;
      link.textContent = `Not yet sent (${records.length})`;
    }
    document.querySelector('[data-unsent]')?.replaceChildren(...records.length ? [notSent(records)] : []);
    if (form) await drawForm();
  };

  let again;
  const send = async byHand => {
    clearTimeout(again);
    const stopped = await Send.waiting(me, byHand);
    if (stopped === 'unanswered' && document.visibilityState === 'visible') again = setTimeout(send, AGAIN_AFTER);
  };

  // --- the form of a record -----------------------------------------------------------------------------------------
  const form = document.querySelector('form[data-keep-offline]');
  const note = document.getElementById('said');
  const action = form && path(form.action);
  /** What is kept of this form as far as this tab has shown it; another tab may have kept something else since. */
  let seen = null;
  const mine = async () => form.dataset.record
    ? Keep.record(me, form.dataset.record)
    : (await Keep.records(me)).findLast(record => record.action === action);
  const tell = (words, ...actions) => note.replaceChildren(make('div', { className: 'warning' }, make('div', {},
    make('p', {}, ...words), ...actions.length ? [make('p', { className: 'do' }, ...actions)] : [])));

  /** Where to go on from a form that is kept. */
  const then = () => form.dataset.then ? [make('a', { className: 'button main', href: form.dataset.then }, 'What comes next')] : [];

  const drawForm = async () => {
    const record = await mine();
    if (!record) {
      if (form.dataset.record) {
        delete form.dataset.record;
        tell([make('b', {}, 'Sent.'), ` The ${form.dataset.keptAs ?? 'record'} is with the school.`], ...then(), make('a', { className: 'button', href: '/diary/day' }, 'The day'));
        form.hidden = true;
      }
      return;
    }
    if (!form.dataset.record) {
      Send.fill(form, record);
      seen = record.body;
    }
    form.dataset.record = record.id;
    const day = make('a', { className: 'button', href: '/diary/day' }, 'The day');
    if (record.state === 'stale') {
      tell([make('b', {}, 'Not yet sent.'), ' Somebody else changed this lesson meanwhile.'], make('a', { className: 'button main', href: '/syllabus/queue' }, 'Compare the two'));
    } else if (record.state === 'refused') {
      tell([make('b', {}, 'Not sent.'), ` ${record.sentence} It is kept on this phone until you have put it right.`]);
    } else {
      tell([make('b', {}, 'Not yet sent (1).'), ' Kept on this phone. It goes by itself once there is signal and a page of the school is open. ',
        // Who is signed out is told so by whichever was tried: what stands behind it waits for the same.
        ...held([record, ...await Keep.records(me)].find(one => held(one).length))], ...then(), sendNow(() => send(true)), day);
    }
  };

  const TITLE = document.title.replace(/^Error: /, '');
  const clearProblems = () => {
    document.querySelector('.problems')?.remove();
    document.title = TITLE;
    for (const field of form.querySelectorAll('.field.wrong')) {
      field.classList.remove('wrong');
      field.querySelector('.error')?.remove();
      const control = field.querySelector('[aria-invalid]');
      control?.removeAttribute('aria-invalid');
      control?.setAttribute('aria-describedby', (control.getAttribute('aria-describedby') ?? '').replace(`${control.id}-error`, '').trim());
    }
  };
  /** The same words beside the field as in the summary, as the server's own page has them. */
  const besideField = (control, sentence) => {
    const field = control?.closest?.('.field');
    if (!field) return;
    field.classList.add('wrong');
    const words = make('p', { className: 'error', id: `${control.id}-error` }, sentence);
    (field.querySelector('.hint') ?? field.querySelector('label')).after(words);
    control.setAttribute('aria-invalid', 'true');
    control.setAttribute('aria-describedby', [control.getAttribute('aria-describedby'), words.id].filter(Boolean).join(' '));
  };
  const problems = record => {
    clearProblems();
    const errors = Object.entries(record.errors ?? {}).flatMap(([name, sentences]) => sentences.map(sentence => [name, sentence]));
    const items = (errors.length ? errors : [['', record.sentence]]).map(([name, sentence]) => {
      const control = name && form.elements[name];
      const at = control?.id ?? control?.[0]?.id;
      besideField(control, sentence);
      return make('li', {}, at ? make('a', { href: `#${at}` }, sentence) : sentence);
    });
    const summary = make('section', { className: 'problems', tabIndex: -1 },
      make('h2', { id: 'problems-heading' }, items.length === 1 ? 'Please look at this again' : 'Please look at these again'), make('ul', {}, ...items));
    summary.setAttribute('aria-labelledby', 'problems-heading');
    document.getElementById('main').prepend(summary);
    summary.focus();
    document.title = `Error: ${TITLE}`;
  };

  const keep = async submitter => {
    const said = Send.read(form, submitter);
    const found = await mine();
    // What another tab kept meanwhile is not written over: both go, and the one that comes second is compared with the first.
    const before = found && [seen, said.body].includes(found.body) ? found : null;
    seen = said.body;
    return Keep.putRecord({
      id: before?.id ?? crypto.randomUUID(), kind: form.dataset.keptAs ?? 'record',
      // The same words again are the same record; other words are another question to the school.
      key: before?.body === said.body ? before.key : crypto.randomUUID(),
      person: me, at: Date.now(), title: form.dataset.keepOffline, action, version: form.dataset.version, state: 'waiting', ...said,
    });
  };
  const submit = async submitter => {
    let record;
    try {
      record = await keep(submitter);
    } catch {
      // Nothing can be kept in this browser, so the form goes as any other.
      HTMLFormElement.prototype.submit.call(form);
      return;
    }
    // A record is worth more room than a browser may otherwise take back.
    navigator.storage?.persist?.().catch(() => {});
    form.dataset.record = record.id;
    tell([make('b', {}, 'Kept on this phone.'), ' Sending it now…']);
    const told = await Send.one(me, record.id);
    if (told.outcome === 'sent' || told.outcome === 'already') location.assign(told.next ?? '/diary/day');
    else if (told.outcome === 'stale') location.assign('/syllabus/queue');
    else {
      await draw();
      if (told.outcome === 'refused') problems(told);
      else note.scrollIntoView({ block: 'nearest' });
    }
  };

  const takeOver = () => {
    if (kept && Date.now() < Date.parse(form.dataset.opens)) {
      form.hidden = true;
      tell(['This lesson has not begun yet. Come back once you are parked at its end.']);
      return;
    }
    let busy = false;
    form.addEventListener('submit', async event => {
      event.preventDefault();
      if (busy) return;
      busy = true;
      await submit(event.submitter).finally(() => { busy = false; });
    });
  };

  // --- signing out --------------------------------------------------------------------------------------------------
  const isBooking = record => record.kind === 'booking';
  const entries = records => records.some(isBooking) ? count(records.length, 'entry is', 'entries are') : count(records.length, 'lesson record is', 'lesson records are');
  const warnOfLoss = (out, records) => {
    const send1 = sendNow(async () => { await send(true); location.reload(); });
    out.before(make('div', { className: 'warning', role: 'alert' }, make('div', {},
      make('p', {}, make('b', {}, `${entries(records)} not yet sent.`),
        ` If you sign out now, ${records.length === 1 ? 'it is taken off this phone and never reaches' : 'they are taken off this phone and never reach'} the school: ${records.map(r => r.title).join('; ')}.`),
      make('p', { className: 'do' }, send1))));
    const button = out.querySelector('button');
    button.className = 'grave';
    button.textContent = `Sign out and lose ${records.some(isBooking) ? count(records.length, 'entry', 'entries') : count(records.length, 'record', 'records')}`;
    out.dataset.warned = 'yes';
  };
  const signOut = async out => {
    const records = me ? await Keep.records(me) : [];
    if (records.length && !out.dataset.warned) {
      if (out.closest('main')) warnOfLoss(out, records);
      else location.assign('/people/sign-out');
      return;
    }
    const others = await Keep.wipe(me ?? '');
    if (others) out.append(make('input', { type: 'hidden', name: 'keepUnsent', value: 'true' }));
    else await navigator.serviceWorker.getRegistration().then(worker => worker?.unregister());
    HTMLFormElement.prototype.submit.call(out);
  };
  document.addEventListener('submit', event => {
    const out = event.target.closest('form[data-signs-out]');
    if (!out) return;
    event.preventDefault();
    signOut(out).catch(() => HTMLFormElement.prototype.submit.call(out));
  });

  // --- begin --------------------------------------------------------------------------------------------------------
  /** Whether this page may use what is kept: a page that was kept does not change who is signed in. */
  const known = async () => {
    if (!kept) await Keep.setPerson(me);
    await Keep.sweep();
    return me && await Keep.person() === me;
  };
  const begin = async () => {
    if (!await ready) return;
    if (form) takeOver();
    await draw();
    document.addEventListener('records-changed', draw);
    addEventListener('online', () => {
      if (kept) kept.querySelector('p').replaceChildren('There is a connection again. ', make('a', { href: location.href }, 'Load this page anew'));
      send();
    });
    document.addEventListener('visibilitychange', () => { if (document.visibilityState === 'visible') send(); });
    const out = document.querySelector('main form[data-signs-out]');
    const records = await Keep.records(me);
    if (out && records.length) warnOfLoss(out, records);
    await send();
    if (kept) return;
    navigator.serviceWorker.register('/sw.js').catch(() => { /* Another time. */ });
    if (document.querySelector('[data-ahead]')) await ahead();
  };
  const ready = known();
  self.MayUseKept = ready;
  begin();
})();
