// A page that stays open shows what others change, as they do. Without this file it shows what was when it was opened.
(() => {
  'use strict';
  const meta = document.querySelector('meta[name=live]');
  const main = document.getElementById('main');
  if (!meta || !main || !('EventSource' in window)) return;
  const { days = '', of } = meta.dataset;
  const [first, last = first] = days.split('/');
  const GATHER = 100; // What is done together comes together.
  const REST = 1000; // Between two readings.
  const LONGEST = 60000; // Between two tries where none succeeds.
  const QUIET = 5000; // Between two things said.
  const WAITS = [2, 5, 15, 30, 60, 60, 120, 120].map(seconds => seconds * 1000);

  // --- which changes ------------------------------------------------------------------------------------------------
  const concerns = change => {
    if (days && change.day && (change.day < first || change.day > last)) return false;
    return !of || !change.id || change.id === of;
  };

  // --- the parts of the page that are drawn anew --------------------------------------------------------------------
  const parts = from => new Map([...from.querySelectorAll('[data-part]')].map(part => [part.dataset.part, part]));
  // Secrets of a page differ each time.
  const text = part => part.outerHTML.replace(/(name="__RequestVerificationToken"[^>]*value=")[^"]*/g, '$1').replace(/nonce="[^"]*"/g, '');

  const changed = field => field.type === 'checkbox' || field.type === 'radio' ? field.checked !== field.defaultChecked
    : field.options ? [...field.options].some(option => option.selected !== option.defaultSelected) && [...field.options].some(option => option.defaultSelected)
    : field.value !== field.defaultValue;
  const fields = part => [...part.querySelectorAll('input:not([type=hidden]), select, textarea')];
  /** Somebody types, has typed, marks words, or has a menu open: nothing is taken from under their hands. */
  const inUse = part => {
    const marked = getSelection();
    return fields(part).some(field => field === document.activeElement || changed(field))
      || (marked && !marked.isCollapsed && part.contains(marked.anchorNode));
  };

  const laneTexts = part => new Map([...lanes(part)].map(([name, lane]) => [name, text(lane)]));
  const place = (part, element) => [...part.querySelectorAll('*')].indexOf(element);
  const named = (part, element) => element.id ? part.querySelector(`#${CSS.escape(element.id)}`)
    : element.getAttribute('href') ? [...part.querySelectorAll(element.localName)].find(one => one.getAttribute('href') === element.getAttribute('href')) : null;
  const lanes = part => new Map([...part.querySelectorAll('.lanes > li')].map(lane => [lane.querySelector('h2')?.textContent.trim(), lane]));
  /** What the server said of each part, and of each lane in it: what scripts do to a page afterwards is no change. */
  const shown = new Map([...parts(main)].map(([name, part]) => [name, { words: text(part), lanes: laneTexts(part) }]));

  /** Puts the new part in the place of the old one; says which lanes of a picture differ. */
  const swap = (old, fresh, before) => {
    const active = old.contains(document.activeElement) ? document.activeElement : null;
    const at = active && place(old, active);
    const scrolled = [...old.querySelectorAll('*')].map((one, n) => [n, one.scrollLeft, one.scrollTop]).filter(([, x, y]) => x || y);
    const open = [...old.querySelectorAll('details')].map(one => one.open);
    const other = [...laneTexts(fresh)].filter(([name, words]) => name && before.get(name) !== words);
    fresh = document.importNode(fresh, true);
    old.replaceWith(fresh);
    const details = [...fresh.querySelectorAll('details')];
    if (details.length === open.length) details.forEach((one, n) => { one.open = open[n]; });
    const all = fresh.querySelectorAll('*');
    for (const [n, x, y] of scrolled) all[n]?.scrollTo(x, y);
    (active && (named(fresh, active) ?? all[at]))?.focus({ preventScroll: true });
    const now = lanes(fresh);
    for (const [name] of other) now.get(name)?.classList.add('just-changed');
    return other.map(([name]) => name);
  };

  // --- what is said -------------------------------------------------------------------------------------------------
  const said = Object.assign(document.createElement('p'), { className: 'unseen live' });
  said.setAttribute('aria-live', 'polite'); // Not a second status beside that of an act.
  main.append(said);
  let names = new Set();
  let spoke = -QUIET;
  let speaking;
  const speak = () => {
    clearTimeout(speaking);
    const wait = spoke + QUIET - performance.now();
    if (wait > 0) { speaking = setTimeout(speak, wait); return; }
    const list = [...names];
    said.textContent = `Changed: ${list.length && list.length <= 3 ? list.join(', ') : meta.content}.`;
    spoke = performance.now();
    names = new Set();
  };

  // --- reading anew -------------------------------------------------------------------------------------------------
  let due = 0;
  let reading = false;
  let rested = 0;
  let missed = 0;
  let timer;
  const soon = wait => { clearTimeout(timer); timer = setTimeout(read, wait); };
  const want = () => {
    if (!due++) soon(Math.max(GATHER, rested - performance.now()));
  };
  const read = async () => {
    if (reading || document.hidden) return;
    if ([...parts(main).values()].some(inUse)) { soon(REST); return; }
    reading = true;
    due = 0;
    rested = performance.now() + REST;
    try {
      const answer = await fetch(location.href, { cache: 'no-store', redirect: 'manual' });
      if (answer.status >= 500 || answer.status === 429) throw answer.status;
      missed = 0;
      if (!answer.ok) return;
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      // Somebody else may be signed in here by now; the page of today may be that of tomorrow.
      const person = from => from.querySelector('meta[name=person]')?.content;
      if (person(page) !== person(document) || (page.querySelector('meta[name=live]')?.dataset.days ?? '') !== days) return;
      let any = false;
      const now = parts(main);
      for (const [name, fresh] of parts(page)) {
        const old = now.get(name);
        const words = text(fresh);
        if (!old || words === shown.get(name).words) continue;
        if (inUse(old)) { due++; continue; }
        const before = shown.get(name).lanes;
        shown.set(name, { words, lanes: laneTexts(fresh) });
        swap(old, fresh, before).forEach(lane => names.add(lane));
        any = true;
      }
      for (const beside of main.querySelectorAll('[hx-trigger~=live]'))
        if (!beside.contains(document.activeElement)) window.htmx?.trigger(beside, 'live');
      if (any) {
        document.documentElement.dataset.live = 'drawn';
        speak();
      }
    } catch {
      due++; // The signal went, or the service is away.
      missed++;
    } finally {
      reading = false;
      if (due) soon(Math.min(REST * 2 ** missed, LONGEST));
    }
  };

  // --- listening ----------------------------------------------------------------------------------------------------
  let from = meta.dataset.from ?? '';
  let source;
  let failed = 0;
  let retry;
  const listen = () => {
    if (source || document.hidden) return;
    const stream = source = new EventSource(`/api/v1/events${from ? `?from=${encodeURIComponent(from)}` : ''}`);
    stream.addEventListener('open', () => {
      failed = missed = 0;
      document.documentElement.dataset.listens = 'yes';
      if (due) soon(GATHER);
      // What changed before this node listened is not told.
      if (!from) { from = 'open'; want(); }
    });
    stream.addEventListener('change', event => {
      from = event.lastEventId;
      if (concerns(JSON.parse(event.data))) want();
    });
    stream.addEventListener('again', event => { from = event.lastEventId; want(); });
    stream.addEventListener('error', () => {
      delete document.documentElement.dataset.listens;
      // While it is connecting the browser tries by itself; an answer that is none ends it.
      if (stream.readyState !== EventSource.CLOSED) return;
      stop();
      if (failed < WAITS.length) retry = setTimeout(listen, WAITS[failed++]);
    });
  };
  const stop = () => {
    clearTimeout(retry);
    source?.close();
    source = undefined;
    delete document.documentElement.dataset.listens;
  };
  document.addEventListener('visibilitychange', () => {
    if (document.hidden) { stop(); return; }
    failed = 0;
    listen();
    if (due) soon(GATHER);
  });
  addEventListener('pagehide', stop);
  addEventListener('pageshow', event => { if (event.persisted) { want(); listen(); } });
  listen();
})();
