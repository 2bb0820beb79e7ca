import type { Rates } from '../tariff.ts';
import { resolveDemand } from './demand.ts';
import { resolveEnergy, WINDOW_CHARGE } from './energy.ts';
import { resolveEvents } from './events.ts';
import { checkNetting, resolveExport } from './export.ts';
import type { Faults } from './faults.ts';
import { resolveFixed } from './fixed.ts';
import { resolveHoliday } from './holidays.ts';
import { resolvePercents } from './percents.ts';
import { dayKinds, resolveSeasons, seasonMask } from './seasons.ts';
import type { RatesDocument, Version } from './version.ts';
import { ownWindows } from './windows.ts';

/** One version of a tariff, whole. Faults come in the order of its elements. */
export function resolveRates(
  document: RatesDocument,
  pathOf: Version['pathOf'],
  fromDay: number,
  note: string | undefined,
  faults: Faults,
): Rates {
  const holidays = (document.holidays ?? []).flatMap(resolveHoliday);
  const seasons = resolveSeasons(document.seasons, pathOf('seasons'), faults);
  const version: Version = { document, pathOf, faults, seasons, days: dayKinds(seasons, holidays.length > 0) };
  const windows = ownWindows(version);
  const energy = resolveEnergy(version, windows);
  const baselines = (document.baseline ?? []).map((baseline, b) => ({
    kwhPerDay: baseline.kwhPerDay,
    seasonMask: seasonMask(version, baseline.seasons, [...pathOf('baseline'), b]),
    zone: baseline.zone,
  }));
  const events = resolveEvents(version, windows);
  const demand = resolveDemand(version, windows);
  const fixed = resolveFixed(version);
  const exportRule = resolveExport(version, windows);
  checkNetting(version, windows, energy, exportRule);
  const onTop = resolvePercents(version, {
    lines: [
      ...(windows.priced ? [WINDOW_CHARGE] : []),
      ...[...energy, ...demand, ...fixed, ...events].map((line) => line.name),
      ...namesWritten(document),
      ...(exportRule.kind === 'none' ? [] : [exportRule.name]),
    ],
    suppliers: [...energy, ...demand, ...fixed].flatMap((c) => (c.supplier === undefined ? [] : [c.supplier])),
  });
  return {
    written: document,
    fromDay,
    note,
    holidays,
    seasonNames: seasons.names,
    seasonOf: seasons.ofDay,
    windows: windows.rules,
    energy,
    baselines,
    events,
    demand,
    fixed,
    export: exportRule,
    ...onTop,
  };
}

/** Lists of the file whose entries are no lines of a bill, or are entered in the order in which they count. */
const WITHOUT_LINES = ['holidays', 'seasons', 'windows', 'baseline', 'adjustments', 'taxes'];

/** Names of the entries of all other lists: a charge that needs no resolving is a line by the name that it bears. */
function namesWritten(document: RatesDocument): string[] {
  return Object.entries(document as Readonly<Record<string, unknown>>)
    .filter(([element]) => !WITHOUT_LINES.includes(element))
    .flatMap(([, entries]): { readonly name?: string }[] => (Array.isArray(entries) ? entries : []))
    .flatMap(({ name }) => name ?? []);
}
