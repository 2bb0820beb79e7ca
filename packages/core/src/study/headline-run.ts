import { hold, type ReservePlan, type SettingsSheet, type Strategy } from '../dispatch/index.ts';
import { isFollower } from '../dispatch/inside.ts';
import type { Plant } from '../plant/index.ts';
import type { Study } from '../site/index.ts';
import { plannedOutages } from '../site/inside.ts';
import type { Outcome } from '../trial/index.ts';
import { startingFull } from '../trial/inside.ts';
import { hasBegun, isOver, type JudgedOutage, judgedOutage, keptAtNotice, noticeOf } from './planned.ts';
import { sheetReserve } from './sheet-reserve.ts';

/** The run that the headline is of, and the plant as it found it. */
export interface HeadlineRun {
  readonly plant: Plant;
  readonly socKwh: Float64Array;
  /** Charging power that its box is told, kW; left out where it has all that the plant takes. */
  readonly gridChargeKw?: number | undefined;
  /** What its box is told to keep; left out where it is told nothing, and keeps the site's floors. */
  readonly kept?: ReservePlan | undefined;
}

/** A run with the plant as it found it, and what its box is told. */
export function begunRun(
  { home }: Study,
  strategy: Strategy,
  { flows, sheets }: Pick<Outcome<'flows' | 'sheets'>, 'flows' | 'sheets'>,
): HeadlineRun {
  const { plant } = startingFull(home, strategy, sheets?.all);
  const entered: SettingsSheet | undefined = sheets?.all ?? (isFollower(strategy) ? strategy.sheet : undefined);
  const kept = strategy === hold ? { reservePercent: 100, dated: [] } : entered;
  return { plant, socKwh: flows.socKwh, gridChargeKw: entered?.gridChargeKw, kept };
}

/**
 * The site's planned outages that aren't over today, as the headline's run meets them: filled with the power that its box is
 * told, from what it keeps.
 */
export function plannedInRun(
  study: Study,
  { gridChargeKw = 0, plant, kept }: HeadlineRun,
  today: string | undefined,
): readonly (JudgedOutage & { readonly begun: boolean; readonly beginsToday: boolean })[] {
  const powerKw = gridChargeKw > 0 ? gridChargeKw : plant.chargeLimitKw;
  const all = plannedOutages(study, powerKw);
  return all.flatMap((outage, k) => {
    if (isOver(outage, today)) return [];
    const { verdict } = outage;
    const told = { begun: hasBegun(outage, today), beginsToday: outage.from.slice(0, 10) === today };
    if (kept === undefined && verdict !== 'off-axis') return [{ ...outage, verdict, ...told }];
    // What is told nothing keeps the site's floors: those fill it for an outage within the data, and are asked beyond them.
    const plan = kept ?? sheetReserve(withFloorsAt(study, noticeOf(study.home.axis, outage)));
    const keptPercent = keptAtNotice(study.home.axis, plan, outage);
    return [{ ...judgedOutage(study, outage, keptPercent, all.slice(0, k), powerKw), ...told }];
  });
}

/** The same study with those of its floors by hour alone that hold until a time: a floor of an interval is kept at its end. */
function withFloorsAt(study: Study, notice: string): Study {
  const { site } = study;
  const reserve = site.backup?.reserve;
  if (reserve?.byHour === undefined) return study;
  const time = notice.slice(11);
  const holds = ({ from, to }: { from: string; to: string }) =>
    from < to ? time > from && time <= to : time > from || time <= to;
  const byHour = reserve.byHour.filter(holds);
  const { byHour: _, ...others } = reserve;
  const told = byHour.length === 0 ? others : { ...others, byHour };
  return { ...study, site: { ...site, backup: { ...site.backup!, reserve: told } } };
}
