import { InputError, showName } from '@duskbank/core/input';
import {
  type Adjustment,
  CHANNELS,
  type Channel,
  type ColumnMap,
  type ColumnRef,
  faultsOf,
  LONGEST_GAP_HOURS,
  type ParseOptions,
  ROW_KINDS,
  type RowKind,
  writeIntervalCsv,
} from '@duskbank/core/meter';
import { inspect } from '@duskbank/core/study';
import { EXIT, inputFault } from '../io/fail.ts';
import { intervalEndOf } from '../io/interval-end.ts';
import { numberIn } from '../io/number.ts';
import { note, print, printJson } from '../io/output.ts';
import { MAX_DATA_BYTES, noteInput, readInput } from '../io/read.ts';
import { refuseOutput, writeWhole } from '../io/write.ts';
import { xlsx } from '../io/xlsx.ts';
import { inspectText } from '../render/inspect.ts';

/** Flags as commander hands them over: text, or true. */
interface Flags {
  json?: boolean;
  write?: string;
  force?: boolean;
  zone?: string;
  sheet?: string;
  unit?: ParseOptions['unit'];
  columns?: string[];
  channel?: ParseOptions['channel'];
  sign?: ParseOptions['sign'];
  intervalEnd?: boolean;
  intervalStart?: boolean;
  dateOrder?: ParseOptions['dateOrder'];
  decimal?: ParseOptions['decimal'];
  clock?: ParseOptions['clock'];
  year?: string;
  usagePoint?: string[];
  meterReading?: string[];
  rows?: string[];
  repeats?: ParseOptions['repeats'];
  serviceKw?: string;
  price?: string;
  billedKwh?: string;
  latitude?: string;
  longitude?: string;
  fillGaps?: string;
  flip?: string;
  swap?: string;
  scale?: string[];
  shift?: string;
  solarInLoad?: boolean;
}

/** `duskbank inspect FILE…`: what was understood, the year as a picture, monthly totals, findings and faults. */
export async function run(files: readonly string[], flags: Flags): Promise<void> {
  const options = {
    xlsx,
    parse: parseOptions(flags),
    adjustment: adjustmentOf(flags),
    maxGapHours: numberOf(flags.fillGaps, '--fill-gaps', 0, LONGEST_GAP_HOURS),
    home: {
      latitudeDeg: numberOf(flags.latitude, '--latitude', -90, 90),
      longitudeDeg: numberOf(flags.longitude, '--longitude', -180, 180),
      billedKwh: numberOf(flags.billedKwh, '--billed-kwh', 0.001, 1e9),
    },
  };
  for (const file of files) noteInput(file);
  const force = flags.force === true;
  if (flags.write !== undefined) refuseOutput(flags.write, force);
  const { report, issues, series } = await inspect(files, readInput, options);
  if (series === undefined) {
    if (flags.json) {
      printJson(report);
      process.exitCode = EXIT.input;
      return;
    }
    // What was understood so far helps to answer what is asked.
    if (report.files.length > 0) note(inspectText(report));
    throw new InputError(issues);
  }
  // Our own format carries no question on.
  const asked = report.files.flatMap(({ file, findings }) =>
    faultsOf(
      file,
      findings.flatMap((each) => (each.code === 'part-alone' ? { ...each, severity: 'error' as const } : [])),
    ),
  );
  if (flags.write !== undefined && asked.length > 0) throw new InputError(asked);
  // Before anything is printed: a reader of the output who goes away ends the run.
  if (flags.write !== undefined) await writeWhole(flags.write, [writeIntervalCsv(series)], force);
  if (flags.json) printJson(report);
  else print(inspectText(report));
  if (flags.write !== undefined) note(`wrote ${series.axis.intervals} intervals to ${showName(flags.write)}`);
}

function parseOptions(flags: Flags): ParseOptions {
  const { zone, sheet, unit, channel, sign, dateOrder, decimal, clock, repeats } = flags;
  const intervalEnd = intervalEndOf(flags);
  const year = numberOf(flags.year, '--year', 1970, 2200);
  const pricePerKwh = numberOf(flags.price, '--price', 0.000001, 1000);
  const billedKwh = numberOf(flags.billedKwh, '--billed-kwh', 0.001, 1e9);
  const columns = columnsOf(flags.columns);
  const rows = rowsOf(flags.rows);
  const usagePoint = flags.usagePoint?.map((text) => numberOf(text, '--usage-point', 1, 1000)!);
  const meterReading = flags.meterReading?.map((text) => numberOf(text, '--meter-reading', 1, 1000)!);
  const serviceKw = numberOf(flags.serviceKw, '--service-kw', 0.1, 10_000);
  return {
    maxBytes: MAX_DATA_BYTES,
    ...(zone === undefined ? {} : { zone }),
    ...(sheet === undefined ? {} : { sheet }),
    ...(unit === undefined ? {} : { unit }),
    ...(channel === undefined ? {} : { channel }),
    ...(sign === undefined ? {} : { sign }),
    ...(intervalEnd === undefined ? {} : { intervalEnd }),
    ...(dateOrder === undefined ? {} : { dateOrder }),
    ...(decimal === undefined ? {} : { decimal }),
    ...(clock === undefined ? {} : { clock }),
    ...(year === undefined ? {} : { year }),
    ...(pricePerKwh === undefined ? {} : { pricePerKwh }),
    ...(billedKwh === undefined ? {} : { billedKwh }),
    ...(columns === undefined ? {} : { columns }),
    ...(usagePoint === undefined ? {} : { usagePoint }),
    ...(meterReading === undefined ? {} : { meterReading }),
    ...(rows === undefined ? {} : { rows }),
    ...(repeats === undefined ? {} : { repeats }),
    ...(serviceKw === undefined ? {} : { serviceKw }),
  };
}

