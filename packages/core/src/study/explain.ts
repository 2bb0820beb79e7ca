import { intervalStartMs } from '../axis/index.ts';
import { anInterval } from '../axis/inside.ts';
import {
  type ClockWindow,
  type FoundSheets,
  likeDays,
  type SheetSchedule,
  type Strategy,
  storedValue,
} from '../dispatch/index.ts';
import {
  aStrategy,
  billedFlows,
  holdsIn,
  lastDays,
  problemApart,
  problemOf,
  reserveLevelsKwh,
  riseAhead,
} from '../dispatch/inside.ts';
import { check } from '../input/door.ts';
import { ownCopy } from '../input/own-copy.ts';
import { quantityAt } from '../plant/inside.ts';
import type { Study } from '../site/index.ts';
import { aStudy } from '../site/inside.ts';
import type { BillTerm, CompiledTariff } from '../tariff/index.ts';
import { asStated, type BlockAt, blocksAt, layTariff, pricedAtBlocks } from '../tariff/inside.ts';
import { evaluate } from '../trial/index.ts';
import { startingFull } from '../trial/inside.ts';
import { clockOf, listed, shortFigure } from '../words/figures.ts';
import { quoteName } from '../words/quote.ts';
import type { ExplainReport } from './explain-schema.ts';
import { plannedAt } from './planned.ts';
import { moneyParts, studyParts } from './report-parts.ts';
import { assumedBox } from './settings-basis.ts';
import { keepingReserve } from './strategies.ts';

/**
 * Explains what a strategy did in interval `index` of the study's axis.
 * @throws InputError on an interval that the axis doesn't have
 */
