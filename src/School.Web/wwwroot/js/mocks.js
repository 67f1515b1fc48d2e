// Finds a heading of the marking sheet while its name is typed. Without this file all headings stand there in groups.
(() => {
  'use strict';
  document.addEventListener('input', event => {
    const list = event.target.dataset?.find && document.querySelector(event.target.dataset.find);
    if (!list) return;
    const words = event.target.value.toLowerCase().split(/\s+/).filter(Boolean);
    for (const group of list.querySelectorAll('[data-group]')) {
      for (const row of group.querySelectorAll('[data-words]'))
        row.hidden = !words.every(word => row.dataset.words.toLowerCase().includes(word));
      group.hidden = !group.querySelector('[data-words]:not([hidden])');
    }
  });
})();
