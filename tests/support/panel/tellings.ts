import { localText, offsetsOf, offsetText } from './clock.ts';
import type { GeneratedHome } from './home.ts';
import { intervalCsv, meteredColumns } from './meter-file.ts';
import type { Json } from './tariff.ts';

/** One way of writing a home down: its files, and the site's `meter` section that names them. */
export interface Telling {
  readonly name: string;
  readonly meter: Json;
  readonly files: Readonly<Record<string, string>>;
}

/** A column of a file: what stands above it, and the text of each interval's cell. */
interface Column {
  readonly header: string;
  readonly cell: (i: number) => string;
}

/**
 * The same home as portals, meters and monitors would write it down: other units, other columns, other clocks, other marks.
 * Each holds the same energy to the watt-hour. What a file leaves open is stated as its owner would.
 */
export function tellings(home: GeneratedHome): Telling[] {
  const { importKwh, exportKwh, loadKwh, solarKwh, hasSolar, intervals, stepMinutes, startEpochMs } = home;
  const offsetAt = offsetsOf(home.zone);
  const at = (i: number) => startEpochMs + i * stepMinutes * 60_000;
  const stamp = (i: number) => `${localText(at(i), offsetAt(at(i)))}${offsetText(offsetAt(at(i)))}`;
  const perHour = 60 / stepMinutes;

  const start: Column = { header: 'start', cell: stamp };
  const energy = (header: string, kwh: Float64Array, factor: number, decimals: number): Column => ({
    header,
    cell: (i) => (kwh[i]! * factor).toFixed(decimals),
  });
  const metered = (unit: string, factor: number, decimals: number): Column[] => [
    energy(`import ${unit}`, importKwh, factor, decimals),
    energy(`export ${unit}`, exportKwh, factor, decimals),
    ...(hasSolar ? [energy(`solar ${unit}`, solarKwh, factor, decimals)] : []),
  ];
  const rows = (columns: readonly Column[], from = 0, to = intervals, mark = ',') => {
    const lines = [columns.map(({ header }) => header).join(mark)];
    for (let i = from; i < to; i++) lines.push(columns.map(({ cell }) => cell(i)).join(mark));
    return `${lines.join('\n')}\n`;
  };
  const told = (name: string, text: string, stated: Json = {}): Telling => ({
    name,
    meter: { files: [Object.keys(stated).length === 0 ? 'told.csv' : { path: 'told.csv', ...stated }] },
    files: { 'told.csv': text },
  });
  const kwh = metered('kWh', 1, 3);
  const net: Column = { header: 'net kWh', cell: (i) => (importKwh[i]! - exportKwh[i]!).toFixed(3) };
  const solar = hasSolar ? [energy('solar kWh', solarKwh, 1, 3)] : [];
  const half = Math.floor(intervals / 2);

  const all: Telling[] = [
    told('our own format', intervalCsv(home, meteredColumns(home))),
    told('a table of kWh', rows([start, ...kwh])),
    told('mean power in kW', rows([start, ...metered('kW', perHour, 3)]), { unit: 'kW' }),
    told('mean power in W', rows([start, ...metered('W', 1000 * perHour, 0)]), { unit: 'W' }),
    told('Wh', rows([start, ...metered('Wh', 1000, 0)]), { unit: 'Wh' }),
    told('a signed net', rows([start, net, ...solar]), {
      columns: { start: 'start', net: 'net kWh', ...(hasSolar ? { solar: 'solar kWh' } : {}) },
    }),
    told('load and solar', rows([start, energy('load kWh', loadKwh, 1, 3), ...solar])),
    told(
      'the clock of UTC',
      rows([{ header: 'start', cell: (i) => `${new Date(at(i)).toISOString().slice(0, 16)}Z` }, ...kwh]),
    ),
    told('seconds since 1970', rows([{ header: 'start', cell: (i) => String(at(i) / 1000) }, ...kwh])),
    told('interval ends', rows([{ header: 'end', cell: (i) => stamp(i + 1) }, ...kwh]), { intervalEnd: true }),
    told(
      'semicolons and decimal commas',
      rows(
        [start, ...kwh.map(({ header, cell }) => ({ header, cell: (i: number) => cell(i).replace('.', ',') }))],
        0,
        intervals,
        ';',
      ),
      { decimal: ',' },
    ),
    told('columns in another order', rows([...[...kwh].reverse(), start])),
    {
      name: 'two files, the later one first',
      meter: { files: ['second.csv', 'first.csv'] },
      files: { 'first.csv': rows([start, ...kwh], 0, half), 'second.csv': rows([start, ...kwh], half) },
    },
  ];
  // Without a change of the clock labels need no offset.
  if (offsetAt(at(0)) === offsetAt(at(intervals)) && offsetAt(at(0)) === offsetAt(at(half))) {
    const local = (i: number) => localText(at(i), offsetAt(at(i)));
    const date: Column = {
      header: 'date',
      cell: (i) => `${local(i).slice(8, 10)}/${local(i).slice(5, 7)}/${local(i).slice(0, 4)}`,
    };
    const time: Column = { header: 'time', cell: (i) => local(i).slice(11) };
    all.push(told('date and time apart, day first', rows([date, time, ...kwh]), { dateOrder: 'day-first' }));
  }
  return all;
}

/** The same home read once an hour: import and export of the hour each added up. Undefined where steps don't fill hours. */
export function hourlyTelling(home: GeneratedHome): Telling | undefined {
  const perHour = 60 / home.stepMinutes;
  if (perHour === 1 || home.intervals % perHour !== 0) return undefined;
  const hourly = (kwh: Float64Array) =>
    Float64Array.from({ length: home.intervals / perHour }, (_, hour) => {
      let wh = 0;
      for (let k = 0; k < perHour; k++) wh += Math.round(kwh[hour * perHour + k]! * 1000);
      return wh / 1000;
    });
  const { importKwh, exportKwh, solarKwh, loadKwh } = home;
  const whole: GeneratedHome = {
    ...home,
    stepMinutes: 60,
    intervals: home.intervals / perHour,
    importKwh: hourly(importKwh),
    exportKwh: hourly(exportKwh),
    solarKwh: hourly(solarKwh),
    loadKwh: hourly(loadKwh),
  };
  return {
    name: 'hours',
    meter: { files: ['told.csv'] },
    files: { 'told.csv': intervalCsv(whole) },
  };
}
