import { type Axis, formatDate } from '../axis/index.ts';
import { InputError, showName } from '../input/index.ts';
import { type SettledChannels, settleChannels } from '../meter/inside.ts';
import { makeFlows, type Service } from '../plant/index.ts';
import { executeWithoutPlant, type LimitPassed, raiseToMetered, resolveService } from '../plant/inside.ts';
import { billTariff, type CompiledTariff, type ServiceFlows, type Tariff } from '../tariff/index.ts';
import { layTariff, whereIn } from '../tariff/inside.ts';
import { type DataOf, type Fact, fact } from '../words/fact.ts';
import { HOME_WORDS } from '../words/home.ts';
import { TARIFF_WORDS } from '../words/tariff.ts';
import { gapIssues } from './gap-issues.ts';
import type { StepsSplit } from './price-steps.ts';
import type { Site } from './schema.ts';
import type { PastInput } from './study-input.ts';

/** The metered past of a home under a tariff: what its baseline and its bills are made of. */
export interface Past {
  readonly axis: Axis;
  readonly channels: SettledChannels;
  readonly tariff: CompiledTariff;
  /** The site's own limits, none below what was metered. */
  readonly siteService: Service;
  /** The same with the tariff's limit of export. */
  readonly service: Service;
  readonly warnings: readonly Fact[];
}

/**
 * Lays what was metered, the tariff and the service's limits on one axis: the same for a bill and for everything that is
 * compared with it.
 *
 * @param split how the steps of the data were split, where {@link onPriceSteps} split them
 * @throws InputError where the data can't carry a result: gaps left, channels missing
 */
export function layPast(
  { site, series, findings, tariff, tariffOptions, offered = false }: PastInput,
  split?: StepsSplit,
): Past {
  const { axis } = series;
  const gaps = gapIssues(series, findings, site.meter?.repair);
  if (gaps.length > 0) throw new InputError(gaps);
  const channels = settleChannels(series, site.location);
  const options = { ...tariffOptions, account: site.account };
  const compiled = layTariff(tariff, axis, options);
  if (compiled.metering === 'gross' && !channels.loadKnown) refuseNetForGross(tariff);
  const netKwh = channels.loadKwh.map((kwh, i) => kwh - channels.solarKwh[i]!);
  // A limit that comes later held nothing of what was metered.
  const stated = isToCome(site.service, axis) ? undefined : site.service;
  const own = raiseToMetered(resolveService(stated), netKwh, axis.stepHours);
  const exportLimitKw = Math.min(own.service.exportLimitKw, compiled.exportLimitKw);
  const under = raiseToMetered({ ...own.service, exportLimitKw }, netKwh, axis.stepHours);
  const past = {
    axis,
    channels,
    tariff: compiled,
    siteService: own.service,
    service: offered ? { ...own.service, exportLimitKw } : under.service,
  };
  const warnings: Fact[] = [
    ...channels.warnings,
    ...(split === undefined
      ? compiled.warnings
      : splitWarnings(split, compiled, layTariff(tariff, split.metered, options))),
    ...own.passed.map((limit) => passedWarning(limit)),
  ];
  for (const limit of under.passed)
    warnings.push(offered ? limitedWarning(limit, tariff) : passedWarning(limit, tariff));
  const netted = nettedWarning(past);
  if (netted !== undefined) warnings.push(netted);
  return { ...past, warnings };
}

/** What is told of a charge that the steps of the data are too long for, or don't add up to. */
type Averaging = DataOf<typeof TARIFF_WORDS, 'demand-averaging'>;

/** What is told of a tariff on data that were split: what they hide of power, they hide as metered. */
function splitWarnings(
  { metered: { stepMinutes: meteredMinutes }, stepMinutes, tariffs }: StepsSplit,
  laid: CompiledTariff,
  asMetered: CompiledTariff,
): Fact[] {
  const isAveraging = ({ code }: Fact) => code === 'demand-averaging';
  /** As metered it says what the data hide; what is averaged, the shorter steps say, with no warning where that is what is billed. */
  const onSplit = ({ data, where }: Fact): Fact => {
    const { charge, averagingMinutes, stepMinutes: dataMinutes } = data as unknown as Averaging;
    const other = laid.warnings.find(
      (warning) =>
        isAveraging(warning) && warning.data.charge === charge && warning.data.averagingMinutes === averagingMinutes,
    );
    const { averagedMinutes } = (other?.data as Averaging | undefined) ?? { averagedMinutes: averagingMinutes };
    const told = { charge, averagingMinutes, stepMinutes: dataMinutes, splitMinutes: stepMinutes, averagedMinutes };
    return fact(TARIFF_WORDS, 'demand-averaging', 'warning', told, where);
  };
  return [
    fact(HOME_WORDS, 'steps-split', 'warning', { tariffs, meteredMinutes, stepMinutes }, { path: ['meter', 'files'] }),
    ...laid.warnings.filter((warning) => !isAveraging(warning)),
    ...asMetered.warnings.filter(isAveraging).map(onSplit),
  ];
}

/** Under buy-all, sell-all the whole load is bought: what passed one meter, with the sun behind it, isn't that. */
function refuseNetForGross({ name }: Tariff): never {
  throw new InputError([
    {
      code: 'missing-channel',
      where: { path: ['meter', 'files'] },
      received: 'import and export without solar',
      expected: `load and solar: on ${showName(name)} the home buys its whole load and sells all its solar (buy-all)`,
      hint: 'add the column of the solar; where these are the two meters of that tariff, name their columns load and solar',
    },
  ]);
}

/** Whether limits of a service begin to hold only after the first day of an axis. */
export function isToCome(service: Site['service'], { calendar }: Axis): boolean {
  return service?.from !== undefined && service.from > formatDate(calendar.days[0]!);
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

function nettedWarning(past: Omit<Past, 'warnings'>): Fact | undefined {
  const { channels, tariff } = past;
  if (!hasBothWays(channels)) return undefined;
  const { netted, read } = pastFlows(past);
  const { currency, currencyDecimals } = tariff;
  return fact(HOME_WORDS, 'netted-within-interval', 'warning', {
    bothWaysKwh: channels.bothWaysKwh,
    currency,
    currencyDecimals,
    nettedTotal: billTariff(tariff, netted).total,
    readTotal: billTariff(tariff, read).total,
  });
}

/** A limit, of the site or of its tariff, that the metered past contradicts. */
function passedWarning({ way, limitKw, highestKw, intervals, aboveKwh }: LimitPassed, tariff?: Tariff): Fact {
  const data = { tariff: tariff?.name ?? null, way, limitKw, highestKw, intervals, aboveKwh };
  const where = tariff === undefined ? { path: ['service', `${way}LimitKw`] } : whereIn(tariff);
  return fact(HOME_WORDS, 'limit-below-metered', 'warning', data, where);
}

/** A limit that comes with a tariff which the home isn't on. */
function limitedWarning({ limitKw, highestKw, intervals, aboveKwh }: LimitPassed, tariff: Tariff): Fact {
  const data = { tariff: tariff.name, limitKw, highestKw, intervals, aboveKwh };
  return fact(HOME_WORDS, 'export-limited', 'warning', data, whereIn(tariff));
}
