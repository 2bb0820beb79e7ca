// The project's own interval file is read exactly as it is written: a time in another form was put there by hand.
import { makeAxis } from '@duskbank/core/axis';
import { writeIntervalCsv } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { FindingList } from '../../../packages/core/src/meter/findings.ts';
import { readIntervalFile } from '../../../packages/core/src/meter/interval-file.ts';

const axis = makeAxis({ startEpochMs: Date.UTC(2026, 0, 5), stepMinutes: 60, intervals: 48, zone: 'Etc/UTC' });
const written = writeIntervalCsv({ axis, importKwh: Float64Array.from({ length: 48 }, (_, i) => i / 10) });
const read = (text: string) => {
  const findings = new FindingList();
  return { series: readIntervalFile(text, findings)?.series, codes: findings.list().map(({ code }) => code) };
};

test.each([
  ['with seconds', (stamp: string) => stamp.replace('+00:00', ':00+00:00')],
  ['with a Z', (stamp: string) => stamp.replace('+00:00', 'Z')],
])('times %s are left to the reader of tables', (_, inForm) => {
  expect(read(written)).toMatchObject({ series: { axis: { intervals: 48 } }, codes: [] });
  const changed = written.replace(/^\d{4}-\S{11}\+00:00/gm, inForm);
  expect(changed).not.toBe(written);
  expect(read(changed)).toEqual({ series: undefined, codes: ['unreadable-row'] });
});
