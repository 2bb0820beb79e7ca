import { compare, settings } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { compareText } from '../../../packages/cli/src/render/compare.ts';
import { settingsText } from '../../../packages/cli/src/render/settings.ts';
import { loadedSite } from '../../support/kept-sites.ts';

const flat = (text: string) => text.replace(/\s+/g, ' ');

// On this home the sheet found on all weeks lasts longer than what odd and even weeks lead to, and costs no more than a tie.
const { study } = await loadedSite(9);

test('one sheet that both halves run is not said to be judged on weeks that it was not found on', () => {
  const report = settings(study);
  expect(report.apart).toBe('nothing');
  expect(report.expected.bill).toEqual(report.inSample.bill);
  expect(report.expected.basis).toContain('replayed on that same past, which it has seen');
  const page = flat(settingsText(report));
  expect(page).toContain('on the weeks that the settings were found on');
  expect(page).toContain('these settings, on the weeks they were found on *');
  expect(page).toContain('* One sheet for all weeks, tested on no others');
  expect(page).not.toMatch(/not found on|tested on other weeks|Odd weeks/);
});

test('compare says the same of its row', () => {
  const report = compare(study);
  const row = report.strategies.find(({ strategy }) => strategy === 'settings')!;
  expect(row.inSample!.apart).toBe('nothing');
  expect(row.bill.total).toBe(row.inSample!.bill.total);
  const page = flat(compareText(report));
  expect(page).toContain(
    'Its money, cycles and hours: of the one sheet that "duskbank settings" prints, found on all weeks and tested on no others.',
  );
  expect(page).not.toMatch(/not found on|odd weeks run/);
});
