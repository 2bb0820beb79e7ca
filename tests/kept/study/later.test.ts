// Kept answers: see tests/support/kept.ts. What a tariff becomes if nothing is done, and a switch of it.
import { loadSite } from '@duskbank/core/site';
import { tariffSwitch } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { keptOf } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { generateSite, type Json, retold } from '../../support/panel/index.ts';

const flat = (pricePerKwh: number): Json => ({ energy: [{ name: 'Energy', pricePerKwh }] });
const ends = (endsOn: string): Json => ({
  life: { endsOn, successor: 'next', successorFile: 'next.json', earliestSwitch: '2026-08-01' },
});

/** By what they say of later: nothing, a version or two, an end before the version, on its day, or after it. */
const TARIFFS: Readonly<Record<string, Json>> = {
  'as it is': flat(0.2),
  'one version later': {
    ...flat(0.2),
    versions: [{ from: '2027-01-01', ...flat(0.25) }],
  },
  'two versions later': {
    ...flat(0.2),
    versions: [
      { from: '2026-09-01', ...flat(0.22) },
      { from: '2028-01-01', ...flat(0.3) },
    ],
  },
  'a version that was': {
    ...flat(0.2),
    versions: [{ from: '2025-01-01', ...flat(0.25) }],
  },
  'an end': { ...flat(0.2), ...ends('2027-03-31') },
  'an end on a day of the data': { ...flat(0.2), ...ends('2026-06-12') },
  'an end, and a version before it': {
    ...flat(0.2),
    versions: [{ from: '2027-01-01', ...flat(0.25) }],
    ...ends('2028-03-31'),
  },
  'an end, and a version on the day after': {
    ...flat(0.2),
    versions: [{ from: '2027-01-01', ...flat(0.25) }],
    ...ends('2026-12-31'),
  },
};

async function switched(tariff: Json): Promise<unknown> {
  const site = generateSite(720, { home: { days: 4, stepMinutes: 60, firstDate: '2026-06-10', solar: true } });
  const about = { format: 'duskbank.tariff/1', currency: site.tariff.document.currency, unusualPrices: true };
  const files = {
    'next.json': JSON.stringify({ ...about, name: 'next', ...flat(0.26) }),
    'other.json': JSON.stringify({
      ...about,
      name: 'other',
      windows: [
        { name: 'night', from: '22:00', to: '06:00', pricePerKwh: 0.09 },
        { name: 'day', otherwise: true, pricePerKwh: 0.3 },
      ],
    }),
  };
  const { read } = retold(site, { files, tariff: { ...about, name: 'own', ...tariff } });
  const { tariffs, studyOf } = await loadSite(site.path, read, { moreTariffs: ['other.json'] });
  return keptReport(tariffSwitch(tariffs.map(studyOf), { today: '2026-06-01' }));
}

test.each(Object.entries(TARIFFS))('a switch from a tariff with %s', async (_name, tariff) => {
  expect(await keptOf(() => switched(tariff))).toMatchSnapshot();
});
