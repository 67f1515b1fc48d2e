// Sends the records that wait in this browser: one sender at a time over all tabs, each under its own key, only as who wrote it.
self.Send = (() => {
  'use strict';
  const PATIENCE = 12_000;
  const channel = 'BroadcastChannel' in self ? new BroadcastChannel('records') : null;
  const changed = () => { document.dispatchEvent(new Event('records-changed')); channel?.postMessage(''); };
  channel?.addEventListener('message', () => document.dispatchEvent(new Event('records-changed')));

  // The server keeps each key's effect single anyhow; the lock spares it the question.
  const alone = work => navigator.locks ? navigator.locks.request('send-records', work) : work();
  const ask = (url, options) => fetch(url, { redirect: 'manual', cache: 'no-store', signal: AbortSignal.timeout(PATIENCE), ...options });
  const isJson = answer => (answer.headers.get('Content-Type') ?? '').includes('json');

  const attempt = async record => {
    const who = await ask('/syllabus/queue/sender');
    if (who.type === 'opaqueredirect' || who.status === 401 || who.status === 403) return { outcome: 'signed_out' };
    if (!who.ok || !isJson(who)) return { outcome: 'unanswered' };
    const { personId, token } = await who.json();
    if (personId !== record.person) return { outcome: 'other_person' };
    const answer = await ask(record.action, {
      method: 'POST',
      body: record.body,
      headers: {
        'Content-Type': 'application/x-www-form-urlencoded', RequestVerificationToken: token,
        'Idempotency-Key': record.key, 'School-Person': record.person,
      },
    });
    if (answer.type === 'opaqueredirect') return { outcome: 'signed_out' };
    if (answer.status >= 500 || !isJson(answer)) return { outcome: 'unanswered' };
    const told = await answer.json();
    return told.outcome === 'sent' && answer.headers.has('Idempotency-Replayed') ? { ...told, outcome: 'already' } : told;
  };

  const settle = async (record, told) => {
    const { outcome, sentence, errors } = told;
    if (outcome === 'sent' || outcome === 'already') {
      await Keep.dropRecord(record.id, record.key);
      await Keep.behind(record.person);
    } else if (outcome === 'stale' || outcome === 'refused') {
      // Refused for certain, so nothing came of the key; what is sent next is another question and takes another.
      await Keep.putRecord({ ...record, state: outcome, sentence, errors, held: null, key: crypto.randomUUID() }, record.key);
    } else if (record.held !== outcome) {
      await Keep.putRecord({ ...record, held: outcome }, record.key);
    }
    changed();
  };

  /** Sends one record and says what became of it: sent, already, stale, refused, signed_out, other_person or unanswered. */
  const one = (person, id) => alone(async () => {
    const record = await Keep.record(person, id);
    if (!record) return { outcome: 'already' };
    const told = await attempt(record).catch(() => ({ outcome: 'unanswered' }));
    await settle(record, told);
    return told;
  });

  /** Sends what waits, oldest first, until one gets no answer. What is older than 48 hours goes only when its writer says so. */
  const waiting = async (person, byHand = false) => {
    for (const record of await Keep.records(person)) {
      if (record.state !== 'waiting' || (!byHand && Date.now() - record.at > Keep.PAGE_LIFE)) continue;
      const { outcome } = await one(person, record.id);
      if (['signed_out', 'other_person', 'unanswered'].includes(outcome)) return outcome;
    }
    return null;
  };

  const TOKEN = '__RequestVerificationToken';
  const groupLabel = control => control.closest('fieldset')?.querySelector('legend')?.firstChild?.textContent.trim();
  const ownLabel = control => (control.labels?.[0]?.textContent ?? control.getAttribute('aria-label') ?? '').replace(/ \(optional\)\s*$/, '').trim();

  /** What a form says: the body to send, and for reading each field with its label in words. */
  const read = (form, submitter) => {
    const body = new URLSearchParams(new FormData(form, submitter));
    body.delete(TOKEN);
    const fields = new Map();
    for (const control of form.elements) {
      if (!control.name || control.name === TOKEN || ['hidden', 'submit', 'button', 'fieldset'].includes(control.type)) continue;
      const choice = control.type === 'radio' || control.type === 'checkbox';
      const field = fields.get(control.name) ?? { name: control.name, label: (choice && groupLabel(control)) || ownLabel(control), words: [] };
      fields.set(control.name, field);
      // A choice of nothing ("Not today") is no word about it.
      if (!choice) field.words.push(control.type === 'select-one' ? control.selectedOptions[0]?.value && control.selectedOptions[0].textContent.trim() : control.value);
      else if (control.checked && control.value) field.words.push(groupLabel(control) ? ownLabel(control) : 'Yes');
    }
    // A form of several buttons says by them what was meant.
    if (submitter?.name) fields.set(submitter.name, { name: submitter.name, label: 'Chosen', words: [submitter.textContent.trim()] });
    return { body: body.toString(), fields: [...fields.values()].map(f => ({ ...f, words: f.words.filter(Boolean).join(', ') })) };
  };

  /** Puts what was written back into the form, with the version it was written on. */
  const fill = (form, record) => {
    const said = new URLSearchParams(record.body);
    for (const control of form.elements) {
      if (!control.name || control.name === TOKEN || ['submit', 'button', 'fieldset'].includes(control.type)) continue;
      if (control.type === 'hidden' && control.name !== record.version) continue;
      const choice = control.type === 'radio' || control.type === 'checkbox';
      const [is, was] = choice
        ? [said.getAll(control.name).includes(control.value), control.checked]
        : [said.get(control.name) ?? '', control.value];
      if (is === was) continue;
      if (choice) control.checked = is;
      else control.value = is;
      control.closest('details')?.setAttribute('open', '');
    }
  };

  return { one, waiting, read, fill, changed };
})();
