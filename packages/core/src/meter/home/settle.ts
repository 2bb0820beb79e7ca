import { InputError } from '../../input/index.ts';
import { type Fact, fact } from '../../words/fact.ts';
import { contradicting, HOME_WORDS } from '../../words/home.ts';
import { darkIntervals, sunDays } from '../metering/daylight.ts';
import type { MeteringContext } from '../metering/fault.ts';
import { CHANNELS, channelField, type IntervalSeries } from '../series.ts';
import { checkBalance } from './balance.ts';
import { type Columns, type HomeFlows, settleColumns, tellsSolar } from './columns.ts';

/** The field of a site that the channels come from. */
const METER = { path: ['meter', 'files'] };

/** {@link HomeFlows}, and how far they can be trusted. */
export interface SettledChannels extends HomeFlows {
  /** False where nothing says what the home used behind the meter. */
  readonly loadKnown: boolean;
  /** Energy that went both ways within one interval. */
  readonly bothWaysKwh: number;
  /** What bears on the results. */
  readonly warnings: readonly Fact[];
  /** Why the data can't carry savings, where they can't. */
  readonly doubt: string | undefined;
}

/**
 * The one reading of a home's channels, whichever it has: docs/concepts/bases.md lists every combination.
 *
 * The meter's own import and export count wherever they are there; of the two, one that is missing follows from load and
 * solar. A load column beside them only checks: `load = import − export + solar`.
 *
 * @param place lets the night be told from the sun's own times
 * @throws InputError `missing-channel` where the channels leave open what was bought or sold
 */
export function settleChannels(
  series: IntervalSeries,
  place: Pick<MeteringContext, 'latitudeDeg' | 'longitudeDeg'> = {},
): SettledChannels {
  const columns = columnsOf(series);
  refuseOpenQuestions(columns);
  const { importKwh, exportKwh, loadKwh, solarKwh } = columns;
  // The night is asked for only where a load column can be held against the meter.
  const checked = loadKwh !== undefined && (importKwh !== undefined || exportKwh !== undefined);
  const dark = checked ? darkIntervals(series, sunDays(series, place)) : new Uint8Array(series.axis.intervals);
  const settled = settleColumns(columns, dark);
  const balance = checkBalance(series, columns, settled.flows, dark);
  const withheld = balance?.grave === true;
  // Sun that is reckoned from a column which can't be right is none: then the meter counts alone.
  const reckonsSolar = tellsSolar(columns, dark) && !withheld;
  const { flows, beyondKwh } =
    solarKwh === undefined && withheld ? settleColumns({ ...columns, loadKwh: undefined }, dark) : settled;
  let bothWaysKwh = 0;
  let exportedKwh = 0;
  for (let i = 0; i < dark.length; i++) {
    bothWaysKwh += Math.min(flows.importKwh[i]!, flows.exportKwh[i]!);
    exportedKwh += flows.exportKwh[i]!;
  }
  const warnings: Fact[] = [];
  if (loadKwh !== undefined && solarKwh !== undefined && (importKwh === undefined) !== (exportKwh === undefined))
    warnings.push(
      fact(HOME_WORDS, importKwh === undefined ? 'import-reckoned' : 'export-reckoned', 'warning', {}, METER),
    );
  if (solarKwh !== undefined && beyondKwh > Math.max(1, 0.01 * exportedKwh))
    warnings.push(fact(HOME_WORDS, 'export-above-solar', 'warning', { beyondKwh }, METER));
  let doubt: string | undefined;
  if (balance !== undefined) {
    const { kwh: missedKwh, share, darkOnly, worstMonth, cause = null } = balance;
    const channels = CHANNELS.filter((channel) => columns[channelField(channel)] !== undefined);
    const data = { channels, missedKwh, share, darkOnly, worstMonth, withheld, cause };
    warnings.push(fact(HOME_WORDS, 'balance', 'warning', data, METER));
    if (withheld) doubt = contradicting(data);
  }
  if (reckonsSolar) {
    const solarReckonedKwh = flows.solarKwh.reduce((sum, kwh) => sum + kwh, 0);
    warnings.push(fact(HOME_WORDS, 'solar-reckoned', 'warning', { solarReckonedKwh }, METER));
  }
  const loadKnown = solarKwh !== undefined || (!withheld && (reckonsSolar || exportedKwh === 0));
  if (!loadKnown) warnings.push(fact(HOME_WORDS, 'load-unknown', 'warning', {}, METER));
  return { ...flows, loadKnown, bothWaysKwh, warnings, doubt };
}

/** The channels of a home. Solar or export that is 0 throughout counts as absent where it would only raise a question. */
function columnsOf({ importKwh, exportKwh, loadKwh, solarKwh }: IntervalSeries): Columns {
  const silent = (values: Float64Array | undefined) => values?.every((kwh) => kwh === 0) === true;
  return {
    importKwh,
    loadKwh,
    exportKwh: importKwh === undefined && solarKwh === undefined && silent(exportKwh) ? undefined : exportKwh,
    solarKwh: exportKwh === undefined && silent(solarKwh) ? undefined : solarKwh,
  };
}

/** Of what the column read as solar holds, what may stand beside energy bought: clouds pass within an interval. */
const SOLD_WHILE_BUYING_SHARE = 0.05;

/**
 * What is missing beside import and solar, the likeliest first: their names may mean other things. What a home uses is never nothing
 * while the sun shines; what it sells is never there while it buys, clouds aside.
 */
function missingExportHint(importKwh: Float64Array, solarKwh: Float64Array): string {
  const sold =
    'where the column read as solar is what was sold, say so: of one file { path: …, columns: { import: …, export: … } } with the number of each column from 1, of a file of its own { path: …, channel: export }';
  const used =
    'where the column read as import is all that the home uses, say so: { path: …, columns: { load: …, solar: … } }, of a file of its own { path: …, channel: load }';
  const missing = 'where they are what was bought and what panels gave, add the export column of the meter';
  let bothKwh = 0;
  let allKwh = 0;
  let neverNone = true;
  for (let i = 0; i < solarKwh.length; i++) {
    allKwh += solarKwh[i]!;
    if (importKwh[i]! > 0) bothKwh += solarKwh[i]!;
    else if (solarKwh[i]! > 0) neverNone = false;
  }
  if (bothKwh <= SOLD_WHILE_BUYING_SHARE * allKwh) return `${sold}; ${missing}`;
  return neverNone ? `${used}; ${missing}` : `${missing}; ${sold}`;
}

/** Refuses what leaves open how much was bought or sold. */
function refuseOpenQuestions({ importKwh, exportKwh, loadKwh, solarKwh }: Columns): void {
  const refuse = (received: string, expected: string, hint: string) => {
    throw new InputError([{ code: 'missing-channel', where: METER, received, expected, hint }]);
  };
  if (importKwh === undefined && loadKwh === undefined)
    refuse(
      exportKwh === undefined ? 'solar alone' : `export ${solarKwh === undefined ? '' : 'and solar '}without import`,
      'load, or import (with export where there is solar)',
      'add the file or the column that holds it',
    );
  if (importKwh === undefined && exportKwh !== undefined && solarKwh === undefined)
    refuse(
      'export and load without import or solar',
      'import, or solar: without either it is not known what was bought',
      'add the import column of the meter; where nothing is ever exported, leave export out',
    );
  if (exportKwh === undefined && solarKwh !== undefined && loadKwh === undefined)
    refuse(
      'import and solar without export',
      'export or load too: without it what the home used of its solar is not known',
      missingExportHint(importKwh!, solarKwh),
    );
}
