// Kept answers: see tests/support/kept.ts. What is asked for with each finding of a meter file, whatever its data, and what a study says of it.
import { makeAxis } from '@duskbank/core/axis';
import { type Finding, faultsOf, type IntervalSeries } from '@duskbank/core/meter';
import { expect, test } from 'vitest';
import { asksHome, saysNoData, stopsStudy } from '../../../packages/core/src/meter/stops.ts';
import { gapIssues } from '../../../packages/core/src/site/gap-issues.ts';
import { isSunUnseen, openDirection, openEnergy } from '../../../packages/core/src/site/open-energy.ts';
import { METER_WORDS } from '../../../packages/core/src/words/meter.ts';
import { kept } from '../../support/kept.ts';
import { checker, exportsOf, valuesOf } from '../../support/typed-values.ts';

type Data = Readonly<Record<string, unknown>>;
type Sentences = Readonly<Record<string, (data: Data) => string>>;

const table = exportsOf('meter.ts').find(({ name }) => name === 'METER_WORDS')!;
const CODES = checker.getPropertiesOfType(checker.getTypeOfSymbol(table)).map((property) => {
  const [parameter] = checker.getTypeOfSymbol(property).getCallSignatures()[0]?.parameters ?? [];
  const data = parameter === undefined ? [{}] : valuesOf(checker.getTypeOfSymbol(parameter), parameter.name, 4);
  return [property.name, data as readonly Data[]] as const;
});

/** Findings of a code, and each of them as it would be of a channel. */
const findingsOf = (code: string, data: Data): Finding[] =>
  [undefined, 'import', 'export', 'solar'].map((role) => {
    const own = role === undefined || !('role' in data) ? data : { ...data, role };
    const message = (METER_WORDS as unknown as Sentences)[code]!(own);
    return { code, severity: 'error', data: own, message, where: {} };
  });

/** Four days by the hour with a gap in each channel. */
const GAPPY: IntervalSeries = {
  axis: makeAxis({ startEpochMs: Date.UTC(2026, 2, 2, 7), stepMinutes: 60, intervals: 96, zone: 'America/Denver' }),
  ...Object.fromEntries(
    ['importKwh', 'exportKwh', 'solarKwh'].map((name, k) => [
      name,
      Float64Array.from({ length: 96 }, (_, i) => (i >= 30 && i < 32 + k ? Number.NaN : 1)),
    ]),
  ),
};

const LACKS = { code: 'part-missing', severity: 'error', message: 'lacks', where: {} } as const;

/** What a call answers; nothing of data that no file gives, such as spans of no channel. */
function unlessImpossible<T>(call: () => T): T[] {
  try {
    return [call()];
  } catch (error) {
    if (error instanceof TypeError) return [];
    throw error;
  }
}

test.each(CODES)('%s', (code, every) => {
  const all = every.filter((data) => unlessImpossible(() => findingsOf(code, data)).length > 0);
  const told = all.flatMap((data) =>
    findingsOf(code, data).flatMap((finding) => {
      const lacks: Finding = { ...LACKS, data: { counted: 'unknown', role: finding.data.role } };
      return unlessImpossible(() => ({
        fault: faultsOf('data.csv', [finding, { ...finding, lines: [7, 9], count: 2, where: { file: 'b.csv' } }]),
        gaps: [[finding], [finding, lacks], [{ ...finding, where: { file: 'b.csv' } }, lacks]].map((findings) =>
          gapIssues(GAPPY, findings),
        ),
        open: [openEnergy([finding]), openDirection([finding]), isSunUnseen([finding])],
      }));
    }),
  );
  const [finding] = findingsOf(code, all[0]!);
  const stops = (['error', 'warning', 'note'] as const).map((severity) => stopsStudy({ ...finding!, severity }));
  expect(
    `${told[0]!.fault[0]!.hint ?? 'no hint'}\n${kept({
      hints: new Set(told.map(({ fault }) => fault[0]!.hint)).size,
      told,
      stops: stops.join(),
      asks: all.map((data) => asksHome({ code, data })).join(),
      'no data': saysNoData({ code }),
    })}`,
  ).toMatchSnapshot();
});
