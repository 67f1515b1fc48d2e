// Shows pages that were kept when the network does not answer. With signal it changes nothing (docs/offline.md).
'use strict';
importScripts('/js/keep.js');

const PATIENCE = 8_000;
const SHELL = '/syllabus/queue';
const SIGN = '<svg class="sign" viewBox="0 0 20 20" aria-hidden="true"><path d="M10 2 19 18H1z"/><path d="M10 8v5m0 2v1"/></svg>';

self.addEventListener('install', () => self.skipWaiting());
self.addEventListener('activate', event => event.waitUntil(Promise.all([self.clients.claim(), Keep.sweep()])));
self.addEventListener('fetch', event => {
  const { request } = event;
  const url = new URL(request.url);
  if (url.origin !== location.origin) return;
  if (request.mode === 'navigate') event.respondWith(navigate(request, url));
  else if (request.method === 'GET' && Keep.isAsset(url)) event.respondWith(Keep.asset(request));
});

const navigate = async (request, url) => {
  const network = fetch(request);
  network.catch(() => {});
  let tooSlow;
  try {
    return await Promise.race([network, new Promise((_, fail) => setTimeout(() => { tooSlow = true; fail(); }, PATIENCE))]);
  } catch {
    const person = await Keep.person().catch(() => null);
    const kept = request.method === 'GET' && person && await found(person, url).catch(() => null);
    if (kept) return shown(kept, `<b>No connection.</b> As it stood at ${stamp(kept.at)}.`);
    if (tooSlow) {
      const late = await network.catch(() => null);
      if (late) return late;
    }
    const shell = person && await Keep.page(person, SHELL).catch(() => null);
    if (!shell) return Response.error();
    return shown(shell, url.pathname === '/people/sign-out'
      ? '<b>No connection, so you are still signed in.</b> Keep this phone locked, and sign out when there is signal.'
      : request.method === 'GET'
      ? '<b>No connection.</b> That page is not kept on this phone. The pages below work without it.'
      : '<b>No connection, so that was not saved.</b> Go back, and do it again when there is signal.');
  }
};

/** The page of this address; the day without a date is today's, whenever it was kept. */
const found = async (person, url) => {
  const address = url.pathname === '/' ? '/diary/day' : url.pathname + url.search;
  if (address !== '/diary/day') return Keep.page(person, address);
  const now = new Date();
  const today = [now.getFullYear(), now.getMonth() + 1, now.getDate()].map(n => String(n).padStart(2, '0')).join('-');
  return await Keep.page(person, `/diary/day?date=${today}`) ?? Keep.page(person, '/diary/day');
};

const stamp = at => {
  const then = new Date(at);
  const time = then.toLocaleTimeString('en-GB', { hour: '2-digit', minute: '2-digit' });
  return then.toDateString() === new Date().toDateString() ? time : `${time} on ${then.toLocaleDateString('en-GB', { weekday: 'long' })}`;
};

const shown = (page, words) => new Response(
  page.html
    .replace(/<main\b[^>]*>/, main => `${main}<div class="warning kept" role="status" data-kept-at="${page.at}">${SIGN}<p>${words}</p></div>`)
    .replace(/(<section [^>]*data-ahead) hidden/, '$1'),
  { headers: { 'Content-Type': 'text/html; charset=utf-8', 'Content-Security-Policy': page.csp, 'Cache-Control': 'no-store', 'X-Content-Type-Options': 'nosniff' } });
