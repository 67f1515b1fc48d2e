// What is found appears while one types, and the arrow keys go through it. Without this file a press on Find does the same.
(() => {
  'use strict';
  const field = document.getElementById('Q');
  const found = document.getElementById('found');
  if (!field || !found) return;
  const pause = 250;
  let timer, asked = field.value.trim(), going;

  const look = async () => {
    const words = field.value.trim();
    if (words === asked || !words) return;
    asked = words;
    going?.abort();
    going = new AbortController();
    const address = `/find?q=${encodeURIComponent(words)}`;
    try {
      const answer = await fetch(address, { signal: going.signal, redirect: 'error' });
      if (!answer.ok) throw new Error(answer.statusText);
      const page = new DOMParser().parseFromString(await answer.text(), 'text/html');
      const fresh = page.getElementById('found');
      if (!fresh || words !== field.value.trim()) return;
      document.getElementById('found-count').textContent = page.getElementById('found-count').textContent;
      found.replaceChildren(...fresh.childNodes);
      document.title = page.title;
      history.replaceState(null, '', address);
    } catch {
      if (words !== field.value.trim()) return;
      // What was found before is not what these words find. The button still asks.
      asked = '';
      const unread = document.createElement('p');
      unread.textContent = 'Not looked for: the school does not answer just now. Press Find to try again.';
      found.replaceChildren(unread);
      document.getElementById('found-count').textContent = unread.textContent;
    }
  };
  if (!asked) field.focus();
  field.addEventListener('input', () => {
    clearTimeout(timer);
    timer = setTimeout(look, pause);
  });

  document.addEventListener('keydown', event => {
    if (event.key !== 'ArrowDown' && event.key !== 'ArrowUp' || event.altKey || event.ctrlKey || event.metaKey) return;
    const stops = [field, ...found.querySelectorAll('a')];
    const at = stops.indexOf(document.activeElement);
    const next = stops[at + (event.key === 'ArrowDown' ? 1 : -1)];
    if (at < 0 || !next) return;
    event.preventDefault();
    next.focus();
  });
})();
