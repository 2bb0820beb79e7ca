import { parseIntervalData } from '@duskbank/core/meter';

/** A record 200 of half hours in kWh, or of what is given. */
export const record200 = (suffix: string, { configuration = 'E1E2B1', unit = 'kWh', minutes = '30' } = {}) =>
  `200,NMI0000001,${configuration},${suffix},${suffix},N1,METER1,${unit},${minutes},`;

/** A NEM12 file of these records, read in a zone of its market. */
export const readNem12 = (lines: readonly string[], options = {}) =>
  parseIntervalData(['100,NEM12,202606010000,MDP,RET', ...lines, '900', ''].join('\n'), {
    zone: 'Australia/Brisbane',
    ...options,
  });

/** Energy of a channel, kWh; of one that isn't there none. */
export const kwhOf = (values: Float64Array | undefined) =>
  Array.from(values ?? []).reduce((sum, kwh) => sum + (kwh || 0), 0);

/** What a file is told of a code. */
export const told = (result: ReturnType<typeof readNem12>, code: string) =>
  result.findings.filter((finding) => finding.code === code);