export function explain(study: Study, strategy: Strategy, index: number): ExplainReport {
  check({ study, strategy, index }, { study: aStudy, strategy: aStrategy, index: anInterval });
  const { home } = study;
  const { axis, loadKwh, solarKwh } = home;
  const { onAxis } = home;
  const run = keepingReserve(study, strategy);
  const { flows, sheets } = evaluate(home, run, ['flows', 'sheets']);
  const billed = billedFlows(home, flows);
  const tariff = pricedAtBlocks(home.tariff, billed);
  const options = { ...study.tariffOptions, account: study.site.account };
  const stated = pricedAtBlocks(layTariff(asStated(study.tariff), axis, options), billed);
  const blocks = blocksAt(home.tariff, billed, index);
  const told = sheets === null ? undefined : settingsAt(study, sheets, index);
  const i = index;
  const iso = (at: number) => new Date(intervalStartMs(axis, 0) + at * axis.stepMinutes * 60_000).toISOString();
  const startKwh = i > 0 ? flows.socKwh[i - 1]! : startingFull(home, strategy, sheets?.all).onAxis.startKwh;
  const endKwh = flows.socKwh[i]!;
  const importPerKwh = tariff.importPricePerKwh[i]!;
  const exportPerKwh = tariff.exportPricePerKwh[i]!;
  // Under buy-all, sell-all the battery stands behind the meter of the load: its own sun is bought, and nothing of it is sold.
  const apart = tariff.metering === 'gross';
  const capacityKwh = quantityAt(onAxis.capacityKwh, i);
  const problem = apart ? problemApart({ tariff, loadKwh }, onAxis) : problemOf(onAxis, tariff);
  // What is kept for a medical circuit is nobody's to give, in hindsight either.
  const { medical } = study.island;
  const floorKwh = medical ? capacityKwh : quantityAt(onAxis.floorKwh, i);
  const known = medical ? { ...problem, floorKwh: onAxis.capacityKwh } : problem;
  const value = storedValue(known, i, startKwh);
  const { chargeEfficiency, solarChargeEfficiency, dischargeEfficiency } = onAxis.conversion;
  const now = {
    boughtCosts: importPerKwh / chargeEfficiency,
    surplusCosts: (apart ? importPerKwh : exportPerKwh) / solarChargeEfficiency,
    servingSaves: importPerKwh * dischargeEfficiency,
    sellingEarns: apart ? 0 : exportPerKwh * dischargeEfficiency,
  };
  const did = {
    charge: flows.chargeKwh[i]!,
    discharge: flows.dischargeKwh[i]!,
    imported: flows.importKwh[i]!,
    exported: flows.exportKwh[i]!,
  };
  // What the best would have saved against what was done; the meters of buy-all, sell-all price it otherwise.
  const later = i + 1 < axis.intervals ? storedValue(known, i + 1, endKwh).costToGo : 0;
  const missed = apart
    ? Number.POSITIVE_INFINITY
    : importPerKwh * did.imported - exportPerKwh * did.exported + later - value.costToGo;
  const near = (a: number, b: number) => Number.isFinite(b) && Math.abs(a - b) <= 1e-6 * Math.max(1, Math.abs(b));
  const limits: string[] = [];
  if (did.charge > 0 && near(did.charge, quantityAt(onAxis.chargeLimitKwh, i))) limits.push('charging power');
  if (did.discharge > 0 && near(did.discharge, quantityAt(onAxis.dischargeLimitKwh, i)))
    limits.push('discharging power');
  if (near(endKwh, capacityKwh)) limits.push('capacity: the store is full');
  if (near(endKwh, Math.max(floorKwh, told?.reserveKwh ?? 0))) limits.push('reserve floor');
  const rise = riseAhead(run, home, onAxis, i);
  // Where more is stored anyway, the rise holds nothing.
  if (rise !== undefined && endKwh <= rise.keptKwh + 1e-6 * capacityKwh)
    limits.push(
      `a reserve floor that will rise: ${rise.toKwh.toFixed(2)} kWh are to be there in ${shortFigure(rise.inHours)} h; now it is ${floorKwh.toFixed(2)}`,
    );
  if (near(did.imported, onAxis.importLimitKwh)) limits.push('import limit of the service');
  if (did.exported > 0 && near(did.exported, onAxis.exportLimitKwh)) limits.push('export limit');
  const served = onAxis.servedLimitKwh?.[i];
  if (served !== undefined && did.discharge > 0 && near(did.discharge, served + onAxis.conversionKwh))
    limits.push('load within reach');
  const forecast = forecastAt(study, i);
  const peak = nextPeak(study, tariff, i);
  return ownCopy({
    format: 'duskbank.explain/1',
    ...studyParts(study),
    basis:
      'modelled, not metered: the past replayed with the battery; the value of a stored kWh knows everything after it, as nobody did',
    strategy: strategy.name,
    ...moneyParts(tariff),
    loadKnown: study.loadKnown,
    interval: { start: iso(i), end: iso(i + 1), index: i },
    price: {
      importPerKwh,
      exportPerKwh,
      statedImportPerKwh: stated.importPricePerKwh[i]!,
      statedExportPerKwh: stated.exportPricePerKwh[i]!,
      window: tariff.windows[tariff.window[i]!]?.name ?? '',
      blocks: blocks.map((block) => {
        const now = block.counts === 'export' ? exportPerKwh : importPerKwh;
        const first = now - block.addedPerKwh[block.endBlock]!;
        return {
          charge: block.charge,
          counts: block.counts,
          per: block.per,
          fromKwh: [...block.fromKwh],
          pricesPerKwh: block.addedPerKwh.map((added) => first + added),
          block: block.block + 1,
          beforeKwh: block.beforeKwh,
          endBlock: block.endBlock + 1,
          endKwh: block.endKwh,
        };
      }),
    },
    flows: {
      loadKwh: loadKwh[i]!,
      solarKwh: solarKwh[i]!,
      ...(study.hiddenKwh === undefined ? {} : { hiddenKwh: study.hiddenKwh[i]! }),
      importKwh: did.imported,
      exportKwh: did.exported,
      chargeKwh: did.charge,
      dischargeKwh: did.discharge,
      curtailedKwh: flows.curtailedKwh[i]!,
      unservedKwh: flows.unservedKwh[i]!,
    },
    stored: { startKwh, endKwh, floorKwh, capacityKwh },
    valueOfStoredKwh: value.perKwh,
    now,
    nextPeak:
      peak === undefined ? null : { start: iso(peak.index), importPerKwh: peak.importPerKwh, window: peak.window },
    forecast,
    limits,
    bestInHindsight: { chargeKwh: value.chargeKwh, dischargeKwh: value.dischargeKwh },
    words: [
      ...(told === undefined
        ? []
        : [
            told.words,
            ...assumedBox(study).map(({ message }) => `${message.charAt(0).toUpperCase()}${message.slice(1)}.`),
          ]),
      ...plannedWords(study, i),
      ...blocks.map((block) => blockWords(block)),
      ...wordsFor(study, i, did, { ...value, missed }, now, limits, leftOut(tariff)),
    ],
  });
}

