import { parseIntervalData } from '@duskbank/core/meter';
import { expect, test } from 'vitest';

const DAY = Array.from({ length: 48 }, () => '0.25').join(',');
/** A file of half hours with a record 300 for each of these days. */
const fileOf = (...days: string[]) =>
  [
    '100,NEM12,202606010000,MDP,RET',
    '200,NMI0000001,E1,E1,E1,N1,METER1,kWh,30,',
    ...days.map((day) => `300,${day},${DAY},A,,,20260601000000,`),
    '900',
  ].join('\n');

test.each(['20260231', '20268401', '20260266', '20260100', '00000000'])(
  'a day that no calendar has, %s, is named with its line, and its readings stand on no other day',
  (day) => {
    const result = parseIntervalData(fileOf('20260227', '20260228', day, '20260301'), { zone: 'Australia/Brisbane' });
    expect(result.findings.filter(({ code }) => code === 'unreadable-row')).toMatchObject([
      { lines: [5], data: { why: 'record-300' } },
    ]);
    expect(Array.from(result.series!.importKwh!).reduce((sum, kwh) => sum + kwh, 0)).toBeCloseTo(3 * 12, 9);
  },
);
