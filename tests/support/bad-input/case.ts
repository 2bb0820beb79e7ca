// Inputs that are refused: good files, one thing of them changed, and what is to be told.
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';

// Plain JSON stands for any input here.
// biome-ignore lint/suspicious/noExplicitAny: cases reach into every corner of the files on purpose
type Json = any;

export const SITE = {
  format: 'duskbank.site/1',
  name: 'A home',
  zone: 'America/Denver',
  meter: { files: ['home.csv'] },
  tariff: 'tariff.json',
  plant: {
    battery: { units: 1, usableKwh: 5, chargeKw: 2, dischargeKw: 3, roundTripEfficiency: 0.88 },
    floor: { share: 0.2 },
  },
};
export const TARIFF = {
  format: 'duskbank.tariff/1',
  name: 'A tariff',
  currency: 'USD',
  seasons: [
    { name: 'summer', months: [6, 7, 8, 9] },
    { name: 'winter', months: [10, 11, 12, 1, 2, 3, 4, 5] },
  ],
  windows: [
    { name: 'peak', days: 'weekday', from: '16:00', to: '21:00', pricePerKwh: 0.4 },
    { name: 'rest', otherwise: true, pricePerKwh: 0.15 },
  ],
  fixed: [{ name: 'Service', amount: 10, per: 'month' }],
};

/** Two days of twenty minutes, which no quarter of an hour fits into. */
export const twentyMinutes = Array.from(
  { length: 144 },
  (_, i) =>
    `2025-01-${15 + Math.floor(i / 72)} ${`${Math.floor((i % 72) / 3)}`.padStart(2, '0')}:${['00', '20', '40'][i % 3]},0.200`,
);

/** Four days of quarter hours from 13 January 2025 on, no clock change, line 1 the header. */
export function rowsOf(
  from = 13,
  days = 4,
  header = 'start,load kWh',
  cell: (i: number) => string = () => '0.200',
  stepMinutes = 15,
): string[] {
  const rows = [header];
  for (let i = 0; i < (days * 1440) / stepMinutes; i++) {
    const label = new Date(Date.UTC(2025, 0, from) + i * stepMinutes * 60_000).toISOString().slice(0, 16);
    rows.push(`${label},${cell(i)}`);
  }
  return rows;
}
export const csv = (rows: readonly string[]) => `${rows.join('\n')}\n`;
/** The home's file with one line (counted from 1) changed. */
export const withLine = (line: number, text: string) => {
  const rows = rowsOf();
  rows[line - 1] = text;
  return csv(rows);
};
export const withCell = (cell: string) => withLine(50, `2025-01-13T12:00,${cell}`);

export interface Case {
  readonly name: string;
  /** The site file: changed in place, or its text. */
  readonly site?: ((site: Json) => void) | string | Uint8Array;
  readonly tariff?: ((tariff: Json) => void) | string | Uint8Array;
  readonly files?: Readonly<Record<string, string | Uint8Array>>;
  /** What else is done to the folder before the run. */
  readonly prepare?: (folder: string) => void;
  readonly code: string;
  /** File that the fault is in. */
  readonly in?: string;
  readonly line?: number;
  readonly field?: string;
  /** What the message must hold: the value that was found. */
  readonly value: string | RegExp;
  readonly expected?: string | RegExp;
  /** The cure; left out where what was expected is the cure. */
  readonly hint?: string | RegExp;
}

export const site = (name: string, change: (site: Json) => void, rest: Omit<Case, 'name' | 'site'>): Case => ({
  name: `site: ${name}`,
  site: change,
  in: 'site.json',
  ...rest,
});
export const tariff = (name: string, change: (tariff: Json) => void, rest: Omit<Case, 'name' | 'tariff'>): Case => ({
  name: `tariff: ${name}`,
  tariff: change,
  in: 'tariff.json',
  ...rest,
});
export const meter = (name: string, home: string | Uint8Array, rest: Omit<Case, 'name' | 'files'>): Case => ({
  name: `meter: ${name}`,
  files: { 'home.csv': home },
  in: 'home.csv',
  ...rest,
});

/** The good files of a case with its change, by name. */
export function filesOf({ site: siteChange, tariff: tariffChange, files }: Case): Record<string, string | Uint8Array> {
  const made = (base: Json, change: Case['site']) => {
    if (typeof change === 'string' || change instanceof Uint8Array) return change;
    const copy = structuredClone(base);
    change?.(copy);
    return JSON.stringify(copy, null, 2);
  };
  return {
    'site.json': made(SITE, siteChange),
    'tariff.json': made(TARIFF, tariffChange),
    'home.csv': csv(rowsOf()),
    ...files,
  };
}

/** Writes the good files of a case with its change into a folder. */
export function writeCase(folder: string, entry: Case): void {
  for (const [name, content] of Object.entries(filesOf(entry))) writeFileSync(join(folder, name), content);
  entry.prepare?.(folder);
}
