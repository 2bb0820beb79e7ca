// Small tables as meters hand them out, and what is read of them.
import { type ParseOptions, parseIntervalData } from '@duskbank/core/meter';

export const ZONE = 'America/Denver';

/** Seven winter days, hour by hour: 168 labels. */
export const HOURS: readonly string[] = Array.from({ length: 168 }, (_, i) =>
  new Date(Date.UTC(2026, 0, 5) + i * 3_600_000).toISOString().slice(0, 16).replace('T', ' '),
);

/** A header and rows as a file. */
export const table = (header: string, rows: readonly string[]) => `${[header, ...rows].join('\n')}\n`;

export const read = (text: string, options: ParseOptions = {}) => parseIntervalData(text, { zone: ZONE, ...options });

/** Codes of the error findings. */
export const errors = (text: string, options: ParseOptions = {}) =>
  read(text, options).findings.flatMap(({ code, severity }) => (severity === 'error' ? [code] : []));

/** Energy of a channel, kWh; NaN where the file gives no series or has no such channel. */
export const total = (
  text: string,
  channel: 'import' | 'export' | 'load' | 'solar',
  options: ParseOptions = {},
): number => read(text, options).series?.[`${channel}Kwh`]?.reduce((sum, kwh) => sum + (kwh || 0), 0) ?? Number.NaN;