/** What the printed sheet tells the box in an interval. */
function settingsAt(study: Study, { all: sheet }: FoundSheets, i: number) {
  const { axis, plant } = study.home;
  const schedule = sheet.schedules.find((candidate) => holdsIn(axis, candidate, i));
  const reserveKwh = reserveLevelsKwh(sheet, axis, plant)[i]!;
  const kept = Math.round((100 * reserveKwh) / plant.capacityKwh);
  return {
    reserveKwh,
    words:
      sheet.reservePercent === 100
        ? `The box was told to keep all of it for an outage${study.island.medical ? ', for the circuit that is life-supporting or medical' : ''}: no clock windows, and it carries load only when the grid is down.`
        : `The box was told to ${orders(schedule, sheet)}, and to keep ${kept} % for an outage.`,
  };
}

/** Why all is kept for an outage that was planned, and that no run takes the grid away. */
function plannedWords(study: Study, i: number): string[] {
  const at = plannedAt(study, i);
  if (at === undefined) return [];
  const { from, to, noticeHours } = at.outage;
  const notice = at.hasBegun ? '' : `, known ${shortFigure(noticeHours)} h before`;
  return [
    `The grid was to be down from ${from} to ${to}, a planned outage${notice}: as much as there can be is kept for it. Prices and flows are those of a grid that stays up.`,
  ];
}

function orders(schedule: SheetSchedule | undefined, sheet: FoundSheets['all']): string {
  const clock = ({ fromMinute, toMinute }: ClockWindow) => `${clockOf(fromMinute)}–${clockOf(toMinute)}`;
  const charge = schedule?.charge ?? null;
  const discharge = schedule?.discharge ?? null;
  // A window from an hour to the same hour holds all day.
  if (charge !== null && charge.fromMinute === charge.toMinute) {
    const buys = sheet.gridChargeKw > 0 && schedule!.chargeToPercent > sheet.reservePercent;
    return buys
      ? `charge from the grid all day up to ${schedule!.chargeToPercent} % and never carry load (hold)`
      : 'never charge from the grid and never carry load (hold)';
  }
  const buying =
    charge === null
      ? 'never charge from the grid'
      : `charge from the grid ${clock(charge)} up to ${schedule!.chargeToPercent} %`;
  const carrying = discharge === null ? `at any ${charge === null ? '' : 'other '}time` : `${clock(discharge)} only`;
  return `${buying} and carry load ${carrying}`;
}

function nextPeak(
  study: Study,
  tariff: CompiledTariff,
  i: number,
): { index: number; importPerKwh: number; window: string } | undefined {
  const { axis } = study.home;
  const isPeak = (k: number) => tariff.windows[tariff.window[k]!]?.kind === 'peak';
  const end = Math.min(axis.intervals, i + Math.round(168 / axis.stepHours));
  for (let k = i + 1; k < end; k++)
    if (isPeak(k) && !isPeak(k - 1))
      return { index: k, importPerKwh: tariff.importPricePerKwh[k]!, window: tariff.windows[tariff.window[k]!]!.name };
  return undefined;
}

/** The mean of the like days' load and of the last days' sun: a day's worth. */
function forecastAt(study: Study, i: number): ExplainReport['forecast'] {
  const { axis, loadKwh, solarKwh } = study.home;
  const { day, days } = axis.calendar;
  const today = day[i]!;
  if (today === 0) return null;
  const total = (values: Float64Array, list: readonly number[]) => {
    let sum = 0;
    for (const d of list) {
      const { firstInterval, intervals } = days[d]!;
      for (let k = 0; k < intervals; k++) sum += values[firstInterval + k]! / list.length;
    }
    return sum;
  };
  const like = likeDays(axis, today, today, 7);
  return { loadKwh: total(loadKwh, like), solarKwh: total(solarKwh, lastDays(today, 7)), days: like.length };
}

/** Parts of a bill that prices per kWh don't hold, by kind of term. */
const BEYOND_PRICES: Partial<Record<BillTerm['kind'], string>> = {
  demand: 'charges on power',
  netting: 'what netting does to a whole bill',
  rebate: 'rebates',
  'usage-credit': 'credits for using so much',
  minimum: 'the minimum bill',
  carry: 'credit that is carried over',
};

function leftOut({ terms }: CompiledTariff): string[] {
  return [...new Set(terms.flatMap(({ kind }) => BEYOND_PRICES[kind] ?? []))];
}

