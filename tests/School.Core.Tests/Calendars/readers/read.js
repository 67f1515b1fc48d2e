// Reads every .ics file of a folder with ical.js and prints what it understood as JSON.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import ICAL from 'ical.js';

// Takes local times by the calendar's own VTIMEZONE; without one a local time would stay without a zone.
const seconds = (time) => {
  if (time.zone === ICAL.Timezone.localTimezone) throw new Error(`no zone for ${time}`);
  return time.toUnixTime();
};

const event = (component) => ({
  uid: component.getFirstPropertyValue('uid'),
  start: seconds(component.getFirstPropertyValue('dtstart')),
  end: seconds(component.getFirstPropertyValue('dtend')),
  status: component.getFirstPropertyValue('status'),
  summary: component.getFirstPropertyValue('summary'),
});

const calendar = (path) =>
  new ICAL.Component(ICAL.parse(readFileSync(path, 'utf8'))).getAllSubcomponents('vevent').map(event);

const folder = process.argv[2];
const files = readdirSync(folder).filter((name) => name.endsWith('.ics'));
console.log(JSON.stringify(Object.fromEntries(files.map((name) => [name, calendar(join(folder, name))]))));
