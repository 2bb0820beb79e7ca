import { anAxis } from '../axis/axis.ts';
import {
  anything,
  bytes,
  flag,
  integers,
  list,
  number,
  oneOf,
  optional,
  type Rule,
  record,
  report,
  series,
  seriesUnread,
  spanning,
  text,
  unlessMadeHere,
} from '../input/door.ts';
import { aFact } from '../input/facts.ts';
import { isAsPlanned } from './compile.ts';
import type { BillingPeriod, CompiledTariff, WindowLabel } from './compiled.ts';
import { MOST_KWH, type ServiceFlows } from './flows.ts';
import { someTerms } from './terms/rules.ts';
import { WINDOW_KINDS } from './vocabulary.ts';

/** What passes the service, kWh an interval. */
export const serviceFlows = record<ServiceFlows>({
  importKwh: series({ least: 0, most: MOST_KWH }),
  exportKwh: series({ least: 0, most: MOST_KWH }),
});

/** The same, its energies left to the sums that are made of them. */
export const serviceFlowsUnread = record<ServiceFlows>({ importKwh: seriesUnread, exportKwh: seriesUnread });

const whole = (least: number, most = Number.MAX_SAFE_INTEGER) => number({ whole: true, least, most });

const compiledFields = record<CompiledTariff>({
  axis: anAxis,
  name: text,
  currency: text,
  currencyDecimals: whole(0, 8),
  importPricePerKwh: series(),
  exportPricePerKwh: series(),
  terms: someTerms,
  periods: list(
    record<BillingPeriod>({
      first: whole(0),
      end: whole(0),
      startDate: text,
      endDate: text,
      days: whole(0),
      fullDays: whole(0),
    }),
  ),
  period: integers({ least: 0 }),
  windows: list(record<WindowLabel>({ name: text, kind: oneOf(WINDOW_KINDS), event: optional(flag) }), { least: 1 }),
  window: bytes(),
  priceKnowledge: oneOf(['published', 'day-ahead']),
  metering: oneOf(['net', 'gross']),
  exportLimitKw: number({ least: 0, infinite: true }),
  warnings: list(aFact),
  plan: anything,
});

const anyCompiled: Rule = unlessMadeHere('tariff on its axis', (value, path, looking) => {
  const before = looking.issues.length;
  compiledFields(value, path, looking);
  if (looking.issues.length > before) return;
  const { periods, period, windows, window, plan } = value as CompiledTariff;
  const fit = (name: string, of: string, indices: Int32Array | Uint8Array, count: number) => {
    const at = (indices as Int32Array).findIndex((index) => index >= count);
    if (at >= 0)
      report(looking, [...path, name, at], 'out-of-range', indices[at], `an index into ${of}, below ${count}`);
  };
  fit('period', 'periods', period, periods.length);
  fit('window', 'windows', window, windows.length);
  if (plan !== undefined && (!isAsPlanned(value as CompiledTariff, plan) || plan.spans?.length !== periods.length))
    report(
      looking,
      [...path, 'plan'],
      'not-compiled',
      'another plan',
      'the plan that compileTariff made with what stands beside it: prices, terms, windows, periods',
      'change the tariff file and compile it anew; with prices made by hand leave `plan` out: such a tariff has totals and no lines',
    );
});

/** A tariff laid on an axis. */
export const aCompiledTariff = spanning<CompiledTariff>(anyCompiled, ({ axis }) => axis.intervals);

/** A tariff that came from its file through `compileTariff`: one put together by hand has no lines to bill. */
export const aBilledTariff: Rule = (value, path, looking) => {
  const before = looking.issues.length;
  aCompiledTariff(value, path, looking);
  if (looking.issues.length === before && (value as CompiledTariff).plan === undefined)
    report(looking, [...path, 'plan'], 'not-compiled', 'nothing', 'a tariff that compileTariff laid on an axis');
};
