import { localText, offsetsOf, offsetText } from './clock.ts';
import type { GeneratedHome } from './home.ts';

/** The columns of a file in our own interval format; left out: what the home's meter and its solar monitor read. */
export interface IntervalColumns {
  readonly importKwh?: Float64Array;
  readonly exportKwh?: Float64Array;
  readonly solarKwh?: Float64Array;
  readonly loadKwh?: Float64Array;
}

const NAMES = { importKwh: 'import_kwh', exportKwh: 'export_kwh', loadKwh: 'load_kwh', solarKwh: 'solar_kwh' } as const;

/** What the home's meter and solar monitor read: import and export, and solar where there is some. */
export function meteredColumns(home: GeneratedHome): IntervalColumns {
  const { importKwh, exportKwh, solarKwh, hasSolar } = home;
  return { importKwh, exportKwh, ...(hasSolar ? { solarKwh } : {}) };
}

/** A home in our own interval format. */
export function intervalCsv(home: GeneratedHome, columns: IntervalColumns = meteredColumns(home)): string {
  const names = (Object.keys(NAMES) as (keyof typeof NAMES)[]).filter((name) => columns[name] !== undefined);
  const lines = [
    '# format: duskbank.interval/1',
    `# zone: ${home.zone}`,
    `# step_minutes: ${home.stepMinutes}`,
    `start,${names.map((name) => NAMES[name]).join(',')}`,
  ];
  const offsetAt = offsetsOf(home.zone);
  for (let i = 0; i < home.intervals; i++) {
    const epochMs = home.startEpochMs + i * home.stepMinutes * 60_000;
    const offset = offsetAt(epochMs);
    const values = names.map((name) => columns[name]![i]!.toFixed(3));
    lines.push(`${localText(epochMs, offset)}${offsetText(offset)},${values.join(',')}`);
  }
  return `${lines.join('\n')}\n`;
}
