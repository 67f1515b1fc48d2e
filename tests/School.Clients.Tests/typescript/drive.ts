import createClient from 'openapi-fetch';
import type { components, paths } from './school.js';

type Problem = components['schemas']['Problem'];

const [baseUrl, email, password, pupilId, taughtId] = process.argv.slice(2) as [string, string, string, string, string];

function check(holds: boolean, what: string): void {
  if (!holds) throw new Error(`Expected ${what}.`);
}

function told<T>(answer: { data?: T; error?: Problem; response: Response }): T {
  if (answer.data === undefined) throw new Error(`${answer.response.status} ${answer.response.url} ${answer.error?.code} ${answer.error?.detail}`);
  return answer.data;
}

function header(answer: { response: Response }, name: string): string {
  const value = answer.response.headers.get(name);
  if (value === null) throw new Error(`${answer.response.url} tells no ${name}.`);
  return value;
}

const anybody = createClient<paths>({ baseUrl });
const token = told(await anybody.POST('/api/v1/tokens', { body: { email, password } }));
const school = createClient<paths>({ baseUrl, headers: { Authorization: `Bearer ${token.token}` } });
console.log('token');

const found = told(await school.GET('/api/v1/slots', { params: { query: { pupilId, from: '2026-03-04', to: '2026-03-11', minutes: 60 } } }));
const slot = found.items[0];
if (slot === undefined) throw new Error('Expected free times.');
console.log('search');

const wish: components['schemas']['BookRequest'] = { pupilId, instructorId: slot.instructorId, start: slot.start, minutes: 60 };
const once = { header: { 'Idempotency-Key': crypto.randomUUID() } };
const booked = await school.POST('/api/v1/lessons', { params: once, body: wish });
const again = await school.POST('/api/v1/lessons', { params: once, body: wish });
check(booked.response.status === 201 && told(booked).state === 'booked' && told(again).id === told(booked).id, 'one lesson');
check(header(booked, 'Location').endsWith(told(booked).id), 'where it is read');
console.log('book');

const taken = await school.POST('/api/v1/lessons', { body: wish });
check(taken.response.status === 409 && taken.error?.code === 'pupil_busy' && (taken.error.alternatives?.length ?? 0) > 0, 'other times');
console.log('taken');

const path = { id: told(booked).id };
const lesson = await school.GET('/api/v1/lessons/{id}', { params: { path } });
const other = found.items.find((item) => Math.abs(Date.parse(item.start) - Date.parse(slot.start)) > 12 * 3600 * 1000);
if (other === undefined) throw new Error('Expected another time.');
const moved = await school.POST('/api/v1/lessons/{id}/move', {
  params: { path, header: { 'If-Match': header(lesson, 'ETag') } },
  body: { start: other.start, instructorId: other.instructorId },
});
check(Date.parse(told(moved).start) === Date.parse(other.start), 'another time');
console.log('move');

const cancelled = told(
  await school.POST('/api/v1/lessons/{id}/cancel', { params: { path, header: { 'If-Match': header(moved, 'ETag') } }, body: { reason: 'instructorIll' } }),
);
check(cancelled.state === 'cancelled' && cancelled.cancelledBecause === 'instructorIll', 'a cancelled lesson');
console.log('cancel');

const feed = told(await school.POST('/api/v1/feeds', { body: { pupilId, detail: 'busy' } }));
const calendar = await (await fetch(new URL(new URL(feed.url).pathname, baseUrl))).text();
check(calendar.startsWith('BEGIN:VCALENDAR') && feed.webcalUrl.startsWith('webcal://'), 'a calendar');
const ended = await school.DELETE('/api/v1/feeds/{id}', { params: { path: { id: feed.id } } });
check(ended.response.status === 204, 'an ended feed');
console.log('feed');

const sheet = await school.GET('/api/v1/lessons/{id}/record', { params: { path: { id: taughtId } } });
const skill = told(await school.GET('/api/v1/syllabus')).groups[0]?.skills[0];
if (skill === undefined) throw new Error('Expected a skill.');
told(
  await school.PUT('/api/v1/lessons/{id}/record', {
    params: { path: { id: taughtId }, header: { 'If-Match': header(sheet, 'ETag') } },
    body: { minutesTaught: told(sheet).minutesTaught ?? 60, note: 'Calm at the lights.', levels: [{ skill: skill.key, level: 'prompted' }] },
  }),
);
const kept = told(await school.GET('/api/v1/lessons/{id}/record', { params: { path: { id: taughtId } } }));
check(kept.note === 'Calm at the lights.' && kept.levels[0]?.level === 'prompted', 'a record');
console.log('record');

const progress = told(await school.GET('/api/v1/pupils/{id}/progress', { params: { path: { id: pupilId } } }));
check(typeof progress !== 'string' && progress.pupilId === pupilId, 'progress');
console.log('progress');

const heading = told(await school.GET('/api/v1/test-days/headings')).items.find((one) => one.code !== '1a');
if (heading === undefined) throw new Error('Expected a heading.');
const mock = told(
  await school.POST('/api/v1/pupils/{id}/mock-tests', {
    params: { path: { id: pupilId } },
    body: { finished: true, notSupervising: true, faults: [{ heading: heading.code, kind: 'driving' }] },
  }),
);
check(mock.finished && mock.passed && mock.driving === 1, 'a mock test');
console.log('mock test');

const forecast = told(await school.GET('/api/v1/pupils/{id}/readiness', { params: { path: { id: pupilId } } })).lessonMinutesToGo;
check(forecast.low <= forecast.median && forecast.median <= forecast.high, 'a forecast');
console.log('forecast');
