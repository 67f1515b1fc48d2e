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

  // Browsers lend the clipboard only to secure pages; elsewhere the marked text is copied the old way.
  const copy = async button => {
    const field = document.getElementById(button.dataset.copy);
    field.focus();
    field.select();
    const done = await navigator.clipboard?.writeText(field.value).then(() => true, () => false) || document.execCommand('copy');
    button.textContent = done ? 'Copied' : 'Marked: copy it by hand';
  };

  const copyText = async button => {
    const done = await navigator.clipboard?.writeText(button.dataset.copyText).then(() => true, () => false);
    button.textContent = done ? 'Copied' : button.dataset.copyText;
  };

  // Paper has nothing to unfold.
  addEventListener('beforeprint', () => {
    for (const fold of document.querySelectorAll('details[data-open-on-paper]')) fold.open = true;
  });

  document.addEventListener('htmx:sendError', () =>
    say('There is no connection just now. Nothing on this page was lost. Try again in a moment.'));
  document.addEventListener('htmx:responseError', event =>
    say(event.detail.xhr.status === 401
      ? 'You are signed out. Open this page again to sign in.'
      : 'That did not work. Nothing on this page was lost. Try again in a moment.'));

  document.addEventListener('click', event => {
    if (event.target.closest('[data-print]')) print();
    const copier = event.target.closest('[data-copy]');
    if (copier) copy(copier);
    const textCopier = event.target.closest('[data-copy-text]');
    if (textCopier) copyText(textCopier);
    for (const open of document.querySelectorAll('details.more[open]'))
      if (!open.contains(event.target)) open.open = false;
  });
  document.addEventListener('keydown', event => {
    const open = event.key === 'Escape' && document.querySelector('details.more[open]');
    if (!open) return;
    open.open = false;
    open.querySelector('summary').focus();
  });

  // A stroke leads to the field in which one finds things, where nobody is typing. On a narrow screen that is a page of its own.
  document.addEventListener('keydown', event => {
    if (event.key !== '/' || event.ctrlKey || event.altKey || event.metaKey || event.defaultPrevented) return;
    if (event.target.closest('input, textarea, select, [contenteditable]')) return;
    const field = [...document.querySelectorAll('#find-any, [role=search] #Q')].find(one => one.offsetParent);
    const link = document.querySelector('.find-link');
    if (!field && !link) return;
    event.preventDefault();
    if (field) field.select();
    field ? field.focus() : link.click();
  });

  // A button that says how much is ticked. Without this file the server asks once more where it was ticked otherwise.
  document.addEventListener('change', event => {
    const form = event.target.closest('form[data-counted]');
    if (!form) return;
    const count = act => form.querySelectorAll(`[data-act=${act}]:checked`).length;
    const [moved, cancelled] = [count('move'), count('cancel')];
    const lessons = n => n === 1 ? '1 lesson' : `${n} lessons`;
    form.elements[form.dataset.counted].value = `${moved}:${cancelled}`;
    form.querySelector('[data-count]').textContent = moved && cancelled ? `Move ${lessons(moved)} and cancel ${cancelled}`
      : moved ? `Move ${lessons(moved)}` : cancelled ? `Cancel ${lessons(cancelled)}` : 'Tick what is to be done';
  });

  // A form that is pressed twice goes once. Whoever comes back to the page, or waits in vain, may send it again. Its button shows that it is at work.
  const patience = 8000;
  const busy = button => {
    button?.setAttribute('aria-busy', 'true');
    setTimeout(() => button?.removeAttribute('aria-busy'), patience);
  };
  const pressed = new WeakMap();
  document.addEventListener('submit', event => {
    const form = event.target;
    if (event.defaultPrevented || form.method !== 'post') return;
    if (Date.now() - (pressed.get(form) ?? 0) < patience) event.preventDefault();
    else {
      pressed.set(form, Date.now());
      busy(event.submitter);
    }
  });
  addEventListener('pageshow', event => {
    if (!event.persisted) return;
    for (const form of document.forms) pressed.delete(form);
    for (const button of document.querySelectorAll('button[aria-busy]')) button.removeAttribute('aria-busy');
  });

  // Browsers differ on autofocus for an element that is not a field.
  document.querySelector('.problems')?.focus();
})();
