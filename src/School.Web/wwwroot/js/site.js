// Small comforts. Every job on every page works without this file.
(() => {
  'use strict';
  const say = words => {
    const said = document.getElementById('said');
    if (!said) return;
    const p = document.createElement('p');
    p.className = 'warning';
    p.textContent = words;
    said.replaceChildren(p);
    p.scrollIntoView({ block: 'nearest' });
  };

  document.addEventListener('htmx:sendError', () =>
    say('There is no connection just now. Nothing on this page was lost. Try again in a moment.'));
  document.addEventListener('htmx:responseError', event =>
    say(event.detail.xhr.status === 401
      ? 'You are signed out. Open this page again to sign in.'
      : 'That did not work. Nothing on this page was lost. Try again in a moment.'));

  document.addEventListener('click', event => {
    if (event.target.closest('[data-print]')) print();
    for (const open of document.querySelectorAll('details.more[open]'))
      if (!open.contains(event.target)) open.open = false;
  });
  document.addEventListener('keydown', event => {
    const open = event.key === 'Escape' && document.querySelector('details.more[open]');
    if (!open) return;
    open.open = false;
    open.querySelector('summary').focus();
  });

  // Browsers differ on autofocus for an element that is not a field.
  document.querySelector('.problems')?.focus();
})();
