// A meter file may be told in another zone than the home's: its windows and days stay the home's.
import { readFileSync } from 'node:fs';
import { loadSite } from '@duskbank/core/site';
import { expect, test } from 'vitest';

const demo = new URL('../../../fixtures/demo/', import.meta.url);
const text = (name: string) => readFileSync(new URL(name, demo), 'utf8');
const site = JSON.parse(text('site.json'));

/** The demo home with other meter data. */
function load(home: string, options: object = {}) {
  const files: Record<string, string> = {
    'site.json': JSON.stringify({ ...site, meter: { ...site.meter, files: [{ path: 'home.csv', ...options }] } }),
    'home.csv': home,
  };
  return loadSite('site.json', (path) => new TextEncoder().encode(files[path] ?? text(path)));
}

/** January of the demo home, its labels told as some zone's clock shows them. */
async function seriesOf(...given: Parameters<typeof load>) {
  const { pastOf, tariffs } = await load(...given);
  return pastOf(tariffs[0]!).series;
}

function told(zone: string): string {
  const clock = new Intl.DateTimeFormat('sv', { timeZone: zone, dateStyle: 'short', timeStyle: 'short' });
  const rows = text('home.csv').split('\n').slice(0, 2977);
  return rows
    .map((row, k) => (k === 0 ? row : row.replace(/^[^,]*/, (label) => clock.format(new Date(label)))))
    .join('\n');
}

test('a file told in the time of another zone gives the same home on the same axis', async () => {
  const plain = await seriesOf(told(site.zone));
  for (const zone of ['America/New_York', 'Asia/Kolkata', 'UTC']) {
    const series = await seriesOf(told(zone), { zone });
    expect(series.axis).toEqual(plain.axis);
    expect(series.importKwh).toEqual(plain.importKwh);
  }
});

test('so does our own interval file, whose zone stands in it', async () => {
  const own = (zone: string, offset: string) =>
    ['# format: duskbank.interval/1', `# zone: ${zone}`, '# step_minutes: 60', 'start,import_kwh']
      .concat(Array.from({ length: 20 }, (_, h) => `2026-01-05T${String(h).padStart(2, '0')}:00${offset},0.${h + 1}`))
      .join('\n');
  const series = await seriesOf(`${own('America/New_York', '-05:00')}\n`);
  expect(series.axis.zone).toBe('America/Denver');
  expect(series.axis.startEpochMs).toBe(Date.UTC(2026, 0, 5, 5));
  // Midnight in New York is ten in the evening of the day before in Denver.
  expect(series.axis.calendar.days[0]).toMatchObject({ year: 2026, month: 1, dayOfMonth: 4 });
});
