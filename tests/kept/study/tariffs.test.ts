// Kept answers: see tests/support/kept.ts.
import { tariffReport } from '@duskbank/core/study';
import { expect, test } from 'vitest';
import { kept } from '../../support/kept.ts';
import { keptReport } from '../../support/kept-reports.ts';
import { tariffFixtures } from '../../support/tariff-fixtures.ts';

test.each(tariffFixtures().map(({ name, tariff }) => [name, tariff] as const))(
  'tariff %s in words',
  (_name, tariff) => {
    expect(kept(keptReport(tariffReport(tariff, '2026-07-15')))).toMatchSnapshot();
  },
);
