// What this browser keeps for working without signal; used by pages and by the service worker (docs/offline.md).
// Pages and records are encrypted under a key of their person's that never leaves the browser.
self.Keep = (() => {
  'use strict';
  const PAGE_LIFE = 48 * 3600_000;
  const ASSETS = 'assets';
  const able = self.isSecureContext && 'indexedDB' in self && !!self.crypto?.subtle && 'caches' in self;

  // --- the database -------------------------------------------------------------------------------------------------
  let opening;
  const open = () => opening ??= new Promise((done, fail) => {
    const request = indexedDB.open('school', 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('keys', { keyPath: 'person' });
      request.result.createObjectStore('pages', { keyPath: ['person', 'url'] });
      request.result.createObjectStore('records', { keyPath: 'id' });
      request.result.createObjectStore('now', { keyPath: 'what' });
    };
    request.onerror = () => { opening = undefined; fail(request.error); };
    request.onsuccess = () => {
      const db = request.result;
      db.onclose = () => { opening = undefined; };
      db.onversionchange = () => { db.close(); opening = undefined; };
      done(db);
    };
  });
  const asked = request => new Promise((done, fail) => {
    request.onsuccess = () => done(request.result);
    request.onerror = () => fail(request.error);
  });
  /** Runs the work in a transaction; its value is there once the transaction has ended, so once what it wrote is safe. */
  const within = async (stores, mode, work) => {
    const transaction = (await open()).transaction(stores, mode, { durability: 'strict' });
    const ended = new Promise((done, fail) => {
      transaction.oncomplete = done;
      transaction.onabort = () => fail(transaction.error ?? new Error('Nothing was kept.'));
    });
    ended.catch(() => {});
    const value = await work(name => transaction.objectStore(name));
    await ended;
    return value;
  };
  const all = store => within(store, 'readonly', from => asked(from(store).getAll()));
  const one = (store, key) => within(store, 'readonly', from => asked(from(store).get(key)));

  // --- who, and their key -------------------------------------------------------------------------------------------
  /** Whose pages may be shown: who was seen signed in last; nobody once somebody was seen signed out. */
  const person = async () => (await one('now', 'person'))?.id ?? null;
  const setPerson = async id => {
    const fresh = id && await crypto.subtle.generateKey({ name: 'AES-GCM', length: 256 }, false, ['encrypt', 'decrypt']);
    await within(['now', 'keys'], 'readwrite', async from => {
      if (id && !await asked(from('keys').get(id))) await asked(from('keys').put({ person: id, key: fresh }));
      await asked(from('now').put({ what: 'person', id }));
    });
  };
  const keyOf = async id => {
    const known = await one('keys', id);
    if (!known) throw new Error('Nothing is kept for this person.');
    return known.key;
  };
  const tied = (id, name) => new TextEncoder().encode(`${id}\n${name}`);
  const seal = async (id, name, value) => {
    const iv = crypto.getRandomValues(new Uint8Array(12));
    const data = await crypto.subtle.encrypt(
      { name: 'AES-GCM', iv, additionalData: tied(id, name) }, await keyOf(id), new TextEncoder().encode(JSON.stringify(value)));
    return { iv, data };
  };
  const unseal = async (id, name, { iv, data }) => JSON.parse(new TextDecoder().decode(
    await crypto.subtle.decrypt({ name: 'AES-GCM', iv, additionalData: tied(id, name) }, await keyOf(id), data)));

  // --- pages --------------------------------------------------------------------------------------------------------
  const fresh = page => { const age = Date.now() - page.at; return age >= 0 && age < PAGE_LIFE; };
  const putPage = async (id, url, page) => {
    const sealed = { person: id, url, at: Date.now(), ...await seal(id, url, page) };
    await within(['pages', 'now'], 'readwrite', async from => {
      // Signed out meanwhile: then nothing is kept any more.
      if ((await asked(from('now').get('person')))?.id === id) await asked(from('pages').put(sealed));
    });
  };
  const page = async (id, url) => {
    const found = id && await one('pages', [id, url]);
    if (!found) return null;
    if (!fresh(found)) { await sweep(); return null; }
    return { url, at: found.at, ...await unseal(id, url, found) };
  };
  const keptAt = async (id, url) => (await one('pages', [id, url]))?.at ?? 0;
  const pages = async id => {
    const found = (await all('pages')).filter(p => p.person === id && fresh(p));
    return Promise.all(found.map(async p => ({ url: p.url, at: p.at, ...await unseal(id, p.url, p) })));
  };
  /** What is older than 48 hours goes, whoever it belongs to. */
  const sweep = () => within('pages', 'readwrite', async from => {
    for (const p of await asked(from('pages').getAll())) if (!fresh(p)) await asked(from('pages').delete([p.person, p.url]));
  });
  /** After a change the kept pages are behind; the next time the day is open they are fetched anew. */
  const behind = id => within('now', 'readwrite', from => asked(from('now').put({ what: `behind ${id}`, at: Date.now() })));
  const behindSince = async id => (await one('now', `behind ${id}`))?.at ?? 0;

  // --- records that are not yet sent --------------------------------------------------------------------------------
  /** Keeps a record; with a key, only where the record is still the one that was sent under it and was not written anew since. */
  const putRecord = async (record, sentUnder) => {
    const { id, person: whose, at, key, ...rest } = record;
    const sealed = { id, person: whose, at, key, ...await seal(whose, id, rest) };
    await within('records', 'readwrite', async from => {
      if (!sentUnder || (await asked(from('records').get(id)))?.key === sentUnder) await asked(from('records').put(sealed));
    });
    return record;
  };
  const dropRecord = (id, sentUnder) => within('records', 'readwrite', async from => {
    if (!sentUnder || (await asked(from('records').get(id)))?.key === sentUnder) await asked(from('records').delete(id));
  });
  const opened = async ({ id, person: whose, at, key, ...sealed }) => ({ id, person: whose, at, key, ...await unseal(whose, id, sealed) });
  const record = async (whose, id) => {
    const found = await one('records', id);
    return found?.person === whose ? opened(found) : null;
  };
  const records = async whose => {
    const found = (await all('records')).filter(r => r.person === whose).sort((a, b) => a.at - b.at);
    return Promise.all(found.map(opened));
  };

  /** Takes everything of this person's off; says whether records of somebody else still wait and have to stay. */
  const wipe = async id => {
    const others = await within(['keys', 'pages', 'records', 'now'], 'readwrite', async from => {
      const left = new Set();
      for (const r of await asked(from('records').getAll()))
        if (r.person === id) await asked(from('records').delete(r.id)); else left.add(r.person);
      for (const k of await asked(from('keys').getAll())) if (!left.has(k.person)) await asked(from('keys').delete(k.person));
      await asked(from('pages').clear());
      await asked(from('now').clear());
      return left.size > 0;
    });
    await caches.delete(ASSETS);
    return others;
  };

  // --- styles, scripts and icons: the same for everybody, so kept as they are ----------------------------------------
  const isAsset = url => /^\/(css|js|lib|icons)\/|^\/manifest\.webmanifest$/.test(url.pathname);
  const asset = async request => {
    const url = new URL(request.url ?? request, location.origin);
    const cache = await caches.open(ASSETS);
    const known = await cache.match(url.href);
    // A file whose address carries its fingerprint never changes.
    if (known && url.searchParams.has('v')) return known;
    try {
      const answer = await fetch(request);
      if (answer.ok) {
        const older = (await cache.keys()).filter(k => new URL(k.url).pathname === url.pathname && k.url !== url.href);
        await Promise.all([cache.put(url.href, answer.clone()), ...older.map(k => cache.delete(k))]);
      }
      return answer;
    } catch (error) {
      if (known) return known;
      throw error;
    }
  };

  return {
    able, PAGE_LIFE, person, setPerson, putPage, page, pages, keptAt, sweep, behind, behindSince,
    putRecord, record, records, dropRecord, wipe, isAsset, asset,
  };
})();
