import { rolling } from '@duskbank/core/dispatch';
import { loadSite } from '@duskbank/core/site';
import { settings } from '@duskbank/core/study';
import { evaluate } from '@duskbank/core/trial';
import { expect, test } from 'vitest';
import { hoursOf, smallSite } from '../../laws/panel/small-site.ts';

const TARIFF = {
  windows: [
    { name: 'evening', from: '16:00', to: '21:00', pricePerKwh: 0.5 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.1 },
  ],
};

/** Thirty days on the sun alone, which a week of them hides. */
async function sunAlone(byHour: readonly object[]) {
  const hours = hoursOf(30, (h, day) => [
    h >= 16 ? 0.8 : 0.2,
    h >= 10 && h < 15 ? (day >= 12 && day < 19 ? 0.1 : 2) : 0,
  ]);
  const backup = { load: { watts: 200 }, ...(byHour.length === 0 ? {} : { reserve: { byHour } }) };
  const site = smallSite(hours, TARIFF, { gridCharging: false, startShare: 1 }, {}, { backup });
  return (await loadSite(site.path, site.read)).study;
}

test('money of the cleverer controller is left out where it keeps less of the floor than the sheet', async () => {
  const study = await sunAlone([{ from: '21:00', to: '06:00', share: 0.6 }]);
  const missed = evaluate(study.home, rolling(), []);
  const report = settings(study);
  const told = report.warnings.filter(({ code }) => code === 'rolling-misses-floor').map(({ data }) => data);
  expect(missed.shortfallIntervals).toBeGreaterThan(0);
  expect(told).toEqual([{ intervals: missed.shortfallIntervals, mostKwh: missed.shortfallKwh }]);
  expect(report.rolling).toBeNull();
  const plain = settings(await sunAlone([]));
  expect(plain.rolling).not.toBeNull();
  expect(plain.warnings.map(({ code }) => code)).not.toContain('rolling-misses-floor');
});