/** `1=import`, `Register 2=ignore`: what rows are, by the text of their type cell. */
function rowsOf(pairs: readonly string[] | undefined): Record<string, RowKind> | undefined {
  if (pairs === undefined) return undefined;
  return Object.fromEntries(
    pairs.map((pair) => {
      const at = pair.lastIndexOf('=');
      const kind = ROW_KINDS.find((known) => known === pair.slice(at + 1));
      if (at < 0 || kind === undefined)
        throw flagFault('--rows', pair, `TEXT=KIND with a kind of ${ROW_KINDS.join(', ')}`);
      return [pair.slice(0, at), kind];
    }),
  );
}

const COLUMN_FIELDS = ['start', 'end', 'date', 'time', 'endTime', 'type', 'import', 'export', 'load', 'solar', 'net'];

/** `import=2,3` is `import=2 import=3`; a name may hold a comma. */
function eachColumn(pair: string): string[] {
  const [, field, numbers] = /^(\w+)=(\d+(?:[,+]\d+)+)$/.exec(pair) ?? [];
  return numbers === undefined ? [pair] : numbers.split(/[,+]/).map((number) => `${field}=${number}`);
}

/** `import=Usage`, `solar=3`: a column by name or number. */
function columnsOf(pairs: readonly string[] | undefined): ColumnMap | undefined {
  if (pairs === undefined) return undefined;
  const columns: Record<string, ColumnRef | ColumnRef[]> = {};
  for (const pair of pairs.flatMap(eachColumn)) {
    const [field = '', ...rest] = pair.split('=');
    const ref = rest.join('=');
    if (!COLUMN_FIELDS.includes(field) || ref === '')
      throw flagFault('--columns', pair, `FIELD=COLUMN with a field of ${COLUMN_FIELDS.join(', ')}`);
    const column = /^\d+$/.test(ref) ? Number(ref) : ref;
    const known = columns[field];
    if (known === undefined) columns[field] = column;
    // Several columns of one value are added, as a list of them is in the site file.
    else if ((CHANNELS as readonly string[]).includes(field) || field === 'net')
      columns[field] = [known, column].flat();
    else throw flagFault('--columns', pair, `one column of ${field}`);
  }
  return columns;
}

function adjustmentOf(flags: Flags): Adjustment {
  const shiftMinutes = numberOf(flags.shift, '--shift', -1440, 1440);
  const scale: Partial<Record<Channel, number>> = {};
  for (const pair of flags.scale ?? []) {
    const [channel = '', factor = ''] = pair.split('=');
    if (!(CHANNELS as readonly string[]).includes(channel))
      throw flagFault('--scale', pair, `CHANNEL=FACTOR with a channel of ${CHANNELS.join(', ')}`);
    scale[channel as Channel] = numberOf(factor, '--scale', 0.001, 1000)!;
  }
  if (flags.flip !== undefined && !['grid', 'import', 'export'].includes(flags.flip))
    throw flagFault('--flip', flags.flip, 'grid (import becomes export and the other way)');
  if (flags.swap !== undefined && !/^(?:solar,grid|grid,solar)$/.test(flags.swap))
    throw flagFault('--swap', flags.swap, 'solar,grid');
  return {
    ...(flags.flip === undefined ? {} : { flipGrid: true }),
    ...(flags.swap === undefined ? {} : { swapSolarAndGrid: true }),
    ...(Object.keys(scale).length === 0 ? {} : { scale }),
    ...(shiftMinutes === undefined ? {} : { shiftMinutes }),
    ...(flags.solarInLoad === true ? { solarInLoad: true } : {}),
  };
}

function numberOf(text: string | undefined, flag: string, least: number, most: number): number | undefined {
  if (text === undefined) return undefined;
  const value = numberIn(text);
  if (!(value >= least && value <= most)) throw flagFault(flag, text, `a number from ${least} to ${most}`);
  return value;
}

function flagFault(flag: string, received: string, expected: string): InputError {
  return inputFault({ code: 'bad-flag', where: { column: flag }, received: `"${showName(received)}"`, expected });
}