/** Which block an hour was in, and which its bill ended in. */
function blockWords({ charge, counts, per, fromKwh, beforeKwh, block, endKwh, endBlock }: BlockAt): string {
  const kwh = (amount: number) => `${amount.toFixed(1)} kWh`;
  const named = (k: number) =>
    `block ${k + 1} of ${fromKwh.length} (${k === 0 ? `up to ${kwh(fromKwh[1]!)}` : `above ${kwh(fromKwh[k]!)}`})`;
  const did = { import: 'bought', export: 'sold', netted: 'bought, less what was sold,' }[counts];
  const ended =
    endBlock === block
      ? `It ended with ${kwh(endKwh)}, in the same block.`
      : `It ended with ${kwh(endKwh)}, in ${named(endBlock)}: the price above is of that block, since one more kWh at any time of the ${per} falls in it.`;
  return `In the blocks of ${quoteName(charge)} this was ${named(block)}: ${kwh(beforeKwh)} ${did} in the ${per} before it. ${ended}`;
}

function wordsFor(
  study: Study,
  i: number,
  did: { charge: number; discharge: number; imported: number; exported: number },
  value: { perKwh: number; chargeKwh: number; dischargeKwh: number; missed: number },
  now: ExplainReport['now'],
  limits: readonly string[],
  leftOut: readonly string[],
): string[] {
  const { currency } = study.home.tariff;
  const price = (amount: number) => `${currency} ${amount.toFixed(4)}`;
  const kwh = (amount: number) => `${amount.toFixed(amount < 0.05 ? 4 : 2)} kWh`;
  /** Whether it paid, at the precision that prices are shown with. */
  const verdict = (gain: number, even: string, lost: string) =>
    Math.abs(gain) < 5e-5 ? even : gain > 0 ? 'it paid' : lost;
  const { loadKwh, solarKwh } = study.home;
  const surplus = Math.max(0, solarKwh[i]! - loadKwh[i]!);
  const words: string[] = [];
  const worth = `A stored kWh was worth ${price(value.perKwh)}, as the rest of the data turned out`;
  if (did.charge > 1e-9) {
    const grid = Math.max(0, did.charge - surplus);
    const [source, cost] = grid > 1e-9 ? ['from the grid', now.boughtCosts] : ['from own surplus', now.surplusCosts];
    words.push(`It stored ${kwh(did.charge)} ${source}.`);
    words.push(
      `${worth}; storing one ${source} cost ${price(cost)}: ${verdict(value.perKwh - cost, 'as much as it was worth', 'it did not pay')}.`,
    );
  } else if (did.discharge > 1e-9) {
    const sold = did.exported > surplus + 1e-9;
    const gain = sold ? now.sellingEarns : now.servingSaves;
    words.push(`It gave ${kwh(did.discharge)}${sold ? ', part of it sold' : ' to the load'}.`);
    words.push(
      `${worth}; ${sold ? 'selling' : 'carrying load with'} one brought ${price(gain)}: ${verdict(gain - value.perKwh, 'keeping it would have brought no more', 'keeping it would have brought more')}.`,
    );
  } else {
    words.push('It did nothing.');
    // Where own sun carries the load, no battery can; what it leaves could be stored before any was bought.
    const [serving, storing] =
      loadKwh[i]! > solarKwh[i]! + 1e-9
        ? [`carrying load with one would have saved ${price(now.servingSaves)}`, 'buying one would have cost']
        : surplus > 1e-9
          ? [
              'own sun carried all of the load, so that it had none to carry',
              'storing one from own surplus would have cost',
            ]
          : ['there was no load for it to carry', 'buying one would have cost'];
    words.push(`${worth}; ${serving}, ${storing} ${price(surplus > 1e-9 ? now.surplusCosts : now.boughtCosts)}.`);
  }
  if (limits.length > 0) words.push(`What held it: ${limits.join('; ')}.`);
  const best = value.chargeKwh - value.dischargeKwh;
  const done = did.charge - did.discharge;
  const alone = leftOut.length > 0 ? ' by the prices of a kWh alone' : '';
  // Of two that come to the same, neither would have been better: nothing that prices show, a kWh.
  if (Math.abs(best - done) > 0.005 && value.missed > 5e-5 * Math.abs(best - done))
    words.push(
      `In hindsight, from the same stored energy${alone === '' ? '' : ` and${alone}`}, it would have been best to ${
        best > 1e-9 ? `store ${kwh(best)}` : best < -1e-9 ? `give ${kwh(-best)}` : 'do nothing'
      }.`,
    );
  else words.push(`In hindsight nothing else would have been better${alone}.`);
  if (leftOut.length > 0) words.push(`Value and hindsight leave out ${listed(leftOut)}.`);
  if (study.home.onAxis.conversionKwh > 0)
    words.push('Value and hindsight leave out what the inverter draws while it converts.');
  return words;
}
