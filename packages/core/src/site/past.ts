import { type Axis, intervalStartMs } from '../axis/index.ts';
import { InputError, type InputIssue } from '../input/index.ts';
import type { IntervalSeries } from '../meter/index.ts';
import { type SettledChannels, settleChannels } from '../meter/inside.ts';
import { makeFlows, type Service } from '../plant/index.ts';
import { executeWithoutPlant, type LimitPassed, raiseToMetered, resolveService } from '../plant/inside.ts';
import { billTariff, type CompiledTariff, type ServiceFlows } from '../tariff/index.ts';
import { layTariff } from '../tariff/inside.ts';
import { figure } from '../words/figures.ts';
import type { PastInput } from './study-input.ts';
import type { Warning } from './warning.ts';

/** The metered past of a home under a tariff: what its baseline and its bills are made of. */
export interface Past {
  readonly axis: Axis;
  readonly channels: SettledChannels;
  readonly tariff: CompiledTariff;
  /** The site's own limits, none below what was metered. */
  readonly siteService: Service;
  /** The same with the tariff's limit of export. */
  readonly service: Service;
  readonly warnings: readonly Warning[];
}

/**
 * Lays what was metered, the tariff and the service's limits on one axis: the same for a bill and for everything that is
 * compared with it.
 *
 * @throws InputError where the data can't carry a result: gaps left, channels missing
 */
export function layPast({ site, series, tariff, tariffOptions, offered = false }: PastInput): Past {
  const { axis } = series;
  refuseGaps(series);
  const channels = settleChannels(series, site.location);
  const compiled = layTariff(tariff, axis, { ...tariffOptions, account: site.account });
  const netKwh = channels.loadKwh.map((kwh, i) => kwh - channels.solarKwh[i]!);
  const own = raiseToMetered(resolveService(site.service), netKwh, axis.stepHours);
  const exportLimitKw = Math.min(own.service.exportLimitKw, compiled.exportLimitKw);
  const under = raiseToMetered({ ...own.service, exportLimitKw }, netKwh, axis.stepHours);
  const past = {
    axis,
    channels,
    tariff: compiled,
    siteService: own.service,
    service: offered ? { ...own.service, exportLimitKw } : under.service,
  };
  const warnings: Warning[] = [
    ...channels.warnings,
    ...compiled.warnings,
    ...own.passed.map((limit) => passedWarning(limit)),
  ];
  for (const limit of under.passed)
    warnings.push(offered ? limitedWarning(limit, tariff.name) : passedWarning(limit, tariff.name));
  const netted = nettedWarning(past);
  if (netted !== undefined) warnings.push(netted);
  return { ...past, warnings };
}

/** The metered past as its tariff bills it: load and solar under buy-all, sell-all, else what passed the service. */
export interface PastFlows {
  /** With what went both ways within one interval netted: the baseline. */
  readonly netted: ServiceFlows;
  /** As the meter read it. The same object where no interval has both ways. */
  readonly read: ServiceFlows;
}

/** What the tariff bills of the metered past. O(n). */
export function pastFlows({ axis, channels, tariff, service }: Omit<Past, 'warnings' | 'siteService'>): PastFlows {
  const { importKwh, exportKwh, loadKwh, solarKwh } = channels;
  if (tariff.metering === 'gross') {
    const netted = { importKwh: loadKwh, exportKwh: solarKwh };
    return { netted, read: netted };
  }
  const netted = makeFlows(axis.intervals);
  executeWithoutPlant(axis, loadKwh, solarKwh, service, netted);
  if (!hasBothWays(channels)) return { netted, read: netted };
  // What a limit of the tariff cuts off is cut from the reading as well.
  return {
    netted,
    read: { importKwh, exportKwh: exportKwh.map((kwh, i) => Math.max(0, kwh - netted.curtailedKwh[i]!)) },
  };
}

function hasBothWays({ bothWaysKwh }: SettledChannels): boolean {
  return bothWaysKwh > 1e-6;
}

function nettedWarning(past: Omit<Past, 'warnings'>): Warning | undefined {
  const { channels, tariff } = past;
  if (!hasBothWays(channels)) return undefined;
  const { netted, read } = pastFlows(past);
  const { currency, currencyDecimals: digits } = tariff;
  const money = (value: number) =>
    `${currency} ${value.toLocaleString('en-US', { minimumFractionDigits: digits, maximumFractionDigits: digits })}`;
  const baseline = billTariff(tariff, netted).total;
  const onBoth = billTariff(tariff, read).total;
  const difference = onBoth - baseline;
  const bills =
    Math.abs(difference) < 0.5 * 10 ** -digits
      ? `To this tariff’s bill, ${money(baseline)}, it makes no difference`
      : `That makes the baseline ${money(baseline)}; billed on both readings, the same past costs ${money(onBoth)}, ${money(Math.abs(difference))} ${difference > 0 ? 'more' : 'less'}`;
  return {
    code: 'netted-within-interval',
    message: `${figure(channels.bothWaysKwh)} kWh went both ways within one interval, and are netted: nobody knows what a battery would have done within one. ${bills}`,
  };
}

const kw = (value: number) => `${Number(value.toPrecision(3))} kW`;

/** A limit that the metered past contradicts. */
function passedWarning({ way, limitKw, highestKw, intervals, aboveKwh }: LimitPassed, tariff?: string): Warning {
  const who = tariff === undefined ? `the site’s service.${way}LimitKw` : `"${tariff}"`;
  const allows =
    way === 'import' ? `lets at most ${kw(limitKw)} be drawn` : `lets at most ${kw(limitKw)} be fed to the grid`;
  return {
    code: 'limit-below-metered',
    message:
      `${who} ${allows}, but up to ${kw(highestKw)} were metered (${intervals.toLocaleString('en-US')} intervals above the limit, ` +
      `by ${figure(aboveKwh)} kWh): one of the two is wrong. The limit counts as ${kw(highestKw)}, so that nothing is saved by it`,
  };
}

/** A limit that comes with a tariff which the home isn't on. */
function limitedWarning({ limitKw, highestKw, intervals, aboveKwh }: LimitPassed, tariff: string): Warning {
  return {
    code: 'export-limited',
    message:
      `"${tariff}" lets at most ${kw(limitKw)} be fed to the grid, and up to ${kw(highestKw)} were metered: on it, without a battery, ` +
      `${figure(aboveKwh)} kWh would be lost, in ${intervals.toLocaleString('en-US')} intervals`,
  };
}

function refuseGaps(series: IntervalSeries): void {
  const issues: InputIssue[] = [];
  for (const name of ['importKwh', 'exportKwh', 'loadKwh', 'solarKwh'] as const) {
    const values = series[name];
    if (values === undefined) continue;
    let gaps = 0;
    let first = -1;
    for (let i = 0; i < values.length; i++)
      if (Number.isNaN(values[i]!)) {
        if (first < 0) first = i;
        gaps++;
      }
    if (gaps === 0) continue;
    const firstAt = new Date(intervalStartMs(series.axis, first)).toISOString();
    issues.push({
      code: 'gap',
      where: { column: name.replace('Kwh', ''), path: ['meter'] },
      received: `${gaps} intervals without a value, the first at ${firstAt}`,
      expected: 'a value in every interval',
      hint: 'long gaps are filled only when asked for: raise "meter.repair.maxGapHours", or cut the data to a span without them',
    });
  }
  if (issues.length > 0) throw new InputError(issues);
}
